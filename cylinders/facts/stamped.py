"""From a reading of the stamp to the markings that are kept: nothing added, nothing guessed."""

from cylinders.facts.visit import Markings
from cylinders.rules.markings import Reading
from cylinders.rules.markings.marks import OriginalMark, UnMark
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity


def markings_of(reading: Reading) -> Markings:
    """The markings that ``reading`` understood; empty text for whatever it did not.

    Of two specification marks the first counts here; the whole reading is kept beside it.
    """
    latest = reading.latest_requalification
    original = reading.original
    mark = original or reading.un
    pressure = original.service_pressure if original else reading.un and reading.un.working_pressure
    symbol = latest.symbol if latest else original.symbol if original else None
    return Markings(
        stamp_text=reading.text,
        authority=(original.authority if original else reading.un and "UN") or "",
        specification=_specification(original, reading.un),
        permit=(original and original.permit) or "",
        service_pressure=f"{pressure.value:f}" if pressure else "",
        pressure_unit=pressure.unit if isinstance(pressure, Quantity) else "psi",
        serial=(mark and mark.serial) or "",
        manufacturer_mark=(mark and mark.manufacturer_mark) or "",
        material=str((original and original.material) or ""),
        alloy=(mark and mark.alloy) or "",
        neck_thread=(mark and mark.thread) or "",
        first_test=_text(reading.first_test),
        requalified=_text(latest.date if latest else None),
        requalified_symbol=symbol or "",
        requalified_rin=(latest and latest.rin) or "",
        stamped_due="",
        life_end=_text(reading.life_end),
    )


def _specification(original: OriginalMark | None, un: UnMark | None) -> str:
    if original:
        return original.spec
    return " ".join(un.standards) if un else ""


def _text(month: Month | None) -> str:
    return str(month) if month else ""
