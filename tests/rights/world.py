"""A shop in which every address leads to something, and those who might ask for it."""

import json
from collections.abc import Callable
from dataclasses import dataclass, field
from enum import StrEnum

from django.contrib.auth.models import User
from django.core.cache import cache
from django.test import Client

from api import declining, found, keys, links
from api.batches import running
from api.models import BatchLine
from cylinders.models import (
    Attachment,
    Customer,
    Lab,
    MessageKind,
    Notice,
    Shows,
    TestRecord,
    WorkOrder,
)
from cylinders.operations import consignment, filing
from cylinders.operations.filing import Content
from cylinders.operations.reminders import plan
from labels.operations import runs
from tests import files, makers
from tests.api.pages.status import cast
from tests.cylinders.operations.reminders.cast import at_home

#: Figures, names and words that must reach no stranger, planted in every place that keeps words.
CANARIES = (
    cast.CANARY.name,
    cast.CANARY.email,
    cast.CANARY.phone,
    "ZuluCarriercanary",
    "ZuluFindercanary",
    "ZuluLabcanary",
    "zulustaffcanary",
    "555-0199",
)


SERIALS = ("ZQ77001Q", "ZQ77002Q", "ZQ77003Q")


class Role(StrEnum):
    """Who asks."""

    ANONYMOUS = "anonymous"
    TECHNICIAN = "technician"
    OWNER = "owner"
    LAB_A = "lab A"
    LAB_B = "lab B"
    CUSTOMER = "customer's link"
    REVOKED = "revoked link"
    FINDER = "finder"


@dataclass
class World:
    """The numbers that stand in addresses, and a browser for each role."""

    numbers: dict[str, str | int]
    tokens: dict[Role, str]
    clients: dict[Role, Client] = field(default_factory=dict)

    def address(self, template: str, role: Role) -> str:
        """The address with its numbers; a token is the one that this role holds, or a guess."""
        return template.format(**self.numbers, token=self.tokens.get(role, "a" * 32))


def build() -> World:
    """One cylinder that went through the house, one that came in, one at the lab, one at home."""
    cache.clear()
    shop = cast.open_shop()
    done = cast.put_together()
    owner = Customer.objects.get(name=cast.CANARY.name)
    here = makers.receive(owner, serial=SERIALS[0])
    at_home(owner, serial=SERIALS[1])
    lab_a, lab_b = Lab.objects.get(), makers.make_lab("Z998")
    Lab.objects.filter(pk=lab_a.pk).update(name="ZuluLabcanary")
    tag, link, old = cast.tag_of(done), cast.link_to(done), cast.link_to(done)
    links.revoke(link_id=old.link.pk, reason="lost phone", at=makers.NOON, by=cast.BY)
    found.write(code=tag.code, text="ZuluFindercanary", reply_to="555-0199", at=makers.NOON)
    plan(on=makers.TODAY)
    run = runs.start(key="a", count=4, host=cast.HOST, printer="", at=makers.NOON, by=cast.BY)
    declines = declining.address_of(customer_id=owner.pk, kind=MessageKind.REMINDERS)
    signature, value = declines.split("/")[-2:]
    record = TestRecord.objects.get()
    line = _waiting_line(lab_a)
    numbers: dict[str, str | int] = {
        "cylinder": done.cylinder_id,
        "order": done.pk,
        "here": here.pk,
        "part": done.parts.earliest("pk").pk,
        "code": tag.code,
        "lab": lab_a.pk,
        "shop": shop.pk,
        "consignment": done.lines.get().consignment_id,
        "line": _away(owner, lab_a),
        "record": record.pk,
        "reference": record.lab_reference,
        "waits": line.pk,
        "sheet": line.batch_id,
        "customer": owner.pk,
        "notice": Notice.objects.earliest("pk").pk,
        "run": run.pk,
        "photo": _photo(done),
        "signature": signature,
        "value": value,
    }
    world = World(numbers, {Role.CUSTOMER: link.token, Role.REVOKED: old.token})
    world.clients = {role: make() for role, make in _makers(world, lab_a, lab_b).items()}
    return world


def _waiting_line(lab: Lab) -> BatchLine:
    """A line of a lab's file whose cylinder nobody can name."""
    content = json.dumps(makers.record_body(cylinder={"serial": "ZZ-UNKNOWN"}))
    batch, _new = running.take(lab_id=lab.pk, content=content, dry_run=False, at=makers.NOON)
    line: BatchLine = batch.lines.create(
        number=1, outcome=BatchLine.Outcome.WAITING, code="cylinder_not_found", says="None is."
    )
    return line


def _away(owner: Customer, lab: Lab) -> int:
    """The number of the line of a cylinder that is at the lab."""
    order = makers.receive(owner, serial=SERIALS[2])
    makers.take_down(order)
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=cast.AT, by=cast.BY)
    consignment.send(
        consignment_id=line.consignment_id,
        carrier="ZuluCarriercanary",
        on=cast.ON,
        at=cast.AT,
        by=cast.BY,
    )
    return line.pk


def _photo(order: WorkOrder) -> int:
    """A photo of the cylinder that its owner sees behind the link."""
    file = filing.keep(Content(files.photo(), "image/jpeg", 400, 300), at=cast.AT)
    number = order.cylinder_id
    filing.add_photos(
        cylinder_id=number, files=[file.pk], shows=Shows.WHOLE, at=cast.AT, by=cast.BY
    )
    photo = Attachment.objects.get(file=file)
    filing.show_to_owner(cylinder_id=number, chosen=[photo.pk], at=cast.AT, by=cast.BY)
    return photo.pk


def _makers(world: World, lab_a: Lab, lab_b: Lab) -> dict[Role, Callable[[], Client]]:
    def finder() -> Client:
        client = Client()
        client.get(world.address("/t/{code}", Role.FINDER))
        client.get(world.address("/found/{code}", Role.FINDER))
        return client

    def holder(role: Role) -> Client:
        token = world.tokens[role]
        client = Client(headers={"authorization": f"Bearer {token}", "x-api-key": token})
        client.get(f"/s/{token}")
        return client

    def lab(row: Lab) -> Client:
        key = keys.issue(lab_id=row.pk, at=cast.AT).text
        client = Client(headers={"authorization": f"Bearer {key}"})
        assert client.post("/lab/sign-in/", {"key": key}).status_code == 302
        return client

    def staff(user: User) -> Client:
        client = Client()
        client.force_login(user)
        return client

    return {
        Role.ANONYMOUS: Client,
        Role.TECHNICIAN: lambda: staff(makers.make_technician("zulustaffcanary")),
        Role.OWNER: lambda: staff(makers.make_owner()),
        Role.LAB_A: lambda: lab(lab_a),
        Role.LAB_B: lambda: lab(lab_b),
        Role.CUSTOMER: lambda: holder(Role.CUSTOMER),
        Role.REVOKED: lambda: holder(Role.REVOKED),
        Role.FINDER: finder,
    }
