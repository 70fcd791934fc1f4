"""A post is done once and answered alike, whoever sends it how often, at whatever moment."""

import datetime as dt
import threading
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import pytest
import time_machine
from django.db import connection, transaction

from api.models import ReceivedPost
from api.v1 import answers, idempotency
from api.v1.tasks import forget_old_answers
from cylinders import history
from cylinders.models import TestRecord
from cylinders.queries.verification import verify
from tests import makers
from tests.api.v1.lab import RECORDS, Answer, LabClient, body, make_lab_client, order_at

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


def test_the_same_post_gets_the_same_bytes(lab: LabClient) -> None:
    first, again = lab.post(body(), key="k-1"), lab.post(body(), key="k-1")
    assert (first.status, again.status) == (201, 201)
    assert first.raw == again.raw
    assert first.headers["Location"] == again.headers["Location"]
    assert TestRecord.objects.count() == ReceivedPost.objects.count() == 1


def test_the_same_record_written_differently_is_the_same_post(lab: LabClient) -> None:
    first = lab.post(body(), key="k-1")
    turned = dict(reversed(body().items()))
    assert lab.post(turned, key="k-1").raw == first.raw


def test_the_key_may_be_quoted_or_bare(lab: LabClient) -> None:
    first = lab.post(body(), key='"k-1"')
    assert lab.post(body(), key="k-1").raw == first.raw


def test_another_body_under_a_used_key_is_refused(lab: LabClient) -> None:
    lab.post(body(), key="k-1")
    other = lab.post(body(hold_seconds=40), key="k-1")
    assert (other.status, other.code) == (422, "idempotency_key_reused")
    assert TestRecord.objects.count() == 1


def changes_of(value: Any, *way: str) -> Iterator[tuple[str, Any]]:
    """Each place of a JSON value, and the value with that place alone changed, in two ways."""
    if isinstance(value, dict):
        for name, inner in value.items():
            for where, changed in changes_of(inner, *way, name):
                yield where, value | {name: changed}
    elif isinstance(value, list):
        for n, inner in enumerate(value):
            for where, changed in changes_of(inner, *way, str(n)):
                yield where, [*value[:n], changed, *value[n + 1 :]]
    else:
        for other in (f"{value}1", [value]):
            yield "/" + "/".join(way), other


def test_a_hundred_bodies_that_differ_in_one_place_are_refused(lab: LabClient) -> None:
    lab.post(body(), key="k-1")
    kept = list(TestRecord.objects.values()), list(ReceivedPost.objects.values())
    mutations = list(changes_of(body()))
    assert len(mutations) > 100
    heard = {(where, lab.post(other, key="k-1").code) for where, other in mutations}
    assert {code for _where, code in heard} == {"idempotency_key_reused"}
    assert kept == (list(TestRecord.objects.values()), list(ReceivedPost.objects.values()))
    assert verify().ok


def test_what_was_refused_stored_nothing_and_may_be_mended_under_its_key(lab: LabClient) -> None:
    assert lab.post(body("NEVERSEEN"), key="k-1").status == 404
    assert not ReceivedPost.objects.exists()
    assert lab.post(body(), key="k-1").status == 201


def test_keys_of_two_labs_have_nothing_to_do_with_each_other(lab: LabClient) -> None:
    other = make_lab_client("Z998")
    order_at(other.lab, "ZZ90000")
    assert lab.post(body(), key="k-1").status == 201
    assert other.post(body("ZZ90000", rin="Z998"), key="k-1").status == 201


@pytest.mark.parametrize(
    ("key", "code"),
    [
        ("", "idempotency_key_missing"),
        (" ", "idempotency_key_malformed"),
        ('""', "idempotency_key_malformed"),
        ('" "', "idempotency_key_malformed"),
        ("k" * 256, "idempotency_key_malformed"),
        ("a, b", "idempotency_key_malformed"),
        ('"a", "b"', "idempotency_key_malformed"),
        ('"a', "idempotency_key_malformed"),
        ("a b", "idempotency_key_malformed"),
        ("a\tb", "idempotency_key_malformed"),
        ("\N{LATIN SMALL LETTER E WITH ACUTE}", "idempotency_key_malformed"),
    ],
)
def test_a_key_that_cannot_be_read_is_refused(lab: LabClient, key: str, code: str) -> None:
    raw = b"{}"
    answer = lab.send("POST", RECORDS, raw, idempotency_key=key)
    assert (answer.status, answer.code) == (400, code)


def test_a_fault_in_the_middle_leaves_neither_record_nor_answer(
    lab: LabClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    lab.client.raise_request_exception = False

    def fail(*_facts: object, **_more: object) -> None:
        raise RuntimeError("the disk is full")

    with monkeypatch.context() as broken:
        broken.setattr(history, "append", fail)
        answer = lab.post(body(), key="k-1")
    assert (answer.status, answer.code) == (500, "internal")
    assert "disk" not in answer.raw.decode()
    assert not TestRecord.objects.exists()
    assert not ReceivedPost.objects.exists()
    assert lab.post(body(), key="k-1").status == 201


def test_old_answers_are_dropped_and_the_reference_still_protects(lab: LabClient) -> None:
    lab.post(body(), key="k-1")
    assert idempotency.forget(before=makers.NOON) == 0
    assert idempotency.forget(before=makers.NOON + dt.timedelta(hours=1)) == 1
    again = lab.post(body(), key="k-1")
    assert again.status == 200
    assert TestRecord.objects.count() == 1


def test_the_nightly_task_keeps_an_answer_for_400_days(lab: LabClient) -> None:
    lab.post(body(), key="k-1")
    for days, kept in ((399, 1), (401, 0)):
        with time_machine.travel(makers.NOON + dt.timedelta(days=days), tick=False):
            forget_old_answers()
        assert ReceivedPost.objects.count() == kept


def at_once(actions: list[Callable[[], Answer]]) -> list[Answer]:
    """Run the actions in as many threads, all let go at one moment."""
    heard: list[Answer] = []
    start = threading.Barrier(len(actions))

    def run(action: Callable[[], Answer]) -> None:
        start.wait()
        try:
            heard.append(action())
        finally:
            connection.close()

    threads = [threading.Thread(target=run, args=(action,)) for action in actions]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert len(heard) == len(actions)
    return heard


@pytest.mark.django_db(transaction=True)
def test_fifty_threads_with_one_key_store_one_record_and_hear_the_same() -> None:
    lab = make_lab_client()
    order_at(lab.lab)
    heard = at_once([partial(lab.post, body(), key="k-1")] * 50)
    assert {answer.status for answer in heard} == {201}
    assert len({answer.raw for answer in heard}) == 1
    assert TestRecord.objects.count() == ReceivedPost.objects.count() == 1
    assert verify().ok


@pytest.mark.django_db(transaction=True)
def test_threads_with_keys_of_their_own_store_one_record_too() -> None:
    lab = make_lab_client()
    order_at(lab.lab)
    heard = at_once([partial(lab.post, body(), key=f"k-{n}") for n in range(20)])
    assert sorted(answer.status for answer in heard) == [200] * 19 + [201]
    assert TestRecord.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_two_cylinders_under_one_reference_at_once_give_one_record() -> None:
    lab = make_lab_client()
    serials = ("KX40417", "ZZ90000", "ZZ90001", "ZZ90002")
    for serial in serials:
        order_at(lab.lab, serial)
    heard = at_once([partial(lab.post, body(serial)) for serial in serials])
    assert sorted(answer.status for answer in heard) == [201, 409, 409, 409]
    assert {answer.code for answer in heard if answer.status == 409} == {"reference_used"}
    assert TestRecord.objects.count() == 1


@pytest.mark.django_db(transaction=True)
def test_a_post_whose_first_is_not_done_in_time_is_told_to_wait(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(idempotency, "PATIENCE_MS", 200)
    lab = make_lab_client()
    order_at(lab.lab)
    begun, done = threading.Event(), threading.Event()

    def slow() -> None:
        post = idempotency.Post(lab.lab.pk, "POST", RECORDS, "k-1", "{}")

        def wait() -> answers.Answer:
            begun.set()
            done.wait(30)
            raise RuntimeError("the first gives up")

        try:
            with pytest.raises(RuntimeError):
                idempotency.once(post, wait, at=makers.NOON)
        finally:
            connection.close()

    if connection.vendor == "sqlite":
        with connection.cursor() as cursor:
            cursor.execute("PRAGMA busy_timeout = 200")
    thread = threading.Thread(target=slow)
    thread.start()
    begun.wait(10)
    second = lab.post(body(), key="k-1")
    done.set()
    thread.join(timeout=30)
    expected = {
        "postgresql": (409, "request_in_flight"),
        "sqlite": (503, "busy"),  # one writer at a time: whose turn it is cannot be told
    }
    assert (second.status, second.code) == expected[connection.vendor]
    assert int(second.headers["Retry-After"]) >= 1
    connection.close()
    assert lab.post(body(), key="k-1").status == 201


def test_an_answer_is_stored_in_the_transaction_of_its_record(lab: LabClient) -> None:
    with transaction.atomic():
        assert lab.post(body(), key="k-1").status == 201
        transaction.set_rollback(True)
    assert not TestRecord.objects.exists()
    assert not ReceivedPost.objects.exists()
