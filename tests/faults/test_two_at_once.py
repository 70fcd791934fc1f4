"""Eight people scan one wall of bags at one moment: each bag is fitted once, and all are told."""

import json
import random
import sqlite3
from collections import Counter
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from typing import Any

import psycopg
import pytest

from tests.faults.hands import Hands
from tests.faults.live import Live

PEOPLE = 8


def select(live: Live, words: str) -> list[tuple[Any, ...]]:
    """Ask the database itself."""
    if live.database.startswith("sqlite"):
        with closing(sqlite3.connect(live.database.removeprefix("sqlite:///"))) as line:
            return list(line.execute(words))
    with psycopg.connect(live.database) as line:
        return list(line.execute(words.encode()))


def scan_all(hands: Hands, wall: Sequence[tuple[int, str, int]]) -> Counter[int]:
    """Every bag to its cylinder, in an order of one's own."""
    bags = list(wall)
    random.Random(len(bags)).shuffle(bags)
    return Counter(
        hands.press(f"/bench/orders/{order}/reassembly/", do="offer", code=code)[0]
        for order, code, _part in bags
    )


@pytest.mark.parametrize(
    "bags", [6, pytest.param(1_000, marks=pytest.mark.long)], ids=["a few", "a thousand"]
)
def test_each_bag_is_fitted_once_and_every_other_hand_hears_by_whom(live: Live, bags: int) -> None:
    world = json.loads(live.run("tests.faults.bags", str(bags), str(PEOPLE)))
    live.start()
    people = [
        Hands(live.port, name, key, comes_again=bags) for name, key in world["sessions"].items()
    ]
    with ThreadPoolExecutor(PEOPLE) as pool:
        done = list(pool.map(lambda hands: scan_all(hands, world["wall"]), people))
    for hands in people:
        hands.close()
    assert sum(done, Counter()) == {302: bags * PEOPLE}
    assert sum(hands.sent_away for hands in people) <= bags * PEOPLE // 20
    told = select(live, "SELECT word, says, user_id FROM api_sentform")
    words = Counter(word for word, _says, _user in told)
    assert words == {"MATCH": bags, "ALREADY FITTED": bags * (PEOPLE - 1)}
    names = dict(select(live, "SELECT id, username FROM auth_user"))
    fitted = select(live, "SELECT whereabouts, settled_by_id FROM cylinders_part")
    assert {where for where, _by in fitted} == {"fitted"}
    winners = Counter(names[by] for _where, by in fitted)
    heard = Counter(
        name
        for word, says, _user in told
        if word == "ALREADY FITTED"
        for name in names.values()
        if f"Fitted by {name} on " in says
    )
    assert heard == {name: count * (PEOPLE - 1) for name, count in winners.items()}
    assert "nothing altered" in live.run("django", "verify")
