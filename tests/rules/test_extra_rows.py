import datetime as dt
from dataclasses import replace

from cylinders.rules.countries import COUNTRIES, row
from cylinders.rules.extra_rows import NO_EXTRA, DatedCountry, ExtraRows, PermitRow
from cylinders.rules.practice import FIGURES
from cylinders.rules.verdict import Certainty, Citation
from tests.rules.cast import TODAY

OLD = PermitRow(permit="99999", interval_months=36, cites=Citation("first issue"))
NEW = replace(OLD, interval_months=60, cites=Citation("revised"), since=dt.date(2026, 7, 1))


def test_of_two_rows_of_a_permit_the_one_in_force_last_holds() -> None:
    for rows in ((OLD, NEW), (NEW, OLD)):
        extra = ExtraRows(permits=rows)
        assert extra.permit("99999", on=TODAY) == NEW
        assert extra.permit("99999", on=dt.date(2026, 7, 1)) == NEW
        assert extra.permit("99999", on=dt.date(2026, 6, 30)) == OLD


def test_a_permit_that_nobody_entered_is_not_there() -> None:
    assert ExtraRows(permits=(OLD,)).permit("99998", on=TODAY) is None
    assert ExtraRows(permits=(NEW,)).permit("99999", on=dt.date(2026, 1, 1)) is None
    assert NO_EXTRA.permit("99999", on=TODAY) is None


def test_an_owner_s_country_goes_before_the_built_in_one() -> None:
    german = row("DE")
    assert german is not None
    own = replace(german, visual_months=12)
    extra = ExtraRows(countries=(DatedCountry(row=own, since=dt.date(2026, 7, 1)),))
    assert extra.country("de", on=TODAY) == own
    assert extra.country("DE", on=dt.date(2026, 6, 30)) == german
    assert extra.country("GB", on=TODAY) == row("GB")
    assert extra.country("FR", on=TODAY) is None


def test_country_codes_are_unique_and_only_the_us_row_was_read() -> None:
    codes = [country.country for country in COUNTRIES]
    assert codes == ["US", "CA", "GB", "DE", "CH", "NZ"]
    read = [one.country for one in COUNTRIES if one.cites.certainty is Certainty.READ]
    assert read == ["US"]


def test_no_figure_of_the_trade_passes_for_law() -> None:
    assert {figure.cites.certainty for figure in FIGURES}.isdisjoint({Certainty.READ})
    assert all(figure.what and figure.unit and figure.cites.source for figure in FIGURES)
    assert all(figure.value > 0 for figure in FIGURES)
