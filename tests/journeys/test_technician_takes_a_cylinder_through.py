"""One cylinder from drop-off to collection, through the pages alone, without a script."""

from urllib.parse import quote

import pytest
import time_machine

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, Part, WorkOrder
from cylinders.queries.verification import verify
from labels.models import Tag, TagKind
from tests import makers
from tests.api.pages.bench.desk import Desk
from tests.api.v1.lab import body, make_lab_client

pytestmark = [pytest.mark.django_db, pytest.mark.both_engines]

STAMP = "DOT-3AL3000\nKX40417\nM9999\n06-08\n11 Z9/99 21"
ALL = ("requalification", "visual", "valve_service", "fill")


def _receive(desk: Desk, stamp: str = STAMP, services: tuple[str, ...] = ALL) -> WorkOrder:
    desk.open(f"/bench/intake/?stamp={quote(stamp)}")
    assert "Requalification: due this month" in desk.text
    known = {"neck_thread": "3/4-14 NPSM", "alloy": "6061-T6", "last_visual": "2026-01"}

    desk.press("receive", owner="Odo Quill", services=list(services), **known)
    assert "Received as order" in desk.text
    return WorkOrder.objects.latest("pk")


def _print_tag(desk: Desk, kind: str, **typed: str) -> Tag:
    desk.press("tag", **typed)
    tag = Tag.objects.filter(kind=kind).latest("bound_at", "pk")
    assert desk.path.startswith(f"/bench/tags/{tag.code}/")
    return tag


def _take_down(desk: Desk, order: WorkOrder) -> Tag:
    desk.open(f"/bench/orders/{order.pk}/")
    assert desk.path == f"/bench/orders/{order.pk}/teardown/"
    desk.press("empty", drained="on")
    desk.open(f"{desk.path.partition('?')[0]}?part=valve")
    desk.press("part", thread="3/4-14 NPSM", outlet="yoke", serial="V1")
    desk.open(f"/bench/orders/{order.pk}/teardown/?part=boot")
    desk.press("part", name="black boot")
    valve = order.parts.get(kind="valve")
    tag = _print_tag(desk, TagKind.BAG, part=str(valve.pk))
    desk.open(f"/bench/orders/{order.pk}/teardown/")
    desk.press("finish", outside="sound", travel_plug="on")
    assert "Taken down" in desk.text
    return tag


def _bring_home(desk: Desk, tag: Tag) -> None:
    desk.client.force_login(desk.user)  # a week later
    desk.open(f"/t/{tag.code}")
    assert desk.path == "/bench/runs/in/"
    desk.press("in", code=tag.code)
    assert "HOME" in desk.text


def test_the_whole_job_by_hand() -> None:
    with time_machine.travel(makers.DROPPED_OFF, tick=False) as clock:
        desk, lab = Desk(), make_lab_client("Z999")
        makers.make_customer("Odo Quill")
        order = _receive(desk)
        cylinder_tag = _print_tag(desk, TagKind.CYLINDER)
        valve_tag = _take_down(desk, order)

        desk.open(f"/t/{cylinder_tag.code.lower()}")
        desk.press("pack", lab=str(lab.lab.pk))
        assert desk.path.startswith(f"/bench/runs/to/{lab.lab.pk}/")
        desk.press("send", carrier="Rufus with the van")
        assert "It is on its way" in desk.text

        clock.move_to(makers.NOON)
        assert lab.post(body()).status == 201
        _bring_home(desk, cylinder_tag)

        desk.open(f"/bench/orders/{order.pk}/")
        desk.press("stamp", typed="11 Z9/99 26")
        assert "STAMP AGREES" in desk.text
        desk.press("look", internal="pass", external="pass", threads="pass", sticker_removed="on")
        assert desk.path.startswith(f"/bench/orders/{order.pk}/reassembly/")

        valve = order.parts.get(kind="valve")
        desk.open(f"/bench/orders/{order.pk}/parts/{valve.pk}/service/")
        desk.press("service", o_rings="AS568-214 EPDM", lubricant="PFPE", hand_wheel="sound")
        desk.press("offer", code=f"HTTPS://CYL.EXAMPLE/T/{valve_tag.code}")
        assert "MATCH" in desk.text
        boot = order.parts.get(kind="boot")
        desk.press("hand", part=str(boot.pk))
        desk.press("finish")
        assert "Reassembled" in desk.text

        desk.open(f"/bench/orders/{order.pk}/")
        desk.press("fill", percent="32", pressure="3000")
        assert "NO FILL" in desk.text, "nitrox in a cylinder that is not known to be clean"
        desk.press("fill", percent="20.9", pressure="3000")
        assert "FILLED" in desk.text
        desk.open(f"/bench/orders/{order.pk}/")
        desk.press("ready")
        desk.press("over", to="owner")
        assert "Handed over" in desk.text

    order.refresh_from_db()
    assert order.stage == "collected"
    assert order.closed_at
    kinds = [entry.kind for entry in history.timeline(order.cylinder_id)]
    assert kinds.count(Kind.PART_FITTED) == 2
    assert kinds.count(Kind.FILL_REFUSED) == 1
    assert kinds[0] == Kind.RECEIVED
    assert kinds[-1] == Kind.COLLECTED
    assert Cylinder.objects.get(pk=order.cylinder_id).requalified == "2026-11"
    assert not Part.objects.filter(whereabouts="bagged").exists()
    assert verify().problems == ()


def test_a_valve_of_another_cylinder_never_fits() -> None:
    with time_machine.travel(makers.NOON, tick=False):
        desk = Desk()
        makers.make_customer("Odo Quill")
        first = _receive(desk)
        other_bag = _take_down(desk, first)
        second = _receive(desk, STAMP.replace("KX40417", "KX55555"), services=("visual",))
        own_bag = _take_down(desk, second)
        desk.open(f"/bench/orders/{second.pk}/")
        desk.press("look", internal="pass", external="pass", threads="pass", sticker_removed="on")
        desk.press("offer", code=other_bag.code)
        assert "WRONG CYLINDER" in desk.text
        assert f"It belongs to {first.cylinder}" in desk.text
        desk.press("offer", code=own_bag.code)
        assert "MATCH" in desk.text
        desk.press("offer", code=own_bag.code)
        assert "ALREADY FITTED" in desk.text
        assert "Fitted by tessa on 2026-11-25 at 12:00" in desk.text
    kinds = [entry.kind for entry in history.timeline(second.cylinder_id)]
    assert kinds.count(Kind.PART_FITTED) == 1
    assert kinds.count(Kind.PART_REFUSED) == 2
