"""Sentences about the way to a lab and back, and about what a lab sent."""

from collections.abc import Callable

from django.utils.translation import gettext as _

from api.pages.names import Names
from api.pages.telling import FactsDict, row, said
from api.wording import listed, told, with_sign
from cylinders.facts import Kind
from cylinders.rules.wording import say


def _packed(facts: FactsDict, _names: Names) -> str:
    return _("Packed into run %(consignment)s for the lab.") % facts


def _unpacked(facts: FactsDict, _names: Names) -> str:
    return _("Taken out of run %(consignment)s again.") % facts


def _sent(facts: FactsDict, names: Names) -> str:
    who = {"lab": names.lab(facts["lab"]), "carrier": facts["carrier"]}
    return _("Left for %(lab)s with %(carrier)s.") % who


def _returned(facts: FactsDict, _names: Names) -> str:
    return _("Came home from run %(consignment)s.") % facts


def _return_undone(facts: FactsDict, _names: Names) -> str:
    return _("Scanned home by mistake: still at the lab, in run %(consignment)s.") % facts


def _attached(facts: FactsDict, names: Names) -> str:
    record = said(facts, "verdict") | {"lab": names.lab(facts["lab"])}
    share = facts["percent_permanent"]
    if share:
        record["share"] = with_sign(share)
        says = _(
            "Record %(lab_reference)s of %(lab)s, tested %(tested_on)s: %(verdict)s, permanent "
            "expansion %(share)s %%."
        )
    else:
        says = _("Record %(lab_reference)s of %(lab)s, tested %(tested_on)s: %(verdict)s.")
    return row(
        says % record, _("Decided by a person: %(decided)s.") % facts if facts["decided"] else ""
    )


def _held(facts: FactsDict, names: Names) -> str:
    record = {**facts, "lab": names.lab(facts["lab"]), "why": listed(facts["why"])}
    return _("A record of %(lab)s (%(lab_reference)s) is held: %(why)s.") % record


def _dismissed(facts: FactsDict, _names: Names) -> str:
    return _("A held record was found not to belong here: %(reason)s.") % facts


_NOW = {
    "attached": say("counts again"),
    "superseded": say("no longer counts: a correction took its place"),
    "voided": say("no longer counts: the lab took it back"),
    "held": say("waits for a person"),
}


def _settled(facts: FactsDict, _names: Names) -> str:
    state: str = facts["state"]
    now = told(_NOW.get(state, state))
    return _("Record %(lab_reference)s %(now)s (%(why)s).") % (said(facts, "why") | {"now": now})


def _stamp(facts: FactsDict, _names: Names) -> str:
    if facts["agrees"]:
        return _("New stamp %(typed)s agrees with the lab's record.") % facts
    apart = "; ".join(told(one) for one in facts["differences"])
    return _("New stamp %(typed)s does not agree: %(apart)s.") % {**facts, "apart": apart}


LAB_SENTENCES: dict[Kind, Callable[[FactsDict, Names], str]] = {
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
}
