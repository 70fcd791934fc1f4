"""Fit for a fill, or not: every reason at once, and the highest pressure that the marks allow.

    never                 condemned, rejected, single-trip, service life ended
    not now               a duty that stops a fill is out of date or unknown (see ``duties``)
    not this gas          enriched gas (more than 23.5 % oxygen) in a cylinder not oxygen-clean
    not this pressure     over the marked pressure, or over the plus (see ``fill_pressure``)
    not known             authority, specification, permit, pressure, alloy's examination

What is unknown is a reason against the fill. A cylinder filled before its test ran out may be used
until it is empty and not be filled again (49 CFR 180.205(c), 2019-10-01).

>>> from cylinders.rules.month import Month
>>> from cylinders.rules.quantity import psi
>>> facts = CylinderFacts(
...     authority="DOT",
...     specification="3AA",
...     first_test=Month(2024, 3),
...     service_pressure=psi(2250),
...     last_visual=Month(2026, 5),
... )
>>> fit_for_fill(facts, on=dt.date(2026, 11, 25)).allowed
True
>>> verdict = fit_for_fill(facts, on=dt.date(2029, 4, 1))
>>> [reason.code for reason in verdict.reasons]
['requalification_overdue', 'internal_visual_overdue']
>>> verdict.notes[0].code
'use_until_empty'
"""

import datetime as dt
from dataclasses import dataclass, replace
from decimal import Decimal

from cylinders.rules.cylinder_facts import CylinderFacts, Gas, Service
from cylinders.rules.duties import due
from cylinders.rules.duty import Duty, DutyKind, State
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.fill_pressure import PLUS, Highest, highest, judge_pressure
from cylinders.rules.gas import common_practice_wants_clean, is_enriched
from cylinders.rules.periods import COMPOSITE
from cylinders.rules.practice import OXYGEN_CLEAN_ABOVE
from cylinders.rules.quantity import Quantity
from cylinders.rules.service_life import judge_life
from cylinders.rules.specifications.row import cfr
from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_CONDEMNED = cfr("180.205(i)(2)-(3)")
_REJECTED = cfr("180.205(h)")
_SINGLE_TRIP = cfr("178.65")
_MARKS = cfr("178.35(f)")
_KEEP_USING = cfr("180.205(c)")
_UNDERWATER = cfr("178.71(q)(18)")
_CLEAN = Citation("shop rule: enriched gas only in a clean cylinder", "", Certainty.COMMON_PRACTICE)
_NEVER = frozenset({"condemned", "rejected", "not_refillable", "life_ended", "fills_ended"})

_NO_AUTHORITY = say(
    "No DOT, TC or UN stands before the specification: have a person read the stamp."
)


@dataclass(frozen=True, slots=True)
class FillVerdict:
    """Whether a fill is allowed today, every reason against it, and what else to know.

    ``max_pressure`` is the most the marks allow, None where it is not known or the cylinder may
    never be filled again; it is no permission while ``allowed`` is false. ``notes`` are for the
    reader and stop nothing.
    """

    allowed: bool
    reasons: tuple[Finding, ...]
    notes: tuple[Finding, ...]
    max_pressure: Quantity | None


def fit_for_fill(
    facts: CylinderFacts,
    *,
    on: dt.date,
    fo2: Decimal | None = None,
    requested_pressure: Quantity | None = None,
    extra: ExtraRows = NO_EXTRA,
) -> FillVerdict:
    """Decide on a fill on day ``on`` of ``facts.gas`` with an oxygen share of ``fo2``.

    ``requested_pressure`` is at 70 F (21 C); without it the marked pressure is meant. Raises
    ``MixError`` for a share, ``QuantityError`` for a pressure that cannot be.
    """
    if facts.gas is Gas.AIR and fo2 is not None and is_enriched(fo2):
        facts = replace(facts, gas=Gas.NITROX)
    duties = due(facts, on=on, extra=extra)
    allowed = highest(facts, on=on, extra=extra)
    pressure = judge_pressure(facts, allowed, requested_pressure)
    reasons = (
        *_standing(facts),
        *judge_life(facts, on=on, extra=extra),
        *_permit_expired(facts, on, extra),
        *(_reason(duty) for duty in duties if duty.stops_fill),
        *_gas(facts, fo2),
        *([pressure] if pressure else []),
    )
    if any(reason.code in _NEVER for reason in reasons):
        return FillVerdict(allowed=False, reasons=reasons, notes=(), max_pressure=None)
    notes = (*_until_empty(duties), *_see_the_disc(facts, allowed))
    return FillVerdict(not reasons, reasons, notes, allowed.pressure)


def _standing(facts: CylinderFacts) -> list[Finding]:
    reasons = []
    if facts.condemned:
        says = say("CONDEMNED. Never fill it, never put it back in service.")
        reasons.append(Finding("condemned", Outcome.FAIL, says, _CONDEMNED))
    if facts.rejected:
        says = say("Rejected: no fill before it is repaired and requalified.")
        reasons.append(Finding("rejected", Outcome.FAIL, says, _REJECTED))
    if facts.single_trip:
        says = say("Single-trip cylinder: refilling it is forbidden.")
        reasons.append(Finding("not_refillable", Outcome.FAIL, says, _SINGLE_TRIP))
    if facts.authority is None:
        reasons.append(Finding("authority_unknown", Outcome.UNKNOWN, _NO_AUTHORITY, _MARKS))
    underwater = facts.authority == "UN" and facts.service is Service.SCUBA
    if underwater and facts.material == COMPOSITE and not facts.underwater_mark:
        says = say("UN composite without the UW mark: not for use under water.")
        reasons.append(Finding("not_for_underwater", Outcome.FAIL, says, _UNDERWATER))
    return reasons


def _permit_expired(facts: CylinderFacts, on: dt.date, extra: ExtraRows) -> list[Finding]:
    row = extra.permit(facts.permit or "", on=on)
    if row is None or row.expires is None or row.expires >= on:
        return []
    says = say(
        "Special permit {permit} ran out on {expires}. Stop and check it.",
        permit=row.permit,
        expires=row.expires,
    )
    return [Finding("permit_expired", Outcome.UNKNOWN, says, row.cites)]


def _reason(duty: Duty) -> Finding:
    overdue = duty.state is State.OVERDUE
    outcome = Outcome.FAIL if overdue else Outcome.UNKNOWN
    return Finding(f"{duty.kind}_{duty.state}", outcome, duty.says, duty.cites)


def _gas(facts: CylinderFacts, fo2: Decimal | None) -> list[Finding]:
    if facts.gas is Gas.AIR or facts.oxygen_clean:
        return []
    rich = facts.gas is Gas.OXYGEN or (fo2 is not None and common_practice_wants_clean(fo2))
    cites = OXYGEN_CLEAN_ABOVE.cites if rich else _CLEAN
    if facts.oxygen_clean is None:
        says = say("Not known to be oxygen-clean: no enriched gas. Clean it first.")
        return [Finding("oxygen_clean_unknown", Outcome.UNKNOWN, says, cites)]
    says = say("Not oxygen-clean: no enriched gas. Clean it first.")
    return [Finding("not_oxygen_clean", Outcome.FAIL, says, cites)]


def _until_empty(duties: tuple[Duty, ...]) -> list[Finding]:
    return [
        Finding(
            "use_until_empty",
            Outcome.CAUTION,
            say(
                "If it was filled by {due}, it may be used until empty. Do not refill it.",
                due=duty.due,
            ),
            _KEEP_USING,
        )
        for duty in duties
        if duty.kind is DutyKind.REQUALIFICATION and duty.state is State.OVERDUE
    ]


def _see_the_disc(facts: CylinderFacts, allowed: Highest) -> list[Finding]:
    if not allowed.plus or facts.relief_is_frangible_disc:
        return []
    says = say(
        "Over the marked pressure only if the valve's relief is a frangible disc, no fuse metal."
    )
    return [Finding("plus_conditions", Outcome.CAUTION, says, PLUS)]
