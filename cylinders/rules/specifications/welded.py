"""Welded, brazed and acetylene specifications (4-series, 8, 8AL), 49 CFR part 178 subpart C.

Edition read: 2019-10-01. The periods of 180.209(e) changed on 2020-11-30 (85 FR 68790): ten years
before, twelve since (after a proof test twelve, then ten); both stand here with their days.
"""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

from cylinders.rules.specifications.row import (
    Interval,
    IntervalRow,
    Material,
    PressureRule,
    Specification,
    cfr,
)
from cylinders.rules.verdict import Certainty, Citation

_TWO = Fraction(2)
_TABLE = cfr("180.209(a) Table 1")
_HM219B = Citation("49 CFR 180.209(e), 85 FR 68790", "2020-11-30", Certainty.SECOND_HAND)
_LAST_OF_TEN = dt.date(2020, 11, 29)
_FIRST_OF_TWELVE = dt.date(2020, 11, 30)

_FIVE = IntervalRow(Interval.GENERAL, 5, _TABLE)
_E_OLD = IntervalRow(Interval.NON_CORROSIVE, 10, cfr("180.209(e)"), until=_LAST_OF_TEN)
_E_VOLUME = IntervalRow(
    Interval.NON_CORROSIVE, 12, _HM219B, method="volumetric", since=_FIRST_OF_TWELVE
)
_E_PROOF = IntervalRow(
    Interval.NON_CORROSIVE,
    10,
    _HM219B,
    method="proof",
    first_years=12,
    since=_FIRST_OF_TWELVE,
)
_GAS_H = IntervalRow(Interval.LISTED_GAS, 10, cfr("180.209(h)"))
_VISUAL_G = IntervalRow(Interval.EXTERNAL_VISUAL, 5, cfr("180.209(g)"), method="visual")
_FIRE_VOLUME = IntervalRow(Interval.FIRE_EXTINGUISHER, 12, cfr("180.209(j)"), method="volumetric")
#: over 12 lb of water the later periods after a proof test are seven years; up to 12 lb twelve
_FIRE_PROOF = IntervalRow(
    Interval.FIRE_EXTINGUISHER, 7, cfr("180.209(j)"), method="proof", first_years=12
)
_ALL_OF_4B = (_FIVE, _E_OLD, _E_VOLUME, _E_PROOF, _VISUAL_G, _FIRE_VOLUME, _FIRE_PROOF)


def _twice(
    code: str,
    title: str,
    section: str,
    service: tuple[int, int],
    intervals: tuple[IntervalRow, ...] = (_FIVE,),
    notes: tuple[str, ...] = (),
) -> Specification:
    """One welded steel specification, tested at twice its service pressure (``service``: psi)."""
    lowest, highest = (Decimal(figure) for figure in service)
    return Specification(
        code=code,
        title=title,
        cites=cfr(section),
        test=PressureRule.FACTOR,
        factor=_TWO,
        test_says="twice the service pressure, except where 180.209(g) is used",
        material=Material.STEEL,
        service_min=lowest,
        service_max=highest,
        service_fixed=lowest if lowest == highest else None,
        intervals=intervals,
        notes=notes,
    )


def _acetylene(code: str, title: str, section: str) -> Specification:
    """One acetylene specification: no pressure requalification but shell and filler."""
    return Specification(
        code=code,
        title=title,
        cites=cfr(section),
        test=PressureRule.OTHER,
        test_says="no pressure test: shell and porous filler by CGA C-13",
        material=Material.STEEL,
        service_fixed=Decimal(250),
        permanent_limit_percent=None,
        intervals=(
            IntervalRow(Interval.ACETYLENE_SHELL, 10, cfr("180.209(i)"), method="visual"),
            IntervalRow(Interval.ACETYLENE_FILLER, 20, cfr("180.209(i)"), first_years=5),
        ),
        notes=("service pressure mark not required: 250 psi (173.301a(b), second-hand)",),
    )


WELDED: tuple[Specification, ...] = (
    _twice("4AA480", "welded steel", "178.56", (480, 480), (_FIVE, _GAS_H, _VISUAL_G)),
    _twice("4B", "welded or brazed steel", "178.50", (150, 500), _ALL_OF_4B),
    _twice("4BA", "welded or brazed, prescribed steels", "178.51", (225, 500), _ALL_OF_4B),
    _twice("4BW", "electric-arc welded steel", "178.61", (225, 500), _ALL_OF_4B),
    _twice(
        "4B240ET",
        "brazed, from electric resistance welded tube",
        "178.55",
        (240, 240),
        (_FIVE, _VISUAL_G, _FIRE_VOLUME, _FIRE_PROOF),
        ("the table spells it 4B-240ET; the text of 180.209(e) does not name it",),
    ),
    _twice("4D", "welded steel sphere or cylinder", "178.53", (300, 500)),
    _twice("4DA", "welded steel sphere or cylinder", "178.58", (500, 900)),
    _twice("4DS", "welded stainless sphere or cylinder", "178.47", (500, 900)),
    Specification(
        code="4E",
        title="welded aluminium",
        cites=cfr("178.68"),
        test=PressureRule.FACTOR,
        factor=_TWO,
        test_says="twice the service pressure, except where 180.209(g) is used",
        material=Material.ALUMINIUM,
        service_min=Decimal(225),
        service_max=Decimal(500),
        permanent_limit_percent=Decimal(12),
        limit_cites=cfr("180.205(i)(1)(vi)"),
        intervals=(_FIVE, _E_OLD, _E_VOLUME, _E_PROOF, _VISUAL_G),
    ),
    Specification(
        code="4L",
        title="insulated, welded (cryogenic)",
        cites=cfr("178.57"),
        test=PressureRule.NOT_REQUIRED,
        test_says="no pressure test is required",
        material=Material.STEEL,
        service_min=Decimal(40),
        service_max=Decimal(500),
        permanent_limit_percent=None,
    ),
    _acetylene("8", "acetylene, seamless shell", "178.59"),
    _acetylene("8AL", "acetylene, steel shell with welds", "178.60"),
)
