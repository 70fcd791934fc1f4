"""A hint for the right drawer: what is known from memory, and nothing for what is not."""

import pytest

from cylinders.rules import o_rings
from cylinders.rules.verdict import Certainty


@pytest.mark.parametrize(
    ("thread", "outlet", "sizes"),
    [
        ("3/4-14 NPSM", "yoke", ["AS568-214", "AS568-014"]),
        ("3/4-14 NPSM", "DIN 300", ["AS568-214"]),
        ("M25x2", "yoke", ["AS568-014"]),
        ("M25x2", "DIN 200", []),
        ("", "", []),
        ("3/4", "other", []),
    ],
)
def test_only_what_is_listed_is_said(thread: str, outlet: str, sizes: list[str]) -> None:
    assert [seal.size for seal in o_rings.usual(thread=thread, outlet=outlet)] == sizes


def test_nobody_takes_it_for_law() -> None:
    assert o_rings.CITES.certainty is Certainty.FROM_MEMORY
    assert "from memory" in str(o_rings.CITES)
