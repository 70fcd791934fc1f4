"""Tokens of a UN or ISO receptacle's stamp, in whatever line order (49 CFR 178.71(q))."""

import re
from decimal import Decimal

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import Draft, PendingUn
from cylinders.rules.markings.marks import LifeMark
from cylinders.rules.markings.pressures import UNIT_NAMES
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.wording import say

#: distinguishing signs of countries, as stamped; only these are taken for a country
COUNTRIES = frozenset(
    ("USA", "CDN", "CAN", "GB", "UK", "D", "F", "I", "A", "CH", "NL", "B", "E", "S", "N", "FIN")
) | frozenset(("DK", "CZ", "PL", "P", "TR", "J", "CN", "CHN", "ROK", "IND", "AUS", "NZ", "BR"))
_LARGE_WITHOUT_POINT = Decimal(30)
_HIGHEST_LITRES = Decimal(3000)


def stamp(draft: Draft) -> PendingUn:
    """Return the one UN stamp of this text, begun where its first token stands."""
    if draft.un is None:
        draft.un = PendingUn()
        draft.marks.append(draft.un)
    return draft.un


def number(draft: Draft, written: str) -> Decimal | None:
    """Return a measured figure; a decimal comma is taken as such and said so."""
    whole, comma, part = written.partition(",")
    if comma and len(part) == 3:  # noqa: PLR2004 - three digits may be thousands
        draft.ask(
            "decimal_comma",
            say("Is the comma in {written} a decimal sign or a thousands mark?", written=written),
            f"{whole}.{part}",
            f"{whole}{part}",
        )
        return None
    if comma:
        draft.warn(
            "decimal_comma",
            say("{written} is read as {whole}.{part}", written=written, whole=whole, part=part),
            sources.AS_STAMPED,
        )
    return Decimal(written.replace(",", "."))


def standard(draft: Draft, match: re.Match[str]) -> int:
    """Read "ISO 9809-1"; the number keeps its part and edition."""
    stamp(draft).standards.append(f"{match['standard_by']} {match['standard_no']}")
    return match.end()


def pressure(draft: Draft, match: re.Match[str]) -> int:
    """Read PH (test pressure) or PW (working pressure); without a unit it is not given a value."""
    kind, figure, unit = match.group("pressure_kind", "pressure_figure", "pressure_unit")
    value = number(draft, figure)
    if unit is None:
        draft.ask(
            "pressure_unit",
            say("In which unit is P{kind}{figure}? A UN stamp says BAR", kind=kind, figure=figure),
            say("{figure} bar", figure=figure),
            say("{figure} psi", figure=figure),
        )
        value = None
    found = Quantity(value, UNIT_NAMES[unit]) if value is not None and unit else None
    if found is not None and not found.value:
        draft.warn(
            "pressure_impossible",
            say("{match}: no pressure is zero", match=match[0]),
            sources.UN_MARKS,
        )
        found = None
    if kind == "H":
        stamp(draft).test_pressure = found
    else:
        stamp(draft).working_pressure = found
    return match.end()


def measure(draft: Draft, match: re.Match[str]) -> int:
    """Read mass in KG, wall in MM or water capacity in L; a bare BAR has no kind and is asked."""
    if not draft.un_mode:
        return 0
    figure, unit = match.group("measure_figure", "measure_unit")
    if unit == "BAR" or unit.startswith("LB"):
        return _without_kind(draft, match, figure, unit)
    value = number(draft, figure)
    if unit == "KG":
        stamp(draft).empty_mass_kg = _not_zero(draft, match[0], value)
    elif unit == "MM":
        stamp(draft).min_wall_mm = _not_zero(draft, match[0], value)
    else:
        stamp(draft).water_capacity_l = _capacity(draft, match[0], figure, value)
    return match.end()


def _without_kind(draft: Draft, match: re.Match[str], figure: str, unit: str) -> int:
    """Ask which pressure a bare BAR is; leave a mass in pounds unread."""
    if unit == "BAR":
        draft.ask(
            "pressure_kind",
            say("{match} has neither PH nor PW before it. Which pressure is it?", match=match[0]),
            say("test pressure PH{figure}BAR", figure=figure),
            say("working pressure PW{figure}BAR", figure=figure),
        )
        return match.end()
    draft.warn(
        "mass_in_pounds",
        say("{match}: the mass of a UN stamp is in KG; it is not taken over", match=match[0]),
        sources.UN_MARKS,
    )
    return draft.leave(match.start(), match.end())


def volume(draft: Draft, match: re.Match[str]) -> int:
    """Read "V12.2L": the water capacity with a letter before it."""
    if not draft.un_mode:
        return 0
    figure = match.group("volume_figure")
    stamp(draft).water_capacity_l = _capacity(draft, match[0], figure, number(draft, figure))
    return match.end()


def _not_zero(draft: Draft, written: str, value: Decimal | None) -> Decimal | None:
    """Return ``value``; warn of a zero and return ``None`` for it."""
    if value is None or value:
        return value
    draft.warn(
        "measure_impossible",
        say("{written}: this cannot be zero", written=written),
        sources.UN_MARKS,
    )
    return None


def _capacity(draft: Draft, written: str, figure: str, value: Decimal | None) -> Decimal | None:
    """Return the water capacity; asks where its decimal point may have been lost."""
    value = _not_zero(draft, written, value)
    if value is None:
        return None
    if value > _HIGHEST_LITRES:
        draft.warn(
            "measure_impossible",
            say("{written}: no receptacle with this stamp is so large", written=written),
            sources.UN_MARKS,
        )
        return None
    if figure.isdigit() and value > _LARGE_WITHOUT_POINT:
        lost = value / 10
        draft.ask(
            "decimal_lost",
            say(
                "{written} is large for a cylinder that is carried. Was a decimal point lost?",
                written=written,
            ),
            f"{value} L",
            f"{lost} L",
        )
        return None
    return value


def life(draft: Draft, match: re.Match[str]) -> int:
    """Read FINAL or SERVICE with year and month: the end of the life."""
    word, year, number_of_month = match.group("life_word", "life_year", "life_month")
    month = Month(int(year), int(number_of_month))
    if not draft.un_mode:
        draft.marks.append(LifeMark(word, month))
    elif word == "FINAL":
        stamp(draft).final_date = month
    else:
        stamp(draft).service_date = month
    return match.end()


def approval(draft: Draft, match: re.Match[str]) -> int:
    """Read "USA/M9999": country of approval and the maker's registration there."""
    if not draft.un_mode:
        return 0
    country, registered = match.group("approval_country", "approval_no")
    un = stamp(draft)
    un.country_approval, un.approval_no = country, registered
    return match.end()


def known_word(draft: Draft, word: str) -> bool:
    """Take UN, H, UW, RCP or a country; ``False`` where the word is none of them."""
    if not draft.un_mode:
        return False
    if word == "UN":
        stamp(draft).un = True
    elif word == "H":
        stamp(draft).steel_h = True
    elif word == "UW":
        stamp(draft).underwater = True
    elif word in COUNTRIES and stamp(draft).country_of_manufacture is None:
        stamp(draft).country_of_manufacture = word
    else:
        return word == "RCP"
    return True
