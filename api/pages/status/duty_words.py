"""What a duty is, in an owner's words, and how it stands."""

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils.formats import date_format
from django.utils.translation import gettext as _

from cylinders.rules.duty import Duty, DutyKind, State
from cylinders.rules.wording import say

_WORDS = {
    DutyKind.REQUALIFICATION: (
        say("Pressure test"),
        say("A licensed lab presses it well above its working pressure and measures the stretch."),
    ),
    DutyKind.INTERNAL_VISUAL: (
        say("Look inside"),
        say(
            "The valve comes off, and we look for corrosion, cracks and water (visual inspection)."
        ),
    ),
    DutyKind.THREAD_EXAMINATION: (
        say("Neck threads"),
        say("We examine the threads that hold the valve."),
    ),
    DutyKind.OXYGEN_CLEANING: (
        say("Oxygen cleaning"),
        say("Without it, enriched gas is not filled."),
    ),
    DutyKind.VALVE_SERVICE: (say("Valve service"), say("New seals, and a check that it shuts.")),
}
_STATES = {
    State.IN_DATE: (say("in date"), "ok"),
    State.DUE_SOON: (say("due soon"), "caution"),
    State.DUE_THIS_MONTH: (say("due this month"), "caution"),
    State.OVERDUE: (say("out of date"), "fail"),
    State.UNKNOWN: (say("not known"), "unknown"),
}
_FIRST = (State.OVERDUE, State.UNKNOWN)


@dataclass(frozen=True, slots=True)
class DutyShown:
    """One duty as an owner reads it; ``by`` is its last day in words, empty where not known."""

    name: str
    what: str
    word: str
    tone: str
    by: str
    says: str
    cites: str
    stops_fill: bool


def name_of(kind: str) -> str:
    """The duty as an owner calls it."""
    return _WORDS[DutyKind(kind)][0]


def shown(duties: Iterable[Duty]) -> list[DutyShown]:
    """The duties as an owner reads them: what stops a fill first, then by their last day."""
    ordered = sorted(duties, key=lambda duty: (duty.state not in _FIRST, str(duty.due or "")))
    return [_shown(duty) for duty in ordered]


def _shown(duty: Duty) -> DutyShown:
    name, what = _WORDS[duty.kind]
    word, tone = _STATES[duty.state]
    return DutyShown(
        name=name,
        what=what,
        word=word,
        tone=tone,
        by=by_the_end_of(duty),
        says=duty.says,
        cites=str(duty.cites),
        stops_fill=duty.rule.blocks,
    )


def by_the_end_of(duty: Duty) -> str:
    """The last day in words; every mark gives a month, so the month is what is known."""
    if duty.due is None:
        return ""
    month = {"month": date_format(duty.due, "F Y")}
    if duty.state is State.OVERDUE:
        return _("ran out at the end of %(month)s") % month
    return _("by the end of %(month)s") % month
