"""A lab registers where it wants to be called, sees what is owed, and asks for a call again."""

import datetime as dt

import pytest

from api.models import WebhookCall
from api.webhooks import outbox
from tests import makers
from tests.api.v1.lab import LabClient, body

pytestmark = pytest.mark.django_db

PATH = "/api/v1/webhooks"
URL = "https://hook.example.test/in"


def test_the_secret_is_told_once_and_the_address_listed(lab: LabClient) -> None:
    made = lab.post({"url": URL, "types": ["record.accepted"]}, path=PATH)
    assert made.status == 201
    assert made.json["secret"].startswith("whsec_")
    assert made.headers["Location"] == f"{PATH}/{made.json['webhook']}"
    listed = lab.get(PATH)
    assert [one["url"] for one in listed.json["items"]] == [URL]
    assert made.json["secret"].encode() not in listed.raw
    again = lab.post({"url": URL, "types": []}, path=PATH)
    assert (again.status, again.code) == (409, "webhook_refused")


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({"url": "http://hook.example.test/", "types": []}, "/url"),
        ({"url": "https://127.0.0.1/", "types": []}, "/url"),
        ({"url": 7, "types": []}, "/url"),
        ({"url": URL, "types": ["all"]}, "/types"),
        ({"url": URL, "types": "all"}, "/types"),
        ({"url": URL, "types": ["record.held", "record.held"]}, "/types"),
        ({"url": URL}, "/types"),
        ({"url": URL, "types": [], "secret": "mine"}, "/secret"),
        ([], ""),
    ],
)
def test_a_body_of_another_shape_is_refused_with_its_place(
    lab: LabClient, sent: object, pointer: str
) -> None:
    answer = lab.post(sent, path=PATH)
    assert (answer.status, answer.code) == (400, "invalid_body")
    assert pointer in [fault["pointer"] for fault in answer.json["errors"]]


def test_what_is_owed_is_listed_and_made_again(lab: LabClient) -> None:
    made = lab.post({"url": URL, "types": ["record.accepted"]}, path=PATH).json
    lab.post(body(reference="NG-1"))
    webhook = outbox.live()[0]
    outbox.note(webhook, at=makers.NOON + dt.timedelta(minutes=1))
    [call] = lab.get(made["calls"]).json["items"]
    assert (call["type"], call["state"], call["tries"]) == ("record.accepted", "waiting", 0)
    WebhookCall.objects.update(state=WebhookCall.State.DELIVERED)
    again = lab.post({}, path=f"{made['calls']}/{call['place']}/again")
    assert (again.status, again.json["state"]) == (200, "waiting")
    assert lab.post({}, path=f"{made['calls']}/{call['place'] + 1}/again").status == 404


def test_a_stopped_address_is_called_again_unless_it_is_known_anew(lab: LabClient) -> None:
    path = f"{PATH}/{lab.post({'url': URL, 'types': []}, path=PATH).json['webhook']}"
    assert lab.post({}, path=f"{path}/stop").json["stopped_why"] == "the lab stopped it"
    assert lab.post({}, path=f"{path}/resume").json["stopped_at"] is None
    lab.post({}, path=f"{path}/stop")
    lab.post({"url": URL, "types": []}, path=PATH)
    refused = lab.post({}, path=f"{path}/resume")
    assert (refused.status, refused.code) == (409, "webhook_refused")
