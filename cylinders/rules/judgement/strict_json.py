"""Read JSON (RFC 8259) so that nothing is lost or guessed: no float, no last-key-wins, no NaN.

Numbers become ``int`` or ``Decimal`` with the digits that were written. Refused with one plain
sentence: other encodings than UTF-8, a byte order mark, more than 64 KiB, more than eight levels,
a name twice in one object, NaN and Infinity, numbers beyond 30 digits, halves of surrogate pairs.

>>> loads('{"hold_seconds": 32, "limit": 10.0}')
{'hold_seconds': 32, 'limit': Decimal('10.0')}
>>> loads('{"a": 1, "a": 2}')
Traceback (most recent call last):
...
cylinders.rules.judgement.problem.UnusableBody: (body): the name 'a' stands twice in one object
"""

import json
import re
from decimal import Decimal
from typing import NoReturn

from cylinders.rules.judgement.problem import Problem, UnusableBody
from cylinders.rules.wording import say

LARGEST = 64 * 1024
DEEPEST = 8
_MOST_DIGITS = 30
_SHOWN = 40
_SURROGATES = range(0xD800, 0xE000)
#: the text is UTF-8, so half of a pair can only have been written as an escape
_ESCAPED_SURROGATE = re.compile(r"\\u[dD][89a-fA-F]")


def loads(data: bytes | str) -> object:
    """Read one JSON text; raises :class:`UnusableBody` with the reason."""
    text = _decoded(data)
    try:
        value: object = _DECODER.decode(text)
    except RecursionError:  # the parser's own end, at some thousand levels
        _refuse_too_deep()
    except json.JSONDecodeError as wrong:
        where = say("line {line}, column {column}", line=wrong.lineno, column=wrong.colno)
        _refuse("not_json", say("this is no JSON: {msg} at {where}", msg=wrong.msg, where=where))
    _refuse_depth(value)
    if _ESCAPED_SURROGATE.search(text):
        _refuse_surrogates(value)
    return value


def _refuse(code: str, says: str) -> NoReturn:
    raise UnusableBody([Problem("", code, says)])


def _decoded(data: bytes | str) -> str:
    raw = data.encode("utf-8", "surrogatepass") if isinstance(data, str) else data
    if len(raw) > LARGEST:
        _refuse(
            "too_large",
            say("{count} bytes; at most {largest} are read", count=len(raw), largest=LARGEST),
        )
    if raw.startswith((b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff")):
        _refuse("encoding", say("it starts with a byte order mark; send UTF-8 without one"))
    try:
        return raw.decode("utf-8")
    except UnicodeDecodeError as wrong:
        _refuse("encoding", say("byte {start} is not UTF-8; send UTF-8", start=wrong.start))


def _refuse_depth(value: object, left: int = DEEPEST) -> None:
    if not isinstance(value, dict | list):
        return
    if not left:
        _refuse_too_deep()
    for inner in value.values() if isinstance(value, dict) else value:
        _refuse_depth(inner, left - 1)


def _refuse_too_deep() -> NoReturn:
    _refuse("too_deep", say("more than {deepest} levels of brackets", deepest=DEEPEST))


def _decimal(text: str) -> Decimal:
    value = Decimal(text)
    # Without a power of ten, so few digits cannot lie beyond so many places.
    if len(text) > _MOST_DIGITS or ("e" in text.lower() and _is_far(value)):
        _refuse("number", say("the number {text} is out of range", text=text[:_SHOWN]))
    return value


def _is_far(value: Decimal) -> bool:
    exponent = value.as_tuple().exponent
    return not isinstance(exponent, int) or abs(exponent) > _MOST_DIGITS


def _whole(text: str) -> int:
    if len(text) > _MOST_DIGITS:
        _refuse("number", say("a number of {count} digits is out of range", count=len(text)))
    return int(text)


def _refuse_constant(text: str) -> NoReturn:
    _refuse("number", say("{text} is not a number that can be measured", text=text))


def _object(pairs: list[tuple[str, object]]) -> dict[str, object]:
    found = dict(pairs)
    if len(found) < len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        _refuse(
            "duplicate_key",
            say("the name {name!r} stands twice in one object", name=twice[:_SHOWN]),
        )
    return found


def _refuse_surrogates(value: object) -> None:
    """A lone half of a surrogate pair is no character and could not be stored or shown."""
    if isinstance(value, dict):
        for name, inner in value.items():
            _refuse_surrogates(name)
            _refuse_surrogates(inner)
    elif isinstance(value, list):
        for inner in value:
            _refuse_surrogates(inner)
    elif isinstance(value, str) and any(ord(character) in _SURROGATES for character in value):
        _refuse("encoding", say("a text holds half of a surrogate pair; send whole characters"))


_DECODER = json.JSONDecoder(
    parse_float=_decimal,
    parse_int=_whole,
    parse_constant=_refuse_constant,
    object_pairs_hook=_object,
)
