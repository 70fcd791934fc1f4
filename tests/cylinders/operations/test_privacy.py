"""A person is forgotten without touching a chain; what they agreed to and who looked is kept."""

import datetime as dt

import pytest

from api import links
from api.links import Ended
from cylinders import history
from cylinders.facts import Actor
from cylinders.models import Customer, Declined, MessageKind, Notice, PersonLog
from cylinders.operations import privacy
from cylinders.operations.reminders import plan
from cylinders.queries.person import everything_of
from cylinders.queries.verification import verify
from cylinders.rules.refusal import Refused
from tests import makers
from tests.api.pages.status.cast import CANARY, canary, link_to, put_together
from tests.cylinders.operations.reminders.cast import at_home

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

BY = Actor("staff", "1")
AT = makers.NOON


def forget(customer: Customer, reason: str = "asked by letter, 24 November") -> None:
    privacy.erase(customer_id=customer.pk, reason=reason, at=AT, by=BY)


def everything_stored() -> str:
    """Every value of every row that could hold a person's data, and every event."""
    rows = [list(model.objects.values_list()) for model in (Customer, Notice, PersonLog, Declined)]
    events = [dict(entry.facts) for number in (1, 2, 3) for entry in history.timeline(number)]
    return str(rows) + str(events)


def test_a_forgotten_person_is_in_no_row_and_no_event_and_every_chain_is_whole() -> None:
    owner = canary()
    cylinder = at_home(owner)
    before = history.events_held()
    privacy.agree(customer_id=owner.pk, given=True, wording="yes, write", at=AT, by=BY)
    plan(on=dt.date(2026, 11, 25))
    assert CANARY.name in everything_stored()
    forget(owner)
    stored = everything_stored()
    for secret in (CANARY.name, CANARY.email, CANARY.phone):
        assert secret not in stored
    assert history.events_held() == before
    assert not [p for p in verify().problems if "last_visual" not in p]
    cylinder.refresh_from_db()
    assert str(cylinder.owner) == f"Erased person {owner.pk}"


def test_a_forgotten_person_gets_no_message_and_their_links_end() -> None:
    cylinder = at_home(canary())
    link = link_to(cylinder.work_orders.get())
    forget(cylinder.owner)
    assert plan(on=dt.date(2026, 11, 25)) == 0
    assert links.open_link(link.token, at=AT) is Ended.REVOKED


def test_nobody_is_forgotten_by_a_slip() -> None:
    owner = canary()
    order = makers.receive(owner)
    with pytest.raises(Refused, match="in the shop"):
        forget(owner)
    with pytest.raises(Refused, match="who asked"):
        forget(owner, " ")
    type(order).objects.update(closed_at=AT)
    forget(owner)
    with pytest.raises(Refused, match="erased"):
        forget(owner)
    with pytest.raises(Refused, match="no such customer"):
        privacy.erase(customer_id=0, reason="x", at=AT, by=BY)


def test_agreeing_is_kept_with_its_words_and_takes_back_what_was_declined() -> None:
    owner = makers.make_customer()
    Declined.objects.create(customer=owner, kind=MessageKind.REMINDERS, at=AT)
    privacy.agree(customer_id=owner.pk, given=False, wording="no more", at=AT, by=BY)
    assert not Customer.objects.get().email_consent
    assert Declined.objects.exists()
    privacy.agree(customer_id=owner.pk, given=True, wording="please write", at=AT, by=BY)
    assert Customer.objects.get().email_consent
    assert not Declined.objects.exists()
    told = [(row.given, row.wording, row.by) for row in owner.consents.order_by("pk")]
    assert told == [(False, "no more", "staff:1"), (True, "please write", "staff:1")]
    with pytest.raises(Refused, match="words"):
        privacy.agree(customer_id=owner.pk, given=True, wording="", at=AT, by=BY)


def test_a_new_address_has_not_bounced_and_none_takes_the_consent_with_it() -> None:
    owner = makers.make_customer()
    type(owner).objects.update(email_bounced=True)

    def change(email: str) -> Customer:
        return privacy.change_address(
            customer_id=owner.pk, name="Odo Quill", email=email, phone="", at=AT, by=BY
        )

    assert change(owner.email).email_bounced
    assert not change("odo.new@example.org").email_bounced
    assert not change("").email_consent
    with pytest.raises(Refused, match="no e-mail address"):
        privacy.agree(customer_id=owner.pk, given=True, wording="yes", at=AT, by=BY)
    assert {row.where for row in owner.log.all()} == {"name and address"}


def test_everything_of_one_person_is_in_one_document_and_nobody_else() -> None:
    owner = canary()
    stranger = makers.receive(makers.make_customer("Nell Drake"), serial="OTHER9911")
    order = put_together(owner)
    document = everything_of(owner, at=AT)
    assert document["person"]["email"] == CANARY.email
    assert [one["number"] for one in document["cylinders"]] == [order.cylinder_id]
    assert len(document["cylinders"][0]["events"]) == len(history.timeline(order.cylinder_id))
    assert len(document["visits"]) == 1
    assert "Nell" not in str(document)
    assert stranger.cylinder.serial not in str(document)


def test_a_new_owner_is_not_handed_the_visits_before() -> None:
    order = put_together(canary())
    new = makers.make_customer("Nell Drake")
    links.change_owner(cylinder_id=order.cylinder_id, owner_id=new.pk, at=AT, by=BY)
    [cylinder] = everything_of(new, at=AT)["cylinders"]
    assert cylinder["events"][0]["kind"] == "cylinder:owner:changed"


def test_looks_are_forgotten_after_thirteen_months_and_nothing_else() -> None:
    owner = makers.make_customer()
    privacy.note_look(customer_id=owner.pk, where="cylinder", at=AT, by=BY)
    privacy.note_export(customer_id=owner.pk, at=AT, by=BY)
    assert privacy.forget_old_looks(at=AT + privacy.LOOKS_KEPT) == 0
    assert privacy.forget_old_looks(at=AT + privacy.LOOKS_KEPT + dt.timedelta(days=1)) == 1
    assert [row.kind for row in owner.log.all()] == ["exported"]
