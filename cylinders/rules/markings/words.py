"""Words whose meaning follows from where they stand: serial number, maker, and single words."""

import re

from cylinders.rules.markings import receptacles, sources
from cylinders.rules.markings.draft import MAKER, SERIAL, Draft
from cylinders.rules.markings.marks import CondemnedMark, ManufacturerMark
from cylinders.rules.markings.patterns import SERIAL as SERIAL_SHAPE
from cylinders.rules.markings.patterns import WORD
from cylinders.rules.wording import phrase, say

_NOT_LEGIBLE = re.compile(
    r"(?:UNKNOWN|N/A|NA|ILLEGIBLE|UNREADABLE|NONE|NO[ ]?NUMBER|\?{2,8})(?![A-Z0-9?])"
)
#: letters, a blank, a number, alone on their line
_PARTED = re.compile(r"([A-Z]{1,4})[ ]{1,3}([0-9][0-9A-Z]{1,15})(?=[ ]{0,8}(?:\n|\Z))")
_MAKER = re.compile(r"[A-Z]{1,4}")
#: what may follow a maker's symbol: the end of the line, or the inspector's mark with a date
_AFTER_MAKER = re.compile(
    r"[ ]{0,8}(?:\n|\Z|[A-Z]{1,4}[ ]{1,8}[0-9]{1,2}[-./][0-9]|[0-9]{1,2}[ ]?[A-Z]{1,2}[ ]?[0-9]{2})"
)
_NO_MAKER = frozenset(["AIR", "OXY", "O2", "EAN", "NRC", "USA", "SPUN", "PLUG", "MADE", "BY"])
_CLOSURES = frozenset(["SPUN", "PLUG"])
_LOOK_ALIKE = re.compile(r"(?<=[0-9])[OILSBZQ](?=[0-9])|[OIQ](?=[0-9])|(?<=[0-9])[OIQ]")
_AS_DIGIT = str.maketrans("OQILSBZ", "0011582")
_AUTHORITY = re.compile(r"(?:DOT|ICC|CTC|CRC|BTC|TC)-[A-Z0-9]")
_ALLOYS = frozenset(["6351", "6061", "6082", "7032", "5283"])
_CROSSED = "XXXX"
_LONG, _LONGEST = 20, 40
#: in a UN stamp the number has no place of its own, so a shorter word is not taken for one
_UN_SHORTEST = 3


def word(draft: Draft, place: int) -> int:
    """Take the word at ``place``; return where it ends. What is not understood stays unread."""
    if draft.awaits == SERIAL:
        missing = _NOT_LEGIBLE.match(draft.text, place)
        if missing:
            return _no_serial(draft, missing)
        parted = _PARTED.match(draft.text, place)
        if parted and draft.pending:
            return _parted_serial(draft, parted)
    found = WORD.match(draft.text, place)
    text = found[0] if found else draft.text[place]
    end = place + len(text)
    if _CROSSED in text:
        draft.marks.append(CondemnedMark(crossed_out=True))
    elif not (
        receptacles.known_word(draft, text)
        or _serial_word(draft, text, place, end)
        or _maker_word(draft, text, end)
        or _single(draft, text)
    ):
        _warn_of_unknown(draft, text)
        return draft.leave(place, end)
    return end


def _warn_of_unknown(draft: Draft, text: str) -> None:
    """Say so where a word begins like a specification mark and names none of the table."""
    if _AUTHORITY.match(text):
        draft.warn(
            "specification_not_read",
            say(
                "{text} begins like a specification mark, but is none of the table",
                text=text[:_LONGEST],
            ),
            sources.ORIGINAL_MARKS,
        )


def _no_serial(draft: Draft, match: re.Match[str]) -> int:
    """Take a word that says that there is no legible number."""
    draft.warn(
        "serial_not_legible",
        say(
            "{match!r} stands for a serial number: the cylinder is not identified by it",
            match=match[0],
        ),
        sources.ORIGINAL_MARKS,
    )
    draft.awaits = MAKER
    return match.end()


def _parted_serial(draft: Draft, match: re.Match[str]) -> int:
    """Ask about letters and a number with a blank between them."""
    letters, digits = match.groups()
    draft.ask(
        "serial_parted",
        say(
            "Is the serial number {letters} {digits} in one, or is {letters} a mark of its own?",
            letters=letters,
            digits=digits,
        ),
        say("serial number {letters}{digits}", letters=letters, digits=digits),
        say("serial number {digits}, and {letters} beside it", digits=digits, letters=letters),
    )
    draft.awaits = MAKER
    return match.end()


def _serial_word(draft: Draft, text: str, place: int, end: int) -> bool:
    """Take ``text`` as serial number where it stands in its place and has a digit."""
    if SERIAL_SHAPE.fullmatch(text) is None or (draft.un_mode and len(text) < _UN_SHORTEST):
        return False
    if draft.awaits == SERIAL and not _after_slash(draft, place):
        take_serial(draft, text, end)
        return True
    if draft.serial and (draft.un_mode or (draft.awaits == MAKER and _adjacent(draft, place))):
        _two_serials(draft, draft.serial, text)
        return True
    return False


def _two_serials(draft: Draft, first: str, second: str) -> None:
    """Ask which of two numbers is the serial number, and keep neither."""
    draft.ask(
        "two_serials",
        say("Two numbers stand where one serial number is stamped. Which is in force?"),
        first,
        second,
    )
    draft.serial = None


def _after_slash(draft: Draft, place: int) -> bool:
    """Whether a slash joins this word to the pressure before it."""
    return place > 0 and draft.text[place - 1] == "/" and not draft.un_mode


def _adjacent(draft: Draft, place: int) -> bool:
    """Whether only blanks stand between the serial number and ``place``."""
    return not draft.text[draft.serial_end : place].strip(" \n-/")


_ALL_ZEROS = phrase("Serial number {text} is all zeros: the cylinder is not identified by it")


def take_serial(draft: Draft, text: str, end: int) -> None:
    """Take ``text`` as the serial number; ask about look-alikes, warn of odd ones."""
    draft.awaits = MAKER
    if not text.strip("0.-"):
        draft.warn(
            "serial_zero",
            say(_ALL_ZEROS, text=text),
            sources.ORIGINAL_MARKS,
        )
        return
    if text in _ALLOYS:
        draft.ask(
            "serial_or_alloy",
            say("Is {text} the serial number or the alloy?", text=text),
            say("serial number {text}", text=text),
            say("alloy {text}", text=text),
        )
        return
    draft.serial, draft.serial_end = text, end
    _doubt(draft, text)


def _doubt(draft: Draft, text: str) -> None:
    """Warn of a serial number of unusual length; ask about look-alikes in it."""
    if len(text) == 1 or len(text) > _LONG:
        draft.warn(
            "serial_length",
            say(
                "A serial number of {count} characters is unusual: compare it with the stamp",
                count=len(text),
            ),
            sources.AS_STAMPED,
        )
    if _LOOK_ALIKE.search(text):
        meant = _LOOK_ALIKE.sub(lambda found: found[0].translate(_AS_DIGIT), text)
        draft.ask(
            "look_alike", say("Did you mean serial number {meant}?", meant=meant), meant, text
        )


def labelled_serial(draft: Draft, match: re.Match[str]) -> int:
    """Read "S/N 12345": the label says what the word is."""
    text = match["serial_no"]
    if SERIAL_SHAPE.fullmatch(text) is None or len(text) > _LONGEST:
        return 0
    if draft.serial is not None and draft.serial != text:
        _two_serials(draft, draft.serial, text)
    else:
        take_serial(draft, text, match.end())
    return match.end()


def maker(draft: Draft, match: re.Match[str]) -> int:
    """Read a registered maker's number: M and four digits."""
    if draft.maker is not None and draft.maker != match[0]:
        draft.ask(
            "two_makers",
            say("Two makers' marks were read. Which one is it?"),
            draft.maker,
            match[0],
        )
        draft.maker = None
    elif draft.pending or draft.un_mode:
        draft.maker = match[0]
        if draft.serial is not None:
            draft.close()
    else:
        draft.marks.append(ManufacturerMark(match[0]))
    return match.end()


def _maker_word(draft: Draft, text: str, end: int) -> bool:
    """Take letters below a serial number as the maker's symbol (178.35(f))."""
    in_place = draft.awaits == MAKER or (
        draft.awaits == SERIAL and draft.pending and draft.pending[-1].spec == "3E"
    )
    if not in_place or draft.maker is not None or text in _NO_MAKER or draft.un_mode:
        return False
    if not (_MAKER.fullmatch(text) and _AFTER_MAKER.match(draft.text, end)):
        return False
    draft.maker = text
    draft.close()
    return True


def _single(draft: Draft, text: str) -> bool:
    """Take a word that has a meaning of its own beside a specification mark."""
    if text == "NRC" and draft.pending:
        draft.not_refillable = True
        return True
    return text in _CLOSURES and bool(draft.pending)
