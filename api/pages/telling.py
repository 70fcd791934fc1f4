"""What the sentences of the story share: the facts of an event, with their words translated."""

from collections.abc import Mapping
from typing import Any, TypeAlias

from api.wording import told

FactsDict: TypeAlias = Mapping[str, Any]


def said(facts: FactsDict, *names: str) -> dict[str, Any]:
    """The facts, with those of ``names`` that are words of a list in the reader's language."""
    return {**facts, **{name: told(facts[name]) for name in names}}


def row(*sentences: str) -> str:
    """Sentences one after the other; empty ones are left out."""
    return " ".join(filter(None, sentences))
