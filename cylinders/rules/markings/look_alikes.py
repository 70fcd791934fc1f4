r"""Offer "did you mean" for what was not understood; correct nothing.

Two kinds: characters of another script that look like Latin letters or are other digits, and the
pairs O/0, I/1, L/1, S/5, B/8, Z/2 that a worn stamp or a camera swaps.

>>> latin("\u0410\u0412\u0421-\u0663")
'ABC-3'
"""

import re
import unicodedata

from cylinders.rules.markings.draft import Draft
from cylinders.rules.markings.normalising import normalise
from cylinders.rules.markings.patterns import DIGIT_FORMS, LETTER_FORMS
from cylinders.rules.wording import say

_LONGEST = 48
_MOST = 20
#: Cyrillic capitals, Greek capitals, Cyrillic small letters: each beside its Latin twin
_CYRILLIC = dict(
    zip(
        "\u0410\u0412\u0415\u041a\u041c\u041d\u041e\u0420\u0421\u0422\u0425\u0423\u0406\u0405\u0408",
        "ABEKMHOPCTXYISJ",
        strict=True,
    )
)
_GREEK = dict(
    zip(
        "\u0391\u0392\u0395\u0396\u0397\u0399\u039a\u039c\u039d\u039f\u03a1\u03a4\u03a5\u03a7",
        "ABEZHIKMNOPTYX",
        strict=True,
    )
)
_LOWER = dict(
    zip("\u0430\u0435\u043e\u0440\u0441\u0443\u0445\u0456\u0455", "AEOPCYXIS", strict=True)
)
_LATIN = {**_CYRILLIC, **_GREEK, **_LOWER}

_AS_LETTER = str.maketrans("01582", "OISBZ")
_AS_DIGIT = str.maketrans("OQILSBZ", "0011582")
_SPELLED = re.compile(
    r"(?P<head>D[O0Q]T|[I1L]CC|CTC|CRC|[B8]TC|TC)?(?P<by>[ /-]{0,3})"
    r"(?P<spec>3AAX|3AX|3A[L1I]|3AA|3A|3HT|3T|3E|4[B8]W|4[B8]A|4[B8])(?P<m>M)?"
    r"(?P<gap>[ /-]{0,3})(?P<figure>[0-9OQILSBZ]{3,5})"
)
_HEADS = frozenset(["D0T", "DQT", "1CC", "LCC", "8TC"])
_CONDEMNED = re.compile(r"C[O0Q]N[DO0]EMN(?:E[DO0]?)?|COND(?:EMN)?")
_REQUALIFIED = re.compile(
    r"(?P<month>[0-9OIL]{1,2})(?P<a>[ .-]{1,3})(?P<rin>[A-Z0-9]{2}[ /]?[A-Z0-9]{2})"
    r"(?P<b>[ .-]{1,3})(?P<year>[0-9OILSBZ]{2})(?P<rest>[ ]{0,2}(?:[+*\u2605]|[A-Z]{1,2})?)"
)


def latin(text: str) -> str:
    """Return ``text`` with look-alike letters and digits of other scripts in their Latin form."""
    return "".join(_latin(char) for char in text)


def _latin(char: str) -> str:
    """Return the Latin letter or digit that ``char`` looks like or stands for."""
    if char in _LATIN:
        return _LATIN[char]
    digit = unicodedata.decimal(char, None)
    return str(digit) if digit is not None else char


def ask_about(draft: Draft, runs: list[tuple[int, int]]) -> None:
    """Ask about each unread run that looks like a mark, up to twenty of them."""
    asked = 0
    for start, end in runs:
        if asked == _MOST:
            return
        if end - start > _LONGEST:
            continue
        run = draft.text[start:end]
        meant = _meant(run)
        if meant is not None:
            asked += 1
            draft.ask("look_alike", say("Did you mean {meant}?", meant=meant), meant, run)
    _serial_not_in_place(draft, runs)


def _meant(run: str) -> str | None:
    """Return what ``run`` may have been meant to be, ``None`` for no idea."""
    folded = normalise(latin(run)).text
    if folded != run and _is_mark(folded):
        return folded
    if folded in _HEADS:
        return _head(folded)
    if _CONDEMNED.fullmatch(folded):
        return "CONDEMNED"
    spelled = _SPELLED.fullmatch(folded)
    meant = _specification(spelled) if spelled else _requalification(folded)
    if meant is not None and meant != run and _is_mark(meant):
        return meant
    return folded if folded != run else None


def _head(head: str) -> str:
    """Return an authority with letters where it has look-alike digits."""
    return head.replace("Q", "O").replace("L", "I").translate(_AS_LETTER)


def _specification(spelled: re.Match[str]) -> str:
    """Return a specification mark with letters and digits where they belong."""
    head, by, spec, metric, gap, figure = spelled.groups(default="")
    spec = spec[:2] + "L" if spec in {"3A1", "3AI"} else spec.replace("8", "B")
    return f"{_head(head)}{by}{spec}{metric}{gap}{figure.translate(_AS_DIGIT)}"


def _requalification(folded: str) -> str | None:
    """Return a requalification mark with digits where they belong."""
    found = _REQUALIFIED.fullmatch(folded)
    if found is None:
        return None
    month, a, rin, b, year, rest = found.groups()
    rin = rin[0].translate(_AS_LETTER) + rin[1:].translate(_AS_DIGIT)
    return f"{month.translate(_AS_DIGIT)}{a}{rin}{b}{year.translate(_AS_DIGIT)}{rest}"


def _is_mark(text: str) -> bool:
    """Whether the whole of ``text`` has the shape of one mark."""
    return any(forms.fullmatch(text) is not None for forms in (DIGIT_FORMS, LETTER_FORMS))


def _serial_not_in_place(draft: Draft, runs: list[tuple[int, int]]) -> None:
    """Ask for the serial number where none stood in its place but a number was left over."""
    if draft.serial is not None or not draft.pending:
        return
    words = [draft.text[start:end] for start, end in runs if end - start <= _LONGEST]
    numbers = [word for word in words if word.isalnum() and any(c.isdigit() for c in word)]
    if numbers and word_is_plain(numbers):
        draft.ask(
            "serial_not_in_place",
            say(
                "No number stands next to or below the specification. Which one is the "
                "serial number?"
            ),
            *numbers[:5],
            say("none of these"),
        )


def word_is_plain(words: list[str]) -> bool:
    """Whether every one of ``words`` is ASCII, so that it can be stamped."""
    return all(word.isascii() for word in words)
