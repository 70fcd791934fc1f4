"""A quantity in a body, ``{"value": ..., "unit": ...}``: the usual one, read at once."""

from decimal import Decimal
from functools import lru_cache
from typing import Final

from cylinders.rules.quantity import (
    UNITS,
    Quantity,
    QuantityError,
    read_number,
    without_exponent,
)

#: dimension -> its units; the first stands where a unit is wrong
UNITS_OF: Final = {
    dimension: tuple(unit for unit, (kind, _) in UNITS.items() if kind == dimension)
    for dimension in ("pressure", "volume", "temperature", "length")
}
_MEMBERS: Final = {"value", "unit"}


def usual(value: object, dimension: str) -> Quantity | None:
    """The quantity, where nothing is wrong with it; ``None`` where each field needs a look."""
    if not isinstance(value, dict) or value.keys() != _MEMBERS:
        return None
    number, unit = value["value"], value["unit"]
    if unit not in UNITS_OF[dimension] or type(number) not in (str, int, Decimal):
        return None
    try:
        return _kept(str(number), unit, as_text=isinstance(number, str))
    except QuantityError:
        return None


@lru_cache(maxsize=4096)
def _kept(written: str, unit: str, *, as_text: bool) -> Quantity:
    """Kept, because a day's records repeat the same few amounts a thousand times."""
    return Quantity(as_sent(written if as_text else Decimal(written)), unit)


def as_sent(number: str | int | Decimal) -> Decimal:
    """A number with the digits that were sent; a negative zero is zero. Raises QuantityError."""
    read = read_number(number) if isinstance(number, str) else without_exponent(number)
    return abs(read) if read == 0 else read


__all__ = ["UNITS_OF", "as_sent", "usual"]
