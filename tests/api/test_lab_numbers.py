"""A lab's number that is to end: told on pages and in answers, and once a warning by mail."""

import datetime as dt

import pytest
from django.core import mail
from django.test import Client

from api import lab_numbers
from cylinders.models import Lab, Shop
from tests import makers
from tests.api.v1.lab import RECORDS, body, make_lab_client, order_at

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

ENDS = dt.date(2027, 1, 15)


@pytest.fixture
def shop() -> Shop:
    makers.make_lab()
    Lab.objects.update(rin_valid_until=ENDS)
    return Shop.objects.create(name="Reef Works", email="shop@example.org")


def warn(days_left: int) -> int:
    on = ENDS - dt.timedelta(days=days_left)
    return lab_numbers.warn_the_shop(on=on, at=makers.NOON)


def test_each_warning_goes_once_and_a_missed_one_is_not_made_up_for(shop: Shop) -> None:
    went = {left: warn(left) for left in (61, 60, 59, 30, 29, 5, 4, 0, -1, -2)}
    assert [left for left, count in went.items() if count] == [60, 30, 5, -1]
    assert [one.to for one in mail.outbox] == [["shop@example.org"]] * 4
    assert "Z999 runs out on 2027-01-15" in mail.outbox[0].body
    assert "ran out" in mail.outbox[-1].body


def test_a_renewed_number_is_warned_of_anew(shop: Shop) -> None:
    warn(30)
    Lab.objects.update(rin_valid_until=ENDS + dt.timedelta(days=1))
    assert warn(29) == 1


def test_a_mail_that_was_not_taken_is_tried_on_the_next_day(
    shop: Shop, monkeypatch: pytest.MonkeyPatch
) -> None:
    def down(*_: object, **__: object) -> None:
        raise ConnectionRefusedError

    with monkeypatch.context() as patched:
        patched.setattr("api.lab_numbers.send_mail", down)
        assert warn(30) == 0
    assert warn(29) == 1


@pytest.mark.parametrize("silent", [{"notices_paused": True}, {"email": ""}])
def test_nothing_goes_where_nothing_may(shop: Shop, silent: dict[str, object]) -> None:
    Shop.objects.update(**silent)
    assert warn(30) == 0
    assert not mail.outbox


def test_the_runs_page_and_the_lab_page_say_it(shop: Shop) -> None:
    Lab.objects.update(rin_valid_until=dt.date(2020, 1, 1))
    staff = Client()
    staff.force_login(makers.make_technician())
    for page in ("/bench/runs/", "/bench/lab-log/"):
        assert "ran out on 2020-01-01" in staff.get(page).content.decode()


@pytest.mark.parametrize(
    ("ends", "outcome", "state"),
    [
        ("2028-12-31", "ok", "attached"),
        ("2026-12-31", "caution", "attached"),
        ("2026-11-20", "caution", "attached"),
        # 49 CFR 180.205(b), 2019-10-01 edition: the approval is current on the day of the test
        ("2026-11-19", "fail", "attached"),
    ],
)
def test_the_answer_to_a_record_warns(ends: str, outcome: str, state: str) -> None:
    makers.technician_one()
    lab = make_lab_client()
    order_at(lab.lab)
    Lab.objects.update(rin_valid_until=ends)
    sent = lab.post(body(), path=RECORDS)
    [check] = [one for one in sent.json["checks"] if one["code"] == "rin"]
    assert (check["outcome"], sent.json["state"]) == (outcome, state)
    assert (sent.json["verdict"] == "passed") == (outcome != "fail")
