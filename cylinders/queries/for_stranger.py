"""What anybody who scans a cylinder's tag may know: may it be filled today, with what, how full.

For the person at a fill station. Never a person, a place, another cylinder, or what was done when.
"""

import datetime as dt
from dataclasses import dataclass

from cylinders.models import Cylinder, Gas
from cylinders.queries.known import facts_of
from cylinders.queries.owner_rows import extra_rows
from cylinders.rules.duties import due
from cylinders.rules.duty import Duty
from cylinders.rules.fill_pressure import Highest, highest
from cylinders.rules.quantity import ROUND_FLOOR, Quantity
from cylinders.rules.status import FillVerdict, fit_for_fill
from cylinders.rules.wording import say

_ALSO_IN = {"psi": "bar", "bar": "psi", "kPa": "bar", "MPa": "bar"}
_TAIL = 4
_SHORTEST = 6


@dataclass(frozen=True, slots=True)
class ForStranger:
    """``serial_ends`` lets a reader see that the tag hangs on the cylinder it was made for.

    ``max_pressure`` is the most that may be filled today, empty where nothing may; ``with_disc`` is
    the higher one that a plus allows where the reader sees that the relief is a frangible disc.
    """

    specification: str
    material: str
    serial_ends: str
    service_pressure: str
    max_pressure: str
    with_disc: str
    plus: bool
    gas: Gas
    oxygen_clean: bool | None
    verdict: FillVerdict
    duties: tuple[Duty, ...]


def for_stranger(cylinder: Cylinder, *, on: dt.date, country: str | None = None) -> ForStranger:
    """What the public page of ``cylinder`` shows on day ``on``; ``country``: the shop's, if known.

    One query for the owner's figures, and one for the shop where its country is not given.
    """
    facts, extra = facts_of(cylinder, country=country), extra_rows()
    verdict = fit_for_fill(facts, on=on, extra=extra)
    top = highest(facts, on=on, extra=extra)
    name = "-".join(word for word in (cylinder.authority, cylinder.specification) if word)
    return ForStranger(
        specification=name or say("not known"),
        material=cylinder.material,
        serial_ends=cylinder.serial[-_TAIL:] if len(cylinder.serial) >= _SHORTEST else "",
        service_pressure=in_both(top.marked),
        max_pressure=fill_to(verdict, top),
        with_disc=with_disc(verdict),
        plus=top.plus,
        gas=Gas(cylinder.use_gas),
        oxygen_clean=cylinder.oxygen_clean,
        verdict=verdict,
        duties=tuple(duty for duty in due(facts, on=on, extra=extra) if duty.rule.blocks),
    )


def fill_to(verdict: FillVerdict, top: Highest) -> str:
    """The most that may be filled today; without the plus while its condition was not seen."""
    if not verdict.allowed:
        return ""
    return in_both(top.marked if with_disc(verdict) else verdict.max_pressure)


def with_disc(verdict: FillVerdict) -> str:
    """The pressure of a plus whose condition the filler has to see; empty where there is none."""
    asks = any(note.code == "plus_conditions" for note in verdict.notes)
    return in_both(verdict.max_pressure) if asks and verdict.allowed else ""


def in_both(pressure: Quantity | None) -> str:
    """A pressure as stamped, and in the other unit rounded down: "3000 psi (206 bar)"."""
    if pressure is None:
        return ""
    other = pressure.convert(_ALSO_IN[pressure.unit], places=0, rounding=ROUND_FLOOR)
    return say(
        "{stamped:f} {unit} ({other:f} {also})",
        stamped=pressure.value,
        unit=pressure.unit,
        other=other.value,
        also=other.unit,
    )
