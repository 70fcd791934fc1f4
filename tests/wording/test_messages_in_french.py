"""Messages, the calendar and the certificate in the language of whoever gets them."""

import io
import re

import pypdfium2  # type: ignore[import-untyped]  # no stub
import pytest
from django.core import mail
from django.core.mail import EmailMultiAlternatives
from django.test import Client

from cylinders.models import Customer
from cylinders.operations import condemnation, privacy
from cylinders.operations.reminders import sweep
from tests import makers
from tests.api.pages.status.cast import BY, canary, link_to, open_shop, put_together, tag_of
from tests.cylinders.operations.reminders.cast import at, at_home
from tests.wording.english import english_in, read

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def shop() -> None:
    open_shop()


@pytest.fixture
def owner() -> Customer:
    return privacy.choose_language(customer_id=canary().pk, language="fr", at=makers.NOON, by=BY)


def sent() -> EmailMultiAlternatives:
    [message] = mail.outbox
    assert isinstance(message, EmailMultiAlternatives)
    return message


def test_a_reminder_is_in_the_language_of_its_customer(owner: Customer) -> None:
    tag_of(at_home(owner).work_orders.get())
    assert sweep(now=at("2026-11-25")).messages == 1
    message = sent()
    html = read(str(message.alternatives[0][0]))
    assert message.subject == "Votre bouteille : ce qui arrive à échéance"
    assert html.language == "fr"
    assert "à faire avant fin " in message.body
    assert re.search(r"avant fin (janvier|février|mars|novembre|décembre) 20", str(message.body))
    assert english_in(f"{message.subject} {message.body} {' '.join(html.text)}") == []


def test_a_written_notice_is_too(owner: Customer) -> None:
    order = makers.receive(owner)
    mail.outbox.clear()
    condemnation.condemn(
        work_order_id=order.pk, reason="fissure au col", marked="X", at=at("2026-11-25"), by=BY
    )
    sweep(now=at("2026-11-25"))
    message = sent()
    html = read(str(message.alternatives[0][0]))
    assert message.subject == "Avis écrit : votre bouteille est condamnée"
    assert "25 novembre 2026" in message.body
    assert english_in(f"{message.subject} {message.body} {' '.join(html.text)}") == []


def test_calendar_and_certificate_follow_the_browser(client: Client) -> None:
    order = put_together()
    link = link_to(order).address.partition("/s/")[2]
    french = {"accept-language": "fr"}
    feed = client.get(f"/s/{link}/calendar.ics", headers=french).content.decode()
    assert "X-WR-CALNAME:Échéances de la bouteille" in feed
    told = feed.replace("\r\n ", "").split("Source")[0]
    assert english_in(told) == []
    number = order.records.get().pk
    page = read(client.get(f"/s/{link}/certificates/{number}", headers=french).content.decode())
    assert english_in(" ".join(page.text)) == []
    paper = client.get(f"/s/{link}/certificates/{number}.pdf", headers=french).content
    text = pypdfium2.PdfDocument(io.BytesIO(paper))[0].get_textpage().get_text_range()
    assert "Certificat de requalification" in text
    assert english_in(" ".join(text.split())) == []
