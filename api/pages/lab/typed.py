"""From the fields of the page to the body that a program would post, and from faults back."""

from collections.abc import Mapping
from typing import Any

from cylinders.models import Cylinder

_LONGEST = 6  # digits; a month or a year has fewer
#: what stays for the next cylinder of the same day
KEPT = (
    "apparatus",
    "operator",
    "method",
    "pressure_unit",
    "volume_unit",
    "reading_increment",
    "standard",
    "thread_method",
    "eddy_equipment",
    "eddy_ring",
    "drying",
    "drying_c",
    "use",
)
#: what stays as long as its day is the day of the test: the check with the calibrated cylinder
KEPT_FOR_THE_DAY = (
    "check_serial",
    "check_date",
    "check_points",
    "check_pressure",
    "check_expansion",
    "check_permanent",
)
_MARKS = (
    "serial",
    "manufacturer_mark",
    "authority",
    "specification",
    "permit",
    "alloy",
    "first_test",
)
_PLAIN = (
    "date",
    "method",
    "hold_seconds",
    "heat_exposure_c",
    "use",
    "disposition",
    "reason",
    "repeat_of",
    "operator",
)
_VOLUMES = (
    "total_expansion",
    "permanent_expansion",
    "elastic_expansion",
    "ree",
    "reading_increment",
)

#: where each part of the body was typed; the longest beginning that fits counts
PLACES: Mapping[str, str] = {
    "/cylinder/service_pressure": "service_pressure",
    "/cylinder/": "",
    "/calibration/cylinder_serial": "check_serial",
    "/calibration/date": "check_date",
    "/calibration/points": "check_points",
    "/calibration/observed/pressure": "check_pressure",
    "/calibration/observed/expansion": "check_expansion",
    "/calibration/observed/permanent": "check_permanent",
    "/visual/notes": "notes",
    "/visual/": "",
    "/thread_inspection/method": "thread_method",
    "/thread_inspection": "thread",
    "/eddy_current/crack": "eddy_crack",
    "/eddy_current/equipment": "eddy_equipment",
    "/eddy_current/reference": "eddy_ring",
    "/eddy_current": "eddy",
    "/drying/temperature": "drying_c",
    "/drying": "drying",
    "/stamp/month": "stamp_month",
    "/stamp/year": "stamp_year",
    "/stamp/symbol": "stamp_symbol",
    "/stamp": "stamp_month",
    "/": "",
}


def place_of(pointer: str) -> str:
    """The name of the field in which the value at a JSON Pointer was typed.

    >>> place_of("/total_expansion/value"), place_of("/calibration/points/0/pressure")
    ('total_expansion', 'check_points')
    """
    begins = next((place for place in PLACES if pointer.startswith(place)), "")
    return PLACES.get(begins, "") or pointer.removeprefix(begins).partition("/")[0]


def first_values(cylinder: Cylinder, *, day: str, reference: str) -> dict[str, str]:
    """What is known before the lab looked: the marks of the cylinder but its serial, today."""
    return {
        "manufacturer_mark": cylinder.manufacturer_mark,
        "authority": cylinder.authority,
        "specification": cylinder.specification,
        "service_pressure": cylinder.service_pressure,
        "service_unit": cylinder.pressure_unit,
        "first_test": cylinder.first_test,
        "permit": cylinder.permit,
        "alloy": cylinder.alloy,
        "lab_reference": reference,
        "date": day,
        "check_date": day,
        "pressure_unit": cylinder.pressure_unit,
        "volume_unit": "cc",
        "method": "water_jacket",
        "use": "scuba",
    }


def body_of(typed: Mapping[str, str], *, tag: str, rin: str) -> dict[str, Any]:
    """The record in the shape that a program posts; empty fields become null."""
    given = {name: value.strip() or None for name, value in typed.items()}
    pressure, volume = typed["pressure_unit"], typed["volume_unit"]

    def in_unit(name: str, unit: str) -> dict[str, Any] | None:
        return {"value": given[name], "unit": unit} if given[name] else None

    return {
        "lab_reference": given["lab_reference"],
        "cylinder": {
            "tag": tag or None,
            "service_pressure": in_unit("service_pressure", typed["service_unit"]),
            **{name: given[name] for name in _MARKS},
        },
        **{name: given[name] for name in _PLAIN},
        "test_pressure": in_unit("test_pressure", pressure),
        **{name: in_unit(name, volume) for name in _VOLUMES},
        "calibration": _calibration(given, pressure, volume),
        "apparatus": given["apparatus"],
        "visual": {
            "internal": given["internal"],
            "external": given["external"],
            "standard": given["standard"],
            "notes": given["notes"],
        },
        "eddy_current": _eddy_current(given),
        "thread_inspection": _if_given(
            {"result": given["thread"], "method": given["thread_method"]},
        ),
        "drying": _drying(given),
        "rin": rin,
        "stamp": _stamp(given),
    }


def _if_given(members: dict[str, Any]) -> dict[str, Any] | None:
    return members if any(value is not None for value in members.values()) else None


def _calibration(
    given: Mapping[str, str | None], pressure: str, volume: str
) -> dict[str, Any] | None:
    """The check of the day; null unless something of it was typed beside its date."""
    seen = {name: given[f"check_{name}"] for name in ("pressure", "expansion", "permanent")}
    if not any((given["check_serial"], given["check_points"], *seen.values())):
        return None
    points = []
    for typed in (given["check_points"] or "").splitlines():
        at, _blank, grown = typed.strip().partition(" ")
        if at:
            point = {"value": at, "unit": pressure}, {"value": grown.strip(), "unit": volume}
            points.append({"pressure": point[0], "expansion": point[1]})
    return {
        "cylinder_serial": given["check_serial"],
        "date": given["check_date"],
        "points": points,
        "observed": {
            "pressure": {"value": seen["pressure"], "unit": pressure},
            "expansion": {"value": seen["expansion"], "unit": volume},
            "permanent": {"value": seen["permanent"], "unit": volume},
        },
    }


def _eddy_current(given: Mapping[str, str | None]) -> dict[str, Any] | None:
    return _if_given(
        {
            "result": given["eddy"],
            "crack_thread_lengths": given["eddy_crack"],
            "equipment": given["eddy_equipment"],
            "reference_ring": given["eddy_ring"],
        },
    )


def _drying(given: Mapping[str, str | None]) -> dict[str, Any] | None:
    celsius = {"value": given["drying_c"], "unit": "C"} if given["drying_c"] else None
    return _if_given({"method": given["drying"], "temperature": celsius})


def _stamp(given: Mapping[str, str | None]) -> dict[str, Any] | None:
    """The mark that was put on; its figures as whole numbers where they are."""
    month, year = (_whole(given[name]) for name in ("stamp_month", "stamp_year"))
    return _if_given({"month": month, "year": year, "symbol": given["stamp_symbol"]})


def _whole(text: str | None) -> int | str | None:
    return (
        int(text) if text and text.isascii() and text.isdigit() and len(text) < _LONGEST else text
    )
