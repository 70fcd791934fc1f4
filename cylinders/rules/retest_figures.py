"""The figures of a pressure test as dated rows: figure, unit, section, edition, certainty.

One row is one figure for one span of days; the caller passes the day of the test. Sections
180.203 to 180.215 were created by 67 FR 51660, 2002-08-08; before that the rules stood in
173.34(e), which was not read, so its rows say "from memory". Since 2021-12-28 paragraph (g) refers
to an industry publication that was not read either; the agency's letters of 2021 to 2025 apply the
figures of the 2019 text on.

>>> import datetime as dt
>>> row = figure(Name.HOLD, on=dt.date(2026, 11, 20))
>>> f"{row.value} {row.unit}", str(row.cites)
('30 s', '49 CFR 180.205(g)(5) (2019-10-01)')
>>> str(figure(Name.HOLD, on=dt.date(1998, 5, 1)).cites)
'49 CFR 173.34(e) [from memory]'
"""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from functools import lru_cache

from cylinders.rules.specifications import EDITION
from cylinders.rules.verdict import Certainty, Citation

_SECTIONS_CREATED = dt.date(2002, 8, 8)
_DAY_BEFORE = dt.date(2002, 8, 7)


class Name(StrEnum):
    """What a figure is for."""

    HOLD = "hold"
    SYSTEM_CHECK = "system_check"
    REPEAT_PERCENT = "repeat_percent"
    REPEAT_PSI = "repeat_psi"
    CALIBRATION = "calibration"
    CHECK_POINT_FROM = "check_point_from"
    CHECK_POINT_HIGH = "check_point_high"
    CHECK_POINT_LOW = "check_point_low"
    SYSTEM_ACCURACY = "system_accuracy"
    DEVICE_ACCURACY = "device_accuracy"
    PRESSURE_READABLE = "pressure_readable"
    EXPANSION_READABLE = "expansion_readable"
    EXPANSION_READABLE_CC = "expansion_readable_cc"
    GAUGE_TOP = "gauge_top"
    OVERHEATED_ALUMINIUM = "overheated_aluminium"
    OVERHEATED_STEEL = "overheated_steel"
    SUSPECT_ALUMINIUM = "suspect_aluminium"
    CRACK = "crack"
    CANADIAN_LIMIT = "canadian_limit"
    CERTIFICATE_SPREAD = "certificate_spread"
    PRESSURE_HIGH = "pressure_high"
    PRESSURE_DOUBTFUL = "pressure_doubtful"
    PRESSURE_HIGHEST = "pressure_highest"
    PRESSURE_IMPOSSIBLE = "pressure_impossible"
    ELASTIC_AGREES = "elastic_agrees"


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure: ``value`` in ``unit``, in force from ``since`` through ``until`` (open: None)."""

    name: Name
    value: Decimal
    unit: str
    cites: Citation
    since: dt.date | None = None
    until: dt.date | None = None

    def holds_on(self, day: dt.date) -> bool:
        """Whether the figure is in force on ``day``."""
        return (self.since is None or self.since <= day) and (
            self.until is None or day <= self.until
        )


def _both(name: Name, value: str, unit: str, section: str) -> tuple[Figure, Figure]:
    """A figure of today's sections, and the same figure before they existed, from memory."""
    old = Citation("49 CFR 173.34(e)", certainty=Certainty.FROM_MEMORY)
    new = Citation(f"49 CFR {section}", EDITION)
    return (
        Figure(name, Decimal(value), unit, old, until=_DAY_BEFORE),
        Figure(name, Decimal(value), unit, new, since=_SECTIONS_CREATED),
    )


def _letter(name: Name, value: str, unit: str, section: str, letter: str) -> Figure:
    """A figure of the text that an interpretation letter of the agency confirms."""
    source = f"49 CFR {section}; PHMSA letter {letter}"
    return Figure(name, Decimal(value), unit, Citation(source, EDITION, Certainty.SECOND_HAND))


def _ours(name: Name, value: str, unit: str, why: str) -> Figure:
    """A threshold of this service: no law, used to ask a person, never to pass a cylinder."""
    return Figure(name, Decimal(value), unit, Citation(why, certainty=Certainty.COMMON_PRACTICE))


_THEORY = "thick-wall theory and the wall stress limits of 49 CFR part 178; own threshold"

#: Every figure that a test is judged by, except the permanent expansion limit, the test pressure
#: factor and the period, which belong to the specification.
FIGURES: tuple[Figure, ...] = (
    *_both(Name.HOLD, "30", "s", "180.205(g)(5)"),
    _letter(Name.SYSTEM_CHECK, "90", "%", "180.205(g)(5)", "25-0004"),
    *_both(Name.REPEAT_PERCENT, "10", "%", "180.205(g)(5)"),
    *_both(Name.REPEAT_PSI, "100", "psi", "180.205(g)(5)"),
    *_both(Name.CALIBRATION, "1.0", "%", "180.205(g)(4)"),
    *_both(Name.CHECK_POINT_FROM, "3000", "psi", "180.205(g)(3)(i)"),
    *_both(Name.CHECK_POINT_HIGH, "500", "psi", "180.205(g)(3)(i)"),
    *_both(Name.CHECK_POINT_LOW, "10", "%", "180.205(g)(3)(i)"),
    *_both(Name.SYSTEM_ACCURACY, "1.0", "%", "180.205(g)(3)(i)"),
    *_both(Name.DEVICE_ACCURACY, "0.5", "%", "180.205(g)(3)(i)"),
    *_both(Name.PRESSURE_READABLE, "1", "%", "180.205(g)(2)"),
    *_both(Name.EXPANSION_READABLE, "1", "%", "180.205(g)(2)"),
    *_both(Name.EXPANSION_READABLE_CC, "0.1", "cc", "180.205(g)(2)"),
    *_both(Name.GAUGE_TOP, "110", "%", "180.205(g)(3)(i)"),
    *_both(Name.OVERHEATED_ALUMINIUM, "176", "C", "180.203 and 180.205(i)(1)(viii)"),
    *_both(Name.OVERHEATED_STEEL, "343", "C", "180.203 and 180.205(d)"),
    Figure(
        Name.SUSPECT_ALUMINIUM,
        Decimal(265),
        "F",
        Citation("makers' public pages on heat", certainty=Certainty.SECOND_HAND),
    ),
    *_both(Name.CRACK, "2", "thread lengths", "180.209(m) and part 180 appendix C"),
    Figure(
        Name.CANADIAN_LIMIT,
        Decimal(6),
        "%",
        Citation("a maker's public page on TC cylinders", certainty=Certainty.SECOND_HAND),
    ),
    _ours(Name.CERTIFICATE_SPREAD, "1", "%", "elastic expansion is proportional to pressure"),
    _ours(Name.PRESSURE_HIGH, "110", "%", _THEORY),
    _ours(Name.PRESSURE_DOUBTFUL, "150", "%", _THEORY),
    _ours(Name.PRESSURE_HIGHEST, "15000", "psi", "no cylinder of the catalogue; own threshold"),
    _ours(Name.PRESSURE_IMPOSSIBLE, "300", "%", _THEORY),
    _ours(Name.ELASTIC_AGREES, "3", "%", "the same wall gives the same elastic expansion"),
)


@lru_cache(maxsize=1024)
def figure(name: Name, *, on: dt.date) -> Figure:
    """The row of ``name`` in force on ``on``; every name has one for any day."""
    return next(row for row in FIGURES if row.name is name and row.holds_on(on))


def share(name: Name, *, on: dt.date) -> Fraction:
    """A percentage as an exact fraction.

    >>> share(Name.DEVICE_ACCURACY, on=dt.date(2026, 11, 20))
    Fraction(1, 200)
    """
    return Fraction(figure(name, on=on).value) / 100
