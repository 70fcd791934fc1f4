"""Rows an owner has added: a country's periods, or what one special permit says.

The rules take them as an argument, so a new permit or a new country needs no code. An owner's row
goes before a built-in one; of several for the same thing, the one that came into force last holds.
What the row says is cited as the owner gave it.

>>> row = PermitRow(permit="99999", interval_months=60, cites=Citation("DOT-SP 99999, para 7"))
>>> extra = ExtraRows(permits=(row,))
>>> extra.permit("99999", on=dt.date(2026, 11, 25)).interval_months
60
>>> NO_EXTRA.permit("99999", on=dt.date(2026, 11, 25)) is None
True
"""

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal
from fractions import Fraction

from cylinders.rules import countries
from cylinders.rules.countries import CountryRow
from cylinders.rules.quantity import Quantity
from cylinders.rules.verdict import Citation


@dataclass(frozen=True, slots=True, kw_only=True)
class PermitRow:
    """What one special permit or exemption lays down; ``None`` where it was not entered.

    ``permit`` is the number alone ("99999"). ``test_factor`` is times the marked pressure,
    ``test_pressure`` the figure itself where the permit gives one; ``limit_percent`` is permanent
    of total expansion. ``expires`` is the last day on which the permit is in force.
    """

    permit: str
    cites: Citation
    interval_months: int | None = None
    test_factor: Fraction | None = None
    test_pressure: Quantity | None = None
    limit_percent: Decimal | None = None
    life_months: int | None = None
    expires: dt.date | None = None
    since: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class DatedCountry:
    """A country's row with the day from which it holds (``None``: always)."""

    row: CountryRow
    since: dt.date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ExtraRows:
    """All rows that the owner has added."""

    countries: tuple[DatedCountry, ...] = field(default=())
    permits: tuple[PermitRow, ...] = field(default=())

    def permit(self, number: str, *, on: dt.date) -> PermitRow | None:
        """What the permit says on that day, or None where nobody has entered it."""
        rows = [row for row in self.permits if row.permit == number and _holds(row.since, on)]
        return max(rows, key=lambda row: row.since or dt.date.min, default=None)

    def country(self, code: str, *, on: dt.date) -> CountryRow | None:
        """The owner's row of a country on that day, else the built-in one, else None."""
        own = [
            dated
            for dated in self.countries
            if dated.row.country == code.upper() and _holds(dated.since, on)
        ]
        latest = max(own, key=lambda dated: dated.since or dt.date.min, default=None)
        return latest.row if latest else countries.row(code)


def _holds(since: dt.date | None, on: dt.date) -> bool:
    return since is None or since <= on


#: For callers that have no rows of their own.
NO_EXTRA = ExtraRows()
