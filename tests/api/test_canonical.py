"""The one JSON text of a value: the same by the library's way and by the exact one."""

import json
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.posted_records import canonical
from cylinders.rules.judgement import loads

PLAIN = st.none() | st.booleans() | st.integers(-(10**17), 10**17) | st.text(max_size=8)
VALUES = st.recursive(
    PLAIN, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(), inner, max_size=4)
)


@given(VALUES)
def test_a_decimal_beside_it_changes_nothing_in_the_text_of_a_value(value: object) -> None:
    assert canonical([value, Decimal("1.50")]) == f"[{canonical(value)},1.50]"


@given(VALUES)
def test_the_text_is_json_without_blanks_and_its_names_are_sorted(value: object) -> None:
    text = canonical(value)
    assert json.loads(text) == value
    assert text == json.dumps(
        value, sort_keys=True, ensure_ascii=False, separators=(",", ":"), allow_nan=False
    )


@pytest.mark.parametrize("sent", ["1.50", "1.5", "0.10000000000000000001", "12345678901234567.5"])
def test_a_number_keeps_the_digits_that_were_sent(sent: str) -> None:
    assert canonical(loads(f'{{"b": {sent}, "a": "x"}}')) == f'{{"a":"x","b":{sent}}}'
