"""A lab's key is shown once, kept as a digest, and ended at once."""

import datetime as dt
import hashlib

import pytest

from api import keys
from api.models import LabKey
from cylinders.rules.refusal import Refused
from tests import makers
from tests.makers import NOON

pytestmark = pytest.mark.django_db


def refusal(text: str, at: dt.datetime = NOON) -> str:
    with pytest.raises(Refused) as refused:
        keys.check(text, at=at)
    return refused.value.code


def test_a_fresh_key_opens_and_its_secret_is_nowhere_in_the_table() -> None:
    issued = keys.issue(lab_id=makers.make_lab().pk, at=NOON)
    prefix, secret = issued.text.split(".")
    assert keys.check(issued.text, at=NOON) == issued.key
    stored = LabKey.objects.values().get()
    assert secret not in str(stored)
    assert (stored["prefix"], stored["digest"]) == (
        prefix,
        hashlib.sha256(secret.encode()).hexdigest(),
    )


def test_a_secret_has_256_bits_and_none_comes_twice() -> None:
    # OWASP ASVS 5.0.0, V11.5.1 asks for 128 bits from a secure source
    lab = makers.make_lab()
    secrets = set()
    for _ in range(50):
        issued = keys.issue(lab_id=lab.pk, at=NOON)
        secrets.add(issued.text.partition(".")[2])
        keys.revoke(prefix=issued.key.prefix, at=NOON)
    assert len(secrets) == 50
    assert {len(secret) * 6 // 8 for secret in secrets} == {32}


def test_whatever_is_not_the_whole_key_is_one_and_the_same_refusal() -> None:
    text = keys.issue(lab_id=makers.make_lab().pk, at=NOON).text
    prefix, _dot, secret = text.partition(".")
    other = "A" if secret[0] != "A" else "B"
    wrong = (
        "",
        ".",
        prefix,
        secret,
        f"{prefix}.",
        f".{secret}",
        text[:-1],
        f"{text}A",
        f"{prefix}.{other}{secret[1:]}",
        f"{prefix.upper()}.{secret}",
        f"zzzzzzzz.{secret}",
        f"{text}\n",
        f"{prefix}%2E{secret}",
        f"{prefix}.{secret}'--",
        "\N{FULLWIDTH LATIN SMALL LETTER A}" * 52,
        "x" * 10_000,
    )
    assert {refusal(one) for one in wrong} == {"wrong_key"}


def test_a_key_ends_by_its_last_day_and_by_hand_at_once() -> None:
    issued = keys.issue(lab_id=makers.make_lab().pk, at=NOON, lifetime=dt.timedelta(days=1))
    second = dt.timedelta(seconds=1)
    assert keys.check(issued.text, at=issued.key.expires_at - second) == issued.key
    assert refusal(issued.text, at=issued.key.expires_at) == "key_expired"
    keys.revoke(prefix=issued.key.prefix, at=NOON)
    assert refusal(issued.text) == "key_revoked"
    with pytest.raises(Refused, match="No live key"):
        keys.revoke(prefix=issued.key.prefix, at=NOON)


def test_a_lab_holds_two_live_keys_to_change_over_and_no_third() -> None:
    lab = makers.make_lab()
    first, second = (keys.issue(lab_id=lab.pk, at=NOON) for _ in range(2))
    assert keys.check(first.text, at=NOON) != keys.check(second.text, at=NOON)
    with pytest.raises(Refused) as refused:
        keys.issue(lab_id=lab.pk, at=NOON)
    assert refused.value.code == "two_live_keys"
    keys.revoke(prefix=first.key.prefix, at=NOON)
    third = keys.issue(lab_id=lab.pk, at=NOON)
    assert [key.pk for key in keys.live(lab_id=lab.pk, at=NOON)] == [second.key.pk, third.key.pk]
    later = NOON + keys.LIFETIME
    fourth = keys.issue(lab_id=lab.pk, at=later)  # the others have run out by then
    assert list(keys.live(lab_id=lab.pk, at=later)) == [fourth.key]


def test_the_last_use_is_noted_to_the_minute() -> None:
    text = keys.issue(lab_id=makers.make_lab().pk, at=NOON).text
    for seconds, noted in ((0, 0), (59, 0), (60, 60), (61, 60)):
        keys.check(text, at=NOON + dt.timedelta(seconds=seconds))
        assert LabKey.objects.get().last_used_at == NOON + dt.timedelta(seconds=noted)


@pytest.mark.parametrize("scopes", [[], ["results:delete"], ["results:read", "*"]])
def test_a_key_for_nothing_or_for_something_unknown_is_not_made(scopes: list[str]) -> None:
    lab = makers.make_lab()
    with pytest.raises(Refused) as refused:
        keys.issue(lab_id=lab.pk, at=NOON, scopes=scopes)
    assert refused.value.code == "unknown_scope"
    with pytest.raises(Refused) as refused:
        keys.issue(lab_id=lab.pk + 1, at=NOON)
    assert refused.value.code == "unknown_lab"
    assert not LabKey.objects.exists()
