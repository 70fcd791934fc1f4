"""An owner sees who is called, and registers, stops and repeats; others only look."""

import datetime as dt

from api.models import Webhook
from api.webhooks import managing, outbox
from api.webhooks.calling import Answer
from tests import makers
from tests.api.pages.bench.desk import Desk
from tests.api.v1.lab import order_at

URL = "https://hook.example.test/in"


def as_owner(desk: Desk) -> Desk:
    desk.user.is_superuser = True
    desk.user.save()
    return desk.open("/bench/webhooks/")


def test_an_owner_registers_stops_and_resumes_the_shop_s_own_system(desk: Desk) -> None:
    as_owner(desk).press("register", url=URL)
    assert "It is called from now on" in desk.text
    assert "whsec_" in desk.text
    desk.press("stop")
    assert Webhook.objects.get().stopped_why == "the shop stopped it"
    desk.press("resume")
    assert Webhook.objects.get().stopped_at is None


def test_an_address_inside_is_refused_and_kept_on_the_page(desk: Desk) -> None:
    as_owner(desk).press("register", url="https://192.168.0.7/")
    assert desk.status == 409
    assert "not a number or a short name" in desk.text
    assert "192.168.0.7" in desk.response.content.decode()
    assert not Webhook.objects.exists()


def test_a_call_in_trouble_is_shown_and_made_again(desk: Desk) -> None:
    lab = makers.make_lab()
    webhook, _secret = managing.register(lab_id=lab.pk, url=URL, types=(), at=makers.NOON)
    order_at(lab)
    at = makers.NOON + dt.timedelta(minutes=1)
    outbox.note(webhook, at=at)
    [call] = outbox.claims(at=at)
    outbox.settle(call, Answer(503, "503 Service Unavailable"), at=at)
    as_owner(desk)
    assert "1 tries, last: 503 Service Unavailable" in desk.text
    assert "whsec_" not in desk.text, "a lab's secret is the lab's affair"
    desk.press("again")
    call.refresh_from_db()
    assert call.tries == 0


def test_who_is_no_owner_only_looks(desk: Desk) -> None:
    managing.register(lab_id=None, url=URL, types=(), at=makers.NOON)
    desk.open("/bench/webhooks/")
    assert URL in desk.text
    assert "whsec_" not in desk.text
    desk.send(("/bench/webhooks/", {"do": "register", "url": URL, "once": "x"}))
    assert Webhook.objects.count() == 1
