"""Sentences that know how they were made, so that the edge can say them in another language.

A rule speaks English. What :func:`say` returns *is* the English sentence; beside it stand the
template, which a translator knows, and the figures, which keep their type and unit.

>>> said = say("{wanted} is over the {allowed} that the marks allow.", wanted=3300, allowed=3000)
>>> said
'3300 is over the 3000 that the marks allow.'
>>> said.template
'{wanted} is over the {allowed} that the marks allow.'
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Self

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from cylinders.rules.quantity import Quantity


class Saying(str):
    """An English sentence with the ``template`` and the ``figures`` it was made of."""

    __slots__ = ("figures", "template")

    template: str
    figures: Mapping[str, object]

    def __new__(cls, template: str, /, **figures: object) -> Self:
        """Put ``figures`` into ``template`` (:meth:`str.format`)."""
        made = super().__new__(cls, template.format(**figures))
        made.template = template
        made.figures = figures
        return made

    def __getnewargs_ex__(self) -> Any:
        """A copy is made in the same way."""
        return (self.template,), dict(self.figures)


class Least:
    """A pressure or a volume that is asked for at least: shown in another unit, it is rounded up.

    Everything else is rounded down in another unit: what was reached, and what is allowed at most.
    """

    __slots__ = ("quantity",)

    def __init__(self, quantity: Quantity) -> None:
        self.quantity = quantity

    def __str__(self) -> str:
        """As it was stamped or read."""
        return str(self.quantity)


class Lowered(str):
    """A sentence in the middle of another one: shown with small letters, in any language."""

    __slots__ = ("sentence",)

    sentence: str

    def __new__(cls, sentence: str, /) -> Self:
        """The sentence in small letters."""
        made = super().__new__(cls, sentence.lower())
        made.sentence = sentence
        return made

    def __getnewargs__(self) -> tuple[str]:
        """A copy is made in the same way."""
        return (self.sentence,)


def say(template: str, /, **figures: object) -> str:
    """The sentence of ``template``; each figure by its name in braces."""
    return Saying(template, **figures)


def phrase(template: str) -> str:
    """A template of a table, said later with its figures; marks it for the catalogue."""
    return template


def together(parts: Iterable[str], *, by: str = " ") -> str:
    """Several sentences in a row, each still known by itself; empty ones are left out."""
    figures = {f"part{n}": part for n, part in enumerate(filter(None, parts))}
    return Saying(by.join(f"{{{name}}}" for name in figures), **figures)


__all__ = ["Least", "Lowered", "Saying", "phrase", "say", "together"]
