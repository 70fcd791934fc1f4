"""What was erased and revoked is brought into an older copy; what it forgot is nobody else's."""

import json
from pathlib import Path

import pytest
from django.contrib.auth.models import User

from api import arming, keys, links
from api.backups import since
from api.models import LabKey, StatusLink
from cylinders.facts import Actor
from cylinders.models import Customer, Shop
from cylinders.operations import privacy
from tests import makers

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]
BY = Actor("staff", "1")
NOTHING: dict[str, since.Rows] = since.parse(b"{}")


def test_an_older_copy_is_brought_up_to_the_list() -> None:
    left = makers.make_technician("left")
    order = makers.receive()
    link = links.issue(cylinder_id=order.cylinder_id, at=makers.NOON, by=BY).link
    key = keys.issue(lab_id=makers.make_lab().pk, at=makers.NOON).key
    other = makers.make_customer("Ilse Barrowmere")
    found = NOTHING | {
        "erased": [order.customer_id],
        "links": [link.digest],
        "keys": [key.prefix],
        "declined": [[other.pk, "reminders"]],
        "consents": [[other.pk, "email"]],
        "staff": [left.pk],
    }
    again = since.apply(found, at=makers.NOON)
    assert again == {name: 1 for name in again if name != "webhooks"} | {"webhooks": 0}
    assert Customer.objects.get(pk=order.customer_id).name.startswith("Erased")
    assert StatusLink.objects.get().revoked_at == makers.NOON
    assert LabKey.objects.get().revoked_at == makers.NOON
    assert not User.objects.get(pk=left.pk).is_active
    assert list(links.problems()) == [], "the end of a link is an event here too"
    assert set(since.apply(found, at=makers.NOON).values()) == {0}, "a second time does nothing"
    assert {name for name, rows in since.collect().items() if rows} == set(found) - {"webhooks"}


def test_a_consent_that_was_taken_back_counts_though_nobody_wrote_down_that_it_was_given() -> None:
    customer = makers.make_customer()
    privacy.agree(customer_id=customer.pk, given=False, wording="by mail", at=makers.NOON, by=BY)
    assert since.collect()["consents"] == [[customer.pk, "email"], [customer.pk, "text"]][:1]


def test_the_number_of_an_erased_person_is_never_given_to_another() -> None:
    first = makers.make_customer()
    user = makers.make_technician("last")
    since.apply(
        NOTHING | {"erased": [first.pk + 50], "staff": [user.pk + 70]},
        at=makers.NOON,
    )
    assert makers.make_customer("Newly Come").pk > first.pk + 50
    assert makers.make_technician("newly").pk > user.pk + 70
    since.apply(NOTHING | {"erased": [1]}, at=makers.NOON)
    assert makers.make_customer("Later Still").pk > first.pk + 51, "never back"


def test_the_list_only_grows_and_a_reader_never_meets_half_of_it(tmp_path: Path) -> None:
    to = tmp_path / "since.json"
    old = NOTHING | {"erased": [7], "links": ["ab"], "declined": [[1, "visit"]]}
    since.save(old, to)
    since.write(to)
    assert since.read(to) == old | {"declined": []}, "a no that was taken back is taken back"
    assert [path.name for path in tmp_path.iterdir()] == ["since.json"]
    assert set(json.loads(to.read_text())) == set(NOTHING)


def test_a_house_that_has_not_entered_itself_is_disarmed_too() -> None:
    assert arming.is_armed()
    arming.disarm()
    assert Shop.objects.get().notices_paused
    assert not arming.is_armed()
    assert arming.arm()
    assert arming.is_armed()
    assert not arming.arm(), "it was armed already"
