"""Pressures and volumes as one person reads them: as stamped first, the own unit beside it.

What is stored never changes. In another unit a figure is rounded so that nobody is misled to the
unsafe side: what is allowed at most and what was reached go down, what is asked for at least goes
up.

>>> from cylinders.rules.quantity import psi
>>> with reading(Units(pressure="bar")):
...     beside(psi(3000)), beside(psi(5000), least=True), beside(psi(4000), least=False)
('206 bar', '345 bar', '275 bar')
>>> beside(psi(3000))
''
"""

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass

from cylinders.rules.quantity import ROUND_CEILING, ROUND_FLOOR, Quantity, Rounding

PRESSURES, VOLUMES = ("psi", "bar"), ("cc", "in3")
_PLACES = {"psi": 0, "bar": 0, "cc": 1, "in3": 2}
_SAME = {"mL": "cc"}


@dataclass(frozen=True, slots=True)
class Units:
    """The units that somebody reads; an empty one: as it was stamped or measured."""

    pressure: str = ""
    volume: str = ""


AS_STAMPED = Units()
#: what a customer chooses on their page
SYSTEMS = {"us": Units("psi", "in3"), "metric": Units("bar", "cc")}
_present: ContextVar[Units] = ContextVar("units", default=AS_STAMPED)


@contextmanager
def reading(units: Units) -> Iterator[None]:
    """Show what is rendered inside in ``units``."""
    token = _present.set(units)
    try:
        yield
    finally:
        _present.reset(token)


def present() -> Units:
    """The units of whoever reads now."""
    return _present.get()


def beside(quantity: Quantity, *, least: bool = False) -> str:
    """``quantity`` in the unit of whoever reads, empty where it stands in that unit already.

    ``least`` says that it is asked for at least, so it is rounded up.
    """
    wanted = getattr(_present.get(), quantity.dimension, "")
    if not wanted or wanted == _SAME.get(quantity.unit, quantity.unit):
        return ""
    rounding: Rounding = ROUND_CEILING if least else ROUND_FLOOR
    return str(quantity.convert(wanted, places=_PLACES[wanted], rounding=rounding))
