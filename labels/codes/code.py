"""The code on a tag: twelve random symbols and a check symbol, printed four, four and five.

A code is a name, never a secret: 60 random bits, so a misread lands on nothing and nobody counts
a shop's work from its tags. It is written in the 32 symbols that leave out I, L, O and U; a reader
who types O means 0, and who types I or L means 1. The check symbol is ISO/IEC 7064 MOD 37-2; an
identifier whose check symbol falls outside the 32 is drawn again.

>>> compact("7k2m-9qx4-wbtck")
'7K2M9QX4WBTCK'
>>> show("7K2M9QX4WBTCK")
'7K2M 9QX4 WBTCK'
>>> compact("7K2M 9QX4 WBTCD")
Traceback (most recent call last):
...
labels.codes.code.CodeError: the last symbol does not agree with the others: read the code again
>>> did_you_mean("7K2M 9QX4 W8TCK")
('7K2M9QX4WBTCK',)
"""

from __future__ import annotations

import secrets
from typing import TYPE_CHECKING, Literal

from cylinders.rules.wording import say

if TYPE_CHECKING:
    from collections.abc import Callable

#: The symbols of a code, in order of value (Crockford's base 32).
ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
RANDOM_SYMBOLS = 12
LENGTH = RANDOM_SYMBOLS + 1
RANDOM_BITS = 5 * RANDOM_SYMBOLS

#: ISO/IEC 7064 MOD 37-2 counts 0-9, A-Z and an asterisk as 0 to 36.
_CHECK_SYMBOLS = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ*"
_MODULUS, _RADIX = 37, 2
_FOLD = str.maketrans({"O": "0", "I": "1", "L": "1"})
_SEPARATORS = str.maketrans("", "", " -")
_LONGEST_INPUT = 64
_MOST_DRAWS = 1_000

#: Symbols that are taken for each other on a worn or wet tag; U is no symbol, it is a misread V.
LOOK_ALIKES = {
    "0": "DQ",
    "1": "7T",
    "2": "Z",
    "3": "8",
    "4": "A",
    "5": "S",
    "6": "G",
    "7": "1T",
    "8": "B3",
    "A": "4",
    "B": "8",
    "C": "G",
    "D": "0",
    "E": "F",
    "F": "E",
    "G": "6C",
    "K": "X",
    "M": "N",
    "N": "M",
    "P": "R",
    "Q": "0",
    "R": "P",
    "S": "5",
    "T": "17",
    "U": "V",
    "V": "YW",
    "W": "V",
    "X": "K",
    "Y": "V",
    "Z": "2",
}

CodeReason = Literal["empty", "length", "alphabet", "check"]


class CodeError(ValueError):
    """Raised when a text is no tag code; ``reason`` names the fault for machines.

    ``empty``: nothing was given; ``length``: not 13 symbols; ``alphabet``: a symbol that no code
    has; ``check``: the check symbol does not agree, so at least one symbol was misread.
    """

    def __init__(self, reason: CodeReason, says: str) -> None:
        super().__init__(says)
        self.reason: CodeReason = reason


def check_symbol(identifier: str) -> str:
    """The ISO/IEC 7064 MOD 37-2 check symbol of ``identifier`` (0-9, A-Z); may be ``*``."""
    sum_so_far = 0
    for symbol in identifier:
        sum_so_far = (sum_so_far + _CHECK_SYMBOLS.index(symbol)) * _RADIX % _MODULUS
    return _CHECK_SYMBOLS[(1 - sum_so_far) % _MODULUS]


def new_code(draw: Callable[[], int] | None = None) -> str:
    """Draw a fresh code in its compact form.

    ``draw`` returns a random whole number of 60 bits; by default the system's secure source.
    Raises ``RuntimeError`` when the source is broken (out of range, or stuck on one value).
    """
    source = draw or (lambda: secrets.randbits(RANDOM_BITS))
    for _ in range(_MOST_DRAWS):
        number = source()
        if not 0 <= number < 1 << RANDOM_BITS:
            raise RuntimeError(f"the random source gave {number}, which is no {RANDOM_BITS} bits")
        identifier = "".join(
            ALPHABET[number >> shift & 31] for shift in range(RANDOM_BITS - 5, -1, -5)
        )
        check = check_symbol(identifier)
        if check in ALPHABET:
            return identifier + check
    raise RuntimeError(f"no code in {_MOST_DRAWS} draws: the random source is stuck")


def compact(text: str) -> str:
    """Return the 13 symbols that ``text`` means; raises :class:`CodeError` for anything else.

    Accepts any case, blanks and hyphens anywhere, O for 0, I and L for 1. Nothing else is
    corrected: a code that does not check is refused, never completed or mended.
    """
    symbols = fold(text)
    if not symbols:
        raise CodeError("empty", say("no code was given: scan the tag or type its 13 symbols"))
    if len(text) > _LONGEST_INPUT:
        raise CodeError(
            "length",
            say(
                "a code has {length} symbols; this text has {count}", length=LENGTH, count=len(text)
            ),
        )
    for place, symbol in enumerate(symbols, start=1):
        if symbol not in ALPHABET:
            raise CodeError(
                "alphabet",
                say("symbol {place} ({symbol!a}) is in no code", place=place, symbol=symbol),
            )
    if len(symbols) != LENGTH:
        raise CodeError(
            "length",
            say(
                "a code has {length} symbols; this one has {count}",
                length=LENGTH,
                count=len(symbols),
            ),
        )
    if check_symbol(symbols[:-1]) != symbols[-1]:
        says = say("the last symbol does not agree with the others: read the code again")
        raise CodeError("check", says)
    return symbols


def is_code(text: str) -> bool:
    """Whether :func:`compact` would accept ``text``."""
    try:
        compact(text)
    except CodeError:
        return False
    return True


def fold(text: str) -> str:
    """``text`` without blanks and hyphens, in capitals, O as 0, I and L as 1; not yet checked.

    Only ASCII letters change case: a letter of another script stays as it is and is refused.
    """
    bare = text.translate(_SEPARATORS)
    return (bare.upper() if bare.isascii() else bare).translate(_FOLD)


def show(code: str) -> str:
    """The code as it is printed: four, four and five symbols."""
    return f"{code[:4]} {code[4:8]} {code[8:]}"


def did_you_mean(text: str) -> tuple[str, ...]:
    """Codes that ``text`` may have been before one symbol was taken for its look-alike.

    Each answer checks; whether it exists only the caller can tell, and only a person may choose.
    A text of another length gives none: a torn code is never completed.
    """
    symbols = fold(text) if len(text) <= _LONGEST_INPUT else ""
    if len(symbols) != LENGTH or is_code(symbols):
        return ()
    found = set()
    for place, symbol in enumerate(symbols):
        for other in LOOK_ALIKES.get(symbol, ""):
            candidate = symbols[:place] + other + symbols[place + 1 :]
            if is_code(candidate):
                found.add(candidate)
    return tuple(sorted(found))
