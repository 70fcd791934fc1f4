"""Sentences about photos, traces and papers, and about the second look that a trace can ask for."""

from collections.abc import Callable, Mapping
from typing import Any

from django.db.models import TextChoices
from django.utils.translation import gettext as _

from api.pages.names import Names
from cylinders.facts import Kind
from cylinders.models import FileKind, Shows

FactsDict = Mapping[str, Any]


def _label(words: type[TextChoices], word: str) -> str:
    """The word of a list in the reader's language; one that is gone from the list as it stands."""
    return _(str(dict(words.choices).get(word, word)))


def _added(facts: FactsDict, _names: Names) -> str:
    return _("Added: %(kind)s of %(shows)s.") % {
        "kind": _label(FileKind, facts["file_kind"]),
        "shows": _label(Shows, facts["shows"]),
    }


def _shown(facts: FactsDict, _names: Names) -> str:
    said = (
        _("The owner sees photo %(number)s.")
        if facts["shown"]
        else _("The owner no longer sees photo %(number)s.")
    )
    return said % {"number": facts["attachment"]}


def _erased(facts: FactsDict, _names: Names) -> str:
    return _("Photo %(number)s was erased: its owner asked to be forgotten.") % {
        "number": facts["attachment"]
    }


def _second_looked(facts: FactsDict, _names: Names) -> str:
    said = (
        _("A second person looked at the eddy current indication: no crack. %(notes)s.")
        if facts["seen"] == "clear"
        else _("A second person looked at the eddy current indication: a crack. %(notes)s.")
    )
    return said % {"notes": facts["notes"].rstrip(".")}


FILE_SENTENCES: dict[Kind, Callable[[FactsDict, Names], str]] = {
    Kind.SECOND_LOOKED: _second_looked,
    Kind.FILE_ADDED: _added,
    Kind.FILE_SHOWN: _shown,
    Kind.FILE_ERASED: _erased,
}
