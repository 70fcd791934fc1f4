"""Every route times every role: who gets what. A route without a row here fails the suite."""

import datetime as dt
import json
from dataclasses import dataclass

import pytest
from django.test import Client
from django.urls import URLPattern

from api import keys
from api.batches import running
from api.keys import Scope
from api.models import FileMapping, LabKey, ResultBatch, Webhook
from api.v1 import urls
from api.webhooks import managing
from cylinders.models import Attachment
from tests import files, makers
from tests.api.v1.lab import RECORDS, Answer, LabClient, body, make_lab_client
from tests.api.v1.test_batches import MAPPING

pytestmark = pytest.mark.django_db

BASE = "/api/v1/"
#: how a key may be wrong, and the code of the 401 that it gets
NO_KEY = {
    "nothing": "not_authenticated",
    "a wrong secret": "wrong_key",
    "half a key": "wrong_key",
    "the key without its scheme": "wrong_key",
    "basic": "wrong_key",
    "revoked": "key_revoked",
    "expired": "key_expired",
}


@dataclass(frozen=True)
class Row:
    """One route and method: the scope it needs, and what the owner and another lab get."""

    route: str
    method: str
    scope: Scope | None
    owner: int
    other: int
    path: str = ""

    @property
    def address(self) -> str:
        return BASE + (self.path or self.route)


#: each kind of report, and whether it is of a cylinder, which another lab does not have
REPORTS = {"calibrations": False, "inspections": True, "dryings": True}


def report_rows(plural: str, elsewhere: int) -> tuple[Row, ...]:
    below, held = f"{plural}/<str:reference>", f"{plural}/HELD-1"
    write = Scope.WRITE_RESULTS
    return (
        Row(plural, "GET", Scope.READ_RESULTS, 200, 200),
        Row(plural, "POST", write, 201, elsewhere),
        Row(below, "GET", Scope.READ_RESULTS, 200, 404, held),
        Row(f"{below}/corrections", "POST", write, 201, elsewhere, f"{held}/corrections"),
        # Another lab's void is of its own report of that reference, which may come later.
        Row(f"{below}/void", "POST", write, 201, 201, f"{held}/void"),
    )


ROWS = (
    Row("", "GET", None, 200, 200),
    Row("schema", "GET", None, 200, 200),
    Row("daily-logs/<str:day>", "GET", Scope.READ_RESULTS, 200, 200, "daily-logs/2026-11-20"),
    Row(
        "daily-logs/<str:day>/<form:form>",
        "GET",
        Scope.READ_RESULTS,
        200,
        200,
        "daily-logs/2026-11-20/csv",
    ),
    Row(
        "test-records/<str:reference>/<form:form>",
        "GET",
        Scope.READ_RESULTS,
        200,
        404,
        "test-records/HELD-1/csv",
    ),
    *(row for plural, of in REPORTS.items() for row in report_rows(plural, 404 if of else 201)),
    Row("cylinders", "GET", Scope.READ_CYLINDERS, 200, 200),
    Row("consignments", "GET", Scope.READ_CYLINDERS, 200, 200),
    Row("test-records", "GET", Scope.READ_RESULTS, 200, 200),
    Row("test-records", "POST", Scope.WRITE_RESULTS, 201, 404),
    Row("result-batches", "POST", Scope.WRITE_RESULTS, 202, 202),
    Row(
        "result-batches/<number:number>",
        "GET",
        Scope.READ_RESULTS,
        200,
        404,
        "result-batches/{batch}",
    ),
    Row(
        "result-batches/<number:number>/lines",
        "GET",
        Scope.READ_RESULTS,
        200,
        404,
        "result-batches/{batch}/lines",
    ),
    Row(
        "file-mappings/<mapping:name>",
        "GET",
        Scope.READ_RESULTS,
        200,
        404,
        "file-mappings/held",
    ),
    Row(
        "file-mappings/<mapping:name>",
        "PUT",
        Scope.WRITE_RESULTS,
        200,
        200,
        "file-mappings/held",
    ),
    Row("events", "GET", Scope.READ_EVENTS, 200, 200),
    Row("test-records/<str:reference>", "GET", Scope.READ_RESULTS, 200, 404, "test-records/HELD-1"),
    Row(
        "test-records/<str:reference>/corrections",
        "POST",
        Scope.WRITE_RESULTS,
        201,
        404,
        "test-records/HELD-1/corrections",
    ),
    Row("webhooks", "GET", Scope.READ_EVENTS, 200, 200),
    Row("webhooks", "POST", Scope.WRITE_WEBHOOKS, 201, 201),
    *(
        Row(
            f"webhooks/<number:number>{below}",
            method,
            Scope.READ_EVENTS if method == "GET" else Scope.WRITE_WEBHOOKS,
            200,
            404,
            f"webhooks/{{webhook}}{below.replace('<number:place>', '{place}')}",
        )
        for method, below in (
            ("GET", ""),
            ("GET", "/calls"),
            ("POST", "/stop"),
            ("POST", "/resume"),
            ("POST", "/calls/<number:place>/again"),
        )
    ),
    # Another lab's void is of its own record of that reference, which may come later.
    Row(
        "test-records/<str:reference>/void",
        "POST",
        Scope.WRITE_RESULTS,
        201,
        201,
        "test-records/HELD-1/void",
    ),
    Row(
        "test-records/<str:reference>/attachments",
        "GET",
        Scope.READ_RESULTS,
        200,
        404,
        "test-records/HELD-1/attachments",
    ),
    Row(
        "test-records/<str:reference>/attachments",
        "POST",
        Scope.WRITE_RESULTS,
        201,
        404,
        "test-records/HELD-1/attachments",
    ),
    Row(
        "test-records/<str:reference>/attachments/<number:number>",
        "GET",
        Scope.READ_RESULTS,
        200,
        404,
        "test-records/HELD-1/attachments/{attachment}",
    ),
)
GUARDED = tuple(row for row in ROWS if row.scope)
NEW_REPORT = {
    "calibrations": makers.check_body(lab_reference="NEW-1"),
    "inspections": makers.inspection_body(lab_reference="NEW-1"),
    "dryings": makers.drying_body(lab_reference="NEW-1"),
}
#: what is posted to each address that takes something
BODIES: dict[str, object] = {
    **NEW_REPORT,
    **{
        f"{plural}/HELD-1/corrections": {"reason": "a slip", "report": new}
        for plural, new in NEW_REPORT.items()
    },
    **{f"{plural}/HELD-1/void": {"reason": "a slip"} for plural in REPORTS},
    "test-records": body(reference="NEW-1"),
    "result-batches": {"lab_reference": "in a file"},
    "file-mappings/held": MAPPING,
    "test-records/HELD-1/corrections": {
        "reason": "the hold was 33 s",
        "record": body(reference="NEW-1", hold_seconds=33),
    },
    "webhooks": {"url": "https://hook.example.test/in", "types": []},
    "test-records/HELD-1/void": {"reason": "another cylinder's"},
    "test-records/HELD-1/attachments": files.paper("new"),
}


@pytest.fixture
def held(lab: LabClient) -> LabClient:
    """The lab has sent one record, so that each route has something to give."""
    assert lab.post(body(reference="HELD-1")).status == 201
    for plural, new in NEW_REPORT.items():
        sent = lab.post(new | {"lab_reference": "HELD-1"}, path=f"{BASE}{plural}")
        assert sent.status == 201, sent.raw
    attached = lab.attach(files.paper("held"), reference="HELD-1")
    assert attached.status == 201, attached.raw
    FileMapping.objects.create(lab=lab.lab, name="held", content=MAPPING, saved_at=makers.NOON)
    running.take(
        lab_id=lab.lab.pk, content='{"lab_reference": "KX40417"}', dry_run=True, at=makers.NOON
    )
    stopped, _secret = managing.register(
        lab_id=lab.lab.pk, url="https://held.example.test/in", types=(), at=makers.NOON
    )
    managing.stop(stopped, why="the lab stopped it", at=makers.NOON)
    stopped.calls.create(place=1, body='{"type": "record.held"}', next_at=makers.NOON)
    return lab


def ask(lab: LabClient, row: Row, **headers: str) -> Answer:
    sent = BODIES.get(row.path or row.route) if row.method != "GET" else None
    raw = sent if isinstance(sent, bytes) else json.dumps(sent).encode() if sent else b""
    given = {"idempotency_key": "k-1"} | headers
    address = row.address.format(
        batch=ResultBatch.objects.order_by("pk").values("pk")[0]["pk"],
        webhook=Webhook.objects.order_by("pk").values("pk")[0]["pk"],
        attachment=Attachment.objects.order_by("pk").values("pk")[0]["pk"],
        place=1,
    )
    kind = "application/x-ndjson" if row.route == "result-batches" else "application/json"
    kind = "application/pdf" if isinstance(sent, bytes) else kind
    return lab.send(row.method, address, raw, kind, **given)


def test_every_route_and_method_has_a_row() -> None:
    served = set()
    for pattern in urls.urlpatterns:
        assert isinstance(pattern, URLPattern)
        view = pattern.callback.cls  # type: ignore[attr-defined] # set by as_view
        names = {"get", "post", "put", "patch", "delete"}
        served |= {(str(pattern.pattern), n.upper()) for n in names if hasattr(view, n)}
    assert {(row.route, row.method) for row in ROWS} == served


@pytest.mark.parametrize("row", ROWS, ids=str)
@pytest.mark.sampled(of=4)
def test_the_owner_gets_it_and_another_lab_does_not(held: LabClient, row: Row) -> None:
    other = make_lab_client("Z998")
    theirs = ask(other, row)
    assert theirs.status == row.other
    if row.scope:
        assert b"KX40417" not in theirs.raw
    assert ask(held, row).status == row.owner


@pytest.mark.parametrize("wrong", NO_KEY)
@pytest.mark.sampled(of=3)
def test_without_a_live_key_nothing_is_told_by_any_route(held: LabClient, wrong: str) -> None:
    if wrong == "revoked":
        keys.revoke(prefix=held.key[:8], at=makers.NOON)
    if wrong == "expired":
        LabKey.objects.update(expires_at=makers.NOON - dt.timedelta(seconds=1))
    header = {
        "nothing": "",
        "a wrong secret": f"Bearer {held.key[:9]}{'A' * 43}",
        "half a key": f"Bearer {held.key[:20]}",
        "the key without its scheme": held.key,
        "basic": "Basic bGFiOmxhYg==",
    }.get(wrong, f"Bearer {held.key}")
    for row in GUARDED:
        answer = ask(held, row, authorization=header)
        assert (answer.status, answer.code) == (401, NO_KEY[wrong]), row
        assert answer.headers["WWW-Authenticate"].startswith("Bearer ")
        assert b"KX40417" not in answer.raw


@pytest.mark.parametrize("row", GUARDED, ids=str)
@pytest.mark.sampled(of=4)
def test_a_key_for_other_things_is_turned_away(held: LabClient, row: Row) -> None:
    LabKey.objects.update(scopes=[scope for scope in keys.ALL_SCOPES if scope != row.scope])
    answer = ask(held, row)
    assert (answer.status, answer.code) == (403, "scope_missing")
    LabKey.objects.update(scopes=[row.scope])
    assert ask(held, row).status == row.owner


def test_reading_the_head_needs_the_scope_too(held: LabClient) -> None:
    LabKey.objects.update(scopes=[Scope.WRITE_RESULTS])
    assert held.send("HEAD", RECORDS).status == 403


def test_a_member_of_staff_at_the_browser_is_no_lab_on_any_route(held: LabClient) -> None:
    browser = Client()
    browser.force_login(makers.make_technician("sam"))
    for row in GUARDED:
        address = row.address.format(batch=1, webhook=1, place=1, attachment=1)
        answer = browser.generic(row.method, address, b"{}", "application/json")
        assert answer.status_code == 401, row


def test_anothers_void_and_correction_touch_nothing(held: LabClient) -> None:
    other = make_lab_client("Z998")
    for row in ROWS:
        if row.method == "POST":
            ask(other, row)
    assert held.get(f"{RECORDS}/HELD-1").json["state"] == "attached"


@pytest.mark.parametrize("name", ["key", "api_key", "token", "access_token", "authorization"])
def test_a_key_in_an_address_opens_nothing(held: LabClient, name: str) -> None:
    answer = held.send("GET", f"{BASE}cylinders?{name}={held.key}", authorization="")
    assert answer.status == 401
    answer = held.get(f"{BASE}cylinders?{name}={held.key}")
    assert (answer.status, answer.code) == (400, "invalid_query")


@pytest.mark.parametrize("path", ["/bench/", "/admin/", "/admin/cylinders/cylinder/"])
def test_a_labs_key_opens_no_page_of_the_shop(held: LabClient, path: str) -> None:
    assert held.get(path).status in {302, 404}


def test_two_keys_of_one_lab_are_the_same_lab(held: LabClient) -> None:
    second = keys.issue(lab_id=held.lab.pk, at=makers.NOON).text
    assert LabClient(held.lab, second).get(f"{RECORDS}/HELD-1").status == 200
    keys.revoke(prefix=held.key[:8], at=makers.NOON)
    assert held.get(RECORDS).status == 401
    assert LabClient(held.lab, second).get(RECORDS).status == 200
