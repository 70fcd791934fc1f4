"""What happened, in plain words, visit by visit, latest first."""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from cylinders.facts import Kind
from cylinders.history import Entry
from cylinders.models import Lab, Part, Service

_Facts = Mapping[str, Any]
_PERCENT = 100


@dataclass(frozen=True, slots=True)
class Moment:
    """Something that happened; ``at`` is by the shop's clock."""

    at: dt.datetime
    title: str
    detail: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """What happened in one visit, the latest first."""

    moments: tuple[Moment, ...]

    @property
    def began(self) -> dt.datetime:
        """When it began."""
        return self.moments[-1].at

    @property
    def days(self) -> list[tuple[dt.date, list[Moment]]]:
        """The moments, day by day."""
        by_day = groupby(self.moments, key=lambda moment: moment.at.date())
        return [(day, list(moments)) for day, moments in by_day]


@dataclass(frozen=True, slots=True)
class _Known:
    labs: Mapping[int, str]
    parts: Mapping[int, str]


def visits(entries: Iterable[Entry], *, zone: ZoneInfo) -> tuple[Visit, ...]:
    """The moments of each visit, the latest visit and its latest moment first.

    Parts that came off, or went back on, one after the other are told as one moment.
    """
    entries = list(entries)
    known = _Known(
        labs=dict(Lab.objects.values_list("pk", "name")),
        parts={
            part.pk: str(part)
            for part in Part.objects.filter(
                pk__in=[e.facts["part"] for e in entries if e.facts.get("part")]
            )
        },
    )
    found: list[list[Moment]] = [[]]
    for kind, run in groupby(entries, key=lambda entry: entry.kind):
        if kind is Kind.RECEIVED and found[-1]:
            found.append([])
        found[-1] += _moments(kind, list(run), known, zone)
    return tuple(Visit(tuple(reversed(visit))) for visit in reversed(found) if visit)


def _moments(kind: Kind, run: list[Entry], known: _Known, zone: ZoneInfo) -> list[Moment]:
    last = run[-1].at.astimezone(zone)
    if kind in _TOGETHER:
        names = ", ".join(known.parts.get(e.facts["part"], "a part") for e in run)
        title, detail = _TOGETHER[kind]
        return [Moment(last, title.format(names=names), detail)]
    words = _WORDS.get(kind)
    if words is None:
        return []
    return [Moment(e.at.astimezone(zone), *words(e.facts, known)) for e in run]


def _received(facts: _Facts, _known: _Known) -> tuple[str, str]:
    labels = dict(Service.choices)
    wanted = ", ".join(str(labels[name]) for name in facts["services"] if name in labels)
    marks = " It bears marks that condemn it." if facts["condemned_by_marks"] else ""
    return "We took your cylinder in", (f"You asked for: {wanted}." if wanted else "") + marks


def _sent(facts: _Facts, known: _Known) -> tuple[str, str]:
    return f"Left for the test lab, {known.labs.get(facts['lab'], 'our lab')}", ""


def _attached(facts: _Facts, known: _Known) -> tuple[str, str]:
    lab = known.labs.get(facts["lab"], "the lab")
    titles = {
        "passed": "Passed its pressure test",
        "condemned": "The test condemned it",
        "rejected": "The test rejected it",
        "invalid": "The test does not count and must be done again",
    }
    share = facts["percent_permanent"]
    figure = f" Permanent expansion {share} % of the total." if share else ""
    return titles.get(
        facts["verdict"], "Test reported"
    ), f"{lab}, record {facts['lab_reference']}.{figure}"


def _settled(facts: _Facts, _known: _Known) -> tuple[str, str]:
    reference = facts["lab_reference"]
    return "The lab corrected a test record", f"Record {reference}. What is due is counted anew."


def _stamp(facts: _Facts, _known: _Known) -> tuple[str, str]:
    if facts["agrees"]:
        return "New stamp compared with the lab's record", "They agree."
    return "New stamp compared with the lab's record", "They do not agree yet; we ask the lab."


def _inspected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    titles = {"passed": "Passed our inspection", "rejected": "Our inspection rejected it"}
    title = titles.get(facts["result"], "Our inspection condemned it")
    looks = f"inside {facts['internal']}, outside {facts['external']}, threads {facts['threads']}"
    return title, f"By {facts['standard']}: {looks}.".replace("_", " ")


def _accounted(facts: _Facts, known: _Known) -> tuple[str, str]:
    name = known.parts.get(facts["part"], "a part")
    return f"Not put back: {name}", f"{facts['how'].replace('_', ' ').capitalize()}."


def _filled(facts: _Facts, _known: _Known) -> tuple[str, str]:
    gas = f"{facts['oxygen_fraction']} oxygen, as analysed"
    return f"Filled to {facts['pressure']} {facts['pressure_unit']}", f"{gas}. {facts['mod']}."


def _fill_refused(facts: _Facts, _known: _Known) -> tuple[str, str]:
    reasons = ", ".join(code.replace("_", " ") for code in facts["reasons"])
    asked = f"{facts['pressure']} {facts['pressure_unit']}, {facts['oxygen_fraction']} oxygen"
    return f"Not filled as asked ({asked})", f"It is not allowed: {reasons}."


def _collected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return ("Collected", "") if facts["to_owner"] else ("Collected by someone you sent", "")


def _rejected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return "Rejected: not to be used as it is", f"{facts['reason']}."


def _condemned(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return "Condemned: never to be used again", f"{facts['reason']}. {facts['marked']}."


def _corrected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    name = facts["field"].replace("_", " ")
    return (
        f"We corrected the {name} on record",
        f"{facts['was'] or 'empty'} became {facts['becomes'] or 'empty'}.",
    )


def _bound(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return "Tag fixed to your cylinder" if facts["tag_kind"] == "cylinder" else "Tagged", facts[
        "code"
    ]


def _plain(title: str, detail: str = "") -> Callable[[_Facts, _Known], tuple[str, str]]:
    return lambda _facts, _known: (title, detail)


_TOGETHER = {
    Kind.PART_REMOVED: (
        "Taken off and tagged: {names}",
        "Each part goes back onto this cylinder only.",
    ),
    Kind.PART_SERVICED: ("Serviced: {names}", ""),
    Kind.PART_FITTED: ("Put back on: {names}", "Each was scanned and matched to this cylinder."),
    Kind.PART_UNFITTED: ("Taken off again: {names}", "It waits in its bag."),
}
#: Kinds that are not listed are the bench's own affair.
_WORDS: dict[Kind, Callable[[_Facts, _Known], tuple[str, str]]] = {
    Kind.RECEIVED: _received,
    Kind.PROVEN_EMPTY: _plain("Drained, and shown to be empty before the valve moved"),
    Kind.TORN_DOWN: _plain("Taken apart", "The outside was looked over, a travel plug is in."),
    Kind.SENT: _sent,
    Kind.RETURNED: _plain("Back from the test lab"),
    Kind.RETURN_UNDONE: _plain("Still at the test lab", "It had been scanned in by mistake."),
    Kind.RECORD_ATTACHED: _attached,
    Kind.RECORD_HELD: _plain(
        "A test record is being checked", "It does not count before a person has compared it."
    ),
    Kind.RECORD_DISMISSED: _plain("The test record that was being checked does not count"),
    Kind.RECORD_SETTLED: _settled,
    Kind.STAMP_COMPARED: _stamp,
    Kind.INSPECTED: _inspected,
    Kind.OXYGEN_CLEANED: _plain("Cleaned for oxygen"),
    Kind.OXYGEN_CLEAN_BROKEN: _plain(
        "No longer counts as clean for oxygen", "It has to be cleaned before enriched gas."
    ),
    Kind.PART_ACCOUNTED: _accounted,
    Kind.REASSEMBLED: _plain("Put back together", "Every part is on it or accounted for."),
    Kind.FILLED: _filled,
    Kind.FILL_REFUSED: _fill_refused,
    Kind.READY: _plain("Ready for you"),
    Kind.COLLECTED: _collected,
    Kind.REJECTED: _rejected,
    Kind.CONDEMNED: _condemned,
    Kind.WITHDRAWN: _plain("You asked for it back unfinished"),
    Kind.CORRECTED: _corrected,
    Kind.OWNER_CHANGED: _plain("Registered as yours"),
    Kind.NOTICE_SENT: _plain("We wrote to you"),
}
