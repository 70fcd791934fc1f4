"""The cast of the tests, and plain functions that make it. Everything here is invented."""

import datetime as dt
from typing import Any

from django.contrib.auth.models import User

from cylinders.facts import Actor, Markings
from cylinders.models import Customer, Cylinder, Lab, Part, PartKind, WorkOrder
from cylinders.operations import intake, teardown

NOON = dt.datetime(2026, 11, 25, 12, 0, tzinfo=dt.UTC)
TODAY = NOON.date()
#: the visits of the tests began the week before
DROPPED_OFF = NOON - dt.timedelta(days=8)
STAMP = "DOT-3AL3000\nKX 40417\nM9999\n06-08"


def make_technician(name: str = "tessa") -> User:
    """A member of staff who works at the bench."""
    return User.objects.create_user(username=name, password="wet-gloves-7", is_staff=True)


def make_owner(name: str = "olga") -> User:
    """An owner of the shop, who works at the bench too."""
    return User.objects.create_superuser(username=name, password="wet-gloves-7")


def staff(user: User) -> Actor:
    """The actor that ``user`` is in the history."""
    return Actor("staff", str(user.pk))


def make_customer(name: str = "Odo Quill") -> Customer:
    """An owner who may be written to."""
    return Customer.objects.create(
        name=name,
        email=f"{name.split(maxsplit=1)[0].lower()}@example.org",
        phone="555-0142",
        email_consent=True,
    )


def make_lab(rin: str = "Z999") -> Lab:
    """A lab whose number is in force until the end of 2028."""
    return Lab.objects.create(
        name=f"Lab {rin}",
        rin=rin,
        rin_valid_until=dt.date(2028, 12, 31),
        email=f"{rin.lower()}@example.org",
    )


def make_markings(**changes: str) -> Markings:
    """An aluminium cylinder of 3000 psi, last requalified in November 2021."""
    values = {
        "stamp_text": STAMP,
        "authority": "DOT",
        "specification": "3AL",
        "service_pressure": "3000",
        "pressure_unit": "psi",
        "serial": "KX40417",
        "manufacturer_mark": "M9999",
        "material": "aluminium",
        "alloy": "6061-T6",
        "neck_thread": "3/4-14 NPSM",
        "first_test": "2008-06",
        "requalified": "2021-11",
        "requalified_rin": "Z999",
    }
    return Markings(**(values | changes))


def receive(
    owner: Customer | None = None,
    *,
    by: Actor | None = None,
    services: tuple[str, ...] = ("requalification", "visual", "fill"),
    at: dt.datetime = DROPPED_OFF,
    **changes: str,
) -> WorkOrder:
    """Drop off a cylinder that the service has not met."""
    return intake.receive_new(
        newcomer=intake.Newcomer(make_markings(**changes), last_visual="2025-11"),
        owner_id=(owner or make_customer()).pk,
        arrival=intake.Arrival(services=services),
        at=at,
        by=by or Actor("staff", "1"),
    )


def take_down(order: WorkOrder, *, by: Actor | None = None, at: dt.datetime = NOON) -> list[Part]:
    """Prove it empty, take off a valve and a boot, put the travel plug in."""
    actor = by or Actor("staff", "1")
    teardown.prove_empty(work_order_id=order.pk, how="valve open, no hiss", at=at, by=actor)
    removals = (
        teardown.Removal(kind=PartKind.VALVE, thread="3/4-14 NPSM", outlet="yoke", serial="V1"),
        teardown.Removal(kind=PartKind.BOOT, name="black boot"),
    )
    parts = [
        teardown.remove_part(work_order_id=order.pk, removal=removal, at=at, by=actor)
        for removal in removals
    ]
    teardown.finish(work_order_id=order.pk, outside="sound", travel_plug=True, at=at, by=actor)
    return parts


def cylinder_of(order: WorkOrder) -> Cylinder:
    """The cylinder of ``order`` as it is stored now."""
    return Cylinder.objects.get(pk=order.cylinder_id)


def technician_one() -> User:
    """The technician whose number is 1, the one that ``Actor("staff", "1")`` means."""
    user, _new = User.objects.get_or_create(pk=1, defaults={"username": "tessa", "is_staff": True})
    return user


def owner_one() -> User:
    """The same person as an owner of the shop."""
    user = technician_one()
    user.is_superuser = True
    user.save(update_fields=["is_superuser"])
    return user


def record_body(**changes: Any) -> dict[str, Any]:
    """A lab's record of the cylinder that :func:`receive` drops off: 0.9 of 70.0 cc permanent."""
    body: dict[str, Any] = {
        "lab_reference": "NG-2026-0417",
        "cylinder": {
            "tag": None,
            "authority": "DOT",
            "specification": "3AL",
            "permit": None,
            "serial": "KX40417",
            "manufacturer_mark": "M9999",
            "service_pressure": {"value": "3000", "unit": "psi"},
            "water_capacity": {"value": "11.1", "unit": "L"},
            "outside_diameter": None,
            "alloy": "6061-T6",
            "first_test": "2008-06",
        },
        "date": "2026-11-20",
        "method": "water_jacket",
        "test_pressure": {"value": "5000", "unit": "psi"},
        "hold_seconds": 32,
        "total_expansion": {"value": "70.0", "unit": "cc"},
        "permanent_expansion": {"value": "0.9", "unit": "cc"},
        "elastic_expansion": {"value": "69.1", "unit": "cc"},
        "ree": None,
        "limit_percent": None,
        "required_test_pressure": None,
        "reading_increment": {"value": "0.1", "unit": "cc"},
        "calibration": {
            "cylinder_serial": "CAL-3",
            "date": "2026-11-20",
            "points": [
                {
                    "pressure": {"value": "4000", "unit": "psi"},
                    "expansion": {"value": "50.6", "unit": "cc"},
                },
                {
                    "pressure": {"value": "5000", "unit": "psi"},
                    "expansion": {"value": "63.4", "unit": "cc"},
                },
            ],
            "observed": {
                "pressure": {"value": "5000", "unit": "psi"},
                "expansion": {"value": "63.3", "unit": "cc"},
                "permanent": {"value": "0.0", "unit": "cc"},
            },
        },
        "visual": {
            "internal": "pass",
            "external": "pass",
            "standard": "CGA C-6.1",
            "notes": "",
        },
        "eddy_current": None,
        "thread_inspection": {"result": "pass", "method": "scope", "notes": ""},
        "drying": {"method": "hot water", "temperature": {"value": "71", "unit": "C"}},
        "heat_exposure_c": None,
        "use": "scuba",
        "disposition": "passed",
        "reason": "",
        "repeat_of": None,
        "operator": "op 4",
        "rin": "Z999",
        "stamp": {"month": 11, "year": 2026, "symbol": None},
    }
    return body | changes


def check_body(**changes: Any) -> dict[str, Any]:
    """A daily check of chamber 1 at 5000 psi that is within 1 % of its certificate."""
    record = record_body()["calibration"]
    body: dict[str, Any] = {
        "lab_reference": "CAL-1120-1",
        "date": "2026-11-20",
        "time": "07:40",
        "apparatus": "chamber 1",
        "cylinder_serial": record["cylinder_serial"],
        "certificate": {"number": "C-88", "date": "2026-01-10", "points": record["points"]},
        "readings": [record["observed"]],
        "gauge": {
            "full_scale": {"value": "10000", "unit": "psi"},
            "accuracy_percent": "0.5",
            "division": {"value": "10", "unit": "psi"},
            "kind": "digital",
        },
        "gauge_serial": "G-17",
        "expansion_device": {
            "serial": "B-2",
            "range": {"value": "250", "unit": "cc"},
            "increment": {"value": "0.1", "unit": "cc"},
        },
        "operator": "op 4",
    }
    return body | changes


def inspection_body(gate: str = "inside", **changes: Any) -> dict[str, Any]:
    """An inspection of the cylinder that :func:`receive` drops off, passed the day before."""
    body: dict[str, Any] = {
        "lab_reference": f"INS-{gate}",
        "cylinder": record_body()["cylinder"],
        "date": "2026-11-19",
        "gate": gate,
        "result": "pass",
        "standard": "CGA C-6.1",
        "operator": "op 4",
    }
    if gate == "eddy_current":
        body |= {"crack_thread_lengths": "0", "equipment": "E-5", "reference_ring": "R-5"}
    return body | changes


def drying_body(celsius: str | None = "71", **changes: Any) -> dict[str, Any]:
    """A drying of the same cylinder on the day of its test."""
    body: dict[str, Any] = {
        "lab_reference": "DRY-1",
        "cylinder": record_body()["cylinder"],
        "date": "2026-11-20",
        "method": "warm air",
        "temperature": {"value": celsius, "unit": "C"} if celsius else None,
        "operator": "op 4",
    }
    return body | changes
