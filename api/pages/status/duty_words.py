"""What a duty is, in an owner's words, and how it stands."""

from collections.abc import Iterable
from dataclasses import dataclass

from cylinders.rules.duty import Duty, DutyKind, State

_WORDS = {
    DutyKind.REQUALIFICATION: (
        "Pressure test",
        "A licensed lab presses it well above its working pressure and measures the stretch.",
    ),
    DutyKind.INTERNAL_VISUAL: (
        "Look inside",
        "The valve comes off, and we look for corrosion, cracks and water (visual inspection).",
    ),
    DutyKind.THREAD_EXAMINATION: (
        "Neck threads",
        "We examine the threads that hold the valve.",
    ),
    DutyKind.OXYGEN_CLEANING: (
        "Oxygen cleaning",
        "Without it, enriched gas is not filled.",
    ),
    DutyKind.VALVE_SERVICE: ("Valve service", "New seals, and a check that it shuts."),
}
_STATES = {
    State.IN_DATE: ("in date", "ok"),
    State.DUE_SOON: ("due soon", "caution"),
    State.DUE_THIS_MONTH: ("due this month", "caution"),
    State.OVERDUE: ("out of date", "fail"),
    State.UNKNOWN: ("not known", "unknown"),
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
    verb = "ran out at" if duty.state is State.OVERDUE else "by"
    return f"{verb} the end of {duty.due:%B %Y}"
