"""What a SQLite lets in and a PostgreSQL minds, each alone: it arrives the same, or it is named."""

import datetime as dt
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import psycopg
import pytest
from django.db import DatabaseError, connection, connections, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.models import Model

from api import environment, guards, links
from api.backups import moving, taking
from cylinders.facts import Actor
from cylinders.models import Customer, Cylinder, Shop
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from tests import makers, servers

pytestmark = pytest.mark.django_db(transaction=True)
LONGEST = Customer._meta.get_field("name").max_length
BY = Actor("staff", "1")


@pytest.fixture(autouse=True)
def second_database(monkeypatch: pytest.MonkeyPatch) -> None:
    """Django keeps a test to the databases of its settings; the copy is one that it may open."""
    guarded = BaseDatabaseWrapper.ensure_connection

    def ensure_connection(self: BaseDatabaseWrapper) -> None:
        if self.alias == taking.COPY and self.connection is None:
            self.connect()
        else:
            guarded(self)

    monkeypatch.setattr(BaseDatabaseWrapper, "ensure_connection", ensure_connection)


@pytest.fixture
def target(postgresql: servers.Server) -> Iterator[dict[str, Any]]:
    """An empty PostgreSQL to move into."""
    with psycopg.connect(postgresql.url, autocommit=True) as line:
        line.execute("CREATE DATABASE moved")
        yield environment.postgresql(urlsplit(postgresql.url.replace("/postgres?", "/moved?")))
        line.execute("DROP DATABASE moved WITH (FORCE)")


def run(statement: str, *values: str | int) -> None:
    with connection.cursor() as cursor:
        cursor.execute("PRAGMA foreign_keys = OFF")
        cursor.execute(statement, values)


def refused(target: dict[str, Any]) -> Refused:
    with pytest.raises(Refused) as refusal:
        moving.move(target)
    return refusal.value


def odd_world() -> None:
    order = makers.receive(makers.make_customer("Łucja 🐙 Ōmura"), serial="A1")
    makers.take_down(order)
    links.issue(cylinder_id=order.cylinder_id, at=makers.NOON, by=BY)
    Shop.objects.create(name="Slack Water Divers", notice_days={"é 🐙": [30, 0, -1], "a": [None]})
    long = makers.make_customer("x" * (LONGEST or 0))
    for name, value in (("email_consent", 0), ("email_bounced", 1)):
        run(f"UPDATE cylinders_customer SET {name} = %s WHERE id = %s", value, long.pk)  # noqa: S608 - this module's own words
    run("UPDATE cylinders_workorder SET moved_at = '2026-03-29 02:30:00'")  # as a program wrote it
    run("UPDATE cylinders_cylinder SET oxygen_clean = NULL, id = id")


def test_an_odd_world_arrives_the_same_silent_guarded_and_goes_on(target: dict[str, Any]) -> None:
    odd_world()
    moved = {table.table: table.rows for table in moving.move(target)}
    assert moved["cylinders_serviceevent"] == 6
    with taking.opened(target) as alias:
        there = Customer.objects.using(alias)
        assert list(there.order_by("pk").values()) == list(Customer.objects.order_by("pk").values())
        order = Cylinder.objects.using(alias).get().work_orders.get()
        assert order.moved_at == dt.datetime(2026, 3, 29, 2, 30, tzinfo=dt.UTC)
        assert Shop.objects.using(alias).get().notice_days == {"é 🐙": [30, 0, -1], "a": [None]}
        assert Shop.objects.using(alias).get().notices_paused, "only one copy may write to people"
        assert not Shop.objects.get().notices_paused
        assert guards.problems(alias) == []
        for statement in (
            "UPDATE cylinders_serviceevent SET actor = actor",
            "DELETE FROM cylinders_serviceevent",
        ):
            with (
                pytest.raises(DatabaseError, match="append-only"),
                transaction.atomic(using=alias),
                connections[alias].cursor() as cursor,
            ):
                cursor.execute(statement)
        highest = there.latest("pk").pk
        assert there.create(name="Newly Come").pk == highest + 1
    assert refused(target).code == "not_empty"
    assert verify().ok


@pytest.mark.parametrize(
    ("row", "code", "finds"),
    [
        (Customer(pk=3, phone="1\0"), "nul", "cylinders_customer, row 3, phone: a NUL"),
        (Shop(pk=1, notice_days={"a": ["\0"]}), "nul", "notice_days: a NUL"),
        (Customer(pk=3, language="far too long"), "too_long", "language: 12 signs, and 8"),
    ],
)
def test_what_cannot_be_held_is_named_by_its_place(row: Model, code: str, finds: str) -> None:
    with pytest.raises(Refused) as refusal:
        moving._must_fit(row, row._meta.db_table)
    assert refusal.value.code == code
    assert finds in refusal.value.says


@pytest.mark.long
def test_a_row_that_refers_to_nothing_ends_the_move_and_nothing_is_moved(tmp_path: Path) -> None:
    makers.receive()
    run("DELETE FROM cylinders_customer")
    new = environment.sqlite(str(tmp_path / "new.sqlite3"))
    refusal = refused(new)
    assert refusal.code == "not_taken"
    assert "referred to" in refusal.says
    with taking.opened(new) as alias:
        assert not Cylinder.objects.using(alias).exists()
