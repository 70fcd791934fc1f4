"""The story of a cylinder in plain sentences: one for each kind of event.

The history names people and parts by number; what may be read for them is decided by the page.
"""

import datetime as dt
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from django.utils.translation import gettext as _

from api.pages.file_sentences import FILE_SENTENCES
from api.pages.lab_sentences import LAB_SENTENCES
from api.pages.names import Names
from api.pages.report_sentences import REPORT_SENTENCES
from api.pages.telling import FactsDict, row, said
from api.wording import listed, told, with_sign, word
from cylinders.facts import Kind
from cylinders.history import Entry


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
    first = _("Dropped off for the first time") if facts["new"] else _("Dropped off again")
    wanted = listed(facts["services"]) or _("nothing yet")
    arrived = _("%(first)s for %(owner)s. Wanted: %(wanted)s.") % {
        "first": first,
        "owner": names.customer(facts["owner"]),
        "wanted": wanted,
    }
    return row(arrived, _("It bears condemning marks.") if facts["condemned_by_marks"] else "")


def _proven_empty(facts: FactsDict, _names: Names) -> str:
    return _("Drained and proven empty: %(how)s.") % said(facts, "how")


def _removed(facts: FactsDict, _names: Names) -> str:
    name = facts["name"] or word(facts["part_kind"])
    serial = _("no. %(serial)s") % facts if facts["serial"] else ""
    details = ", ".join(filter(None, (facts["thread"], facts["outlet"], serial)))
    part = f"{name} ({details})" if details else name
    clean = _("Clean for oxygen.") if facts["oxygen_clean"] else ""
    return row(_("Taken off: %(part)s.") % {"part": part}, clean)


def _torn_down(facts: FactsDict, _names: Names) -> str:
    return _("Taken down. Outside %(outside)s, travel plug in.") % said(facts, "outside")


def _inspected(facts: FactsDict, _names: Names) -> str:
    seen = said(facts, "internal", "external", "threads", "result")
    seen["result"] = seen["result"].capitalize()
    says = _(
        "Inspected by %(standard)s: inside %(internal)s, outside %(external)s, threads "
        "%(threads)s. %(result)s."
    )
    notes = facts["notes"].rstrip(".")
    return row(says % seen, _("Notes: %(notes)s.") % {"notes": notes} if notes else "")


def _serviced(facts: FactsDict, names: Names) -> str:
    says = _("Serviced: %(part)s, O-rings %(o_rings)s, lubricant %(lubricant)s.")
    return says % {**facts, "part": names.part(facts["part"])}


def _cleaned(facts: FactsDict, _names: Names) -> str:
    return _("Cleaned for oxygen: %(method)s.") % facts


def _broken(facts: FactsDict, _names: Names) -> str:
    return _("No longer clean for oxygen: %(why)s.") % facts


def _fitted(facts: FactsDict, names: Names) -> str:
    return _("Fitted: %(part)s.") % {"part": names.part(facts["part"])}


def _unfitted(facts: FactsDict, names: Names) -> str:
    return _("Taken off again, back in its bag: %(part)s.") % {"part": names.part(facts["part"])}


def _refused(facts: FactsDict, names: Names) -> str:
    what = names.part(facts["part"]) if facts["part"] else facts["scanned"] or _("nothing")
    why = {"what": what, "code": word(facts["code"])}
    return _("Refused at reassembly: %(what)s (%(code)s).") % why


def _accounted(facts: FactsDict, names: Names) -> str:
    about = {"part": names.part(facts["part"]), "how": word(facts["how"]), "note": facts["note"]}
    return _("Accounted for: %(part)s, %(how)s: %(note)s.") % about


def _reassembled(facts: FactsDict, _names: Names) -> str:
    count = {"fitted": len(facts["fitted"]), "accounted": len(facts["accounted"])}
    if facts["accounted"]:
        return _("Reassembled: %(fitted)s parts fitted, %(accounted)s accounted for.") % count
    return _("Reassembled: %(fitted)s parts fitted.") % count


def _mix(facts: FactsDict) -> str:
    mix = {**facts, "share": with_sign(facts["oxygen_fraction"])}
    return _("oxygen fraction %(share)s to %(pressure)s %(pressure_unit)s") % mix


def _filled(facts: FactsDict, _names: Names) -> str:
    return _("Filled: %(mix)s. %(depth)s.") % {"mix": _mix(facts), "depth": told(facts["mod"])}


def _fill_refused(facts: FactsDict, _names: Names) -> str:
    asked = {"mix": _mix(facts), "reasons": listed(facts["reasons"])}
    return _("Fill refused (%(mix)s): %(reasons)s.") % asked


def _ready(_facts: FactsDict, _names: Names) -> str:
    return _("Called ready.")


def _collected(facts: FactsDict, _names: Names) -> str:
    to = _("its owner") if facts["to_owner"] else _("somebody the owner sent")
    bags = len(facts["returned_parts"])
    if bags:
        return _("Handed over to %(to)s with %(bags)s parts in bags.") % {"to": to, "bags": bags}
    return _("Handed over to %(to)s.") % {"to": to}


def _rejected(facts: FactsDict, _names: Names) -> str:
    return _("Rejected: %(reason)s.") % facts


def _condemned(facts: FactsDict, _names: Names) -> str:
    return _("Condemned: %(reason)s. Marked: %(marked)s.") % facts


def _withdrawn(facts: FactsDict, _names: Names) -> str:
    return _("The owner takes it back unfinished: %(reason)s.") % facts


def _corrected(facts: FactsDict, _names: Names) -> str:
    about = {
        "name": word(facts["field"]),
        "was": facts["was"] or _("empty"),
        "becomes": facts["becomes"] or _("empty"),
        "reason": facts["reason"],
    }
    return _("Corrected %(name)s from %(was)s to %(becomes)s: %(reason)s.") % about


def _owner_changed(facts: FactsDict, names: Names) -> str:
    who = {"new": names.customer(facts["becomes"]), "old": names.customer(facts["was"])}
    return _("Now belongs to %(new)s, before to %(old)s.") % who


def _bound(facts: FactsDict, names: Names) -> str:
    thing = names.part(facts["part"]) if facts["part"] else word(facts["tag_kind"])
    about = {**facts, "thing": thing}
    if facts["replaces"]:
        return _("Tag %(code)s was given to the %(thing)s in place of %(replaces)s.") % about
    return _("Tag %(code)s was given to the %(thing)s.") % about


def _retired(facts: FactsDict, _names: Names) -> str:
    return _("Tag %(code)s was retired: %(reason)s.") % facts


def _notice(facts: FactsDict, _names: Names) -> str:
    about = {**facts, "duty": word(facts["duty"])}
    return _("The owner was reminded of the %(duty)s due %(due)s by %(channel)s.") % about


def _unsure(facts: FactsDict, _names: Names) -> str:
    about = {**facts, "duty": word(facts["duty"])}
    return _("A reminder of the %(duty)s due %(due)s may or may not have gone out.") % about


def _link(facts: FactsDict, _names: Names) -> str:
    until = {"until": facts["expires"][:10]}
    return _("The owner was given a link to this story, good until %(until)s.") % until


def _unlinked(facts: FactsDict, _names: Names) -> str:
    return _("A link to this story was withdrawn: %(reason)s.") % said(facts, "reason")


SENTENCES: dict[Kind, Callable[[FactsDict, Names], str]] = {
    **LAB_SENTENCES,
    **REPORT_SENTENCES,
    Kind.RECEIVED: _received,
    Kind.PROVEN_EMPTY: _proven_empty,
    Kind.PART_REMOVED: _removed,
    Kind.TORN_DOWN: _torn_down,
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
