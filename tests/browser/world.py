"""Cylinders for the browser tests, brought to where a test begins by the operations themselves."""

import datetime as dt
from dataclasses import dataclass

from django.conf import settings
from django.contrib.auth.hashers import PBKDF2PasswordHasher
from django.contrib.auth.models import User
from django.utils import timezone

from cylinders.models import Customer, Cylinder, Part, PartKind, WorkOrder
from cylinders.operations import inspection, teardown
from labels.models import Tag
from labels.operations import minting
from labels.operations.binding import Thing, issue
from tests import makers

SOUND = inspection.Look(
    standard="CGA C-6.1", internal="pass", external="pass", threads="pass", sticker_removed=True
)


@dataclass(frozen=True)
class Job:
    """One visit: the cylinder with its tag, the valve and the boot each in a tagged bag."""

    order: WorkOrder
    cylinder: Cylinder
    tag: Tag
    valve: Part
    boot: Part
    valve_bag: Tag
    boot_bag: Tag

    @property
    def reassembly(self) -> str:
        """The page at which its parts are fitted."""
        return f"/bench/orders/{self.order.pk}/reassembly/"


def job(tessa: User, *, serial: str, owner: Customer | None = None) -> Job:
    """A cylinder that was torn down and inspected yesterday, now to be put together."""
    at, by = timezone.now() - dt.timedelta(days=1), makers.staff(tessa)
    order = makers.receive(owner, by=by, at=at, services=("visual", "fill"), serial=serial)
    valve, boot = makers.take_down(order, by=by, at=at)
    inspection.record(work_order_id=order.pk, look=SOUND, on=at.date(), at=at, by=by)
    order.refresh_from_db()

    def tag(thing: Thing) -> Tag:
        return issue(thing=thing, host=settings.TAG_HOST, at=at, by=by)

    return Job(
        order=order,
        cylinder=order.cylinder,
        tag=tag(Thing.cylinder(order.cylinder)),
        valve=valve,
        boot=boot,
        valve_bag=tag(Thing.bag(valve)),
        boot_bag=tag(Thing.bag(boot)),
    )


def arrived(tessa: User, *, serial: str) -> tuple[WorkOrder, Tag]:
    """A cylinder that was dropped off yesterday, with its tag on."""
    at, by = timezone.now() - dt.timedelta(days=1), makers.staff(tessa)
    order = makers.receive(by=by, at=at, serial=serial)
    thing = Thing.cylinder(order.cylinder)
    return order, issue(thing=thing, host=settings.TAG_HOST, at=at, by=by)


def bare(tessa: User, *, serial: str) -> Tag:
    """The tag of a cylinder that was torn down yesterday and waits for its run to the lab."""
    at, by = timezone.now() - dt.timedelta(days=1), makers.staff(tessa)
    order = makers.receive(by=by, at=at, serial=serial)
    makers.take_down(order, by=by, at=at)
    return issue(thing=Thing.cylinder(order.cylinder), host=settings.TAG_HOST, at=at, by=by)


def parts_off(tessa: User, *, serial: str) -> tuple[WorkOrder, list[Part]]:
    """A cylinder of which the valve and the boot have just come off, neither with a tag."""
    at, by = timezone.now(), makers.staff(tessa)
    order = makers.receive(by=by, at=at, serial=serial)
    teardown.prove_empty(work_order_id=order.pk, how="valve open, no hiss", at=at, by=by)
    removals = (
        teardown.Removal(kind=PartKind.VALVE, thread="3/4-14 NPSM", outlet="yoke", serial="V1"),
        teardown.Removal(kind=PartKind.BOOT, name="black boot"),
    )
    parts = [
        teardown.remove_part(work_order_id=order.pk, removal=removal, at=at, by=by)
        for removal in removals
    ]
    return order, parts


def blanks(count: int) -> list[Tag]:
    """Tags that stand for nothing yet."""
    return minting.mint(count=count, host=settings.TAG_HOST, at=timezone.now())


def server_s_digest(password: str) -> str:
    """A password or PIN as the server stores it; the tests' own way it would not take."""
    hasher = PBKDF2PasswordHasher()
    return hasher.encode(password, hasher.salt())
