"""The lab's side of the demonstration: it posts its record over the real API, key and all."""

import datetime as dt
import json
from typing import Any

from django.test import Client

from cylinders.models import Cylinder

_PATH = "/api/v1/test-records"


def post_record(body: dict[str, Any], *, key: str, idempotency_key: str) -> tuple[int, Any]:
    """Post ``body`` as the lab would and return status and answer."""
    response = Client(SERVER_NAME="127.0.0.1").post(
        _PATH,
        json.dumps(body),
        content_type="application/json",
        headers={
            "Authorization": f"Bearer {key}",
            "Idempotency-Key": f'"{idempotency_key}"',
        },
    )
    return response.status_code, json.loads(response.content or b"null")


def record_of(
    cylinder: Cylinder, *, tag: str, on: dt.date, rin: str, number: int
) -> dict[str, Any]:
    """A record in the shape of the ``judge`` command: 0.8 of 69.6 cc, well within the limit.

    The readings are those of an 11.1 L aluminium cylinder at 5000 psi; that such a one stretches
    by about 70 cc is worked out in ``tests/published`` from thick-wall theory.
    """
    return {
        "lab_reference": f"NF-{on:%Y}-{number:04d}",
        "cylinder": _marks(cylinder, tag),
        "date": on.isoformat(),
        "method": "water_jacket",
        "test_pressure": _quantity("5010", "psi"),
        "hold_seconds": 34,
        "total_expansion": _quantity("69.6", "cc"),
        "permanent_expansion": _quantity("0.8", "cc"),
        "elastic_expansion": _quantity("68.8", "cc"),
        "ree": None,
        "limit_percent": None,
        "required_test_pressure": None,
        "reading_increment": _quantity("0.1", "cc"),
        "calibration": _calibration(on),
        "visual": {"internal": "pass", "external": "pass", "standard": "CGA C-6.1", "notes": ""},
        "eddy_current": None,
        "thread_inspection": {"result": "pass", "method": "scope", "notes": ""},
        "drying": {"method": "hot water, air", "temperature": _quantity("65", "C")},
        "heat_exposure_c": None,
        "use": "scuba",
        "disposition": "passed",
        "reason": "",
        "repeat_of": None,
        "operator": "operator 4",
        "rin": rin,
        "stamp": {"month": on.month, "year": on.year, "symbol": None},
    }


def _marks(cylinder: Cylinder, tag: str) -> dict[str, Any]:
    return {
        "tag": tag,
        "authority": cylinder.authority,
        "specification": cylinder.specification,
        "permit": None,
        "serial": cylinder.serial,
        "manufacturer_mark": cylinder.manufacturer_mark,
        "service_pressure": _quantity(cylinder.service_pressure, cylinder.pressure_unit),
        "water_capacity": _quantity("11.1", "L"),
        "outside_diameter": None,
        "alloy": cylinder.alloy,
        "first_test": cylinder.first_test,
    }


def _calibration(on: dt.date) -> dict[str, Any]:
    points = (("4000", "50.6"), ("5000", "63.4"))
    return {
        "cylinder_serial": "CAL-3",
        "date": on.isoformat(),
        "points": [
            {"pressure": _quantity(pressure, "psi"), "expansion": _quantity(expansion, "cc")}
            for pressure, expansion in points
        ],
        "observed": {
            "pressure": _quantity("5000", "psi"),
            "expansion": _quantity("63.3", "cc"),
            "permanent": _quantity("0.0", "cc"),
        },
    }


def _quantity(value: str, unit: str) -> dict[str, str]:
    return {"value": value, "unit": unit}
