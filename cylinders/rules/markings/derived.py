"""What follows from a mark and is shown beside it: periods, equivalents, limits of a fill."""

from fractions import Fraction
from typing import Any

from cylinders.rules.markings import sources
from cylinders.rules.markings.marks import OriginalMark, RequalificationMark
from cylinders.rules.markings.reading import Reading
from cylinders.rules.quantity import (
    ROUND_FLOOR,
    UNITS,
    Quantity,
    as_json,
    round_fraction,
)
from cylinders.rules.symbols import find_symbol

_OVER = Fraction(11, 10)
_HALF = Fraction(1, 2)
_FIVE_YEARS = 5
_ERAS = {
    "ICC": "before about 1970",
    "CTC": "before 1993",
    "CRC": "before 1993",
    "BTC": "before 1993",
}
_EARLY_PERMIT_ERA = "1971-1982 aluminium"


def original_extras(mark: OriginalMark, reading: Reading) -> dict[str, Any]:
    """Return the fields of a specification mark that are there only where they apply."""
    row = mark.row
    extras: dict[str, Any] = {
        "plus_possible": row.plus_allowed,
        "us_equivalent": row.us_equivalent,
        "era": _ERAS.get(mark.authority or ""),
        "test_pressure": as_json(mark.test_pressure),
        "permit_style": mark.permit_style,
    }
    warning = _first_warning(reading, ("early_permit", "permit_sets_figures", "no_authority"))
    if mark.is_permit or mark.authority is None:
        extras["warning"] = warning
    if mark.is_permit and any(one.code == "early_permit" for one in reading.warnings):
        extras["era"] = _EARLY_PERMIT_ERA
    extras |= _pressures(mark, reading) | _periods(mark, reading)
    return {name: value for name, value in extras.items() if value is not None}


def _pressures(mark: OriginalMark, reading: Reading) -> dict[str, Any]:
    """Return the service pressure in psi, and the highest fill where a plus stands."""
    pressure = mark.service_pressure
    if pressure is None:
        return {}
    stands = reading.plus_stands and mark.row.plus_allowed
    return {
        "service_pressure_psi": f"{_nearest_psi(pressure)}" if pressure.unit == "bar" else None,
        "max_fill": as_json(plus_pressure(pressure)) if stands else None,
    }


def _periods(mark: OriginalMark, reading: Reading) -> dict[str, Any]:
    """Return the general period with its source, and the end of a life that is limited."""
    row = mark.row
    period = row.general_interval(reading.on)
    return {
        "interval_years": period.years if period else None,
        "interval_cites": str(period.cites) if period else None,
        "life_end": str(mark.life_end) if mark.life_end else None,
        "action": None if row.refillable else "never fill, never requalify",
    }


def plus_pressure(service: Quantity) -> Quantity:
    """Return the service pressure and a tenth, rounded down to a whole unit (173.302a(b)).

    >>> from cylinders.rules.quantity import psi
    >>> str(plus_pressure(psi(2250))), str(plus_pressure(psi(2015)))
    ('2475 psi', '2216 psi')
    """
    exact = Fraction(service.value) * _OVER
    return Quantity(round_fraction(exact, places=0, rounding=ROUND_FLOOR), service.unit)


def _nearest_psi(pressure: Quantity) -> int:
    """Return the pressure in whole psi, to the nearest: shown for comparison, never decided by."""
    exact = pressure.base / UNITS["psi"][1]
    return int(round_fraction(exact + _HALF, places=0, rounding=ROUND_FLOOR))


def _first_warning(reading: Reading, codes: tuple[str, ...]) -> str | None:
    """Return the sentence of the first warning with one of ``codes``."""
    return next((one.says for one in reading.warnings if one.code in codes), None)


def _period(reading: Reading) -> tuple[int, str]:
    """Return the years of the specification's own period and its source; 0 where none is known.

    Without a specification it is five years, the period of most.
    """
    original = reading.original
    if original is not None:
        row = original.row.general_interval(reading.on)
        return (row.years, str(row.cites)) if row else (0, "")
    if reading.un is not None:
        return 0, ""
    return _FIVE_YEARS, "five years, the period of most specifications"


def requalification_extras(mark: RequalificationMark, reading: Reading) -> dict[str, Any]:
    """Return what follows from one requalification: its due month, and what it takes away."""
    original = reading.original
    extras: dict[str, Any] = {"cancels_plus": not mark.plus}
    symbol = find_symbol("star" if mark.star else mark.symbol)
    if mark.future:
        return extras | {"action": "reject: date after today"}
    years, basis = _period(reading)
    may_star = original is None or original.row.star_allowed
    if years and symbol is not None and symbol.years and (may_star or not mark.star):
        years, basis = symbol.years, str(symbol.cites)
    if years:
        extras |= {"due": str(mark.date.plus_months(12 * years)), "due_cites": basis}
    if symbol is not None and not symbol.scuba:
        extras["scuba_ok"] = False
    if mark.star:
        five = mark.date.plus_months(12 * _FIVE_YEARS)
        extras["warning"] = f"star void if used for underwater breathing: due {five}"
        extras["warning_cites"] = str(sources.STAR)
    return extras
