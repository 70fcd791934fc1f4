"""What a stamp alone tells of a cylinder, as facts for the rules; and where the stamp is in doubt.

A cylinder with two marks is taken by the one of the country it is filled in, with the lower of the
two pressures. A date whose order or meaning is open is not used. A doubt about specification or
pressure is a reason against a fill: a person reads the cylinder first.
"""

import re

from cylinders.rules.cylinder_facts import CylinderFacts, Gas, Requalification, Service
from cylinders.rules.duty import latest
from cylinders.rules.markings import (
    DateMark,
    OriginalMark,
    Reading,
    RequalificationMark,
    UnMark,
)
from cylinders.rules.markings.dates import LAST_TEST_GB, NEXT_DUE_ROLES, VISUAL_CH
from cylinders.rules.month import Month
from cylinders.rules.periods import COMPOSITE
from cylinders.rules.quantity import Quantity
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_COMPOSITE_STANDARDS = ("ISO 11119", "ISO 11515", "EN 12245")
_CANADIAN = "TC"
_READ_IT = Citation("a doubtful stamp is read by a person", "", Certainty.COMMON_PRACTICE)
#: Findings of the reading that leave specification or pressure, and so the fill, in doubt.
_DOUBTS = frozenset(
    {
        "alloy_barred",
        "decimal_comma",
        "decimal_lost",
        "direction_characters",
        "dual_pressures_differ",
        "dual_specifications_differ",
        "early_permit",
        "first_test_ahead",
        "metric_figure_too_high",
        "metric_letter_missing",
        "metric_on_us_mark",
        "permit_and_pressure",
        "pressure_decimal",
        "pressure_figure",
        "pressure_impossible",
        "pressure_or_serial",
        "pressure_outside_specification",
        "pressure_unit",
        "requalified_before_first_test",
        "specification_not_read",
        "struck_out",
        "working_over_test",
        "working_over_two_thirds",
    },
)
#: A question that is asked of a serial number too; it is a doubt where the text was not read.
_LOOK_ALIKE = "look_alike"
_MAY_CONDEMN = re.compile("COND|DEMN", re.IGNORECASE)


def facts_from(
    reading: Reading,
    *,
    service: Service,
    alloy: str | None = None,
    last_visual: Month | None = None,
) -> CylinderFacts:
    """The facts a stamp gives, with what the asker adds: use, alloy, last internal visual."""
    original, un = _chosen(reading), reading.un
    return CylinderFacts(
        authority=_authority(original, un),
        specification=original.spec if original else _standard(un),
        permit=original.permit if original else None,
        service_pressure=_pressure(reading),
        material=_material(original, un),
        alloy=alloy or (original.alloy if original else None) or (un.alloy if un else None),
        first_test=reading.first_test,
        requalifications=_requalifications(reading),
        stamped_due=max(_dates(reading, NEXT_DUE_ROLES), default=None),
        last_visual=latest(reading.on, last_visual, *_dates(reading, {VISUAL_CH})),
        life_end=None if original and original.row.life_years else reading.life_end,
        underwater_mark=un.underwater if un else None,
        condemned=reading.condemned,
        not_refillable=any(mark.not_refillable for mark in _originals(reading)),
        service=service,
        gas=Gas.OXYGEN if service is Service.OXYGEN else Gas.AIR,
        country=reading.country,
    )


def doubts(reading: Reading) -> tuple[Finding, ...]:
    """Each doubt about specification, pressure or a condemning mark, as a reason against a fill."""
    unread = [one.text for one in reading.unread]
    says = [one.says for one in reading.warnings if one.code in _DOUBTS]
    says += [
        one.says
        for one in reading.questions
        if one.code in _DOUBTS
        or (one.code == _LOOK_ALIKE and not set(unread).isdisjoint(one.choices))
    ]
    says += [
        say("{text!r} may say CONDEMNED", text=text[:40])
        for text in unread
        if _MAY_CONDEMN.search(text)
    ]
    return tuple(
        Finding(
            "stamp_in_doubt",
            Outcome.UNKNOWN,
            say("{doubt} Read the cylinder again.", doubt=one),
            _READ_IT,
        )
        for one in says
    )


def not_read(reading: Reading) -> tuple[Finding, ...]:
    """A caution that part of the stamp was not understood; it stops nothing by itself."""
    if not reading.unread:
        return ()
    says = say(
        "{count} part(s) of the stamp were not understood: look at them.", count=len(reading.unread)
    )
    return (Finding("stamp_not_fully_read", Outcome.CAUTION, says, _READ_IT),)


def _originals(reading: Reading) -> list[OriginalMark]:
    return [mark for mark in reading.marks if isinstance(mark, OriginalMark)]


def _chosen(reading: Reading) -> OriginalMark | None:
    """Of two marks the one of the country's own system; else the first."""
    marks = _originals(reading)
    canada = reading.country == "CA"
    own = [mark for mark in marks if (mark.authority == _CANADIAN) == canada]
    return next(iter(own or marks), None)


def _authority(original: OriginalMark | None, un: UnMark | None) -> str | None:
    if original is not None:
        return original.authority
    if un is None:
        return None
    return "UN" if un.un else "ISO"


def _standard(un: UnMark | None) -> str | None:
    return next(iter(un.standards), None) if un else None


def _pressure(reading: Reading) -> Quantity | None:
    marked = [mark.service_pressure for mark in _originals(reading) if mark.service_pressure]
    if reading.un and reading.un.working_pressure:
        marked.append(reading.un.working_pressure)
    return min(marked, default=None)


def _material(original: OriginalMark | None, un: UnMark | None) -> str | None:
    if original is not None:
        return str(original.material) if original.material else None
    wrapped = un is not None and any(name.startswith(_COMPOSITE_STANDARDS) for name in un.standards)
    return COMPOSITE if wrapped else None


def _requalifications(reading: Reading) -> tuple[Requalification, ...]:
    """Each mark with a RIN, each British date of a test, and a symbol after the first test."""
    found = [
        Requalification(mark.date, mark.symbol or "")
        for mark in reading.marks
        if isinstance(mark, RequalificationMark)
    ]
    found += [Requalification(month) for month in _dates(reading, {LAST_TEST_GB})]
    original = _chosen(reading)
    if original and original.symbol and original.test_date:
        found.append(Requalification(original.test_date, original.symbol))
    return tuple(found)


def _dates(reading: Reading, roles: frozenset[str] | set[str]) -> list[Month]:
    return [
        mark.date
        for mark in reading.marks
        if isinstance(mark, DateMark) and mark.date and mark.role in roles
    ]
