r"""From what arrived at the scan field to a code, or to a refusal that says what it was instead.

One extractor for the phone's camera, a hand scanner that types, and a person who types. An address
counts only when its host is ours, letter by letter; nothing that arrives is ever followed,
completed or mended. Whatever follows the code in an address of ours (``?...`` or ``#...``) means
nothing and is left out.

>>> extract("HTTPS://Tag.Example/t/7k2m9qx4wbtck\r\n", {"tag.example"})
Found(code='7K2M9QX4WBTCK', shown='HTTPS://Tag.Example/t/7k2m9qx4wbtck')
>>> extract("https://tag.example.evil.test/T/7K2M9QX4WBTCK", {"tag.example"}).reason
'other_site'
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from cylinders.rules.wording import say
from labels.codes.code import CodeError, compact, did_you_mean, is_code
from labels.codes.keyboards import layout_of

if TYPE_CHECKING:
    from collections.abc import Collection

Refusal = Literal[
    "empty",
    "length",
    "alphabet",
    "check",
    "too_long",
    "control",
    "symbology",
    "several",
    "other_site",
    "other_page",
    "foreign",
    "keyboard",
    "scanner_right",
]

LONGEST = 200
_SHOWN = 80
#: What hand scanners put round a text: blanks, line ends, and the control signs of ISO 15434.
_AROUND = " \t\r\n\x02\x03\x04\x1d\x1e"
_BETWEEN = re.compile(r"[\t\r\n\x04\x1d\x1e]+")
_SYMBOLOGY = re.compile(r"\]([A-Za-z])[0-9A-Za-z]", re.ASCII)
_ANY_CASE = re.IGNORECASE | re.ASCII | re.DOTALL
_ADDRESS = re.compile(r"(?P<scheme>[a-z]+)://(?P<host>[^/?#\\]*)(?P<rest>.*)", _ANY_CASE)
_ADDRESS_BEGINS = re.compile(r"(?<![=&?#/%])https?://", _ANY_CASE)
_TAG_PATH = re.compile(r"/t/([^/?#\\]*)/?(?:[?#].*)?", _ANY_CASE)
_SCHEME = re.compile(r"[a-z][a-z0-9+.-]*:", _ANY_CASE)
#: An address whose colon and strokes came out as other signs, by the layouts known here.
_SPOILT_ADDRESS = re.compile(r"https?(?:[^a-z0-9:.]{3}|M!!)", _ANY_CASE)
_KINDS = {
    "wifi:": say("Wi-Fi settings"),
    "begin:vcard": say("a contact"),
    "mecard:": say("a contact"),
    "begin:vevent": say("a calendar entry"),
    "sms": say("a text message"),
    "tel:": say("a telephone number"),
    "mailto:": say("an e-mail address"),
    "geo:": say("a place on a map"),
    "javascript:": say("a program"),
    "data:": say("data for a program"),
    "intent:": say("a call of a phone's program"),
}


@dataclass(frozen=True, slots=True)
class Found:
    """A code that checks; whether a tag bears it is another question."""

    code: str
    shown: str


@dataclass(frozen=True, slots=True)
class Refused:
    """No code of ours: ``reason`` for machines, ``says`` for people, ``shown`` what arrived.

    ``shown`` has its invisible signs spelt out and is cut to 80 characters; show it as text,
    escaped, never as a link. ``maybe`` are codes one look-alike away, for a person to choose from.
    """

    reason: Refusal
    says: str
    shown: str
    maybe: tuple[str, ...] = ()


def extract(text: str, hosts: Collection[str]) -> Found | Refused:
    """Read what a scanner or a person sent; ``hosts`` are our own, a port included if there is."""
    ours = {host.lower() for host in hosts}
    shown = visible(text)
    bare = text.strip(_AROUND)
    if found := _SYMBOLOGY.match(bare):
        if found[1] != "Q":
            return Refused("symbology", say("This is a bar code of another kind, no tag."), shown)
        bare = bare[found.end() :].strip(_AROUND)
    if not bare:
        return Refused("empty", say("Nothing arrived: scan the tag or type its code."), shown)
    if len(bare) > LONGEST:
        says = say("No tag holds {count} characters: this is something else.", count=len(bare))
        return Refused("too_long", says, shown)
    parts = [part.strip(_AROUND) for part in _parts(bare)]
    if len(parts) == 1:
        return _one(parts[0], ours, visible(parts[0]))
    read = [_one(part, ours, shown) for part in parts]
    codes = {one.code for one in read if isinstance(one, Found)}
    if len(codes) == 1 and all(isinstance(one, Found) for one in read):
        return Found(codes.pop(), shown)
    return Refused(
        "several", say("More than one thing was read at once: scan one tag only."), shown
    )


def visible(text: str) -> str:
    """``text`` for showing: cut, and with every invisible or direction-turning sign spelt out."""
    cut = text.strip(_AROUND)
    spelt = "".join(
        f"<U+{ord(sign):04X}>" if unicodedata.category(sign)[0] in "CMZ" and sign != " " else sign
        for sign in cut[:_SHOWN]
    )
    return spelt + ("\N{HORIZONTAL ELLIPSIS}" if len(cut) > _SHOWN else "")


def _parts(bare: str) -> list[str]:
    """The separate texts of one scan: by line ends, by a second address, or code by code."""
    lines = [line for line in _BETWEEN.split(bare) if line.strip(_AROUND)]
    parts = []
    for line in lines:
        starts = [found.start() for found in _ADDRESS_BEGINS.finditer(line)]
        if len(starts) > 1:
            ends = [*starts[1:], len(line)]
            parts += [line[start:end] for start, end in zip(starts, ends, strict=True)]
        elif " " in line and all(is_code(word) for word in line.split()):
            parts += line.split()
        else:
            parts.append(line)
    return parts


def _one(text: str, ours: Collection[str], shown: str) -> Found | Refused:
    if any(unicodedata.category(sign) in {"Cc", "Cf", "Cs", "Co", "Cn"} for sign in text):
        return Refused(
            "control", say("The text holds invisible signs: no tag of ours does."), shown
        )
    layout = layout_of(text)
    if layout is not None:
        return _scanner(layout, shown)
    if found := _ADDRESS.fullmatch(text):
        return _address(found, ours, shown)
    if _SPOILT_ADDRESS.match(text):
        says = say(
            "The scanner types another keyboard's signs: scan the scanner test tag to see which."
        )
        return Refused("keyboard", says, shown)
    return _no_address(text, ours, shown)


def _no_address(text: str, ours: Collection[str], shown: str) -> Found | Refused:
    host, slash, rest = text.partition("/")
    if slash and host.lower() in ours:
        return _on_our_host(slash + rest, shown)
    if _SCHEME.match(text) or text[:1] in {"/", "\\"}:
        return _foreign(text, shown)
    return _code(text, shown)


def _address(found: re.Match[str], ours: Collection[str], shown: str) -> Found | Refused:
    if found["scheme"].lower() not in {"https", "http"}:
        return _foreign(found[0], shown)
    if found["host"].lower() not in ours or found["rest"].startswith("\\"):
        says = say("This is another site's address, not one of our tags. It was not opened.")
        return Refused("other_site", says, shown)
    return _on_our_host(found["rest"], shown)


def _on_our_host(path: str, shown: str) -> Found | Refused:
    found = _TAG_PATH.fullmatch(path)
    if not found:
        says = say("This address is on our site but is no tag's. It was not opened.")
        return Refused("other_page", says, shown)
    return _code(found[1], shown)


def _code(text: str, shown: str) -> Found | Refused:
    try:
        return Found(compact(text), shown)
    except CodeError as error:
        return Refused(
            error.reason, say("No tag code: {error}.", error=error), shown, did_you_mean(text)
        )


def _foreign(text: str, shown: str) -> Refused:
    lower = text.lower()
    kind = next(
        (kind for start, kind in _KINDS.items() if lower.startswith(start)), say("another text")
    )
    return Refused(
        "foreign", say("This symbol holds {kind}, not one of our tags.", kind=kind), shown
    )


def _scanner(layout: str, shown: str) -> Refused:
    if not layout:
        says = say("The scanner types what the tag says: its keyboard layout is right.")
        return Refused("scanner_right", says, shown)
    named = (
        say("a layout not known here")
        if layout == "unknown"
        else say("the {layout} layout", layout=layout)
    )
    says = say(
        "The computer reads the scanner with {named}: set scanner and computer to the same one.",
        named=named,
    )
    return Refused("keyboard", says, shown)
