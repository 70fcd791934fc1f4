"""The owner's recall: who stands on something in doubt, told once each, by a person's word."""

import datetime as dt
from typing import Any

import pytest
from django.contrib.auth.models import User
from django.core import mail
from django.test import Client

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Customer, Cylinder, RecallLetter, Shop
from cylinders.queries.verification import verify
from tests import makers
from tests.api.v1.lab import LabClient, body, make_lab_client, order_at

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

ASK = {"calibrated_cylinder": "CAL-3", "first": "2026-11-01", "last": "2026-11-30"}


@pytest.fixture
def lab(db: None) -> LabClient:
    """Two cylinders of two owners whose tests stand on CAL-3, one by a reported check."""
    makers.technician_one()
    Shop.objects.create(name="Reef Works", email="shop@example.org", phone="555-0100")
    program = make_lab_client()
    for serial in ("KX40417", "ZZ90000"):
        order_at(program.lab, serial)
    program.post(body())
    program.post(makers.check_body(), path="/api/v1/calibrations")
    program.post(body("ZZ90000", "R-2", calibration=None))
    return program


@pytest.fixture
def owner() -> Client:
    client = Client()
    client.force_login(User.objects.create_superuser("olga", password="wet-gloves-7", pk=77))
    return client


def tell(client: Client, customer: int, how: str = "mail", **changes: str) -> Any:
    sent = {"do": how, "once": "n", "customer": customer, "sure": "on", "reason": "CAL-3 drifted."}
    with_query = "&".join(f"{name}={value}" for name, value in ASK.items())
    return client.post(f"/bench/recall/?{with_query}", sent | changes)


def test_every_owner_whose_test_stands_on_it_is_listed(lab: LabClient, owner: Client) -> None:
    page = owner.get("/bench/recall/", ASK).content.decode()
    assert "2 owners" in page
    assert "NG-2026-0417" in page
    assert "R-2" in page  # leans on the reported check of CAL-3
    assert (
        "0 owners"
        in owner.get("/bench/recall/", ASK | {"calibrated_cylinder": "CAL-9"}).content.decode()
    )


@pytest.mark.parametrize("equipment", ["chamber 1", "G-17", "B-2"])
def test_what_a_reported_check_was_read_on_is_found(
    lab: LabClient, owner: Client, equipment: str
) -> None:
    asked = {"equipment": equipment, "first": "2026-11-01", "last": "2026-11-30"}
    page = owner.get("/bench/recall/", asked).content.decode()
    assert "1 owner<" in page
    assert "R-2" in page


def test_the_equipment_of_a_reported_inspection_is_found(lab: LabClient, owner: Client) -> None:
    lab.post(makers.inspection_body("eddy_current"), path="/api/v1/inspections")
    asked = {"equipment": "E-5", "first": "2026-11-01", "last": "2026-11-30"}
    assert "NG-2026-0417" in owner.get("/bench/recall/", asked).content.decode()


@pytest.mark.parametrize(
    "asked",
    [
        {"first": "2026-11-01", "last": "2026-11-30"},
        ASK | {"last": "2026-10-01"},
        ASK | {"first": "yesterday"},
    ],
)
def test_a_question_that_cannot_be_meant_is_said_and_lists_nobody(
    lab: LabClient, owner: Client, asked: dict[str, str]
) -> None:
    page = owner.get("/bench/recall/", asked).content.decode()
    assert "KX40417" not in page
    assert 'class="wrong"' in page
    assert owner.get("/bench/recall/list.csv", asked).status_code == 404


def test_the_list_leaves_as_csv_without_formulas(lab: LabClient, owner: Client) -> None:
    Customer.objects.update(name="=HYPERLINK(1)")
    text = owner.get("/bench/recall/list.csv", ASK).content.decode()
    assert text.count("\r\n") == 3
    assert "'=HYPERLINK(1)" in text


def test_an_owner_is_told_once_and_only_when_it_is_confirmed(
    lab: LabClient, owner: Client, django_capture_on_commit_callbacks: Any
) -> None:
    cylinder = Cylinder.objects.get(serial="KX40417")
    owner.get("/bench/recall/", ASK)
    assert tell(owner, cylinder.owner_id, sure="").status_code == 422
    assert tell(owner, cylinder.owner_id, reason="").status_code == 422
    assert not mail.outbox
    with django_capture_on_commit_callbacks(execute=True):
        assert tell(owner, cylinder.owner_id).status_code == 302
    [sent] = mail.outbox
    assert sent.to == [cylinder.owner.email]
    assert "CAL-3 drifted." in sent.body
    assert "Do not fill or use it" in sent.body
    again = tell(owner, cylinder.owner_id, once="m")
    assert again.status_code == 409
    assert len(mail.outbox) == 1
    assert RecallLetter.objects.get().state == "sent"
    assert [e.kind for e in history.timeline(cylinder.pk)][-1] is Kind.RECALL_TOLD
    assert verify().ok


def test_a_mail_that_was_not_taken_may_be_confirmed_again(
    lab: LabClient,
    owner: Client,
    monkeypatch: pytest.MonkeyPatch,
    django_capture_on_commit_callbacks: Any,
) -> None:
    def down(*_: object, **__: object) -> None:
        raise ConnectionRefusedError

    customer = Cylinder.objects.get(serial="KX40417").owner_id
    with monkeypatch.context() as patched, django_capture_on_commit_callbacks(execute=True):
        patched.setattr("api.pages.bench.recall.send_mail", down)
        tell(owner, customer)
    assert RecallLetter.objects.get().state == "failed"
    with django_capture_on_commit_callbacks(execute=True):
        assert tell(owner, customer, once="m").status_code == 302
    assert (RecallLetter.objects.get().state, len(mail.outbox)) == ("sent", 1)


def test_a_mail_that_may_have_gone_is_confirmed_again_by_a_person_after_a_while(
    lab: LabClient, owner: Client, django_capture_on_commit_callbacks: Any
) -> None:
    customer = Cylinder.objects.get(serial="KX40417").owner_id
    tell(owner, customer)  # and the process dies before the letter is handed over
    assert RecallLetter.objects.get().state == "sending"
    assert tell(owner, customer, once="m").status_code == 409, "it may be on its way"
    RecallLetter.objects.update(confirmed_at=makers.NOON - dt.timedelta(minutes=11))
    page = owner.get("/bench/recall/", ASK).content.decode()
    assert "may reach them twice" in page
    with django_capture_on_commit_callbacks(execute=True):
        assert tell(owner, customer, once="o").status_code == 302
    assert (RecallLetter.objects.get().state, len(mail.outbox)) == ("sent", 1)


def test_an_owner_without_consent_gets_a_letter_on_paper_only(
    lab: LabClient, owner: Client
) -> None:
    Customer.objects.update(email_consent=False)
    customer = Cylinder.objects.get(serial="KX40417").owner_id
    assert tell(owner, customer).status_code == 409
    assert tell(owner, customer, "paper", once="m").status_code == 302
    letter = owner.get(f"/bench/recall/letters/{customer}/", ASK)
    assert "CAL-3 drifted." in letter.content.decode()
    assert (RecallLetter.objects.get().state, mail.outbox) == ("printed", [])


def test_nothing_goes_while_messages_are_paused(lab: LabClient, owner: Client) -> None:
    Shop.objects.update(notices_paused=True)
    assert tell(owner, Cylinder.objects.get(serial="KX40417").owner_id).status_code == 409
    assert not RecallLetter.objects.exists()


def test_somebody_who_is_not_affected_is_not_written_to(lab: LabClient, owner: Client) -> None:
    stranger = makers.make_customer("Ria Stone")
    assert tell(owner, stranger.pk).status_code == 409
    assert owner.get(f"/bench/recall/letters/{stranger.pk}/", ASK).status_code == 404
