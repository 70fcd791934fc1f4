"""One duty on one day: its state, and the sentence that a technician reads.

A duty lasts through its last day; ``unknown`` is a state of its own and never in date. A duty that
is not law says so, and so does a figure that was not read in its source.

>>> state_on(dt.date(2026, 11, 30), on=dt.date(2026, 11, 30))
<State.DUE_THIS_MONTH: 'due_this_month'>
>>> state_on(dt.date(2026, 11, 30), on=dt.date(2026, 12, 1))
<State.OVERDUE: 'overdue'>
>>> state_on(None, on=dt.date(2026, 12, 1))
<State.UNKNOWN: 'unknown'>
"""

import datetime as dt
from dataclasses import dataclass
from enum import StrEnum

from cylinders.rules.month import Month
from cylinders.rules.practice import DUE_SOON_DAYS
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say, together


class DutyKind(StrEnum):
    """What becomes due."""

    REQUALIFICATION = "requalification"
    INTERNAL_VISUAL = "internal_visual"
    THREAD_EXAMINATION = "thread_examination"
    OXYGEN_CLEANING = "oxygen_cleaning"
    VALVE_SERVICE = "valve_service"

    @property
    def heading(self) -> str:
        """The duty as a technician calls it."""
        return _HEADINGS[self]


_HEADINGS = {
    DutyKind.REQUALIFICATION: say("Requalification"),
    DutyKind.INTERNAL_VISUAL: say("Internal visual"),
    DutyKind.THREAD_EXAMINATION: say("Thread examination"),
    DutyKind.OXYGEN_CLEANING: say("Oxygen cleaning"),
    DutyKind.VALVE_SERVICE: say("Valve service"),
}


class Basis(StrEnum):
    """Why it is a duty."""

    LAW = "law"
    COMMON_PRACTICE = "common practice"


class State(StrEnum):
    """How a duty stands on one day."""

    IN_DATE = "in_date"
    DUE_SOON = "due_soon"
    DUE_THIS_MONTH = "due_this_month"
    OVERDUE = "overdue"
    UNKNOWN = "unknown"


#: States in which a duty that blocks stops a fill.
STOPPING = frozenset({State.OVERDUE, State.UNKNOWN})


@dataclass(frozen=True, slots=True, kw_only=True)
class DutyRule:
    """What a duty rests on: ``blocks`` says whether it stops a fill when missed or unknown."""

    kind: DutyKind
    basis: Basis
    cites: Citation
    months: int | None
    blocks: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Duty:
    """One duty on one day; ``due`` is the last day in date, None where it is not known."""

    rule: DutyRule
    state: State
    last_done: Month | None
    due: dt.date | None
    says: str

    @property
    def kind(self) -> DutyKind:
        """What becomes due."""
        return self.rule.kind

    @property
    def cites(self) -> Citation:
        """The clause or practice it follows."""
        return self.rule.cites

    @property
    def stops_fill(self) -> bool:
        """Whether it stands in the way of a fill today."""
        return self.rule.blocks and self.state in STOPPING


def state_on(due: dt.date | None, *, on: dt.date, soon_days: int = DUE_SOON_DAYS.whole) -> State:
    """How a duty with that last day stands; ``UNKNOWN`` where no day is known."""
    if due is None:
        return State.UNKNOWN
    if due < on:
        return State.OVERDUE
    if Month.of(due) == Month.of(on):
        return State.DUE_THIS_MONTH
    return State.DUE_SOON if (due - on).days <= soon_days else State.IN_DATE


def duty_from(
    rule: DutyRule, *, on: dt.date, last: Month | None, due: dt.date | None, why: str = ""
) -> Duty:
    """Build the duty of ``rule`` with its state on day ``on``; ``why`` is added to the sentence."""
    state = state_on(due, on=on)
    says = together((_headline(rule, state, due, on), why, _doubt(rule)))
    return Duty(rule=rule, state=state, last_done=last, due=due, says=says)


def counted_from(rule: DutyRule, *, on: dt.date, last: Month | None, why: str = "") -> Duty:
    """Build a duty that runs ``rule.months`` from the month ``last``."""
    due = last.plus_months(rule.months).last_day if last and rule.months else None
    return duty_from(rule, on=on, last=last, due=due, why=why)


def _headline(rule: DutyRule, state: State, due: dt.date | None, on: dt.date) -> str:
    heading = rule.kind.heading
    if due is None:
        return say("{heading}: NOT KNOWN when it was last done.", heading=heading)
    if state is State.OVERDUE:
        return say("{heading}: OUT OF DATE, ran out on {due}.", heading=heading, due=due)
    if state is State.DUE_THIS_MONTH:
        return say("{heading}: due this month, good through {due}.", heading=heading, due=due)
    if state is State.DUE_SOON:
        return say(
            "{heading}: due in {days} days, good through {due}.",
            heading=heading,
            days=(due - on).days,
            due=due,
        )
    return say("{heading}: in date through {due}.", heading=heading, due=due)


def _doubt(rule: DutyRule) -> str:
    not_law = "" if rule.basis is Basis.LAW else say("Common practice, not law.")
    certainty = rule.cites.certainty
    told = certainty in (Certainty.READ, Certainty.COMMON_PRACTICE)
    return together((not_law, "" if told else say("Figure {certainty}.", certainty=certainty)))


def latest(on: dt.date, *months: Month | None) -> Month | None:
    """The latest of the months that are known and not after the month of ``on``."""
    past = [month for month in months if month is not None and month <= Month.of(on)]
    return max(past, default=None)
