"""The n-th message that is handed over fails, and the n-th file that is written, for every n."""

import datetime as dt
import errno
from collections.abc import Iterator
from pathlib import Path
from smtplib import SMTPServerDisconnected
from typing import Any

import pytest
from django.core.files.storage import FileSystemStorage
from django.core.mail import EmailMessage
from pytest_django import Settings

from cylinders.facts import Actor
from cylinders.models import (
    Attachment,
    Cylinder,
    Notice,
    NoticeState,
    StoredFile,
    WorkOrder,
)
from cylinders.operations import filing
from cylinders.operations.filing import Content
from cylinders.queries.verification import problems_of, verify
from cylinders.rules.refusal import Refused
from tests import files, mail_server, makers
from tests.cylinders.operations.reminders.cast import at, at_home, open_shop, run
from tests.model.ground import everything
from tests.post_office import OFFICE

pytestmark = pytest.mark.django_db(transaction=True)

OWNERS, PHOTOS = 4, 3
BY = Actor("staff", "1")
STORED = StoredFile.__name__


class FailsAtCall:
    """Lets n - 1 messages through; the n-th breaks on the way, before or after it arrived."""

    def __init__(self, number: int, *, arrives: bool) -> None:
        self.left, self.arrives = number, arrives

    def __call__(self, message: EmailMessage) -> None:
        self.left -= 1
        if self.left == 0:
            if self.arrives:
                OFFICE.arrived.append(message)
            raise SMTPServerDisconnected("the line broke")


@pytest.fixture
def post_office(settings: Settings) -> Iterator[None]:
    mail_server.use(settings, mail_server.FOLDING)
    OFFICE.empty()
    open_shop()
    yield
    OFFICE.empty()


@pytest.mark.usefixtures("post_office")
@pytest.mark.parametrize("arrives", [False, True], ids=["before it arrived", "after it arrived"])
def test_a_sweep_may_fail_at_any_message(*, arrives: bool) -> None:
    for number in range(1, OWNERS + 2):
        owners = [makers.make_customer(f"Odo{number}{n} Quill") for n in range(OWNERS)]
        cylinders = [
            at_home(owner, serial=f"N{number}{n}") for n, owner in enumerate(owners, start=1)
        ]
        OFFICE.empty()
        OFFICE.fault = failing = FailsAtCall(number, arrives=arrives)
        run(at("2026-11-25", 9))
        assert (failing.left <= 0) is (number <= OWNERS)
        OFFICE.fault = None
        for minute in (3, 20, 40):
            run(at("2026-11-25", 9, minute))
        assert sorted(message.to[0] for message in OFFICE.folded) == sorted(
            owner.email for owner in owners
        ), number
        rows = Notice.objects.filter(cylinder__in=cylinders, days_before=7)
        assert {row.state for row in rows} == {NoticeState.SENT}
        assert len(OFFICE.arrived) - len(OFFICE.folded) == int(arrives and number <= OWNERS)
        fresh = Cylinder.objects.filter(life="in_service")
        told = [problem for cylinder in fresh for problem in problems_of(cylinder)]
        assert not [problem for problem in told if "last_visual" not in problem]
        Cylinder.objects.update(life="rejected")  # out of the next ones' way


def full_from(number: int, monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Let the disk be full at the n-th file that is written; counts what is left to come."""
    left = [number]
    save = FileSystemStorage.save

    def fails(self: FileSystemStorage, name: str, content: Any) -> str:
        left[0] -= 1
        if left[0] == 0:
            raise OSError(errno.ENOSPC, "No space left on device")
        return save(self, name, content)

    monkeypatch.setattr(FileSystemStorage, "save", fails)
    return left


def test_photos_may_fail_at_any_file(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.STORAGES = files.storages_in(tmp_path)
    order = makers.receive()
    for number in range(1, PHOTOS + 2):
        before = everything()
        with monkeypatch.context() as patched:
            left = full_from(number, patched)
            refused = _three_photos(order, number)
        if not refused:
            break
        assert (refused, left[0]) == ("cannot_store", 0)
        kept = everything()
        assert len(kept.pop(STORED)) - len(before.pop(STORED)) == number - 1
        assert kept == before, f"file {number} failed and left something behind"
        assert verify().problems == ()
    assert number == PHOTOS + 1
    assert Attachment.objects.count() == PHOTOS
    assert verify().problems == ()
    kept_files = StoredFile.objects.filter(attachments__isnull=False)
    assert all((tmp_path / file.key).exists() for file in kept_files)
    assert filing.sweep(at=makers.NOON + dt.timedelta(days=2)) > 0
    assert set(StoredFile.objects.all()) == set(kept_files)


def _three_photos(order: WorkOrder, number: int) -> str:
    """Keep three photos and add them; the code of the refusal, or nothing."""
    content = [f"{number} {n}".encode() for n in range(PHOTOS)]
    try:
        kept = [filing.keep(Content(one, "image/jpeg", 4, 3), at=makers.NOON).pk for one in content]
        filing.add_photos(
            cylinder_id=order.cylinder_id, files=kept, shows="stamp", at=makers.NOON, by=BY
        )
    except Refused as refused:
        return refused.code
    return ""
