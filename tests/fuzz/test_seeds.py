"""The promises that the fuzzer holds every text to hold for the texts it starts from."""

import datetime as dt

import pytest

from tests.fuzz.markings import COUNTRIES, check, one_input, seeds

SEEDS = seeds()


@pytest.mark.parametrize("name", SEEDS)
def test_a_seed_keeps_every_promise_in_every_country(name: str) -> None:
    for country in COUNTRIES:
        check(SEEDS[name].decode(), dt.date(2026, 11, 25), country)
        check(SEEDS[name].decode(), dt.date(1994, 2, 1), country)


@pytest.mark.parametrize("data", [b"", b"\xff\xfe", b"\xed\xa0\x80", b"5 A1/32 \x00"])
def test_bytes_that_are_no_text_are_answered_too(data: bytes) -> None:
    one_input(data)


def test_a_broken_promise_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("tests.fuzz.markings.as_json", lambda _: {1: "no JSON name"})
    with pytest.raises(AssertionError, match="not JSON"):
        check("DOT-3AL3000", dt.date(2026, 11, 25), "US")
