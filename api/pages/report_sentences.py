"""Sentences about what a lab reports beside its test records."""

from collections.abc import Callable, Mapping
from typing import Any

from django.utils.translation import gettext as _

from api.pages.names import Names
from cylinders.facts import Kind

FactsDict = Mapping[str, Any]


def _about(facts: FactsDict) -> str:
    named = {"inspection": _("Inspection"), "drying": _("Drying")}
    return named.get(facts["about"], _("Report"))


def _why(facts: FactsDict) -> str:
    why = " ".join(facts["why"]).rstrip(".")
    return f" {why}." if why else ""


def _rejudged(facts: FactsDict, _names: Names) -> str:
    told = {name: facts[name] for name in ("lab_reference", "because", "verdict")}
    said = _("Record %(lab_reference)s was judged again after %(because)s came: %(verdict)s.")
    return said % told + _why(facts)


def _reported(facts: FactsDict, names: Names) -> str:
    told = {name: facts[name] for name in ("lab_reference", "day", "came")}
    told |= {"about": _about(facts), "lab": names.lab(facts["lab"])}
    return _("%(about)s %(lab_reference)s of %(lab)s on %(day)s: %(came)s.") % told + _why(facts)


def _settled(facts: FactsDict, _names: Names) -> str:
    said = {
        "standing": _("%(about)s %(lab_reference)s counts again (%(why)s)."),
        "voided": _("%(about)s %(lab_reference)s was taken back (%(why)s)."),
    }
    chosen = said.get(facts["state"]) or _(
        "%(about)s %(lab_reference)s no longer counts (%(why)s)."
    )
    return chosen % {
        "about": _about(facts),
        "lab_reference": facts["lab_reference"],
        "why": facts["why"],
    }


def _recall(facts: FactsDict, _names: Names) -> str:
    told = {"count": len(facts["records"]), "how": facts["how"]}
    return _("The owner was told by %(how)s that %(count)s of its tests is in doubt.") % told


REPORT_SENTENCES: dict[Kind, Callable[[FactsDict, Names], str]] = {
    Kind.RECORD_REJUDGED: _rejudged,
    Kind.LAB_REPORTED: _reported,
    Kind.REPORT_SETTLED: _settled,
    Kind.RECALL_TOLD: _recall,
}
