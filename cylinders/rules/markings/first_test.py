"""The month of the first test: taken where one date stands for it, asked where several may.

Source: 49 CFR 178.35(f), 2019-10-01. A date is never let stand as the first test because it was met
first: the one right behind the maker's mark, or a second original date, contests it.
"""

from cylinders.rules.markings import sources
from cylinders.rules.markings.dates import BARE_FLOOR, FLOORS
from cylinders.rules.markings.draft import Draft
from cylinders.rules.markings.reading import FIRST_TEST
from cylinders.rules.markings.requalification import check_symbol, joined
from cylinders.rules.month import Month
from cylinders.rules.wording import say

#: a maker's mark has up to five characters; a few blanks may follow it
_NEAR = 16


def ahead(draft: Draft, month: Month) -> bool:
    """Whether ``month`` begins after the month of the day asked about."""
    return (month.year, month.month) > (draft.on.year, draft.on.month)


def floor(draft: Draft) -> int:
    """Return the first year that the open stamp's authority can have stamped."""
    authority = draft.pending[0].authority if draft.pending else None
    return FLOORS.get(authority or "", BARE_FLOOR)


def take(draft: Draft, month: Month, symbols: tuple[str, ...]) -> None:
    """Take ``month`` as that of the first test, unless it lies ahead."""
    draft.close()
    if ahead(draft, month):
        draft.warn(
            "first_test_ahead",
            say("First test {month} lies after {on}: it is refused", month=month, on=draft.on),
            sources.ORIGINAL_MARKS,
        )
        return
    if month.year < floor(draft):
        draft.warn(
            "first_test_before_authority",
            say("First test {month} is older than the authority stamped with it", month=month),
            sources.CENTURY,
        )
    draft.test_date = month
    draft.symbol = joined(symbols)
    for symbol in symbols:
        check_symbol(draft, symbol)


def contest(draft: Draft, *rivals: str) -> None:
    """Ask which date is that of the first test and keep none where another claims its place."""
    if draft.test_date is None or str(draft.test_date) in rivals:
        return
    draft.ask(
        FIRST_TEST,
        say("More than one date may be that of the first test. Which one is it?"),
        str(draft.test_date),
        *rivals,
    )
    draft.test_date, draft.symbol, draft.contested = None, None, True


def claim(draft: Draft, place: int, *months: Month) -> None:
    """Let a date that begins at ``place``, right behind the maker's mark, claim to be the first.

    49 CFR 178.35(f) has the test date near the serial number and the maker's mark; ``months`` are
    the readings of that date.
    """
    near = draft.text[max(0, place - _NEAR) : place].rstrip(" ")
    if draft.maker is not None and near.endswith(draft.maker):
        contest(draft, *(str(month) for month in months))
