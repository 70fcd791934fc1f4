"""Neck and valve threads: the same designation, or they do not go together.

Straight threads of another system often start by hand and feel seated, hold for some fills, and
then let go: a valve driven out of the neck injures or kills. So two designations are equal or the
fit is refused, and what cannot be read, or is not in the table, is refused as well.

Sources: designations and pitches from memory of ASME B1.20.1 (NPSM), ASME B1.1 (UNF), CGA V-1
(NGS, NGT), ISO 228-1 (G), ISO 15245-1 (M) and ISO 11363-1 (17E, 25E); the failures, and 25P as the
mark of M25x2, second-hand from a national safety authority's page on cylinder threads that do not
match (UK) and a diver-safety body's article of 2023.

>>> read("M 25 x 2").name
'M25x2'
>>> read("\N{VULGAR FRACTION THREE QUARTERS}\N{RIGHT DOUBLE QUOTATION MARK} NPSM").name
'3/4-14 NPSM'
>>> same_thread("M25x2", "m25*2").outcome
<Outcome.OK: 'ok'>
>>> same_thread("3/4-14 NPSM", "M25x2").code
'thread_look_alike'
>>> read("3/4") is None
True
"""

import re
import unicodedata
from dataclasses import dataclass

from cylinders.rules.verdict import Certainty, Citation, Finding, Outcome
from cylinders.rules.wording import say

_FROM_MEMORY = Certainty.FROM_MEMORY
_PIPE = Citation("ASME B1.20.1", "", _FROM_MEMORY)
_UNIFIED = Citation("ASME B1.1", "", _FROM_MEMORY)
_GAS = Citation("CGA V-1", "", _FROM_MEMORY)
_PARALLEL = Citation("ISO 15245-1", "", _FROM_MEMORY)
_TAPER = Citation("ISO 11363-1", "", _FROM_MEMORY)
_EQUALITY = Citation("neck and valve carry one designation", "", Certainty.COMMON_PRACTICE)
_SAFETY_PAGE = Citation(
    "national safety authority (UK), page on mismatched cylinder and valve threads",
    "",
    Certainty.SECOND_HAND,
)
_SAFETY_ARTICLE = Citation(
    "diver-safety body, article on valves and cylinder outlets that do not match",
    "2023",
    Certainty.SECOND_HAND,
)


@dataclass(frozen=True, slots=True)
class Thread:
    """One designation: its one spelling, straight or tapered, and where it is laid down."""

    name: str
    taper: bool
    cites: Citation


@dataclass(frozen=True, slots=True)
class LookAlike:
    """Two designations that are taken for each other, and what happens then."""

    pair: frozenset[str]
    danger: str
    cites: Citation


THREADS: tuple[Thread, ...] = (
    Thread("M25x2", taper=False, cites=_PARALLEL),
    Thread("M18x1.5", taper=False, cites=_PARALLEL),
    Thread("3/4-14 NPSM", taper=False, cites=_PIPE),
    Thread("1/2-14 NPSM", taper=False, cites=_PIPE),
    Thread("3/4-14 NGS", taper=False, cites=_GAS),
    Thread("3/4-14 NGT", taper=True, cites=_GAS),
    Thread("1/2-14 NGT", taper=True, cites=_GAS),
    Thread("7/8-14 UNF", taper=False, cites=_UNIFIED),
    Thread("G3/4", taper=False, cites=Citation("ISO 228-1", "", _FROM_MEMORY)),
    Thread("25E", taper=True, cites=_TAPER),
    Thread("17E", taper=True, cites=_TAPER),
)
#: Marks that stand for a designation.
_MARKS = {"25P": "M25x2"}
_BY_NAME = {thread.name: thread for thread in THREADS}

_M25_STARTS = say(
    "an M25 valve starts in this neck and binds after a few turns; forced home "
    "it seems tight, survives some fills and is then blown out"
)
LOOK_ALIKES: tuple[LookAlike, ...] = (
    LookAlike(frozenset({"M25x2", "3/4-14 NPSM"}), _M25_STARTS, _SAFETY_ARTICLE),
    LookAlike(frozenset({"M25x2", "G3/4"}), _M25_STARTS, _SAFETY_PAGE),
    LookAlike(
        frozenset({"M25x2", "3/4-14 NGS"}),
        _M25_STARTS,
        Citation("by analogy with 3/4-14 NPSM", "", _FROM_MEMORY),
    ),
    LookAlike(
        frozenset({"3/4-14 NPSM", "3/4-14 NGS"}),
        say(
            "same size and pitch, other diameters: it screws in loose or binds, and "
            "the flanks do not carry the load"
        ),
        _GAS,
    ),
    LookAlike(
        frozenset({"3/4-14 NPSM", "G3/4"}),
        say(
            "same pitch, other flank angle and diameter: it screws in, but the flanks "
            "do not carry the load"
        ),
        _PIPE,
    ),
    LookAlike(
        frozenset({"M18x1.5", "1/2-14 NPSM"}),
        say("the thinner valve drops into the wider neck and holds by the tips of its threads"),
        _PIPE,
    ),
    LookAlike(
        frozenset({"M25x2", "25E"}),
        say("25E is a taper: a straight valve bears on a turn or two of it only"),
        _TAPER,
    ),
)
_BY_PAIR = {look_alike.pair: look_alike for look_alike in LOOK_ALIKES}

_INCH_MARKS = re.compile(
    "[\"'`\N{ACUTE ACCENT}\u2018-\u201f\u2032-\u2037]|(?<![A-Z])IN(?:CH)?(?![A-Z])\\.?",
)
_TIMES = re.compile("[X*\N{MULTIPLICATION SIGN}\N{MULTIPLICATION X}]")
_DASHES = re.compile("[\u2010-\u2015\u2212]")
_METRIC = re.compile(r"M(\d{1,2})X(\d(?:[.,]\d)?)(?:MM)?", re.ASCII)
_INCH = re.compile(r"(\d/\d)(?:-?(\d{2})(?:TPI)?)?-?(NPSM|NGS|NGT|UNF)", re.ASCII)
_BRITISH = re.compile(r"G(\d/\d)|(\d/\d)-?BSPP", re.ASCII)
#: Any other figure that is not a plain digit (a superscript, a circled one) is not read.
_FRACTIONS = str.maketrans(
    {
        "\N{VULGAR FRACTION ONE HALF}": "1/2",
        "\N{VULGAR FRACTION THREE QUARTERS}": "3/4",
        "\N{VULGAR FRACTION SEVEN EIGHTHS}": "7/8",
        "\N{FRACTION SLASH}": "/",
    },
)
_LONGEST = 40
_PITCH = "14"


def read(text: str) -> Thread | None:
    """Return the thread that ``text`` names, or None where it is not surely one of the table.

    Takes any multiplication sign or letter x, straight and curly quotes and inch marks, blanks,
    Unicode dashes and fractions. "3/4" or "M25" alone name no thread: a system or a pitch is
    missing. The figure 14 may be left out where the named system has no other at that size.
    """
    written = text.translate(_FRACTIONS)
    odd = any(unicodedata.category(char) == "No" for char in written)
    return _BY_NAME.get(_name("" if odd or len(text) > _LONGEST else _plain(written)))


def _plain(written: str) -> str:
    """Capitals without blanks, inch marks and Unicode dashes; one letter X for any times sign."""
    unquoted = _INCH_MARKS.sub(" ", written.upper())  # before NFKC, which splits an acute accent
    folded = _INCH_MARKS.sub(" ", unicodedata.normalize("NFKC", unquoted))
    return "".join(_TIMES.sub("X", _DASHES.sub("-", folded)).split())


def _name(plain: str) -> str:
    """The one spelling of what is written, whether or not the table has it."""
    if metric := _METRIC.fullmatch(plain):
        pitch = metric[2].replace(",", ".").removesuffix(".0")
        return f"M{metric[1]}x{pitch}"
    if inch := _INCH.fullmatch(plain):
        return f"{inch[1]}-{inch[2] or _PITCH} {inch[3]}"
    if british := _BRITISH.fullmatch(plain):
        return f"G{british[1] or british[2]}"
    return _MARKS.get(plain, plain)


def same_thread(neck: str, valve: str) -> Finding:
    """Whether a valve belongs in a neck: ``OK`` only for one and the same designation.

    Codes: ``thread_same``, ``thread_unknown`` (either is not in the table or cannot be read),
    ``thread_look_alike`` (refused, with what happens if it is tried), ``thread_other``.
    """
    neck_thread, valve_thread = read(neck), read(valve)
    if neck_thread is None or valve_thread is None:
        return _unknown(neck, valve, neck_thread)
    if neck_thread == valve_thread:
        says = say("Neck and valve are both {neck_thread}.", neck_thread=neck_thread.name)
        return Finding("thread_same", Outcome.OK, says, neck_thread.cites)
    danger = _BY_PAIR.get(frozenset({neck_thread.name, valve_thread.name}))
    refusal = say(
        "STOP: neck {neck_thread}, valve {valve_thread}. Do not fit it",
        neck_thread=neck_thread.name,
        valve_thread=valve_thread.name,
    )
    if danger:
        says = f"{refusal}: {danger.danger}."
        return Finding("thread_look_alike", Outcome.FAIL, says, danger.cites)
    return Finding(
        "thread_other",
        Outcome.FAIL,
        say("{refusal}: these are not one thread.", refusal=refusal),
        _EQUALITY,
    )


def _unknown(neck: str, valve: str, neck_thread: Thread | None) -> Finding:
    part, text = ("valve", valve) if neck_thread else ("neck", neck)
    says = say(
        "STOP: {part} thread {text!r} is not one we know. Measure it with a thread "
        "gauge and enter it in full, such as M25x2 or 3/4-14 NPSM.",
        part=part,
        text=text[:_LONGEST].strip() or say("not given"),
    )
    return Finding("thread_unknown", Outcome.UNKNOWN, says, _EQUALITY)
