"""/livez asks nothing; /readyz asks database, migrations and worker, and names what is wrong."""

from datetime import UTC, datetime, timedelta
from unittest.mock import patch

import pytest
from django.core.cache import cache
from django.db import DatabaseError, connection
from django.db.migrations.recorder import MigrationRecorder
from django.test import Client
from django.utils import timezone

from api import health
from api.celery import tick
from cylinders import tasks

NOON = datetime(2026, 11, 25, 12, 0, tzinfo=UTC)


@pytest.fixture(autouse=True)
def _no_tick() -> None:
    cache.delete(health.BEAT)
    cache.delete(tasks.SWEPT)


def test_live_needs_no_database(client: Client) -> None:
    assert client.get("/livez").content == b"alive\n"


@pytest.mark.both_engines
@pytest.mark.django_db
def test_ready_once_the_worker_has_ticked_and_swept(client: Client) -> None:
    tick.delay()
    assert list(client.get("/readyz").json()["problems"]) == ["sweep"]
    tasks.sweep.delay()
    response = client.get("/readyz")
    assert response.status_code == 200
    assert response.json() == {"ready": True, "problems": {}}


@pytest.mark.django_db
def test_not_ready_without_a_worker(client: Client) -> None:
    response = client.get("/readyz")
    assert response.status_code == 503
    assert list(response.json()["problems"]) == ["worker", "sweep"]


@pytest.mark.parametrize(("age", "said"), [(180, ""), (181, "last tick 181 s ago")])
def test_a_worker_may_miss_two_ticks_but_not_three(age: int, said: str) -> None:
    cache.set(health.BEAT, NOON - timedelta(seconds=age), timeout=None)
    assert health.worker(NOON) == said


@pytest.mark.parametrize(("age", "said"), [(180, ""), (181, "last sweep 181 s ago")])
def test_the_age_of_the_last_sweep_is_told(age: int, said: str) -> None:
    cache.set(tasks.SWEPT, NOON - timedelta(seconds=age), timeout=None)
    assert health.sweep(NOON) == said


@pytest.mark.both_engines
@pytest.mark.django_db
def test_the_probe_of_the_database_leaves_no_trace() -> None:
    before = list(MigrationRecorder.Migration.objects.order_by("pk").values())
    assert health.database() == ""
    assert list(MigrationRecorder.Migration.objects.order_by("pk").values()) == before


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_a_database_that_cannot_be_written_to_is_named(client: Client) -> None:
    statement = {
        "sqlite": ("PRAGMA query_only = ON", "PRAGMA query_only = OFF"),
        "postgresql": ("SET default_transaction_read_only = on", "RESET ALL"),
    }[connection.vendor]
    cache.set(health.BEAT, timezone.now(), timeout=None)
    with connection.cursor() as cursor:
        cursor.execute(statement[0])
        try:
            response = client.get("/readyz")
        finally:
            cursor.execute(statement[1])
    assert response.status_code == 503
    assert "cannot be written to" in response.json()["problems"]["database"]


@pytest.mark.django_db
def test_a_broken_database_is_an_answer_and_not_a_crash(client: Client) -> None:
    with patch("api.health.MigrationExecutor", side_effect=DatabaseError("down")):
        response = client.get("/readyz")
    assert response.status_code == 503
    assert response.json()["problems"]["migrations"] == "cannot be read (DatabaseError)"


@pytest.mark.both_engines
@pytest.mark.django_db
def test_waiting_migrations_are_counted() -> None:
    MigrationRecorder.Migration.objects.filter(app="sessions").delete()
    assert health.migrations() == "1 wait; run: python3 manage.py migrate"


@pytest.mark.parametrize("path", ["/livez", "/readyz"])
def test_probes_answer_reads_only(path: str, client: Client) -> None:
    assert client.post(path).status_code == 405
