"""A checkpoint waits for events that have their number and are not committed yet."""

import threading
from concurrent.futures import ThreadPoolExecutor, wait

import pytest
from django.db import connection, transaction

from api import checkpoints
from cylinders import history
from cylinders.facts import Actor, Ready
from cylinders.models import Cylinder
from tests import makers

PATIENCE = 30.0
BY = Actor("staff", "1")


def append(serial: str) -> None:
    cylinder = history.lock(Cylinder.objects.get(serial=serial).pk)
    history.append(cylinder, Ready(work_order=0), at=makers.NOON, by=BY)


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_an_event_that_is_committed_late_is_in_the_checkpoint_or_behind_it() -> None:
    makers.technician_one()
    for serial in ("A1", "A2"):
        makers.receive(serial=serial)
    numbered, may_commit = threading.Event(), threading.Event()

    def slow() -> None:
        try:
            with transaction.atomic():
                append("A1")
                numbered.set()
                may_commit.wait(PATIENCE)
        finally:
            connection.close()

    def sign() -> checkpoints.Checkpoint:
        try:
            return checkpoints.check(checkpoints.make(at=makers.NOON).text)
        finally:
            connection.close()

    with ThreadPoolExecutor(2) as pool:
        late = pool.submit(slow)
        assert numbered.wait(PATIENCE)
        if connection.vendor == "postgresql":
            with transaction.atomic():
                append("A2")  # has the later number, and is committed first
        signing = pool.submit(sign)
        assert not wait([signing], timeout=1.0).done, "it waits for the one that is on its way"
        may_commit.set()
        late.result(PATIENCE)
        kept = signing.result(PATIENCE)
    with transaction.atomic():
        append("A2")
    assert checkpoints.problems(kept) == []
    newer = checkpoints.make(at=makers.NOON, since=kept)
    assert checkpoints.check(newer.text).size == kept.size + 1
