"""Every page in French: no sentence of the catalogue is left in English."""

from pathlib import Path

import pytest
from django.test import Client

from tests.browser.everything import Shop
from tests.wording.english import english_in, pieces, read

pytestmark = pytest.mark.django_db

FRENCH = "fr-CA,fr;q=0.9"
#: what the machine's problems mean is told in the language of the interface
FOR_PROGRAMMERS = frozenset({"problems", "problem"})


def in_english(client: Client, pages: dict[str, str]) -> list[str]:
    found = []
    for name, address in pages.items():
        page = read(client.get(address, headers={"accept-language": FRENCH}).content.decode())
        assert page.language == "fr", name
        if name not in FOR_PROGRAMMERS:
            found += [f"{name}: {piece}" for piece in english_in(" ".join(page.text))]
    return found


def test_every_page_speaks_french(tmp_path: Path) -> None:
    shop = Shop.build(str(tmp_path))
    staff, lab, stranger = Client(), Client(), Client()
    staff.force_login(shop.user)
    assert lab.post("/lab/sign-in/", {"key": shop.job.key}).status_code == 302
    assert len(pieces()) > 1_000
    left = [
        *in_english(stranger, shop.strangers()),
        *in_english(staff, shop.bench()),
        *in_english(lab, shop.lab()),
    ]
    assert not left, "\n".join(left)
