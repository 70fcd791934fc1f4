"""What is verified is of one moment, so a shop that works meanwhile raises no false alarm."""

from pathlib import Path

import pytest
from django.core.management import call_command
from django.db import transaction
from pytest_django import Settings

from api import verifying
from cylinders import chain, history
from cylinders.facts import Actor
from cylinders.models import Attachment, Cylinder, StoredFile
from cylinders.operations import filing, teardown
from cylinders.operations.filing import Content
from cylinders.queries import stored_files, verification
from cylinders.queries.verification import Verified
from tests import files, makers
from tests.threads import in_a_thread

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db(transaction=True)]

BY = Actor("staff", "1")


def work_on(cylinder: int) -> None:
    """One more step of a cylinder's visit: a row that changes, and an event."""
    [order] = Cylinder.objects.get(pk=cylinder).work_orders.all()
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=makers.NOON, by=BY)


def test_who_works_while_it_verifies_raises_no_alarm(monkeypatch: pytest.MonkeyPatch) -> None:
    makers.technician_one()
    cylinders = [makers.receive(serial=f"S{n}").cylinder_id for n in range(3)]
    look, seen = verification.problems_of, []

    def look_and_work(cylinder: Cylinder) -> list[str]:
        seen.append(cylinder.pk)
        in_a_thread(lambda: work_on(cylinder.pk)).join()
        return look(cylinder)

    monkeypatch.setattr(verification, "problems_of", look_and_work)
    found = verifying.everything()
    assert found.problems == ()
    assert seen == cylinders
    assert found.events == len(cylinders)  # those of the moment at which it began
    monkeypatch.undo()
    after = verifying.everything()
    assert (after.problems, after.events) == ((), 2 * len(cylinders))


def test_an_export_is_of_one_moment_and_keeps_nobody_from_writing(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    makers.technician_one()
    cylinders = [makers.receive(serial=f"S{n}").cylinder_id for n in range(2)]
    head = history._head

    def head_and_work(cylinder: Cylinder) -> chain.Head:
        in_a_thread(lambda: work_on(cylinder.pk)).join()
        return head(cylinder)

    monkeypatch.setattr(history, "_head", head_and_work)
    path = tmp_path / "history.jsonl"
    with path.open("w", encoding="utf-8") as out:
        call_command("history", stdout=out)
    events, heads = chain.read(path.read_text(encoding="utf-8").splitlines())
    assert list(chain.problems(events, heads)) == []
    assert (len(events), len(heads)) == (2, 2)
    monkeypatch.undo()
    assert [len(history.timeline(number)) for number in cylinders] == [2, 2]


def test_a_photo_that_is_erased_meanwhile_is_not_missed(
    monkeypatch: pytest.MonkeyPatch, settings: Settings, tmp_path: Path
) -> None:
    settings.STORAGES = files.storages_in(tmp_path)
    makers.technician_one()
    order = makers.receive()
    kept = filing.keep(Content(b"A", "image/jpeg", 4, 3), at=makers.NOON)
    filing.add_photos(
        cylinder_id=order.cylinder_id, files=[kept.pk], shows="stamp", at=makers.NOON, by=BY
    )
    owner, look = order.cylinder.owner, stored_files.read

    def erase() -> None:
        with transaction.atomic():
            filing.erase_photos_of(owner, at=makers.NOON, by=BY)

    def erase_and_look(file: StoredFile) -> bytes:
        monkeypatch.undo()
        in_a_thread(erase).join()
        return look(file)

    monkeypatch.setattr(stored_files, "read", erase_and_look)
    assert verifying.everything().problems == ()
    assert Attachment.objects.get().erased_at
    Attachment.objects.update(erased_at=None)
    assert any("not in the storage" in problem for problem in verifying.everything().problems)


def test_it_may_be_the_first_that_asks_the_database() -> None:
    makers.receive()
    found: list[Verified] = []
    in_a_thread(lambda: found.append(verifying.everything())).join()
    assert found == [Verified(cylinders=1, events=1, problems=())]
