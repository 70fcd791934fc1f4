"""Marks that change what may be done: condemned, repaired; and REE, thread, alloy."""

import re

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import Draft
from cylinders.rules.markings.marks import CondemnedMark, RepairMark, ThreadMark
from cylinders.rules.markings.receptacles import number
from cylinders.rules.wording import phrase, say

_FRACTION = re.compile(r"([1-9]/[2-8])\"?(?:-([0-9]{2}))?[ -]*([A-Z]*)")
_SAME_SIZE = {
    "3/4": ("3/4-14 NPSM", "3/4-14 NGS", "M25x2"),
    "7/8": ("7/8-14 UNF",),
    "1/2": ("1/2-14 NPSM",),
}
_BARRED = "6351"


def condemned(draft: Draft, match: re.Match[str]) -> int:
    """Read the word CONDEMNED."""
    draft.marks.append(CondemnedMark())
    return match.end()


def crossed(draft: Draft, match: re.Match[str]) -> int:
    """Read a series of X: stamped over specification and pressure, it condemns."""
    draft.marks.append(CondemnedMark(crossed_out=True))
    return match.end()


def repair(draft: Draft, match: re.Match[str]) -> int:
    """Read RETHREAD, REBUILT or REPAIRED."""
    draft.marks.append(RepairMark(match[0]))
    return match.end()


def ree(draft: Draft, match: re.Match[str]) -> int:
    """Read REE, the rejection elastic expansion in cc."""
    value = number(draft, match["ree_figure"])
    if value is not None and not value:
        draft.warn("ree_impossible", say("REE cannot be zero"), sources.REE_3HT)
    else:
        draft.ree = value
    if not draft.pending:
        return draft.leave(match.start(), match.end())
    return match.end()


_WHICH_THREAD = phrase("Which thread of {written}? Look-alikes go in a few turns and blow out")


def thread(draft: Draft, match: re.Match[str]) -> int:
    """Read a thread's designation; a bare size has several threads and is asked."""
    written = match[0]
    fraction = _FRACTION.fullmatch(written.removesuffix("IN").rstrip())
    if fraction:
        size, pitch, form = fraction.groups()
        if not form:
            draft.ask(
                "thread",
                say(_WHICH_THREAD, written=written),
                *_SAME_SIZE.get(size, ()),
                say("none of these"),
            )
            return match.end()
        return _take_thread(draft, f"{size}{f'-{pitch}' if pitch else ''} {form}", match)
    metric = re.fullmatch(r"(M[0-9]{2})[ ]?[X*][ ]?([0-9](?:[.,][0-9]{1,2})?)", written)
    shown = f"{metric[1]}x{metric[2].replace(',', '.')}" if metric else written
    return _take_thread(draft, shown, match)


def _take_thread(draft: Draft, shown: str, match: re.Match[str]) -> int:
    """Keep the thread with the stamp; ask where two different ones were read."""
    if draft.thread is not None and draft.thread != shown:
        draft.ask(
            "two_threads",
            say("Two threads were read. Measure with the gauge: which one is cut?"),
            draft.thread,
            shown,
        )
        draft.thread = None
    elif draft.pending or draft.un_mode:
        draft.thread = shown
    else:
        draft.marks.append(ThreadMark(shown))
    return match.end()


def alloy(draft: Draft, match: re.Match[str]) -> int:
    """Read an aluminium alloy; 6351 is the one that is barred or needs more."""
    name = match.group("alloy_no")
    return _take_alloy(draft, name, match)


def temper(draft: Draft, match: re.Match[str]) -> int:
    """Read "6351-T6": alloy and temper without a label; the temper tells it from a number."""
    return _take_alloy(draft, match.group("temper_alloy"), match)


_UNDER_WATER = say(
    "Alloy 6351-T6 under water: eddy current and visual at each five-year test, and a crack of "
    "two thread lengths condemns"
)


def _take_alloy(draft: Draft, name: str, match: re.Match[str]) -> int:
    """Keep the alloy; warn where it is barred or asks for an eddy-current examination."""
    if not (draft.pending or draft.un_mode):
        return 0
    draft.alloy = name
    if name.startswith(_BARRED) and draft.un_mode:
        draft.warn(
            "alloy_barred",
            say("Alloy 6351-T6 is not allowed for a UN aluminium cylinder"),
            sources.UN_ALUMINIUM,
        )
    elif name.startswith(_BARRED):
        draft.warn("alloy_6351", _UNDER_WATER, sources.ALLOY_6351)
    return match.end()
