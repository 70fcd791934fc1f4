"""What is owed is owed once and goes through in the end, whatever the other side and ours do."""

import base64
import datetime as dt
import hashlib
import hmac
import json
from collections.abc import Iterator
from pathlib import Path

import pytest
import time_machine
from django.core import mail
from django.test import override_settings

from api.models import Webhook, WebhookCall
from api.webhooks import managing, outbox, stopped
from api.webhooks.calling import Answer, Way
from cylinders.models import Lab, Shop, WorkOrder
from cylinders.operations import consignment
from cylinders.rules.refusal import Refused
from tests import makers
from tests.api.v1.lab import BY, body, make_lab_client, order_at
from tests.api.webhooks.receiver import URL, Receiver, receiver

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

#: nothing is on its way into the history any more
LATER = makers.NOON + dt.timedelta(minutes=1)


@pytest.fixture
def there(tmp_path: Path) -> Iterator[Receiver]:
    with receiver(tmp_path) as one:
        yield one


def register(lab: Lab | None, *types: str) -> tuple[Webhook, str]:
    before = makers.NOON - dt.timedelta(hours=1)
    return managing.register(lab_id=lab.pk if lab else None, url=URL, types=types, at=before)


def go(there: Receiver, at: dt.datetime = LATER) -> outbox.Made:
    return outbox.go_round(at=at, way=there.way)


def told(there: Receiver) -> list[str]:
    return [json.loads(body)["type"] for _path, _headers, body in there.got]


def at_the_lab() -> WorkOrder:
    return order_at(makers.make_lab())


def test_what_happened_is_told_signed_and_once(there: Receiver) -> None:
    lab = make_lab_client()
    _webhook, secret = register(lab.lab)
    order = order_at(lab.lab)
    with time_machine.travel(makers.NOON):
        lab.post(body(reference="NG-1"))
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    made = go(there)
    assert (made.noted, made.delivered, made.failed) == (3, 3, 0)
    assert go(there).delivered == 0
    assert told(there) == ["cylinder.sent", "record.accepted", "cylinder.returned"]
    _path, headers, sent = there.got[1]
    data = json.loads(sent)["data"]
    assert (data["lab_reference"], "rin" in data) == ("NG-1", False)
    signed = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.{sent}".encode()
    key = base64.b64decode(secret.removeprefix("whsec_"))
    wanted = base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
    assert headers["webhook-signature"] == f"v1,{wanted}"
    assert int(headers["webhook-timestamp"]) == int(LATER.timestamp())


def test_the_shop_hears_of_every_lab_and_a_lab_of_itself(there: Receiver) -> None:
    one, two = makers.make_lab("Z999"), makers.make_lab("Z998")
    register(None)
    register(two)
    order_at(one, "A1")
    order_at(two, "A2")
    assert go(there).delivered == 3
    rins = sorted(json.loads(body)["data"].get("rin", "") for _p, _h, body in there.got)
    assert rins == ["", "Z998", "Z999"]


def test_only_the_types_that_were_asked_for_are_told(there: Receiver) -> None:
    order = at_the_lab()
    register(Lab.objects.get(), "cylinder.returned")
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    go(there)
    assert told(there) == ["cylinder.returned"]


def test_what_happened_before_is_not_told(there: Receiver) -> None:
    at_the_lab()
    managing.register(lab_id=Lab.objects.get().pk, url=URL, types=(), at=LATER)
    assert go(there, LATER + dt.timedelta(minutes=1)).noted == 0


def test_a_call_that_was_not_taken_comes_again_later_under_the_same_id(there: Receiver) -> None:
    register(makers.make_lab())
    order_at(Lab.objects.get())
    there.answer = 503
    assert go(there).failed == 1
    assert go(there).failed == 0, "not before its time"
    at = LATER
    for pause in outbox.PAUSES[:4]:
        at += pause
        assert go(there, at).failed == 1
    there.answer = 200
    assert go(there, at + outbox.PAUSES[4]).delivered == 1
    assert len({headers["webhook-id"] for _path, headers, _body in there.got}) == 1
    assert len({sent for _path, _headers, sent in there.got}) == 1
    webhook = Webhook.objects.get()
    assert (webhook.failing_since, webhook.stopped_at) == (None, None)


def test_an_address_that_is_gone_or_fails_for_days_is_stopped_and_the_shop_told(
    there: Receiver,
) -> None:
    Shop.objects.create(name="Slack Water Divers", email="shop@example.org")
    webhook, _secret = register(makers.make_lab())
    order_at(Lab.objects.get())
    there.answer, at = 500, LATER
    while not (made := go(there, at)).stopped:
        at += dt.timedelta(hours=6)
    assert outbox.PATIENCE <= at - LATER < outbox.PATIENCE + dt.timedelta(days=1)
    stopped.tell_the_shop(made.stopped[0])
    [letter] = mail.outbox
    assert letter.to == ["shop@example.org"]
    assert "500 Internal Server Error" in letter.body
    assert go(there, at + dt.timedelta(days=9)).failed == 0
    there.answer = 200
    managing.resume(webhook, at=at)
    assert go(there, at).delivered == 1
    order_at(Lab.objects.get(), "A2")
    there.answer = 410
    assert go(there, at + dt.timedelta(hours=1)).stopped == [webhook]


def test_a_worker_that_died_with_a_call_holds_it_for_two_minutes(there: Receiver) -> None:
    webhook, _secret = register(makers.make_lab())
    order_at(Lab.objects.get())
    outbox.note(webhook, at=LATER)
    [mine] = outbox.claims(at=LATER)
    assert list(outbox.claims(at=LATER)) == []
    assert go(there, LATER + dt.timedelta(minutes=3)).delivered == 1
    outbox.settle(mine, Answer(500, "500 late"), at=LATER + dt.timedelta(minutes=4))
    assert WebhookCall.objects.get().state == WebhookCall.State.DELIVERED
    assert Webhook.objects.get().failing_since is None


def test_noting_twice_owes_nothing_twice(there: Receiver) -> None:
    webhook, _secret = register(makers.make_lab())
    order_at(Lab.objects.get())
    assert outbox.note(webhook, at=LATER) == 1
    Webhook.objects.update(after=0)  # as after a restore from yesterday
    outbox.note(webhook, at=LATER)
    assert WebhookCall.objects.count() == 1


def test_a_call_is_made_again_by_hand(there: Receiver) -> None:
    register(makers.make_lab())
    order_at(Lab.objects.get())
    go(there)
    managing.replay(WebhookCall.objects.get(), at=LATER)
    assert go(there).delivered == 1
    [first, second] = there.got
    assert first[1]["webhook-id"] == second[1]["webhook-id"]


def test_a_name_that_leads_inside_by_now_is_not_called(there: Receiver) -> None:
    """Rebinding: it was public when it was registered."""
    register(makers.make_lab())
    order_at(Lab.objects.get())
    real = Way(resolve=there.way.resolve, port=there.way.port, tls=there.way.tls)
    assert outbox.go_round(at=LATER, way=real).failed == 1
    assert "not public" in WebhookCall.objects.get().answered
    assert there.got == []


def test_while_the_key_is_changed_both_signatures_travel(there: Receiver) -> None:
    _webhook, secret = register(makers.make_lab())
    order_at(Lab.objects.get())
    with override_settings(SECRET_KEY="the new one", SECRET_KEY_FALLBACKS=[_key_of_the_run()]):
        go(there)
    _path, headers, sent = there.got[0]
    signed = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.{sent}".encode()
    key = base64.b64decode(secret.removeprefix("whsec_"))
    old = "v1," + base64.b64encode(hmac.new(key, signed, hashlib.sha256).digest()).decode()
    new, second = headers["webhook-signature"].split(" ")
    assert (second, new != old) == (old, True)


def _key_of_the_run() -> str:
    from django.conf import settings  # noqa: PLC0415 - before the settings are overridden

    return str(settings.SECRET_KEY)


@pytest.mark.parametrize(
    ("url", "types", "code"),
    [
        ("http://a.example.org/", (), "webhook_address"),
        (URL, ("nothing.of_ours",), "unknown_type"),
        (URL, (), "webhook_known"),
    ],
)
def test_what_cannot_be_registered_is_refused(url: str, types: tuple[str, ...], code: str) -> None:
    lab = makers.make_lab()
    register(lab)
    with pytest.raises(Refused) as refusal:
        managing.register(lab_id=lab.pk, url=url, types=types, at=LATER)
    assert refusal.value.code == code
    assert Webhook.objects.count() == 1


def test_a_lab_has_five_addresses_at_most() -> None:
    lab = makers.make_lab()
    for number in range(managing.MOST):
        managing.register(lab_id=lab.pk, url=f"{URL}&n={number}", types=(), at=LATER)
    with pytest.raises(Refused) as refusal:
        managing.register(lab_id=lab.pk, url=URL, types=(), at=LATER)
    assert refusal.value.code == "too_many_webhooks"
    managing.stop(Webhook.objects.earliest("pk"), why="enough", at=LATER)
    managing.register(lab_id=lab.pk, url=URL, types=(), at=LATER)
