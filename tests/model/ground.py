"""Under every rule: how an operation is run, what a refusal leaves, tables for each example."""

import datetime as dt
from collections import Counter, defaultdict
from collections.abc import Callable, Sequence
from functools import cache
from typing import Any, TypeVar
from zoneinfo import ZoneInfo

from django.apps import apps
from django.contrib.auth.models import User
from django.db import OperationalError, connection, transaction
from django.test import Client, override_settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize

from cylinders.facts import Actor
from cylinders.models import Customer, Lab, Shop
from cylinders.rules.refusal import Refused
from tests import append_only, mail_server
from tests.faults.failing import FailsAt
from tests.model.world import World
from tests.post_office import OFFICE

T = TypeVar("T")
#: Operations by their answer, counted over all examples of a run.
DONE: Counter[str] = Counter()
BY = Actor("staff", "1")
ZONE = "America/New_York"
#: Names, addresses and numbers that must turn up nowhere but in a customer's own row.
OWNERS = (
    ("Odo Quillfeather", "odo.q@example.org", "555-0171"),
    ("Ilse Barrowmere", "ilse.b@example.org", "555-0182"),
    ("Bruna Tidewell", "", "555-0193"),
)
#: The second lab's number runs out while the clock goes on.
LABS = (("Z999", dt.date(2099, 12, 31)), ("Z111", dt.date(2027, 6, 30)))
#: Tables whose rows the database itself keeps from being taken away.
GUARDED = ("cylinders_serviceevent", "labels_tag")
_OURS = ("cylinders", "labels", "api")


class Ground(RuleBasedStateMachine):
    """The empty house of each example, and the one way to do something in it."""

    def __init__(self) -> None:
        super().__init__()
        self.world = World()
        self.fail_at = 0
        self.client = Client()
        self._settings = override_settings(**mail_server.named(mail_server.FOLDING))

    @initialize(far=st.tuples(*[st.integers(0, 30)] * 2))
    def open_the_house(self, far: tuple[int, ...]) -> None:
        """A shop, a technician, three owners, two labs, two cylinders some steps on their way."""
        self._settings.enable()
        empty_tables()
        OFFICE.empty()
        User.objects.create(pk=1, username="tessa", is_staff=True)
        Shop.objects.create(
            name="Slack Water Divers", email="shop@example.org", country="US", time_zone=ZONE
        )
        for name, email, phone in OWNERS:
            owner = Customer.objects.create(
                name=name, email=email, phone=phone, email_consent=bool(email)
            )
            self.world.owners[owner.pk] = {
                "reachable": bool(email),
                "declined": False,
                "erased": False,
            }
        for rin, until in LABS:
            lab = Lab.objects.create(name=f"Lab {rin}", rin=rin, rin_valid_until=until)
            self.world.labs[lab.pk] = {"rin": rin, "until": until}
        self.first_arrivals(far)

    def first_arrivals(self, far: tuple[int, ...]) -> None:
        """What is in the house from the start; the rules of drop-off know how it comes in."""

    def teardown(self) -> None:
        """Leave no mail and no settings behind."""
        OFFICE.empty()
        self._settings.disable()

    def do(self, expected: str, act: Callable[[], T]) -> T | None:
        """Run an operation that must be refused with the code ``expected``, or go through.

        A refusal, and a statement that fails on the way, leave every table as it was.
        """
        before = everything() if expected or self.fail_at else None
        result, code = self._answer(act, before)
        assert code == expected, f"answered {code!r}, expected {expected!r}"
        if code:
            assert everything() == before, f"{code} left something behind"
            DONE[f"refused as {code}"] += 1
            return None
        DONE[f"accepted {act.__qualname__.partition('.<locals>')[0]}"] += 1
        return result

    def _answer(self, act: Callable[[], T], before: object) -> tuple[T | None, str]:
        try:
            return self._failing(act, before), ""
        except Refused as refusal:
            return None, refusal.code

    def _failing(self, act: Callable[[], T], before: object) -> T:
        number, self.fail_at = self.fail_at, 0
        if not number:
            return act()
        try:
            with connection.execute_wrapper(FailsAt(number)):
                return act()
        except OperationalError:
            assert everything() == before, f"statement {number} failed and left something behind"
        return act()


def everything() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table of ours, as the database has it: asked for after each step."""
    found: dict[str, list[tuple[Any, ...]]] = defaultdict(list)
    with connection.cursor() as cursor:
        for question in _questions(connection.vendor):
            cursor.execute(question)
            for name, *row in cursor.fetchall():
                found[name].append(tuple(row))
    return found


@cache
def _questions(vendor: str) -> list[str]:
    """One question a table; PostgreSQL, which is asked through a socket, answers all in one."""
    models = [one for name in _OURS for one in apps.get_app_config(name).get_models()]
    at_once = vendor == "postgresql"
    asked = []
    for one in models:
        table, key = one._meta.db_table, one._meta.pk.column
        row = f"{table}::text" if at_once else "*"
        asked.append(f"SELECT '{one.__name__}', {row} FROM {table} ORDER BY {key}")  # noqa: S608 - the names are the models' own
    return ["(" + ") UNION ALL (".join(asked) + ")"] if at_once else asked


def empty_tables() -> None:
    """Take every row out, quickly: no table is made anew and no number starts again."""
    tables = [*connection.introspection.django_table_names(only_existing=True)]
    tables = [name for name in tables if not name.startswith("django_")]
    if connection.vendor == "postgresql":
        _delete_from(tables, guarded=GUARDED)  # much quicker than TRUNCATE on small tables
        return
    if append_only.are_set():
        append_only.lift()
    with connection.constraint_checks_disabled():
        _delete_from(tables)
    append_only.set_again()


def _delete_from(tables: Sequence[str], *, guarded: Sequence[str] = ()) -> None:
    with transaction.atomic(), connection.cursor() as cursor:
        for name in guarded:
            cursor.execute(f"ALTER TABLE {name} DISABLE TRIGGER USER")
        for name in tables:
            cursor.execute(f"DELETE FROM {name}")  # noqa: S608 - the names are the models' own
        for name in guarded:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
            cursor.execute(f"ALTER TABLE {name} ENABLE TRIGGER USER")


def at_the_shop(now: dt.datetime, hour: int) -> dt.datetime:
    """The next moment from ``now`` on at which it is ``hour`` at the shop."""
    local = now.astimezone(ZoneInfo(ZONE))
    wanted = local.replace(hour=hour, minute=0, second=0, microsecond=0)
    if wanted < local:
        wanted += dt.timedelta(days=1)
    return wanted.astimezone(dt.UTC)
