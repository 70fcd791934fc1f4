"""JSON is read so that nothing is lost or guessed; what cannot be is refused in one sentence."""

import gzip
import json
from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.judgement import UnusableBody, loads
from cylinders.rules.judgement.strict_json import DEEPEST, LARGEST


def refused(data: bytes | str) -> str:
    with pytest.raises(UnusableBody) as unusable:
        loads(data)
    (problem,) = unusable.value.problems
    assert problem.pointer == ""
    assert problem.says
    return problem.code


def test_numbers_keep_their_digits_and_are_never_floats() -> None:
    read = loads('{"a": 5.60, "b": 32, "c": 1e2, "d": -0.0}')
    assert read == {"a": Decimal("5.60"), "b": 32, "c": Decimal("1e2"), "d": Decimal("-0.0")}
    assert isinstance(read, dict)
    assert [str(value) for value in read.values()] == ["5.60", "32", "1E+2", "-0.0"]
    assert not any(isinstance(value, float) for value in read.values())


@pytest.mark.parametrize(
    ("data", "code"),
    [
        (b"", "not_json"),
        (b"   ", "not_json"),
        (b'{"a": 1', "not_json"),
        (b'{"a": 1,}', "not_json"),
        (b"{'a': 1}", "not_json"),
        (b'{"a": 1} // ok', "not_json"),
        (b'/* note */ {"a": 1}', "not_json"),
        (b'{"a": 1}{"b": 2}', "not_json"),
        (b'{"a": 01}', "not_json"),
        (b'{"a": .5}', "not_json"),
        (b'{"a": +5}', "not_json"),
        (b'{"a": "\x01"}', "not_json"),
        (b'{"a": NaN}', "number"),
        (b'{"a": Infinity}', "number"),
        (b'{"a": -Infinity}', "number"),
        (b'{"a": 1e400}', "number"),
        (b'{"a": 1e-400}', "number"),
        (b'{"a": 1e31}', "number"),
        (b'{"a": ' + b"9" * 5000 + b"}", "number"),
        (b'{"a": 0.' + b"9" * 5000 + b"}", "number"),
        (b'{"a": 1, "a": 2}', "duplicate_key"),
        (b'{"x": {"a": 1, "a": 1}}', "duplicate_key"),
        (b'\xef\xbb\xbf{"a": 1}', "encoding"),
        ('{"a": 1}'.encode("utf-16"), "encoding"),
        ('{"a": 1}'.encode("utf-16-le"), "not_json"),
        ('{"a": "é"}'.encode("latin-1"), "encoding"),
        (b'{"a": "\xff"}', "encoding"),
        (b'{"a": "\\ud800"}', "encoding"),
        (b'{"\\udfff": 1}', "encoding"),
        (b'[["\\ud83d"]]', "encoding"),
        (gzip.compress(b'{"a": 1}', mtime=0), "encoding"),
    ],
)
def test_what_is_refused(data: bytes, code: str) -> None:
    assert refused(data) == code


def test_a_pair_of_surrogates_is_one_character() -> None:
    assert loads(b'{"a": "\\ud83d\\ude00"}') == {"a": "\N{GRINNING FACE}"}


def test_a_text_with_half_a_pair_is_refused_as_text_too() -> None:
    assert refused('{"a": "\ud800"}') == "encoding"


def test_the_largest_body_is_read_and_one_byte_more_is_not() -> None:
    padding = LARGEST - len('{"a": ""}')
    assert loads(f'{{"a": "{"x" * padding}"}}') == {"a": "x" * padding}
    assert refused(f'{{"a": "{"x" * (padding + 1)}"}}') == "too_large"
    assert refused(b" " * 10_000_000) == "too_large"


def test_depth_is_counted_outside_texts() -> None:
    nest = "[" * DEEPEST + "]" * DEEPEST
    assert loads(nest) is not None
    assert refused(f"[{nest}]") == "too_deep"
    assert refused("[" * 60_000) == "too_deep"
    assert loads(json.dumps(["[" * 100, '\\"[[[[[[[[[[', "{" * 50])) is not None
    assert loads('{"a": [1], "b": [1], "c": [1], "d": [1], "e": [1], "f": [1], "g": [1]}')


@settings(max_examples=200, deadline=None)
@given(st.binary(max_size=200))
def test_no_bytes_crash_it(data: bytes) -> None:
    try:
        loads(data)
    except UnusableBody as unusable:
        assert unusable.problems[0].says  # noqa: PT017 - most bytes are refused, some are read
