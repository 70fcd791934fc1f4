"""The story of a cylinder in plain sentences: one for each kind of event.

The history names people and parts by number; what may be read for them is decided by the page.
"""

import datetime as dt
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from api.pages.file_sentences import FILE_SENTENCES
from api.pages.names import Names
from cylinders.facts import Kind
from cylinders.history import Entry

FactsDict = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of the story."""

    at: dt.datetime
    who: str
    says: str
    kind: str


def tell(entries: Iterable[Entry], names: Names) -> list[Line]:
    """The story, latest first."""
    lines = [
        Line(entry.at, names.who(entry.by), sentence(entry.kind, entry.facts, names), entry.kind)
        for entry in entries
    ]
    return lines[::-1]


def sentence(kind: Kind, facts: FactsDict, names: Names) -> str:
    """What happened, in one sentence for a technician."""
    return SENTENCES[kind](facts, names)


def _received(facts: FactsDict, names: Names) -> str:
    first = "Dropped off for the first time" if facts["new"] else "Dropped off again"
    wanted = ", ".join(name.replace("_", " ") for name in facts["services"]) or "nothing yet"
    condemned = " It bears condemning marks." if facts["condemned_by_marks"] else ""
    return f"{first} for {names.customer(facts['owner'])}. Wanted: {wanted}.{condemned}"


def _proven_empty(facts: FactsDict, _names: Names) -> str:
    return f"Drained and proven empty: {facts['how']}."


def _removed(facts: FactsDict, _names: Names) -> str:
    name = facts["name"] or facts["part_kind"].replace("_", " ")
    details = (
        facts["thread"],
        facts["outlet"],
        f"no. {facts['serial']}" if facts["serial"] else "",
    )
    told = ", ".join(detail for detail in details if detail)
    clean = " Clean for oxygen." if facts["oxygen_clean"] else ""
    return f"Taken off: {name}{f' ({told})' if told else ''}.{clean}"


def _torn_down(facts: FactsDict, _names: Names) -> str:
    return f"Taken down. Outside {facts['outside']}, travel plug in."


def _packed(facts: FactsDict, _names: Names) -> str:
    return f"Packed into run {facts['consignment']} for the lab."


def _unpacked(facts: FactsDict, _names: Names) -> str:
    return f"Taken out of run {facts['consignment']} again."


def _sent(facts: FactsDict, names: Names) -> str:
    return f"Left for {names.lab(facts['lab'])} with {facts['carrier']}."


def _returned(facts: FactsDict, _names: Names) -> str:
    return f"Came home from run {facts['consignment']}."


def _return_undone(facts: FactsDict, _names: Names) -> str:
    return f"Scanned home by mistake: still at the lab, in run {facts['consignment']}."


def _attached(facts: FactsDict, names: Names) -> str:
    share = facts["percent_permanent"]
    figure = f", permanent expansion {share} %" if share else ""
    decided = f" Decided by a person: {facts['decided']}." if facts["decided"] else ""
    return (
        f"Record {facts['lab_reference']} of {names.lab(facts['lab'])}, "
        f"tested {facts['tested_on']}: {facts['verdict']}{figure}.{decided}"
    )


def _held(facts: FactsDict, names: Names) -> str:
    why = ", ".join(code.replace("_", " ") for code in facts["why"])
    return f"A record of {names.lab(facts['lab'])} ({facts['lab_reference']}) is held: {why}."


def _dismissed(facts: FactsDict, _names: Names) -> str:
    return f"A held record was found not to belong here: {facts['reason']}."


def _settled(facts: FactsDict, _names: Names) -> str:
    now = {
        "attached": "counts again",
        "superseded": "no longer counts: a correction took its place",
        "voided": "no longer counts: the lab took it back",
        "held": "waits for a person",
    }.get(facts["state"], facts["state"])
    return f"Record {facts['lab_reference']} {now} ({facts['why']})."


def _stamp(facts: FactsDict, _names: Names) -> str:
    if facts["agrees"]:
        return f"New stamp {facts['typed']} agrees with the lab's record."
    return f"New stamp {facts['typed']} does not agree: {'; '.join(facts['differences'])}."


def _inspected(facts: FactsDict, _names: Names) -> str:
    looks = f"inside {facts['internal']}, outside {facts['external']}, threads {facts['threads']}"
    notes = f" Notes: {facts['notes'].rstrip('.')}." if facts["notes"] else ""
    eddy = f", eddy current {facts['eddy_current']}" if facts.get("eddy_current") else ""
    result = facts["result"].capitalize()
    return f"Inspected by {facts['standard']}: {looks}{eddy}. {result}.{notes}"


def _serviced(facts: FactsDict, names: Names) -> str:
    return (
        f"Serviced: {names.part(facts['part'])}, O-rings {facts['o_rings']}, "
        f"lubricant {facts['lubricant']}."
    )


def _cleaned(facts: FactsDict, _names: Names) -> str:
    return f"Cleaned for oxygen: {facts['method']}."


def _broken(facts: FactsDict, _names: Names) -> str:
    return f"No longer clean for oxygen: {facts['why']}."


def _fitted(facts: FactsDict, names: Names) -> str:
    return f"Fitted: {names.part(facts['part'])}."


def _unfitted(facts: FactsDict, names: Names) -> str:
    return f"Taken off again, back in its bag: {names.part(facts['part'])}."


def _refused(facts: FactsDict, names: Names) -> str:
    what = names.part(facts["part"]) if facts["part"] else facts["scanned"] or "nothing"
    return f"Refused at reassembly: {what} ({facts['code'].replace('_', ' ')})."


def _accounted(facts: FactsDict, names: Names) -> str:
    how = facts["how"].replace("_", " ")
    return f"Accounted for: {names.part(facts['part'])}, {how}: {facts['note']}."


def _reassembled(facts: FactsDict, _names: Names) -> str:
    more = f", {len(facts['accounted'])} accounted for" if facts["accounted"] else ""
    return f"Reassembled: {len(facts['fitted'])} parts fitted{more}."


def _mix(facts: FactsDict) -> str:
    return f"oxygen fraction {facts['oxygen_fraction']} to {facts['pressure']} " + str(
        facts["pressure_unit"],
    )


def _filled(facts: FactsDict, _names: Names) -> str:
    return f"Filled: {_mix(facts)}. {facts['mod']}."


def _fill_refused(facts: FactsDict, _names: Names) -> str:
    reasons = ", ".join(code.replace("_", " ") for code in facts["reasons"])
    return f"Fill refused ({_mix(facts)}): {reasons}."


def _ready(_facts: FactsDict, _names: Names) -> str:
    return "Called ready."


def _collected(facts: FactsDict, _names: Names) -> str:
    to = "its owner" if facts["to_owner"] else "somebody the owner sent"
    bags = len(facts["returned_parts"])
    return f"Handed over to {to}{f' with {bags} parts in bags' if bags else ''}."


def _rejected(facts: FactsDict, _names: Names) -> str:
    return f"Rejected: {facts['reason']}."


def _condemned(facts: FactsDict, _names: Names) -> str:
    return f"Condemned: {facts['reason']}. Marked: {facts['marked']}."


def _withdrawn(facts: FactsDict, _names: Names) -> str:
    return f"The owner takes it back unfinished: {facts['reason']}."


def _corrected(facts: FactsDict, _names: Names) -> str:
    name = facts["field"].replace("_", " ")
    was, becomes = facts["was"] or "empty", facts["becomes"] or "empty"
    return f"Corrected {name} from {was} to {becomes}: {facts['reason']}."


def _owner_changed(facts: FactsDict, names: Names) -> str:
    return (
        f"Now belongs to {names.customer(facts['becomes'])}, "
        f"before to {names.customer(facts['was'])}."
    )


def _bound(facts: FactsDict, names: Names) -> str:
    thing = names.part(facts["part"]) if facts["part"] else facts["tag_kind"]
    old = f" in place of {facts['replaces']}" if facts["replaces"] else ""
    return f"Tag {facts['code']} was given to the {thing}{old}."


def _retired(facts: FactsDict, _names: Names) -> str:
    return f"Tag {facts['code']} was retired: {facts['reason']}."


def _notice(facts: FactsDict, _names: Names) -> str:
    duty = facts["duty"].replace("_", " ")
    return f"The owner was reminded of the {duty} due {facts['due']} by {facts['channel']}."


def _unsure(facts: FactsDict, _names: Names) -> str:
    duty = facts["duty"].replace("_", " ")
    return f"A reminder of the {duty} due {facts['due']} may or may not have gone out."


def _link(facts: FactsDict, _names: Names) -> str:
    return f"The owner was given a link to this story, good until {facts['expires'][:10]}."


def _unlinked(facts: FactsDict, _names: Names) -> str:
    return f"A link to this story was withdrawn: {facts['reason']}."


SENTENCES: dict[Kind, Callable[[FactsDict, Names], str]] = {
    Kind.RECEIVED: _received,
    Kind.PROVEN_EMPTY: _proven_empty,
    Kind.PART_REMOVED: _removed,
    Kind.TORN_DOWN: _torn_down,
    Kind.PACKED: _packed,
    Kind.UNPACKED: _unpacked,
    Kind.SENT: _sent,
    Kind.RETURNED: _returned,
    Kind.RETURN_UNDONE: _return_undone,
    Kind.RECORD_ATTACHED: _attached,
    Kind.RECORD_HELD: _held,
    Kind.RECORD_DISMISSED: _dismissed,
    Kind.RECORD_SETTLED: _settled,
    Kind.STAMP_COMPARED: _stamp,
    Kind.INSPECTED: _inspected,
    Kind.PART_SERVICED: _serviced,
    Kind.OXYGEN_CLEANED: _cleaned,
    Kind.OXYGEN_CLEAN_BROKEN: _broken,
    Kind.PART_FITTED: _fitted,
    Kind.PART_UNFITTED: _unfitted,
    Kind.PART_REFUSED: _refused,
    Kind.PART_ACCOUNTED: _accounted,
    Kind.REASSEMBLED: _reassembled,
    Kind.FILLED: _filled,
    Kind.FILL_REFUSED: _fill_refused,
    Kind.READY: _ready,
    Kind.COLLECTED: _collected,
    Kind.REJECTED: _rejected,
    Kind.CONDEMNED: _condemned,
    Kind.WITHDRAWN: _withdrawn,
    Kind.CORRECTED: _corrected,
    Kind.OWNER_CHANGED: _owner_changed,
    Kind.TAG_BOUND: _bound,
    Kind.TAG_RETIRED: _retired,
    Kind.NOTICE_SENT: _notice,
    Kind.NOTICE_UNSURE: _unsure,
    Kind.LINK_ISSUED: _link,
    Kind.LINK_REVOKED: _unlinked,
    **FILE_SENTENCES,
}
