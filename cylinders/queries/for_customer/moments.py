"""What happened, in plain words, visit by visit, latest first."""

import datetime as dt
import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from itertools import groupby
from typing import Any
from zoneinfo import ZoneInfo

from cylinders.facts import Kind
from cylinders.history import Entry
from cylinders.models import Lab, Part, Service
from cylinders.rules.quantity import UNITS, Quantity
from cylinders.rules.wording import phrase, say, together

_Facts = Mapping[str, Any]
_PERCENT = 100
_DECIMAL = re.compile(r"[0-9]{1,12}(?:\.[0-9]{1,12})?", re.ASCII)


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
        names = together((known.parts.get(e.facts["part"], say("a part")) for e in run), by=", ")
        title, detail = _TOGETHER[kind]
        return [Moment(last, say(title, names=names), detail)]
    words = _WORDS.get(kind)
    if words is None:
        return []
    return [Moment(e.at.astimezone(zone), *words(e.facts, known)) for e in run]


def _received(facts: _Facts, _known: _Known) -> tuple[str, str]:
    labels = dict(Service.choices)
    wanted = together((str(labels[name]) for name in facts["services"] if name in labels), by=", ")
    asked = say("You asked for: {wanted}.", wanted=wanted) if wanted else ""
    marks = say("It bears marks that condemn it.") if facts["condemned_by_marks"] else ""
    return say("We took your cylinder in"), together([asked, marks])


def _sent(facts: _Facts, known: _Known) -> tuple[str, str]:
    lab = known.labs.get(facts["lab"], say("our lab"))
    return say("Left for the test lab, {lab}", lab=lab), ""


def _attached(facts: _Facts, known: _Known) -> tuple[str, str]:
    lab = known.labs.get(facts["lab"], say("the lab"))
    titles = {
        "passed": say("Passed its pressure test"),
        "condemned": say("The test condemned it"),
        "rejected": say("The test rejected it"),
        "invalid": say("The test does not count and must be done again"),
    }
    share = facts["percent_permanent"]
    title = titles.get(facts["verdict"], say("Test reported"))
    record = say("{lab}, record {reference}.", lab=lab, reference=facts["lab_reference"])
    stayed = say("Permanent expansion {share} % of the total.", share=_number(share or ""))
    return title, together([record, stayed if share else ""])


def _settled(facts: _Facts, _known: _Known) -> tuple[str, str]:
    reference = facts["lab_reference"]
    detail = say("Record {reference}. What is due is counted anew.", reference=reference)
    return say("The lab corrected a test record"), detail


def _stamp(facts: _Facts, _known: _Known) -> tuple[str, str]:
    title = say("New stamp compared with the lab's record")
    if facts["agrees"]:
        return title, say("They agree.")
    return title, say("They do not agree yet; we ask the lab.")


def _inspected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    titles = {
        "passed": say("Passed our inspection"),
        "rejected": say("Our inspection rejected it"),
        "waiting": say("Our inspection waits for a second person's look"),
    }
    title = titles.get(facts["result"], say("Our inspection condemned it"))
    looks = {name: facts[name].replace("_", " ") for name in ("internal", "external", "threads")}
    return title, say(
        "By {standard}: inside {internal}, outside {external}, threads {threads}.",
        standard=facts["standard"].replace("_", " "),
        **looks,
    )


def _second_looked(facts: _Facts, _known: _Known) -> tuple[str, str]:
    if facts["seen"] == "clear":
        return say("A second person looked, and passed it"), ""
    return say("A second person looked, and condemned it"), say("There is a crack at the neck.")


def _accounted(facts: _Facts, known: _Known) -> tuple[str, str]:
    name = known.parts.get(facts["part"], say("a part"))
    how = facts["how"].replace("_", " ").capitalize()
    return say("Not put back: {name}", name=name), say("{how}.", how=how)


def _filled(facts: _Facts, _known: _Known) -> tuple[str, str]:
    gas = say("{share} oxygen, as analysed.", share=_number(facts["oxygen_fraction"]))
    filled = say("Filled to {pressure}", pressure=_pressure(facts))
    return filled, together([gas, say("{depth}.", depth=facts["mod"])])


def _fill_refused(facts: _Facts, _known: _Known) -> tuple[str, str]:
    reasons = together((code.replace("_", " ") for code in facts["reasons"]), by=", ")
    asked = say(
        "{pressure}, {share} oxygen",
        pressure=_pressure(facts),
        share=_number(facts["oxygen_fraction"]),
    )
    title = say("Not filled as asked ({asked})", asked=asked)
    return title, say("It is not allowed: {reasons}.", reasons=reasons)


def _pressure(facts: _Facts) -> str:
    unit = facts["pressure_unit"]
    if unit in UNITS:
        return say("{pressure}", pressure=Quantity(Decimal(facts["pressure"]), unit))
    return f"{facts['pressure']} {unit}"


def _number(text: str) -> Decimal | str:
    """A figure of the history as a number, so that it is shown with the reader's decimal sign."""
    return Decimal(text) if _DECIMAL.fullmatch(text) else text


def _collected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return (say("Collected") if facts["to_owner"] else say("Collected by someone you sent")), ""


def _rejected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return say("Rejected: not to be used as it is"), f"{facts['reason']}."


def _condemned(facts: _Facts, _known: _Known) -> tuple[str, str]:
    return say("Condemned: never to be used again"), f"{facts['reason']}. {facts['marked']}."


def _corrected(facts: _Facts, _known: _Known) -> tuple[str, str]:
    name = facts["field"].replace("_", " ")
    was, becomes = facts["was"] or say("empty"), facts["becomes"] or say("empty")
    changed = say("{was} became {becomes}.", was=was, becomes=becomes)
    return say("We corrected the {name} on record", name=name), changed


def _bound(facts: _Facts, _known: _Known) -> tuple[str, str]:
    own = facts["tag_kind"] == "cylinder"
    return (say("Tag fixed to your cylinder") if own else say("Tagged")), facts["code"]


def _plain(title: str, detail: str = "") -> Callable[[_Facts, _Known], tuple[str, str]]:
    return lambda _facts, _known: (title, detail)


_TOGETHER = {
    Kind.PART_REMOVED: (
        phrase("Taken off and tagged: {names}"),
        say("Each part goes back onto this cylinder only."),
    ),
    Kind.PART_SERVICED: (phrase("Serviced: {names}"), ""),
    Kind.PART_FITTED: (
        phrase("Put back on: {names}"),
        say("Each was scanned and matched to this cylinder."),
    ),
    Kind.PART_UNFITTED: (phrase("Taken off again: {names}"), say("It waits in its bag.")),
}
#: Kinds that are not listed are the bench's own affair.
_WORDS: dict[Kind, Callable[[_Facts, _Known], tuple[str, str]]] = {
    Kind.RECEIVED: _received,
    Kind.PROVEN_EMPTY: _plain(say("Drained, and shown to be empty before the valve moved")),
    Kind.TORN_DOWN: _plain(
        say("Taken apart"), say("The outside was looked over, a travel plug is in.")
    ),
    Kind.SENT: _sent,
    Kind.RETURNED: _plain(say("Back from the test lab")),
    Kind.RETURN_UNDONE: _plain(
        say("Still at the test lab"), say("It had been scanned in by mistake.")
    ),
    Kind.RECORD_ATTACHED: _attached,
    Kind.RECORD_HELD: _plain(
        say("A test record is being checked"),
        say("It does not count before a person has compared it."),
    ),
    Kind.RECORD_DISMISSED: _plain(say("The test record that was being checked does not count")),
    Kind.RECORD_SETTLED: _settled,
    Kind.STAMP_COMPARED: _stamp,
    Kind.INSPECTED: _inspected,
    Kind.SECOND_LOOKED: _second_looked,
    Kind.OXYGEN_CLEANED: _plain(say("Cleaned for oxygen")),
    Kind.OXYGEN_CLEAN_BROKEN: _plain(
        say("No longer counts as clean for oxygen"),
        say("It has to be cleaned before enriched gas."),
    ),
    Kind.PART_ACCOUNTED: _accounted,
    Kind.REASSEMBLED: _plain(
        say("Put back together"), say("Every part is on it or accounted for.")
    ),
    Kind.FILLED: _filled,
    Kind.FILL_REFUSED: _fill_refused,
    Kind.READY: _plain(say("Ready for you")),
    Kind.COLLECTED: _collected,
    Kind.REJECTED: _rejected,
    Kind.CONDEMNED: _condemned,
    Kind.WITHDRAWN: _plain(say("You asked for it back unfinished")),
    Kind.CORRECTED: _corrected,
    Kind.OWNER_CHANGED: _plain(say("Registered as yours")),
    Kind.NOTICE_SENT: _plain(say("We wrote to you")),
}
