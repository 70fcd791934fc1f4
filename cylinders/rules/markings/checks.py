"""What the marks say when they are read together: plus, star, life, order of dates."""

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import Draft
from cylinders.rules.markings.marks import (
    LifeMark,
    Mark,
    OriginalMark,
    RequalificationMark,
    UnMark,
)
from cylinders.rules.markings.reading import Unread, may_be_a_test
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import Specification
from cylinders.rules.verdict import Certainty
from cylinders.rules.wording import phrase, say

_SIX_YEARS_SHORTER = 60
_ALUMINIUM = frozenset({"3AL", "3ALM"})
_ACETYLENE = frozenset({"8", "8AL"})


def check(draft: Draft, marks: tuple[Mark, ...], unread: tuple[Unread, ...]) -> None:
    """Add the warnings that need more than one mark, or what was not read."""
    _hidden_characters(draft)
    row: Specification | None = None
    for mark in marks:
        if isinstance(mark, OriginalMark):
            row = row or mark.row
            _original(draft, mark)
        elif isinstance(mark, UnMark):
            _receptacle(draft, mark)
        elif isinstance(mark, LifeMark):
            _life(draft, mark.word, mark.date)
    for mark in marks:
        if isinstance(mark, RequalificationMark):
            _requalification(draft, mark, row)
    if unread and any(_has_plus(mark) for mark in marks) and may_be_a_test(unread):
        draft.warn(
            "plus_not_certain",
            say(
                "A plus was read, but part of the stamp was not and may be a later test: "
                "the plus does not count until that part is read"
            ),
            sources.PLUS,
        )


def _has_plus(mark: Mark) -> bool:
    """Whether a plus follows a test date of this mark."""
    if isinstance(mark, RequalificationMark):
        return mark.plus
    return isinstance(mark, OriginalMark) and mark.symbol is not None and "+" in mark.symbol


def _hidden_characters(draft: Draft) -> None:
    """Say which characters were met that an eye cannot see, or sees struck out."""
    if "invisible" in draft.clean.hidden:
        draft.warn(
            "invisible_characters",
            say("Characters that cannot be seen were left out of the text"),
            sources.AS_STAMPED,
        )
    if "direction" in draft.clean.hidden:
        draft.warn(
            "direction_characters",
            say(
                "The text holds characters that turn the order in which it is shown: type "
                "it again from the cylinder"
            ),
            sources.AS_STAMPED,
        )
    if "stroke" in draft.clean.hidden:
        draft.warn(
            "struck_out",
            say(
                "Part of the text is struck out. If specification and pressure are, the "
                "cylinder is condemned: look at it"
            ),
            sources.CONDEMNED,
        )


def _original(draft: Draft, mark: OriginalMark) -> None:
    """Check one specification mark."""
    row = mark.row
    if row.us_equivalent and row.test_cites.certainty is Certainty.FROM_MEMORY:
        draft.warn(
            "factor_from_memory",
            say(
                "The test pressure of {spec} follows CSA B339, which was not read: its "
                "factor is from memory, confirm it before a test",
                spec=mark.spec,
            ),
            sources.METRIC_FACTOR,
        )
    if mark.plus_after_pressure:
        draft.warn(
            "plus_after_pressure",
            say(
                "A plus behind the pressure gives nothing: it counts only behind the "
                "latest test date"
            ),
            sources.PLUS,
        )
    if _has_plus(mark):
        _plus_allowed(draft, row)
    if row.ree_condemns:
        _aircraft(draft, mark)


def _aircraft(draft: Draft, mark: OriginalMark) -> None:
    """Check a 3HT: its REE is stamped, and its life is limited."""
    if mark.ree_cc is None:
        draft.warn(
            "ree_not_read",
            say("A 3HT is stamped with its REE in cc; none was read"),
            sources.REE_3HT,
        )
    if mark.life_end and mark.life_end < Month.of(draft.on):
        draft.warn(
            "life_ended",
            say(
                "The {life_years} years of a {spec} ended in {life_end}",
                life_years=mark.row.life_years,
                spec=mark.spec,
                life_end=mark.life_end,
            ),
            sources.LIFE_3HT,
        )


def _plus_allowed(draft: Draft, row: Specification) -> None:
    """Warn of a plus on a specification that may not carry one."""
    if not row.plus_allowed:
        draft.warn(
            "plus_not_allowed",
            say(
                "A plus on {code}: only 3A, 3AX, 3AA, 3AAX and 3T may be filled 10 % over",
                code=row.code,
            ),
            sources.PLUS,
        )


def _receptacle(draft: Draft, mark: UnMark) -> None:
    """Check a UN stamp's pressures and dates."""
    working, tested = mark.working_pressure, mark.test_pressure
    if working and tested:
        _pressures(draft, working, tested)
    for word, date in (("FINAL", mark.final_date), ("SERVICE", mark.service_date)):
        if date:
            _life(draft, word, date)


def _pressures(draft: Draft, working: Quantity, tested: Quantity) -> None:
    """Warn of a working pressure over the test pressure, or over two thirds of it (exact)."""
    same = working.unit == tested.unit
    if working.value > tested.value if same else working > tested:
        draft.warn(
            "working_over_test",
            say(
                "Working pressure {working} stands above test pressure {tested}",
                working=working,
                tested=tested,
            ),
            sources.UN_PRESSURE,
        )
    elif 3 * working.value > 2 * tested.value if same else 3 * working.base > 2 * tested.base:
        draft.warn(
            "working_over_two_thirds",
            say(
                "Working pressure {working} is more than 2/3 of test pressure {tested}",
                working=working,
                tested=tested,
            ),
            sources.UN_PRESSURE,
        )


def _life(draft: Draft, word: str, date: Month) -> None:
    """Warn of a service life that has ended."""
    if date < Month.of(draft.on):
        draft.warn(
            "life_ended",
            say("{word} {date}: no filling after the end of its life", word=word, date=date),
            sources.LIFE,
        )


_BEFORE_FIRST = phrase("Requalification {date} lies before the first test {test_date}")


def _requalification(draft: Draft, mark: RequalificationMark, row: Specification | None) -> None:
    """Check one requalification against the specification and the first test."""
    if draft.test_date and mark.date < draft.test_date:
        draft.warn(
            "requalified_before_first_test",
            say(_BEFORE_FIRST, date=mark.date, test_date=draft.test_date),
            sources.REQUALIFICATION_MARKS,
        )
    if mark.star:
        _star(draft, mark, row)
    if mark.symbol == "E":
        draft.warn(
            "external_visual_only",
            say("{date} E is an external visual: never a test for breathing gas", date=mark.date),
            sources.EXTERNAL_VISUAL,
        )
    if row is not None:
        _against_row(draft, mark, row)


def _against_row(draft: Draft, mark: RequalificationMark, row: Specification) -> None:
    """Check one requalification against the specification it was stamped beside."""
    if mark.plus:
        _plus_allowed(draft, row)
    if not row.refillable:
        draft.warn(
            "single_trip_requalified",
            say(
                "{code} is never requalified, yet {date} is stamped", code=row.code, date=mark.date
            ),
            sources.SINGLE_TRIP,
        )
    _symbol_fits(draft, mark, row)


def _star(draft: Draft, mark: RequalificationMark, row: Specification | None) -> None:
    """Say that a star is void under water, and where it may not be stamped at all."""
    five = mark.date.plus_months(_SIX_YEARS_SHORTER)
    draft.warn(
        "star_not_under_water",
        say("Star void if used for underwater breathing: due {five}", five=five),
        sources.STAR,
    )
    if row is not None and not row.star_allowed:
        draft.warn(
            "star_not_allowed",
            say("A star on {code}: only 3A and 3AA may carry it", code=row.code),
            sources.STAR,
        )


def _symbol_fits(draft: Draft, mark: RequalificationMark, row: Specification) -> None:
    """Warn of a symbol that belongs to other specifications."""
    eddy = mark.symbol == "VE" and row.code not in _ALUMINIUM
    filler = mark.symbol == "FS" and row.code not in _ACETYLENE
    if (eddy or filler) and row.cites is not None:
        draft.warn(
            "symbol_not_for_specification",
            say(
                "{symbol} on {code}: that symbol belongs to other specifications",
                symbol=mark.symbol,
                code=row.code,
            ),
            sources.REQUALIFICATION_SYMBOLS,
        )
