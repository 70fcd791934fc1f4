"""A print run: one run however often it is asked for; no code with two meanings after a crash."""

import datetime as dt
import threading
from collections.abc import Callable

import pytest
from django.db import DatabaseError, connection, transaction

from cylinders.facts import Actor
from cylinders.rules.refusal import Refused
from labels.models import PrintRun, Tag, TagState
from labels.operations import binding, runs
from labels.operations.binding import Thing
from tests import makers

pytestmark = pytest.mark.django_db

HOST, AT = "CYL.EXAMPLE", makers.NOON
BY = Actor("staff", "1")


def a_run(count: int = 5, key: str = "form-1") -> PrintRun:
    makers.technician_one()
    return runs.start(key=key, count=count, host=HOST, printer="bench", at=AT, by=BY)


class Jam(RuntimeError):
    """The printer stops."""


def printer_that_jams_after(good: int, paper: list[str]) -> Callable[[Tag], None]:
    def to_printer(tag: Tag) -> None:
        if len(paper) >= good:
            raise Jam
        paper.append(tag.code)

    return to_printer


def refused(code: str, action: Callable[[], object]) -> None:
    with pytest.raises(Refused) as refusal:
        action()
    assert refusal.value.code == code


def test_a_double_click_prints_one_run() -> None:
    assert a_run() == a_run()
    assert Tag.objects.count() == 5
    refused("key_used", lambda: a_run(count=6))


def test_labels_go_to_the_printer_once_and_in_order() -> None:
    run, paper = a_run(), list[str]()
    assert runs.send(run_id=run.pk, to_printer=printer_that_jams_after(9, paper)) == 5
    assert paper == list(run.tags.order_by("place").values_list("code", flat=True))
    assert runs.send(run_id=run.pk, to_printer=printer_that_jams_after(9, paper)) == 0
    assert runs.progress(run) == runs.Progress(5, reserved=0, sent=5, confirmed=0, spoiled=0)


def test_after_an_interruption_a_person_names_the_last_good_label_and_the_rest_is_spoiled() -> None:
    run, paper = a_run(), list[str]()
    with pytest.raises(Jam):
        runs.send(run_id=run.pk, to_printer=printer_that_jams_after(2, paper))
    assert runs.progress(run) == runs.Progress(5, reserved=2, sent=3, confirmed=0, spoiled=0)
    runs.confirm(run_id=run.pk, last_good=2, at=AT)
    assert runs.progress(run) == runs.Progress(5, reserved=0, sent=0, confirmed=2, spoiled=3)
    spoiled = Tag.objects.filter(state=TagState.SPOILED).first()
    assert spoiled is not None
    thing = Thing.cylinder(makers.receive().cylinder)
    refused("code_used", lambda: binding.bind(code=spoiled.code, thing=thing, at=AT, by=BY))


def test_how_a_run_ended_is_said_once() -> None:
    run, paper = a_run(), list[str]()
    refused("never_sent", lambda: runs.confirm(run_id=run.pk, last_good=1, at=AT))
    runs.send(run_id=run.pk, to_printer=printer_that_jams_after(9, paper))
    refused("no_such_label", lambda: runs.confirm(run_id=run.pk, last_good=6, at=AT))
    refused("unknown_run", lambda: runs.confirm(run_id=0, last_good=6, at=AT))
    first = runs.confirm(run_id=run.pk, last_good=4, at=AT)
    assert runs.confirm(run_id=run.pk, last_good=4, at=AT + dt.timedelta(hours=1)) == first
    refused("run_confirmed", lambda: runs.confirm(run_id=run.pk, last_good=5, at=AT))


def test_a_label_that_was_only_reserved_is_not_bound_and_one_in_use_is_not_spoiled() -> None:
    run, paper = a_run(count=2), list[str]()
    thing = Thing.cylinder(makers.receive().cylinder)
    code = run.tags.get(place=2).code
    refused("never_sent", lambda: binding.bind(code=code, thing=thing, at=AT, by=BY))
    runs.send(run_id=run.pk, to_printer=printer_that_jams_after(9, paper))
    binding.bind(code=code, thing=thing, at=AT, by=BY)
    refused("label_in_use", lambda: runs.confirm(run_id=run.pk, last_good=1, at=AT))
    runs.confirm(run_id=run.pk, last_good=2, at=AT)


@pytest.mark.parametrize("count", [40, pytest.param(200, marks=pytest.mark.long)])
@pytest.mark.parametrize("printed", [True, False], ids=["after printing", "before printing"])
def test_a_stop_at_each_of_200_labels_prints_no_code_twice(*, printed: bool, count: int) -> None:
    """It stops at every single label, just after or just before that one came out, and goes on."""
    run, paper = a_run(count=count), list[str]()

    def stops(tag: Tag) -> None:
        if printed:
            paper.append(tag.code)
        raise Jam

    for _ in range(count):
        with pytest.raises(Jam):
            runs.send(run_id=run.pk, to_printer=stops)
    assert runs.send(run_id=run.pk, to_printer=stops) == 0
    codes = list(run.tags.order_by("place").values_list("code", flat=True))
    assert paper == (codes if printed else [])
    assert runs.progress(run).sent == count


@pytest.mark.both_engines
def test_the_database_refuses_to_delete_a_code_or_to_change_it() -> None:
    a_run(count=1)
    for verb in ("DELETE FROM labels_tag", "UPDATE labels_tag SET code = 'X'"):
        with (
            pytest.raises(DatabaseError, match="for ever"),
            transaction.atomic(),
            connection.cursor() as cursor,
        ):
            cursor.execute(verb)
    with connection.cursor() as cursor:
        cursor.execute("UPDATE labels_tag SET code = code")


@pytest.mark.both_engines
@pytest.mark.django_db(transaction=True)
def test_two_senders_share_one_run_and_print_no_label_twice() -> None:
    run = a_run(count=30)
    paper: list[str] = []

    def work() -> None:
        try:
            runs.send(run_id=run.pk, to_printer=lambda tag: paper.append(tag.code))
        finally:
            connection.close()

    threads = [threading.Thread(target=work) for _ in range(3)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    assert sorted(paper) == sorted(run.tags.values_list("code", flat=True))
