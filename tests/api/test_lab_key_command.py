"""A shop gives a lab its key, sees how its keys are used, and ends one."""

from io import StringIO

import pytest
from django.core.management import CommandError, call_command
from django.utils import timezone

from api import keys
from api.models import LabKey
from tests import makers

pytestmark = pytest.mark.django_db


def run(*words: str) -> str:
    out = StringIO()
    call_command("lab_key", *words, stdout=out)
    return out.getvalue()


def test_a_key_is_shown_once_and_opens() -> None:
    lab = makers.make_lab()
    text = run("Z999").splitlines()[-1]
    assert keys.check(text, at=timezone.now()).lab == lab
    listed = run("Z999", "--list")
    assert text[:8] in listed
    assert text.partition(".")[2] not in listed
    assert "last used" in listed


def test_a_key_can_be_made_for_less() -> None:
    makers.make_lab()
    run("Z999", "--scope", "cylinders:read")
    assert LabKey.objects.get().scopes == ["cylinders:read"]


def test_a_key_is_ended_by_its_beginning() -> None:
    makers.make_lab()
    makers.make_lab("Z998")
    text = run("Z999").splitlines()[-1]
    with pytest.raises(CommandError, match="has no key"):
        run("Z998", "--revoke", text[:8])
    assert "opens nothing" in run("Z999", "--revoke", text[:8])
    assert "revoked" in run("Z999", "--list")
    assert not keys.live(lab_id=LabKey.objects.get().lab_id, at=timezone.now()).exists()


def test_what_cannot_be_done_is_said_in_a_sentence() -> None:
    makers.make_lab()
    with pytest.raises(CommandError, match="no lab with the number 'Z1'"):
        run("Z1")
    run("Z999")
    run("Z999")
    with pytest.raises(CommandError, match="2 live keys"):
        run("Z999")
