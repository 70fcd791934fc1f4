r"""What is due on a cylinder of which only the stamp is known, and whether it may be filled.

>>> import datetime as dt
>>> from cylinders.rules.markings import read
>>> reading = read("DOT-3AA2250\n1001\nXY\nAB 5-09\n5 A1/32 21", on=dt.date(2026, 11, 25))
>>> told = answer(reading, last_visual=Month(2026, 5))
>>> [(item["duty"], item["due"], item["state"]) for item in told["items"]][0]
('requalification', '2026-05-31', 'overdue')
>>> told["fill"]["allowed"], told["fill"]["max_pressure"]
(False, {'value': '2250', 'unit': 'psi'})
"""

from typing import Any

from cylinders.rules.cylinder_facts import Service
from cylinders.rules.duties import due
from cylinders.rules.duty import Duty
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.markings import Reading
from cylinders.rules.markings import as_json as reading_json
from cylinders.rules.month import Month
from cylinders.rules.quantity import as_json
from cylinders.rules.stamp_facts import doubts, facts_from, not_read
from cylinders.rules.status import FillVerdict, fit_for_fill
from cylinders.rules.verdict import Finding

Json = dict[str, Any]
#: What the answer repeats from the reading.
_PASSED_ON = ("on", "text", "country", "warnings", "questions", "unread")


def answer(
    reading: Reading,
    *,
    service: Service = Service.SCUBA,
    alloy: str | None = None,
    last_visual: Month | None = None,
    extra: ExtraRows = NO_EXTRA,
) -> Json:
    """Return ``items`` (what is due) and ``fill`` (may it be filled, why not, how high) as JSON.

    Also ``warnings``, ``questions`` and ``unread`` of the stamp. Days are ``YYYY-MM-DD``, months
    ``YYYY-MM``; nothing is raised.
    """
    facts = facts_from(reading, service=service, alloy=alloy, last_visual=last_visual)
    duties = due(facts, on=reading.on, extra=extra)
    fill = fit_for_fill(facts, on=reading.on, extra=extra)
    name = _name(reading)
    told = reading_json(reading)
    return {key: told[key] for key in _PASSED_ON} | {
        "service": str(service),
        "items": [item_json(duty, cylinder=name, tag=None) for duty in duties],
        "fill": _fill(fill, doubts(reading), not_read(reading)),
    }


def item_json(duty: Duty, *, cylinder: str, tag: str | None) -> Json:
    """One duty in the shape of ``items``."""
    return {
        "cylinder": cylinder,
        "tag": tag,
        "duty": str(duty.kind),
        "due": duty.due.isoformat() if duty.due else None,
        "state": str(duty.state),
        "says": duty.says,
        "cites": str(duty.cites),
        "basis": str(duty.rule.basis),
        "months": duty.rule.months,
        "last_done": str(duty.last_done) if duty.last_done else None,
        "stops_fill": duty.stops_fill,
    }


def _fill(fill: FillVerdict, doubted: tuple[Finding, ...], cautions: tuple[Finding, ...]) -> Json:
    reasons = (*fill.reasons, *doubted)
    return {
        "allowed": not reasons,
        "reasons": [_finding(one) for one in reasons],
        "max_pressure": as_json(fill.max_pressure),
        "notes": [_finding(one) for one in (*fill.notes, *cautions)],
    }


def _finding(finding: Finding) -> Json:
    return {"code": finding.code, "says": finding.says, "cites": str(finding.cites)}


def _name(reading: Reading) -> str:
    """The serial as stamped, else the specification, else that it is only a stamp."""
    for mark in (reading.original, reading.un):
        if mark is not None and mark.serial:
            return mark.serial
    return reading.original.spec if reading.original else "stamp"
