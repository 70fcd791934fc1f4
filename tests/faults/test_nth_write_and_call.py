"""The first, second, third ... write to a disk or call to elsewhere fails, until none does.

After each: nothing half stored, nobody told twice, the histories whole.
"""

import datetime as dt
import errno
import io
import os
import smtplib
from collections.abc import Iterator
from pathlib import Path
from typing import Any, ClassVar

import pytest
import time_machine
from django.core.files.storage import FileSystemStorage
from django.core.mail import EmailMessage
from pytest_django import Settings

from api.backups import archive
from api.models import WebhookCall
from api.webhooks import managing, outbox
from cylinders.models import Customer, Notice, NoticeState, StoredFile
from cylinders.operations import filing, privacy
from cylinders.operations.filing import Content
from cylinders.operations.reminders import Text, TryLater
from cylinders.queries import stored_files
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from tests import files, makers
from tests.api.v1.lab import make_lab_client, order_at
from tests.api.webhooks.receiver import URL, Receiver, receiver
from tests.cylinders.operations.reminders.cast import BY, at, at_home, run
from tests.faults.worlds import WHO
from tests.model.ground import everything
from tests.post_office import OFFICE

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

HOW_MANY = 3
FULL = OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


class Nth:
    """Counts, and says of the n-th that it fails."""

    def __init__(self, number: int) -> None:
        self.number, self.seen = number, 0

    def fails(self) -> bool:
        self.seen += 1
        return self.seen == self.number

    @property
    def came_to_it(self) -> bool:
        return self.seen >= self.number


def unexplained() -> list[str]:
    """What `verify` finds but for the month that the cast sets behind the history."""
    return [problem for problem in verify().problems if "last_visual" not in problem]


def test_photos_whose_nth_write_fails_are_refused_and_kept_whole_or_not_at_all(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.STORAGES = files.storages_in(tmp_path)
    as_it_writes = FileSystemStorage._save  # type: ignore[attr-defined] # the part that writes
    for number in range(1, 10):
        nth = Nth(number)

        def half(self: Any, name: str, content: Any, nth: Nth = nth) -> str:
            if nth.fails():
                Path(self.path(name)).parent.mkdir(parents=True, exist_ok=True)
                Path(self.path(name)).write_bytes(content.read()[:3])
                raise FULL
            return str(as_it_writes(self, name, content))

        monkeypatch.setattr(FileSystemStorage, "_save", half)
        visit = makers.receive(serial=f"W{number}")
        photos = [Content(b"photo %d %d" % (number, n), "image/jpeg", 4, 3) for n in range(3)]
        before, others = StoredFile.objects.count(), but_for_files()
        refused = 0
        try:
            kept = [filing.keep(one, at=makers.NOON).pk for one in photos]
        except Refused as refusal:
            refused += refusal.code == "cannot_store"
            assert StoredFile.objects.count() == before + number - 1
            assert but_for_files() == others, f"file {number} failed and left something behind"
            kept = [filing.keep(one, at=makers.NOON).pk for one in photos]
        filing.add_photos(cylinder_id=visit.cylinder_id, files=kept, shows="stamp", **WHO)
        assert refused == int(number <= HOW_MANY)
        assert all(stored_files.is_whole(row) for row in StoredFile.objects.all())
        assert StoredFile.objects.count() == before + HOW_MANY
        assert verify().problems == ()
        if not nth.came_to_it:
            break
    assert number > HOW_MANY
    monkeypatch.undo()
    used = set(StoredFile.objects.filter(attachments__isnull=False))
    filing.keep(Content(b"of no visit", "image/jpeg", 4, 3), at=makers.NOON)
    assert filing.sweep(at=makers.NOON + dt.timedelta(days=2)) > 0
    assert set(StoredFile.objects.all()) == used


def but_for_files() -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every other table."""
    return {name: rows for name, rows in everything().items() if name != StoredFile.__name__}


class _Disk(io.FileIO):
    """A file whose n-th write finds the disk full."""

    nth = Nth(0)

    def write(self, data: Any, /) -> int:
        if _Disk.nth.fails():
            raise FULL
        return super().write(data)


def test_a_copy_whose_nth_write_fails_is_not_there_at_all(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    target = tmp_path / "copy.zip"
    monkeypatch.setattr("api.backups.archive.os.fdopen", _Disk)
    for number in range(1, 100):
        _Disk.nth = Nth(number)
        try:
            with archive.writing(target, {"engine": "sqlite"}) as writer:
                for name in ("database.sqlite3", "files/a", "since.json"):
                    writer.add(name, io.BytesIO(name.encode() * 50))
        except OSError:
            assert _Disk.nth.came_to_it
            assert list(tmp_path.iterdir()) == [], f"write {number} left something behind"
        else:
            break
    assert not _Disk.nth.came_to_it
    assert number > HOW_MANY
    monkeypatch.undo()
    with archive.reading(target) as opened:
        assert opened.open("files/a").read() == b"files/a" * 50


def owners() -> list[Customer]:
    """As many owners as there are calls, each with a cylinder that is due."""
    made = [makers.make_customer(f"Odo{n} Quill") for n in range(HOW_MANY)]
    for n, owner in enumerate(made):
        at_home(owner, serial=f"M{n}")
    return made


@pytest.mark.parametrize("arrives", [False, True], ids=["before it arrived", "after it arrived"])
@pytest.mark.parametrize("number", range(1, HOW_MANY + 2))
@pytest.mark.sampled(of=2, in_turns=True)
def test_mail_whose_line_breaks_at_the_nth_reaches_each_owner_once_folded(
    post_office: None, number: int, *, arrives: bool
) -> None:
    told = owners()
    nth = Nth(number)

    def breaks(message: EmailMessage) -> None:
        if nth.fails():
            if arrives:
                OFFICE.arrived.append(message)
            raise smtplib.SMTPServerDisconnected("the line broke")

    OFFICE.fault = breaks
    run(at("2026-11-25", 9))
    assert nth.came_to_it is (number <= HOW_MANY)
    for minute in (3, 20, 40):
        run(at("2026-11-25", 9, minute))
    assert sorted(one.to[0] for one in OFFICE.folded) == sorted(one.email for one in told)
    assert len(OFFICE.arrived) - len(OFFICE.folded) == int(arrives and number <= HOW_MANY)
    assert {row.state for row in Notice.objects.filter(days_before=7)} == {NoticeState.SENT}
    assert unexplained() == []


@pytest.mark.parametrize("number", range(1, HOW_MANY + 2))
def test_mail_of_which_the_nth_is_not_taken_reaches_each_owner_once(
    post_office: None, number: int
) -> None:
    told = owners()
    nth = Nth(number)

    def fault(_message: EmailMessage) -> None:
        if nth.fails():
            raise smtplib.SMTPResponseException(451, b"try again later")

    OFFICE.fault = fault
    run(at("2026-11-25", 9))
    assert len(OFFICE.arrived) == HOW_MANY - nth.came_to_it
    run(at("2026-11-25", 11))
    assert sorted(one.to[0] for one in OFFICE.arrived) == sorted(one.email for one in told)
    assert unexplained() == []


class Phones:
    """A sender of texts; the n-th is not taken."""

    nth: ClassVar[Nth] = Nth(0)
    sent: ClassVar[list[str]] = []

    def send(self, message: Text, *, key: str) -> None:
        if Phones.nth.fails():
            raise TryLater
        Phones.sent.append(f"{message.to} {key}")


@pytest.mark.parametrize("number", range(1, HOW_MANY + 2))
def test_texts_of_which_the_nth_is_not_taken_reach_each_owner_once(
    post_office: None, settings: Settings, number: int
) -> None:
    settings.TEXT_SENDER = f"{__name__}.Phones"
    for owner in owners():
        privacy.agree(
            customer_id=owner.pk,
            given=True,
            wording="I want text messages.",
            at=makers.NOON,
            by=BY,
            channel="text",
        )
    Phones.nth, Phones.sent[:] = Nth(number), []
    run(at("2026-11-25", 9))
    assert len(Phones.sent) == HOW_MANY - Phones.nth.came_to_it
    run(at("2026-11-25", 11))
    assert len(set(Phones.sent)) == len(Phones.sent) == HOW_MANY
    assert OFFICE.arrived == []
    assert unexplained() == []


@pytest.fixture
def there(tmp_path: Path) -> Iterator[Receiver]:
    with receiver(tmp_path) as one:
        yield one


def test_calls_of_which_the_nth_is_refused_come_through_once_each(there: Receiver) -> None:
    hour = makers.NOON.replace(hour=11)
    client = make_lab_client()
    managing.register(lab_id=client.lab.pk, url=URL, types=(), at=hour)
    for number in range(1, HOW_MANY + 2):
        nth = Nth(number)

        def talk(answered: Any, nth: Nth = nth) -> None:
            answered.send_response(503 if nth.fails() else 204)
            answered.end_headers()

        there.talk = talk
        with time_machine.travel(makers.NOON, tick=False):
            for n in range(HOW_MANY):
                order_at(client.lab, serial=f"C{number}{n}")
        later = makers.NOON.replace(minute=number)
        made = outbox.go_round(at=later, way=there.way)
        assert made.failed == nth.came_to_it
        again = outbox.go_round(at=later.replace(second=30), way=there.way)
        assert (again.delivered, again.failed) == (made.failed, 0)
        calls = WebhookCall.objects.all()
        assert {call.state for call in calls} == {WebhookCall.State.DELIVERED}
        assert calls.count() == HOW_MANY * number
        assert verify().problems == ()
