"""Builds the invented shop, its people and its cylinders, each visit replayed step by step."""

import datetime as dt
import json
from dataclasses import dataclass
from typing import Any

from django.conf import settings
from django.contrib.auth.models import User
from django.db import transaction

from api.demo import bench
from api.demo.dates import fill_in, months_ago
from cylinders.facts import Actor
from cylinders.facts.stamped import markings_of
from cylinders.models import Customer, Cylinder, Lab, Shop, WorkOrder
from cylinders.operations import intake
from cylinders.rules import markings
from labels.operations.binding import Thing

_FILE = "demo.json"
_REGISTERED_DAYS_AGO = 20


class NotTheDemonstration(RuntimeError):
    """Raised when the database holds somebody's real work; nothing was changed."""


@dataclass(frozen=True, slots=True)
class World:
    """The people and houses of the scenario."""

    shop: Shop
    technician: User
    lab: Lab
    owner: Customer
    by: Actor


def load() -> dict[str, Any]:
    """The scenario's things, as written in ``fixtures/demo.json``."""
    text = (settings.BASE_DIR / "fixtures" / _FILE).read_text(encoding="utf-8")
    things: dict[str, Any] = json.loads(text)
    return things


def build(*, now: dt.datetime) -> World:
    """Make the world, or return the one that an earlier run made.

    Raises :class:`NotTheDemonstration` when the database holds another shop's work.
    """
    things = load()
    shop = Shop.objects.first()
    if shop and shop.name != things["shop"]["name"]:
        raise NotTheDemonstration(
            f"This database belongs to {shop.name}. The demonstration only plays in its own: "
            "set VAR_DIR to an empty folder, e.g. VAR_DIR=/tmp/demo."
        )
    if shop is None and Cylinder.objects.exists():
        raise NotTheDemonstration(
            "This database holds cylinders of a real shop. Set VAR_DIR to an empty folder."
        )
    if shop is None:
        with transaction.atomic():  # a run that is stopped leaves no half of a world behind
            _people(things, today=now.date())
            _cylinders(things, _world(), now=now)
    return _world()


def receive(
    thing: dict[str, Any],
    world: World,
    *,
    today: dt.date,
    at: dt.datetime,
    serial: str = "",
) -> WorkOrder:
    """Drop one cylinder of the scenario off, its stamp read by the rules as at the counter.

    The scenario counts its months back from ``today``; the visit itself is at ``at``.
    """
    text = fill_in(thing["stamp"], today=today, rin=world.lab.rin).replace("{serial}", serial)
    reading = markings.read(text, on=at.date(), country=world.shop.country)
    read = markings_of(reading)
    known = {
        "alloy": thing.get("alloy", read.alloy),
        "neck_thread": thing.get("neck_thread", read.neck_thread),
    }
    visit = thing.get("visit", {})
    return intake.receive_new(
        newcomer=intake.Newcomer(
            markings=bench.with_changes(read, known),
            decoded=markings.as_json(reading),
            last_visual=months_ago(thing.get("visual_months_ago"), today=today),
            last_oxygen_clean=months_ago(thing.get("oxygen_clean_months_ago"), today=today),
            oxygen_clean="oxygen_clean_months_ago" in thing or None,
            use_gas=thing.get("use_gas", "air"),
            condemned_by_marks=reading.condemned,
        ),
        owner_id=Customer.objects.get(name=_name_of(thing["owner"])).pk,
        arrival=intake.Arrival(
            services=tuple(visit.get("services", ("requalification", "visual", "fill"))),
            pressure_on_arrival="500 psi",
            condition="used, clean",
        ),
        at=at,
        by=world.by,
    )


def _people(things: dict[str, Any], *, today: dt.date) -> None:
    Shop.objects.create(**things["shop"])
    for person in things["staff"]:
        User.objects.create_user(
            username=person["username"],
            first_name=person["first_name"],
            is_staff=True,
            is_superuser=person["role"] == "owner",
        )
    for lab in things["labs"]:
        valid_until = today + dt.timedelta(days=lab["days_valid"])
        Lab.objects.create(
            name=lab["name"],
            rin=lab["rin"],
            email=lab["email"],
            rin_valid_until=valid_until,
        )
    for customer in things["customers"]:
        facts = {name: value for name, value in customer.items() if name != "key"}
        Customer.objects.create(**facts)


def _cylinders(things: dict[str, Any], world: World, *, now: dt.datetime) -> None:
    made: dict[str, WorkOrder] = {}
    for thing in things["cylinders"]:
        if thing.get("job"):
            continue
        visit = thing.get("visit")
        days_ago = visit["days_ago"] if visit else _REGISTERED_DAYS_AGO
        tick = bench.Pace(now - dt.timedelta(days=days_ago))
        order = receive(thing, world, today=now.date(), at=tick())
        made[thing["key"]] = order
        bench.tag(Thing.cylinder(order.cylinder), at=tick(), by=world.by)
        if visit is None:
            bench.give_back(order, tick=tick, by=world.by)
        else:
            twins = {key: other.cylinder_id for key, other in made.items()}
            bench.carry(order, visit, lab=world.lab, twins=twins, tick=tick, by=world.by)
            bench.tag_parts(order, tick=tick, by=world.by)


def _name_of(key: str) -> str:
    names = {person["key"]: person["name"] for person in load()["customers"]}
    return str(names[key])


def _world() -> World:
    things = load()
    technician = User.objects.get(username=things["staff"][0]["username"])
    return World(
        shop=Shop.objects.get(),
        technician=technician,
        lab=Lab.objects.get(rin=things["labs"][0]["rin"]),
        owner=Customer.objects.get(name=things["customers"][0]["name"]),
        by=Actor("staff", str(technician.pk)),
    )
