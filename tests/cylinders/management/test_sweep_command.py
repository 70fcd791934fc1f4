"""The sweep command and its task: they ask the clock, the operation does the rest."""

import json
from io import StringIO

import pytest
import time_machine
from django.core import mail
from django.core.cache import cache
from django.core.management import CommandError, call_command

from cylinders import tasks
from cylinders.models import Notice
from tests.cylinders.operations.reminders.cast import at, at_home, open_shop

pytestmark = pytest.mark.django_db


def said(*words: str) -> str:
    out = StringIO()
    call_command("sweep", *words, stdout=out)
    return out.getvalue()


def test_a_day_is_swept_as_if_it_were_noon_and_told_in_figures() -> None:
    open_shop()
    at_home()
    answer = json.loads(said("--on", "2026-11-25", "--json"))
    assert answer["on"] == "2026-11-25"
    assert (answer["planned"], answer["messages"], answer["sent"]) == (2, 1, 1)
    assert answer["left"] == {"planned": 1, "failed": 0, "unsure": 0}
    assert len(mail.outbox) == 1


def test_it_says_in_sentences_what_it_did_and_what_waits() -> None:
    open_shop()
    at_home()
    text = said("--on", "2026-11-25")
    assert "2026-11-25: 2 planned, 1 messages sent (1 notices), 0 withdrawn." in text
    assert "Now 1 wait, 0 failed, 0 unsure." in text


def test_a_look_ahead_writes_and_sends_nothing() -> None:
    open_shop()
    at_home()
    answer = json.loads(said("--on", "2026-11-01", "--ahead", "31", "--json"))
    days = {(item["duty"], item["send_on"]) for item in answer["items"]}
    assert days >= {("requalification", "2026-11-23"), ("requalification", "2026-11-30")}
    assert "reminders would go" in said("--on", "2026-11-01", "--ahead", "31")
    assert not Notice.objects.exists()
    assert not mail.outbox


def test_a_day_that_cannot_be_read_is_refused() -> None:
    with pytest.raises(CommandError, match="write YYYY-MM-DD"):
        said("--on", "tomorrow")


def test_the_task_plans_at_most_every_quarter_of_an_hour_and_sends_each_time() -> None:
    cache.clear()
    open_shop()
    at_home()
    with time_machine.travel(at("2026-11-25", 9), tick=False):
        tasks.sweep.delay()
    assert len(mail.outbox) == 1
    at_home(serial="LATER1")
    with time_machine.travel(at("2026-11-25", 9, 1), tick=False):
        tasks.sweep.delay()
    assert Notice.objects.filter(cylinder__serial="LATER1").count() == 0
    cache.clear()
    with time_machine.travel(at("2026-11-26", 9), tick=False):
        tasks.sweep.delay()
    assert Notice.objects.filter(cylinder__serial="LATER1").exists()
    assert len(mail.outbox) == 2


def test_a_plan_that_failed_is_made_again_at_the_next_sweep(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    cache.clear()
    open_shop()
    at_home()

    def breaks(**_: object) -> None:
        raise RuntimeError("out of memory")

    with monkeypatch.context() as patched, pytest.raises(RuntimeError):
        patched.setattr("cylinders.operations.reminders.sweep", breaks)
        tasks.sweep.delay()
    with time_machine.travel(at("2026-11-25", 9), tick=False):
        tasks.sweep.delay()
    assert len(mail.outbox) == 1
