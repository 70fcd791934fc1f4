"""The rows that the owner has entered, as the rules take them."""

from collections.abc import Iterable
from decimal import Decimal
from fractions import Fraction

from cylinders.models import OwnerRow
from cylinders.rules.countries import CountryRow
from cylinders.rules.extra_rows import DatedCountry, ExtraRows, PermitRow
from cylinders.rules.verdict import Certainty, Citation
from cylinders.rules.wording import say


def extra_rows() -> ExtraRows:
    """Every row ever entered; the rules pick the one in force. One query.

    Of several rows for one thing and one day the one entered last stands first, and so holds.
    """
    return of_rows(OwnerRow.objects.order_by("-entered_at", "-pk"))


def of_rows(entered: Iterable[OwnerRow]) -> ExtraRows:
    """The same from rows that were read already, the one entered last first."""
    rows = list(entered)
    return ExtraRows(
        countries=tuple(_country(row) for row in rows if row.subject == OwnerRow.Subject.COUNTRY),
        permits=tuple(_permit(row) for row in rows if row.subject == OwnerRow.Subject.PERMIT),
    )


def _permit(row: OwnerRow) -> PermitRow:
    return PermitRow(
        permit=row.name,
        cites=_cited(row),
        interval_months=row.requalification_months,
        test_factor=Fraction(row.test_factor) if row.test_factor else None,
        limit_percent=Decimal(row.limit_percent) if row.limit_percent else None,
        life_months=row.life_months,
        expires=row.expires,
        since=row.since,
    )


def _country(row: OwnerRow) -> DatedCountry:
    return DatedCountry(
        row=CountryRow(
            country=row.name,
            name=row.name,
            requalification_months=row.requalification_months,
            visual_months=row.visual_months,
            cites=_cited(row),
            visual_cites=_cited(row),
        ),
        since=row.since,
    )


def _cited(row: OwnerRow) -> Citation:
    source = say(
        "{cites}, entered by the shop on {entered_at:%Y-%m-%d}",
        cites=row.cites,
        entered_at=row.entered_at,
    )
    return Citation(source, "", Certainty.SECOND_HAND)
