"""The answer as JSON: the shape that commands, pages and partners are promised.

Every field that is promised is there, ``null`` where it is not stamped or not known. Decimal
numbers are texts, so that no reader turns them into floating point; months are ``YYYY-MM``.
"""

from dataclasses import asdict
from decimal import Decimal
from typing import Any

from cylinders.rules.markings import sources
from cylinders.rules.markings.derived import original_extras, requalification_extras
from cylinders.rules.markings.marks import (
    CondemnedMark,
    DateMark,
    LifeMark,
    ManufacturerMark,
    Mark,
    MegcMark,
    OriginalMark,
    RepairMark,
    RequalificationMark,
    ThreadMark,
    UnMark,
)
from cylinders.rules.markings.reading import Reading
from cylinders.rules.month import Month
from cylinders.rules.quantity import as_json as quantity_json
from cylinders.rules.symbols import GERMAN_F, find_symbol

Json = dict[str, Any]
_UN_YEARS, _UN_YEARS_COMPOSITE = 10, 5
_COMPOSITE = ("ISO 11119", "ISO 11515", "EN 12245")
_ACETYLENE = "ISO 3807"


def as_json(reading: Reading) -> Json:
    """Return ``reading`` in the promised shape; ``unread_at`` adds the places to ``unread``."""
    return {
        "text": reading.text,
        "on": reading.on.isoformat(),
        "country": reading.country,
        "marks": [_mark(mark, reading) for mark in reading.marks],
        "dual": asdict(reading.dual) if reading.dual else None,
        "warnings": [
            {"code": one.code, "says": one.says, "cites": str(one.cites)}
            for one in reading.warnings
        ],
        "questions": [
            {"code": one.code, "says": one.says, "choices": list(one.choices)}
            for one in reading.questions
        ],
        "unread": [one.text for one in reading.unread],
        "unread_at": [asdict(one) for one in reading.unread],
    }


def _month(month: Month | None) -> str | None:
    return str(month) if month else None


def _number(value: Decimal | None) -> str | None:
    return f"{value:f}" if value is not None else None


def _mark(mark: Mark, reading: Reading) -> Json:
    """Return one mark; ``kind`` first."""
    if isinstance(mark, OriginalMark):
        fields = _original(mark) | original_extras(mark, reading)
    elif isinstance(mark, RequalificationMark):
        fields = _requalification(mark) | requalification_extras(mark, reading)
    elif isinstance(mark, UnMark):
        fields = _receptacle(mark)
    elif isinstance(mark, DateMark):
        fields = _date(mark)
    else:
        fields = _small(mark)
    return {"kind": mark.kind, **fields}


def _original(mark: OriginalMark) -> Json:
    return {
        "authority": mark.authority,
        "spec": mark.spec,
        "service_pressure": quantity_json(mark.service_pressure),
        "min_test_pressure": quantity_json(mark.min_test_pressure),
        "material": mark.material,
        "serial": mark.serial,
        "manufacturer_mark": mark.manufacturer_mark,
        "inspector_mark": mark.inspector_mark,
        "test_date": _month(mark.test_date),
        "symbol": mark.symbol,
        "permit": mark.permit,
        "ree_cc": _number(mark.ree_cc),
        "refillable": mark.refillable,
        "alloy": mark.alloy,
        "thread": mark.thread,
    }


def _receptacle(mark: UnMark) -> Json:
    """Return the promised fields first, then the rest of the stamp."""
    several = len(mark.standards) > 1
    acetylene = any(name.startswith(_ACETYLENE) for name in mark.standards)
    return {
        "standard": list(mark.standards) if several else next(iter(mark.standards), None),
        "test_pressure": quantity_json(mark.test_pressure),
        "working_pressure": quantity_json(mark.working_pressure),
        "water_capacity_l": _number(mark.water_capacity_l),
        "thread": mark.thread,
        "serial": mark.serial,
        "initial_date": _month(mark.initial_date),
        "final_date": _month(mark.final_date),
        "service_date": _month(mark.service_date),
        "material": _material(mark),
        **_receptacle_extras(mark),
        **({"gas": "acetylene", "meaning": "porous mass / shell"} if acetylene else {}),
    }


def _receptacle_extras(mark: UnMark) -> Json:
    """Return the fields of a UN stamp that are not promised, and its period."""
    composite = any(name.startswith(_COMPOSITE) for name in mark.standards)
    return {
        "un": mark.un,
        "country_approval": mark.country_approval,
        "approval_no": mark.approval_no,
        "inspector_mark": mark.inspector_mark,
        "manufacturer_mark": mark.manufacturer_mark,
        "empty_mass_kg": _number(mark.empty_mass_kg),
        "min_wall_mm": _number(mark.min_wall_mm),
        "country_of_manufacture": mark.country_of_manufacture,
        "steel_h": mark.steel_h,
        "underwater": mark.underwater,
        "interval_years": _UN_YEARS_COMPOSITE if composite else _UN_YEARS,
    }


def _material(mark: UnMark) -> str | None:
    """Return the metal that the standard prescribes, where it is one of those known."""
    names = " ".join(mark.standards)
    if mark.steel_h or "ISO 9809" in names or "EN 1964" in names:
        return "steel"
    aluminium = mark.alloy or "ISO 7866" in names or "EN 1975" in names
    return "aluminium" if aluminium else None


def _requalification(mark: RequalificationMark) -> Json:
    symbols = mark.symbol.split("/") if mark.symbol and "+" in mark.symbol else [mark.symbol]
    row = GERMAN_F if mark.symbol == "F" else find_symbol(symbols[0])
    return {
        "date": str(mark.date),
        "rin": mark.rin,
        "symbol": mark.symbol,
        "test": row.test if row else None,
        "future": mark.future,
        "block": {"top": mark.rows[0], "bottom": mark.rows[1]} if mark.rows else None,
    }


def _date(mark: DateMark) -> Json:
    month = _month(mark.date)
    fields: Json = {
        "date": month,
        "value": month,
        "order": mark.order or None,
        "pattern": mark.order or None,
        "role": mark.role,
        "ambiguous": mark.date is None,
        "candidates": list(mark.candidates),
        "symbol": mark.symbol,
        "inspector_mark": mark.inspector_mark,
        "future": mark.future,
    }
    if mark.letter:
        fields |= {
            "inspector_mark": "symbol between month and year",
            "inspector_letter": mark.letter,
        }
    if mark.symbol == "F":
        fields["meaning"] = "strength test done (Germany since 2012-03)"
        fields["cites"] = str(GERMAN_F.cites)
    if mark.date is None:
        fields["action"] = "ask the operator"
    return fields


def _small(
    mark: CondemnedMark | RepairMark | LifeMark | ManufacturerMark | MegcMark | ThreadMark,
) -> Json:
    """Return a mark of few fields."""
    if isinstance(mark, CondemnedMark):
        method = "series of X over spec and pressure" if mark.crossed_out else "the word CONDEMNED"
        return {
            "method": method,
            "action": "block all service",
            "cites": str(sources.CONDEMNED),
        }
    if isinstance(mark, RepairMark):
        return {"word": mark.word}
    if isinstance(mark, LifeMark):
        meaning = {
            "SERVICE": "15 years from initial inspection",
            "FINAL": "end of the design life",
        }
        return {f"{mark.word.lower()}_date": str(mark.date), "meaning": meaning[mark.word]}
    if isinstance(mark, MegcMark):
        return {"date": str(mark.date), "symbol": mark.symbol, "future": mark.future}
    if isinstance(mark, ManufacturerMark):
        return {"value": mark.value, "pattern": r"^M\d{4}$"}
    return {"value": mark.value}
