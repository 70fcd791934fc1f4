"""In which language a page answers: one's own choice, then the browser's, and machines English."""

import pytest
import time_machine
from django.conf import settings
from django.test import Client
from django.utils import translation

from api import recognising
from api.models import Preference
from api.wording import told
from cylinders.models import Customer
from cylinders.rules.quantity import psi
from cylinders.rules.wording import say
from tests import makers

pytestmark = pytest.mark.django_db

FRENCH = {"accept-language": "fr-CA,fr;q=0.8,en;q=0.5"}


def language(client: Client, address: str, headers: dict[str, str] | None = None) -> str:
    return client.get(address, headers=headers or {}).headers["Content-Language"]


def test_a_stranger_is_answered_in_the_browsers_language_and_in_english_where_it_is_not_spoken(
    client: Client,
) -> None:
    assert language(client, "/t/") == "en"
    assert language(client, "/t/", FRENCH) == "fr"
    assert language(client, "/t/", {"accept-language": "tlh"}) == "en"


def test_a_choice_by_the_address_is_kept_in_a_cookie_and_changes_nothing_else(
    client: Client,
) -> None:
    before = list(Customer.objects.values())
    answer = client.get("/t/?language=fr&units=metric")
    assert answer.headers["Content-Language"] == "fr"
    assert {"Accept-Language", "Cookie"} <= set(answer.headers["Vary"].split(", "))
    kept = answer.cookies[settings.LANGUAGE_COOKIE_NAME]
    assert (kept.value, kept["httponly"], kept["samesite"]) == ("fr", True, "Lax")
    assert answer.cookies["units"].value == "metric"
    assert language(client, "/t/") == "fr"
    assert list(Customer.objects.values()) == before


@pytest.mark.parametrize("asked", ["xx", "", "fr;DROP", "../fr", "f" * 3000])
def test_a_language_that_is_not_spoken_is_not_kept(client: Client, asked: str) -> None:
    answer = client.get("/t/", {"language": asked, "units": asked})
    assert answer.headers["Content-Language"] == "en"
    assert not answer.cookies


@time_machine.travel(makers.NOON)
def test_staff_read_what_they_chose_on_every_phone_whatever_the_browser_asks(
    client: Client,
) -> None:
    tessa = makers.make_technician()
    client.force_login(tessa)
    sent = {"do": "reading", "language": "fr", "pressure_unit": "bar", "volume_unit": "in3"}
    page = client.post("/bench/me/", {**sent, "once": "1" * 24}, follow=True)
    assert "vous lisez désormais" in page.content.decode()
    chosen = Preference.objects.get(user=tessa)
    assert (chosen.language, chosen.pressure_unit, chosen.volume_unit) == ("fr", "bar", "in3")
    other = Client()
    other.force_login(tessa)
    assert language(other, "/bench/", {"accept-language": "en"}) == "fr"
    makers.receive(serial="ZZ9", by=makers.staff(tessa))
    assert "(206 bar)" in other.get("/bench/cylinders/1/").content.decode()


def test_the_labs_interface_speaks_english_whatever_is_asked(client: Client) -> None:
    answer = client.get("/api/v1/cylinders", headers={**FRENCH})
    assert answer.status_code == 401
    assert "Send the header" in answer.json()["detail"]


def test_figures_have_the_readers_decimal_sign_and_machines_keep_theirs() -> None:
    says = say("{share} % of {pressure}", share=psi("0.5").value, pressure=psi("62.5"))
    assert says == "0.5 % of 62.5 psi"
    with translation.override("fr"):
        assert told(says) == "0,5 % of 62,5 psi"
        assert str(says) == "0.5 % of 62.5 psi"


def test_a_sentence_that_was_stored_is_recognised_with_its_figures_letter_by_letter() -> None:
    stored = "Permanent expansion is 5.2 % of total, within the limit of 10 %."
    two = "The readings can be. No plus; by itself this does not condemn."
    with translation.override("fr"):
        assert told(stored) == (
            "La dilatation permanente est de 5.2 % du total, dans la limite de 10 %."
        )
        assert (
            told(two)
            == "Les lectures sont possibles. Pas de plus ; à lui seul, cela ne condamne pas."
        )
        assert told("Scratched near the boot, says Odo.") == "Scratched near the boot, says Odo."
    assert told(stored) == stored


def test_a_stored_sentence_is_recognised_where_one_of_its_figures_is_empty() -> None:
    with translation.override("fr"):
        assert told("Neck threads inspected: passed.") == "Filetage du col inspecté : bon."
        assert told("No check with a calibrated cylinder on 2026-11-02 has come.") == (
            "Aucun contrôle avec une bouteille étalon le 2026-11-02 n'est arrivé."
        )


def test_a_form_of_words_without_fixed_letters_recognises_nothing() -> None:
    with translation.override("fr"):
        assert recognising.translated("17 %", told) == ""
