"""When the next requalification is due: what it is counted from, and the last day.

49 CFR 180.205(c) (2019-10-01): it may be done at any time before or during the month that is due,
so a mark lasts through the last day of a month; a test done early starts its own period. Where
several tables apply (:mod:`cylinders.rules.periods`) the earliest day wins. Marks that do not count
for the service, or that lie ahead, are passed over and said.

    3AL, 3AA in scuba          5 years, star or not        3HT       3 years
    3AA industrial, star       10                          UN metal  10, UN composite 5
    DOT-39, 3E, 4L             none                        permit    as entered, else unknown

>>> facts = CylinderFacts(authority="DOT", specification="3AL", first_test=Month(2021, 11))
>>> str(next_requalification(facts, on=dt.date(2026, 11, 25)).due)
'2026-11-30'
"""

import datetime as dt
from dataclasses import dataclass, replace

from cylinders.rules.cylinder_facts import CylinderFacts, Requalification
from cylinders.rules.extra_rows import NO_EXTRA, ExtraRows
from cylinders.rules.month import Month
from cylinders.rules.periods import NoPeriod, Period, Table, tables_for
from cylinders.rules.symbols import find_symbol
from cylinders.rules.verdict import Citation
from cylinders.rules.wording import say

_DUE = Citation("49 CFR 180.205(c)", "2019-10-01")


@dataclass(frozen=True, slots=True, kw_only=True)
class NextRequalification:
    """The next requalification of one cylinder.

    ``due`` is the last day on which it is in date, ``None`` where none is asked for (``required``
    is false) or where it is not known (``required`` is true, ``code`` says why). ``months`` is the
    period, ``since`` the month it is counted from, ``notes`` what was passed over.
    """

    code: str
    says: str
    cites: Citation
    required: bool = True
    due: dt.date | None = None
    since: Month | None = None
    months: int | None = None
    notes: tuple[str, ...] = ()


def next_requalification(
    facts: CylinderFacts, *, on: dt.date, extra: ExtraRows = NO_EXTRA
) -> NextRequalification:
    """Compute the last day in date as known on day ``on``."""
    tables = tables_for(facts, on=on, extra=extra)
    if facts.stamped_due is not None:
        return _stamped(facts.stamped_due, tables, facts, on)
    if isinstance(tables, NoPeriod):
        return NextRequalification(code=tables.code, says=tables.says, cites=tables.cites)
    if not tables:
        return _none_required(facts)
    return replace(_earliest(tables, facts, on), notes=_notes(tables, facts, on))


def _none_required(facts: CylinderFacts) -> NextRequalification:
    says = say("{specification} asks for no requalification.", specification=facts.specification)
    cites = Citation("49 CFR 180.209(a) Table 1", "2019-10-01")
    return NextRequalification(code="none_required", says=says, cites=cites, required=False)


def _stamped(
    month: Month, tables: tuple[Table, ...] | NoPeriod, facts: CylinderFacts, on: dt.date
) -> NextRequalification:
    """The date that the stamp itself gives, unless what is known of the tests ends earlier."""
    own = NextRequalification(
        code="stamped_due",
        says=say("The stamp gives {month} as the next date.", month=month),
        cites=Citation("stamp that names the next date"),
        due=month.last_day,
    )
    if isinstance(tables, NoPeriod):
        return own
    computed = _earliest(tables, facts, on) if tables else own
    earlier = computed.due is not None and Month.of(computed.due) < month
    return computed if earlier else own


def _earliest(tables: tuple[Table, ...], facts: CylinderFacts, on: dt.date) -> NextRequalification:
    ends = [_end(table, facts, on) for table in tables]
    return min(ends, key=lambda end: end.due or dt.date.min)


def _end(table: Table, facts: CylinderFacts, on: dt.date) -> NextRequalification:
    since, months, period = _start(table, facts, on)
    if since is None:
        return NextRequalification(
            code="date_unknown",
            says=say("No test date that counts is known: read the stamp."),
            cites=_DUE,
            months=months,
        )
    return NextRequalification(
        code="period",
        says=say("{length} from {since}.", length=_length(months), since=since),
        cites=period.cites,
        due=since.plus_months(months).last_day,
        since=since,
        months=months,
    )


def _start(table: Table, facts: CylinderFacts, on: dt.date) -> tuple[Month | None, int, Period]:
    """The month the period runs from, its months and its row: latest mark, else manufacture."""
    marks = facts.marks_until(on)
    for month in dict.fromkeys(mark.month for mark in marks):
        symbols = frozenset[str]().union(*(m.symbols for m in marks if m.month == month))
        started = [period for period in table if period.symbols & symbols]
        if started:
            row = min(started, key=lambda period: (not period.special, period.months))
            return month, row.months, row
    new = [(period.first_months, period) for period in table if period.first_months is not None]
    months, row = min(new, key=lambda pair: (not pair[1].special, pair[0]))
    return facts.first_test_until(on), months, row


def _length(months: int) -> str:
    years, rest = divmod(months, 12)
    if rest:
        return say("{months} months", months=months)
    return say("{years} years", years=years) if years > 1 else say("1 year")


def _notes(tables: tuple[Table, ...], facts: CylinderFacts, on: dt.date) -> tuple[str, ...]:
    counted = frozenset[str]().union(*(period.symbols for table in tables for period in table))
    past = facts.marks_until(on)
    ahead = [mark for mark in facts.requalifications if mark not in past]
    notes = [say("{month} lies ahead and is not counted.", month=mark.month) for mark in ahead]
    notes += [_passed_over(mark) for mark in past if not mark.symbols & counted]
    latest = next((mark.symbols for mark in past if mark.symbols & counted), frozenset[str]())
    star = any(period.symbols == {"star"} for table in tables for period in table)
    if "star" in latest and not star:
        notes.append(say("The star's ten years do not hold here."))
    if "VE" in latest:
        notes.append(
            say("VE is eddy current and visual: the record must show the pressure test too.")
        )
    return tuple(notes)


def _passed_over(mark: Requalification) -> str:
    known = find_symbol(mark.symbol)
    what = known.test if known else say("not a symbol of 180.213(f)")
    return say(
        "{month} {symbol} ({what}) does not count here.",
        month=mark.month,
        symbol=mark.symbol,
        what=what,
    )
