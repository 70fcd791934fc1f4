"""Everything that becomes due on a cylinder: what, by which rule, last done when, due on which day.

    duty                 period                             basis                   stops a fill
    requalification      see ``intervals``                  law                     yes
    internal visual      country's row; US 12 months        law or common practice  yes
    thread examination   6351-T6: 60 months, eddy current   law, 180.209(m)         yes
                         others: with the visual            common practice         no
    oxygen cleaning      12 months, where enriched          common practice         yes
    valve service        12 months                          common practice         no

That a missed or unknown internal visual stops a fill is common practice and the shop's rule, not US
law; the sentence says which. A pressure test brings an internal visual with it (180.205(f)), so its
month counts as one; the maker's own test does not. What is not known to have been done is
``unknown``, never in date.

>>> facts = CylinderFacts(authority="DOT", specification="3AA", first_test=Month(2024, 3))
>>> [(duty.kind.value, duty.state.value) for duty in due(facts, on=dt.date(2026, 11, 25))]
[('requalification', 'in_date'), ('internal_visual', 'unknown'), \
('thread_examination', 'unknown'), ('valve_service', 'unknown')]
"""

import datetime as dt

from cylinders.rules.alloys import judge_alloy
from cylinders.rules.cylinder_facts import CylinderFacts, Gas
from cylinders.rules.duty import (
    Basis,
    Duty,
    DutyKind,
    DutyRule,
    State,
    counted_from,
    duty_from,
    latest,
)
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.intervals import next_requalification
from cylinders.rules.month import Month
from cylinders.rules.practice import OXYGEN_CLEAN_MONTHS, VALVE_SERVICE_MONTHS, VISUAL_MONTHS
from cylinders.rules.specifications.row import cfr
from cylinders.rules.wording import say, together

#: Marks of a test that 180.205(f) joins with an internal and external visual inspection.
_WITH_VISUAL = frozenset({"", "star", "+", "S", "VE"})
_EDDY_CURRENT_MONTHS = 60

_THREADS_6351 = DutyRule(
    kind=DutyKind.THREAD_EXAMINATION,
    basis=Basis.LAW,
    cites=cfr("180.209(m)"),
    months=_EDDY_CURRENT_MONTHS,
    blocks=True,
)
_OXYGEN = DutyRule(
    kind=DutyKind.OXYGEN_CLEANING,
    basis=Basis.COMMON_PRACTICE,
    cites=OXYGEN_CLEAN_MONTHS.cites,
    months=OXYGEN_CLEAN_MONTHS.whole,
    blocks=True,
)
_VALVE = DutyRule(
    kind=DutyKind.VALVE_SERVICE,
    basis=Basis.COMMON_PRACTICE,
    cites=VALVE_SERVICE_MONTHS.cites,
    months=VALVE_SERVICE_MONTHS.whole,
    blocks=False,
)


def due(facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA) -> tuple[Duty, ...]:
    """Every duty of the cylinder on day ``on``; none for a condemned or single-trip cylinder."""
    if facts.condemned or facts.single_trip:
        return ()
    duties = _requalification(facts, on, extra)
    if facts.service.breathing:
        visual = _visual(facts, on, extra)
        duties += [visual, _threads(facts, on, visual)]
    if facts.gas is not Gas.AIR:
        duties.append(counted_from(_OXYGEN, on=on, last=latest(on, facts.last_oxygen_clean)))
    if facts.service.breathing:
        duties.append(counted_from(_VALVE, on=on, last=latest(on, facts.last_valve_service)))
    return tuple(duties)


def _requalification(facts: CylinderFacts, on: dt.date, extra: ExtraRows) -> list[Duty]:
    following = next_requalification(facts, on=on, extra=extra)
    if not following.required:
        return []
    rule = DutyRule(
        kind=DutyKind.REQUALIFICATION,
        basis=Basis.LAW,
        cites=following.cites,
        months=following.months,
        blocks=True,
    )
    why = together((following.says, *following.notes))
    return [duty_from(rule, on=on, last=following.since, due=following.due, why=why)]


def _visual(facts: CylinderFacts, on: dt.date, extra: ExtraRows) -> Duty:
    country = extra.country(facts.country, on=on)
    months = country.visual_months if country else None
    rule = DutyRule(
        kind=DutyKind.INTERNAL_VISUAL,
        basis=Basis.LAW if country and country.visual_is_law else Basis.COMMON_PRACTICE,
        cites=country.visual_cites if country and months else VISUAL_MONTHS.cites,
        months=months or VISUAL_MONTHS.whole,
        blocks=True,
    )
    last = _last_visual(facts, on)
    if last is None and facts.stamped_due is not None:
        why = say("The stamp gives it.")
        return duty_from(rule, on=on, last=None, due=facts.stamped_due.last_day, why=why)
    return counted_from(rule, on=on, last=last)


def _last_visual(facts: CylinderFacts, on: dt.date) -> Month | None:
    with_test = [
        mark.month
        for mark in facts.requalifications
        if mark.symbols & _WITH_VISUAL and mark.month != facts.first_test
    ]
    return latest(on, facts.last_visual, *with_test)


def _threads(facts: CylinderFacts, on: dt.date, visual: Duty) -> Duty:
    alloy = judge_alloy(facts)
    if alloy.treat_as_6351:
        marked = [mark.month for mark in facts.requalifications if "VE" in mark.symbols]
        last = latest(on, facts.last_thread_examination, *marked)
        why = say("{alloy} Eddy current and visual.", alloy=alloy.says)
        return counted_from(_THREADS_6351, on=on, last=last, why=why)
    rule = DutyRule(
        kind=DutyKind.THREAD_EXAMINATION,
        basis=Basis.COMMON_PRACTICE,
        cites=VISUAL_MONTHS.cites,
        months=visual.rule.months,
        blocks=False,
    )
    last = latest(on, facts.last_thread_examination, _last_visual(facts, on))
    return counted_from(rule, on=on, last=last, why=say("Looked at with each internal visual."))


__all__ = ["Basis", "Duty", "DutyKind", "State", "due"]
