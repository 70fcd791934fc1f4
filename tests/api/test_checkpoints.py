"""Somebody elsewhere keeps a checkpoint; a cut, changed or rewritten history is found by it."""

import json
from pathlib import Path

import pytest
from django.core import mail
from django.core.management import CommandError, call_command
from django.db import connection, transaction

from api import checkpoints, signing_keys, witness
from api.checkpoints import Sheet
from cylinders.models import Cylinder, Shop
from cylinders.models.history import ServiceEvent
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from tests import append_only, makers

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


@pytest.fixture
def lifted() -> None:
    """Somebody with every right on the database; the rollback of the test sets all back."""
    if connection.vendor == "sqlite":
        append_only.lift()
    else:
        with connection.cursor() as cursor:
            cursor.execute("ALTER TABLE cylinders_serviceevent DISABLE TRIGGER USER")


def made() -> Sheet:
    makers.technician_one()
    for serial in ("A1", "A2", "A3"):
        makers.take_down(makers.receive(serial=serial))
    return checkpoints.make(at=makers.NOON)


def test_an_untouched_history_agrees_and_so_does_one_that_went_on() -> None:
    old = checkpoints.check(made().text)
    assert checkpoints.problems(old) == []
    makers.receive(serial="A4")
    assert checkpoints.problems(old) == []
    newer = checkpoints.make(at=makers.NOON, since=old)
    assert checkpoints.check(newer.text).size == old.size + 1


def test_a_cut_tail_is_found_though_every_chain_is_whole(lifted: None) -> None:
    kept = made()
    cylinder = Cylinder.objects.get(serial="A3")
    last = ServiceEvent.objects.filter(cylinder=cylinder).latest("sequence")
    before = ServiceEvent.objects.get(cylinder=cylinder, sequence=last.sequence - 1)
    last.delete()
    Cylinder.objects.filter(pk=cylinder.pk).update(events_held=before.sequence, head=before.digest)
    assert not any("chain" in problem for problem in verify().problems)
    [problem] = checkpoints.problems(checkpoints.check(kept.text))
    assert "counts" in problem


def test_a_wholly_rewritten_history_is_found(lifted: None) -> None:
    kept = made()
    for event in ServiceEvent.objects.order_by("pk"):
        other = f"{event.digest[:-1]}{'0' if event.digest[-1] != '0' else '1'}"
        ServiceEvent.objects.filter(pk=event.pk).update(digest=other)
        break
    [problem] = checkpoints.problems(checkpoints.check(kept.text))
    assert "not those of the checkpoint" in problem
    with pytest.raises(Refused) as refusal:
        checkpoints.make(at=makers.NOON, since=checkpoints.check(kept.text))
    assert refusal.value.code == "history_differs"


def test_a_changed_or_foreign_checkpoint_is_not_believed() -> None:
    sheet = made()
    head, payload, signature = sheet.text.split(".")
    for text in (f"{head}.{payload}x.{signature}", f"{head}.{payload}.{signature[:-4]}AAAA", "x"):
        with pytest.raises(Refused):
            checkpoints.check(text)
    with pytest.raises(Refused) as refusal:
        checkpoints.check(sheet.text, keys={})
    assert refusal.value.code == "unknown_key"


def test_a_certificate_is_no_checkpoint() -> None:
    from joserfc import jws  # noqa: PLC0415 - only here: what the service itself signs is not this

    key = signing_keys.current(at=makers.NOON)
    header = {"alg": "Ed25519", "kid": key.kid}
    text = jws.serialize_compact(header, b'{"size": 0}', key, algorithms=["Ed25519"])
    with pytest.raises(Refused) as refusal:
        checkpoints.check(text)
    assert refusal.value.code == "unknown_key"


def test_a_witness_takes_what_goes_on_and_nothing_else(tmp_path: Path, lifted: None) -> None:
    kept = tmp_path / "kept.json"
    first = made()
    keys = witness.keys_of(signing_keys.public())
    assert witness.see(first, kept=kept, keys=keys).size == checkpoints.check(first.text).size
    makers.receive(serial="A4")
    unproved = checkpoints.make(at=makers.NOON)
    assert _refused(unproved, kept) == "not_consistent"
    proved = checkpoints.make(at=makers.NOON, since=checkpoints.check(first.text))
    witness.see(proved, kept=kept, keys=keys)
    assert checkpoints.load(kept.read_text()) == proved
    assert _refused(first, kept) == "shrunk"
    with transaction.atomic():
        event = ServiceEvent.objects.earliest("pk")
        ServiceEvent.objects.filter(pk=event.pk).update(digest="0" * 64)
        assert _refused(checkpoints.make(at=makers.NOON), kept) == "forked"
    assert checkpoints.load(kept.read_text()) == proved


def _refused(sheet: Sheet, kept: Path) -> str:
    with pytest.raises(Refused) as refusal:
        witness.see(sheet, kept=kept, keys=witness.keys_of(signing_keys.public()))
    return refusal.value.code


def test_the_commands_print_keep_and_compare(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    made()
    Shop.objects.create(name="Slack Water Divers", email="shop@example.org")
    files = {name: tmp_path / name for name in ("one", "two", "keys", "kept")}
    call_command("checkpoint", "--mail")
    files["one"].write_text(capsys.readouterr().out)
    call_command("checkpoint", "--keys")
    files["keys"].write_text(capsys.readouterr().out)
    [letter] = mail.outbox
    assert json.loads(files["one"].read_text())["checkpoint"] in letter.body
    call_command("verify", "--checkpoint", str(files["one"]))
    assert "nothing altered" in capsys.readouterr().out
    watch = ["--kept", str(files["kept"]), "--keys", str(files["keys"])]
    call_command("witness", str(files["one"]), *watch)
    makers.receive(serial="A4")
    capsys.readouterr()
    call_command("checkpoint", "--since", str(files["one"]))
    files["two"].write_text(capsys.readouterr().out)
    call_command("witness", str(files["two"]), *watch)
    assert "Kept:" in capsys.readouterr().out
    with pytest.raises(CommandError) as shrunk:
        call_command("witness", str(files["one"]), *watch)
    assert shrunk.value.returncode == 1
    with pytest.raises(CommandError) as wrong:
        call_command("verify", "--checkpoint", str(tmp_path / "none"))
    assert wrong.value.returncode == 2
    with pytest.raises(CommandError) as wrong:
        call_command("witness", str(files["keys"]), *watch)
    assert wrong.value.returncode == 2
