"""How long a diving cylinder's test and inspection last, country by country.

The row of the country in which the cylinder is filled is taken together with the period of its
specification; the shorter wins. Only the United States rows rest on a text that was read; the rest
is second-hand (authorities' and clubs' pages that quote the national rule) and says so. A country
that has no row is not guessed: an owner adds one (:mod:`cylinders.rules.extra_rows`).

    country   test         internal visual
    US        by 180.209   12 months, practice, no law
    CA        60 months    12 months, practice
    GB        60           30 (by risk assessment; yearly without)
    DE        60           30
    CH        60           30
    NZ        24           12

>>> row("DE").visual_months
30
>>> row("FR") is None
True
"""

from dataclasses import dataclass

from cylinders.rules.practice import VISUAL_MONTHS
from cylinders.rules.verdict import Certainty, Citation

_READ_PAGE = Certainty.SECOND_HAND


@dataclass(frozen=True, slots=True, kw_only=True)
class CountryRow:
    """Periods in one country, in months; ``None``: this country's row sets none.

    ``country`` is the two-letter code (ISO 3166-1). ``visual_is_law`` says whether the visual
    period is laid down by an authority or is practice. ``stamps_next_due`` marks countries whose
    stamp gives the next date, not the date of the test.
    """

    country: str
    name: str
    requalification_months: int | None
    visual_months: int | None
    cites: Citation
    visual_cites: Citation
    visual_is_law: bool = False
    stamps_next_due: bool = False


def _cited(source: str, edition: str = "") -> Citation:
    return Citation(source, edition, _READ_PAGE)


_GB = _cited("BS EN ISO 18119 informative annex, as quoted in the national risk assessment", "2018")
_DE = _cited("BetrSichV annex 2 section 4 no. 7.6 b), as quoted on a club's page")
_CH = _cited("ADR practice since 1997, as stated on two clubs' pages")
_NZ = _cited("Guide to Gas Cylinders, as quoted by two test stations")
_CA = Citation("CSA B339 interval, from memory and a shop's policy page", "", Certainty.FROM_MEMORY)

COUNTRIES: tuple[CountryRow, ...] = (
    CountryRow(
        country="US",
        name="United States",
        requalification_months=None,
        visual_months=VISUAL_MONTHS.whole,
        cites=Citation("49 CFR 180.209(a) Table 1", "2019-10-01"),
        visual_cites=VISUAL_MONTHS.cites,
    ),
    CountryRow(
        country="CA",
        name="Canada",
        requalification_months=60,
        visual_months=VISUAL_MONTHS.whole,
        cites=_CA,
        visual_cites=VISUAL_MONTHS.cites,
    ),
    CountryRow(
        country="GB",
        name="United Kingdom",
        requalification_months=60,
        visual_months=30,
        cites=_GB,
        visual_cites=_GB,
    ),
    CountryRow(
        country="DE",
        name="Germany",
        requalification_months=60,
        visual_months=30,
        cites=_DE,
        visual_cites=_DE,
        visual_is_law=True,
        stamps_next_due=True,
    ),
    CountryRow(
        country="CH",
        name="Switzerland",
        requalification_months=60,
        visual_months=30,
        cites=_CH,
        visual_cites=_CH,
    ),
    CountryRow(
        country="NZ",
        name="New Zealand",
        requalification_months=24,
        visual_months=12,
        cites=_NZ,
        visual_cites=_NZ,
    ),
)
_BY_CODE = {country.country: country for country in COUNTRIES}


def row(country: str) -> CountryRow | None:
    """The built-in row of a two-letter country code, or None where there is none."""
    return _BY_CODE.get(country.upper())
