"""A certificate is checked by a library of its own, and refused when anything in it was changed."""

import base64
import json
import stat
from collections.abc import Iterator
from io import StringIO
from pathlib import Path
from typing import Any

import pypdfium2  # type: ignore[import-untyped]  # its authors give no types
import pytest
import time_machine
import zxingcpp
from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from django.core.management import call_command
from django.test import Client
from joserfc import jws
from joserfc.jwk import OctKey, OKPKey
from pytest_django import Settings

from api import certificates, signing_keys
from cylinders.models import RecordState, TestRecord
from cylinders.rules.refusal import Refused
from tests import makers
from tests.api.pages.status.cast import CANARY, link_to, open_shop, put_together

pytestmark = pytest.mark.django_db

AT = makers.NOON


@pytest.fixture(autouse=True)
def own_keys(settings: Settings, tmp_path: Path) -> Iterator[None]:
    settings.VAR_DIR = tmp_path
    open_shop()
    with time_machine.travel(AT, tick=False):
        yield


def signed() -> tuple[TestRecord, str]:
    put_together()
    record = TestRecord.objects.get()
    return record, certificates.sign(record, at=AT)


def part(text: str) -> bytes:
    return base64.urlsafe_b64decode(text + "=" * (-len(text) % 4))


def published(client: Client) -> dict[str, Any]:
    answer: dict[str, Any] = client.get("/.well-known/jwks.json").json()
    return answer


def test_another_library_finds_the_signature_good_by_the_published_key(client: Client) -> None:
    record, text = signed()
    head, body, signature = text.split(".")
    header = json.loads(part(head))
    assert header["alg"] == "Ed25519"
    [key] = [key for key in published(client)["keys"] if key["kid"] == header["kid"]]
    public = Ed25519PublicKey.from_public_bytes(part(key["x"]))
    public.verify(part(signature), f"{head}.{body}".encode())
    with pytest.raises(InvalidSignature):
        public.verify(part(signature), f"{head}.{body[:-1]}A".encode())
    claims = json.loads(part(body))
    assert claims["serial"] == "KX40417"
    assert claims["percent"] == "1.3"
    assert claims["next_due"] == "2031-11"
    assert claims["record"] == record.lab_reference
    assert not {CANARY.name, CANARY.email, CANARY.phone} & set(map(str, claims.values()))


def test_it_is_refused_when_any_symbol_was_changed() -> None:
    _, text = signed()
    assert certificates.check(text).claims["verdict"] == "passed"
    head, body, signature = text.split(".")
    whole = [*range(len(text))]
    # The last symbol of a part may hold bits that stand for nothing: another symbol, same bytes.
    ends = {len(head) - 1, len(head) + len(body), len(text) - 1}
    for place in whole[::5]:
        if place in ends:
            continue
        other = "A" if text[place] != "A" else "B"
        with pytest.raises(Refused):
            certificates.check(text[:place] + other + text[place + 1 :])
    assert signature


def test_what_was_not_signed_by_the_shop_is_refused() -> None:
    _, text = signed()
    head, body, _ = text.split(".")
    kid = json.loads(part(head))["kid"]
    stranger = OKPKey.generate_key("Ed25519")
    forged = jws.serialize_compact(
        {"alg": "Ed25519", "kid": kid}, part(body), stranger, algorithms=["Ed25519"]
    )
    shared = OctKey.import_key(json.dumps(signing_keys.public()))
    symmetric = jws.serialize_compact(
        {"alg": "HS256", "kid": kid}, part(body), shared, algorithms=["HS256"]
    )
    none = base64.urlsafe_b64encode(json.dumps({"alg": "none", "kid": kid}).encode()).decode()
    unsigned = f"{none.rstrip('=')}.{body}."
    for wrong in (forged, symmetric, unsigned, "", "x", "a.b.c", "." * 9, "a" * 9_000, text + ".x"):
        with pytest.raises(Refused) as refused:
            certificates.check(wrong)
        assert "o not use it" in refused.value.says or "Copy all of it" in refused.value.says


def test_blanks_and_line_breaks_of_a_paper_copy_do_no_harm() -> None:
    _, text = signed()
    wrapped = "\r\n ".join(text[n : n + 60] for n in range(0, len(text), 60))
    assert certificates.check(wrapped).claims["serial"] == "KX40417"


def test_a_new_key_signs_from_then_on_and_the_old_one_still_checks(client: Client) -> None:
    record, old = signed()
    signing_keys.rotate(at=AT.replace(hour=13))
    new = certificates.sign(record, at=AT)
    assert new != old
    assert certificates.check(old).claims == certificates.check(new).claims
    assert certificates.check(old).kid != certificates.check(new).kid
    assert len(published(client)["keys"]) == 2


def test_the_private_part_is_readable_by_its_owner_alone_and_never_published(
    client: Client, tmp_path: Path
) -> None:
    signed()
    [path] = (tmp_path / "keys").iterdir()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    secret = json.loads(path.read_text())["d"]
    for page in ("/.well-known/jwks.json", "/verify"):
        assert secret not in client.get(page).content.decode()
    assert all("d" not in key for key in published(client)["keys"])


def test_the_same_record_gives_the_same_certificate() -> None:
    record, text = signed()
    assert certificates.sign(record, at=AT.replace(year=2027)) == text


@pytest.mark.parametrize(
    "change",
    [
        {"verdict": "condemned"},
        {"verdict": "invalid"},
        {"state": RecordState.HELD},
        {"state": RecordState.SUPERSEDED},
        {"state": RecordState.DISMISSED},
    ],
)
def test_only_a_test_that_passed_and_counts_is_certified(
    client: Client, change: dict[str, str]
) -> None:
    order = put_together()
    token = link_to(order).token
    TestRecord.objects.update(**change)
    record = TestRecord.objects.get()
    with pytest.raises(Refused):
        certificates.sign(record, at=AT)
    assert client.get(f"/s/{token}/certificates/{record.pk}").status_code == 404


def test_the_owner_gets_it_behind_the_link_and_for_this_cylinder_only(client: Client) -> None:
    order = put_together()
    record = TestRecord.objects.get()
    token = link_to(order).token
    path = f"/s/{token}/certificates/{record.pk}"
    assert path in client.get(f"/s/{token}").content.decode()
    response = client.get(path)
    text = response.content.decode()
    assert response.headers["Referrer-Policy"] == "no-referrer"
    assert certificates.sign(record, at=AT) in text
    assert "It does not prove today's state" in text
    assert CANARY.name not in text
    other = link_to(makers.receive(serial="OTHER9911")).token
    assert client.get(f"/s/{other}/certificates/{record.pk}").status_code == 404
    assert client.get(f"/s/{token}/certificates/{record.pk + 1}").status_code == 404
    assert client.get(f"/s/{'q' * 32}/certificates/{record.pk}").status_code == 404


def test_the_shop_checks_it_too_where_a_browser_cannot(client: Client) -> None:
    _, text = signed()
    strict = Client(enforce_csrf_checks=True)
    good = strict.post("/verify", {"certificate": f"http://127.0.0.1:8000/verify#{text}"})
    assert good.status_code == 200
    assert "GENUINE" in good.content.decode()
    assert "KX40417" in good.content.decode()
    bad = strict.post("/verify", {"certificate": text[:-9]})
    assert bad.status_code == 422
    assert "NOT GENUINE" in bad.content.decode()
    assert strict.post("/verify").status_code == 422
    page = client.get("/verify")
    assert page.headers["Cache-Control"] == "public, max-age=86400"
    assert client.get("/VERIFY").status_code == 200


def test_the_command_makes_a_new_key() -> None:
    out = StringIO()
    call_command("rotate_key", stdout=out)
    call_command("rotate_key", stdout=out)
    assert "2 keys are published." in out.getvalue()


def test_the_sheet_shows_the_same_and_its_symbol_leads_to_the_same_check(client: Client) -> None:
    order = put_together()
    record = TestRecord.objects.get()
    token = link_to(order).token
    response = client.get(f"/s/{token}/certificates/{record.pk}.pdf")
    assert response.headers["Content-Type"] == "application/pdf"
    assert response.headers["Referrer-Policy"] == "no-referrer"
    page = pypdfium2.PdfDocument(response.content)[0]
    text = page.get_textpage().get_text_range()
    for told in ("KX40417", "NG-2026-0417", "1.3 %", "It does not prove today's state", "Z999"):
        assert told in text
    assert CANARY.name not in text
    [found] = zxingcpp.read_barcodes(page.render(scale=3).to_pil().convert("L"))
    address, _, signed = found.text.partition("#")
    assert address == "http://127.0.0.1:8000/VERIFY"
    assert certificates.check(signed).claims["record"] == "NG-2026-0417"
    again = client.get(f"/s/{token}/certificates/{record.pk}.pdf")
    assert again.content == response.content


def test_a_name_that_no_font_has_is_said_and_not_half_printed(client: Client) -> None:
    order = put_together()
    record = TestRecord.objects.get()
    type(record.lab).objects.update(name="\u05d0\u05d1")
    response = client.get(f"/s/{link_to(order).token}/certificates/{record.pk}.pdf")
    assert response.status_code == 422
    assert "cannot be printed" in response.content.decode()
