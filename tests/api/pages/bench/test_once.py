from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
import time_machine
from django.db import connection
from django.test import Client

from api.celery import app
from api.models import SentForm
from api.pages import once
from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Part, WorkOrder
from tests import makers
from tests.api.pages.bench.desk import Desk


def _at_the_valve(desk: Desk) -> WorkOrder:
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/").press("empty", drained="on")
    desk.open(f"/bench/orders/{order.pk}/teardown/?part=valve")
    return order


def test_a_double_tap_records_one_part_and_tells_the_same(desk: Desk) -> None:
    order = _at_the_valve(desk)
    filled = desk.filled("part", thread="M25x2", serial="V9")
    first = desk.send(filled).text
    second = desk.send(filled).text
    assert order.parts.count() == 1
    assert "Off and recorded: valve" in first
    assert "Off and recorded: valve" in second


def test_a_form_that_was_changed_after_going_back_is_another_form(desk: Desk) -> None:
    order = _at_the_valve(desk)
    path, content = desk.filled("part", thread="M25x2", serial="V9")
    desk.send((path, content))
    desk.send((path, content | {"serial": "V10"}))
    assert sorted(order.parts.values_list("serial", flat=True)) == ["V10", "V9"]


def test_two_pages_of_one_step_are_two_forms_but_the_step_happens_once(desk: Desk) -> None:
    order = makers.receive()
    page = f"/bench/orders/{order.pk}/teardown/"
    first = desk.open(page).filled("empty", drained="on")
    second = desk.open(page).filled("empty", drained="on")
    desk.send(first)
    assert desk.send(second).status == 409
    assert "It was proven empty already" in desk.text
    kinds = [entry.kind for entry in history.timeline(order.cylinder_id)]
    assert kinds.count(Kind.PROVEN_EMPTY) == 1


def test_a_refused_form_may_be_sent_again_when_the_reason_is_gone(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/?part=valve")
    number = once.number()
    valve = {"do": "part", "kind": "valve", "thread": "M25x2", "once": number}
    page = f"/bench/orders/{order.pk}/teardown/"
    assert desk.send((page, valve)).status == 409
    assert "drained and proven empty" in desk.text
    desk.open(page).press("empty", drained="on")
    assert desk.send((page, valve)).status == 200
    assert order.parts.count() == 1


def test_reloading_the_page_that_tells_does_nothing(desk: Desk) -> None:
    order = _at_the_valve(desk)
    desk.press("part", thread="M25x2")
    before = len(history.timeline(order.cylinder_id))
    desk.open(desk.path).open(desk.path)
    assert "Off and recorded" in desk.text
    assert len(history.timeline(order.cylinder_id)) == before


def test_what_was_told_is_told_to_nobody_else(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/").press("empty", drained="on")
    told = desk.path
    other = Desk("ida").open(told)
    assert "Proven empty. Now the valve may move." in desk.text
    assert "Now the valve may move." not in other.text


@pytest.mark.parametrize("number", ["0", "-1", "x", "9" * 30, "٣", "1e3"])
@pytest.mark.sampled(of=3)
def test_a_made_up_number_of_an_answer_tells_nothing(desk: Desk, number: str) -> None:
    assert desk.open(f"/bench/?told={number}").status == 200


def test_old_answers_are_swept_when_somebody_signs_in(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/").press("empty", drained="on")
    assert SentForm.objects.count() == 1
    with time_machine.travel("2026-12-05 08:00Z"):
        sent = {"username": "tessa", "password": "wet-gloves-7"}
        assert Client().post("/bench/login/", sent).status_code == 302
    assert SentForm.objects.count() == 0


def test_old_answers_are_swept_every_night_though_nobody_signs_in(desk: Desk) -> None:
    order = makers.receive()
    desk.open(f"/bench/orders/{order.pk}/teardown/").press("empty", drained="on")
    for day, kept in (("2026-11-26", 1), ("2026-12-05", 0)):
        with time_machine.travel(f"{day} 03:17Z"):
            once.forget_old_forms()
        assert SentForm.objects.count() == kept


def test_the_clock_wakes_only_tasks_that_the_worker_knows() -> None:
    app.loader.import_default_modules()
    woken = {entry["task"] for entry in app.conf.beat_schedule.values()}
    assert woken <= set(app.tasks)


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_two_posts_of_one_form_at_once_do_the_work_once() -> None:
    desk = Desk()
    order = _at_the_valve(desk)
    path, content = desk.filled("part", thread="M25x2", serial="V9")

    def post(_number: int) -> int:
        client = Client()
        client.force_login(desk.user)
        answer: Any = client.post(path, content)
        connection.close()
        return int(answer.status_code)

    with ThreadPoolExecutor(4) as pool:
        answers = list(pool.map(post, range(4)))
    assert answers == [302] * 4
    assert Part.objects.filter(work_order=order).count() == 1
