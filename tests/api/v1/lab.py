"""A lab that speaks to the service as a lab's program does: with a key, over HTTP."""

import datetime as dt
import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from django.test import Client

from api import keys
from cylinders.facts import Actor
from cylinders.models import Lab, WorkOrder
from cylinders.operations import consignment
from labels.models import Tag
from labels.operations import binding
from tests import makers

HOST = "CYL.EXAMPLE"
BY = Actor("staff", "1")
RECORDS = "/api/v1/test-records"
_NUMBERS = count(1)


@dataclass
class Answer:
    """What came back: status, headers, bytes, and the JSON that they are."""

    status: int
    headers: Mapping[str, str]
    raw: bytes

    @property
    def json(self) -> Any:
        return json.loads(self.raw)

    @property
    def code(self) -> str:
        """The code of the problem; each problem is one whole document."""
        assert self.headers["Content-Type"] == "application/problem+json", self.raw[:300]
        document = self.json
        assert document["status"] == self.status
        assert document["type"].endswith(f"/problems/{document['code']}")
        assert document["detail"]
        return str(document["code"])


@dataclass
class LabClient:
    """One lab's program."""

    lab: Lab
    key: str
    client: Client = field(default_factory=lambda: Client(raise_request_exception=True))

    def get(self, path: str, **headers: str) -> Answer:
        return self.send("GET", path, b"", **headers)

    def post(self, body: object, *, key: str | None = None, path: str = RECORDS) -> Answer:
        """Post a body as JSON, with a fresh Idempotency-Key unless one is given."""
        raw = body if isinstance(body, bytes) else json.dumps(body).encode()
        return self.send("POST", path, raw, idempotency_key=key or f"test-{next(_NUMBERS)}")

    def attach(
        self,
        raw: bytes,
        *,
        reference: str = "NG-2026-0417",
        media_type: str = "application/pdf",
        key: str | None = None,
        shows: str = "calibration",
    ) -> Answer:
        """Post a paper to one of the lab's records."""
        path = f"{RECORDS}/{reference}/attachments?shows={shows}"
        fresh = key or f"test-{next(_NUMBERS)}"
        return self.send("POST", path, raw, media_type, idempotency_key=fresh)

    def send(
        self,
        method: str,
        path: str,
        raw: bytes = b"",
        content_type: str = "application/json",
        /,
        **headers: str,
    ) -> Answer:
        """Any request; ``authorization=""`` sends none, other headers by their name."""
        given = {"authorization": f"Bearer {self.key}"} | headers
        named = {name.replace("_", "-"): value for name, value in given.items() if value}
        response = self.client.generic(
            method, path, raw, content_type, headers=named, CONTENT_TYPE=content_type
        )
        content = b"" if response.streaming else response.content
        return Answer(response.status_code, response.headers, content)


def make_lab_client(rin: str = "Z999", *, at: dt.datetime = makers.NOON) -> LabClient:
    lab = makers.make_lab(rin)
    return LabClient(lab, keys.issue(lab_id=lab.pk, at=at).text)


def send_to(lab: Lab, *orders: WorkOrder, at: dt.datetime = makers.NOON) -> None:
    """Pack these visits' cylinders, taken down already, and hand them to the carrier."""
    lines = [consignment.pack(work_order_id=o.pk, lab_id=lab.pk, at=at, by=BY) for o in orders]
    consignment.send(
        consignment_id=lines[0].consignment_id, carrier="van", on=at.date(), at=at, by=BY
    )


def order_at(lab: Lab, serial: str = "KX40417") -> WorkOrder:
    """A cylinder that was dropped off, taken down and sent to that lab."""
    order = makers.receive(serial=serial)
    makers.take_down(order)
    send_to(lab, order)
    return order


def tag_of(order: WorkOrder) -> Tag:
    """The tag on the cylinder of that visit."""
    thing = binding.Thing.cylinder(order.cylinder)
    return binding.issue(thing=thing, host=HOST, at=makers.NOON, by=BY)


def body(
    serial: str = "KX40417", reference: str = "NG-2026-0417", **changes: Any
) -> dict[str, Any]:
    """A record of the cylinder that :func:`order_at` sends."""
    made = makers.record_body(lab_reference=reference, **changes)
    return made | {"cylinder": made["cylinder"] | {"serial": serial}}
