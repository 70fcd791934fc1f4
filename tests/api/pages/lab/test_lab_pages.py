"""A lab without a program: its pages take what its instruments show, and lose nothing."""

import datetime as dt
import re
from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.test import Client

from api import keys
from api.models import LabKey
from api.pages import lock_out
from api.pages.lab import typed
from api.pages.lab.form import RecordForm
from api.problems import PROBLEMS
from cylinders.models import Cylinder, TestRecord, WorkOrder
from cylinders.rules.judgement import UnusableBody, parse
from tests import makers
from tests.api.v1.lab import LabClient, body, make_lab_client, order_at, tag_of

pytestmark = pytest.mark.django_db

LIST, SIGN_IN = "/lab/", "/lab/sign-in/"


@pytest.fixture(autouse=True)
def noon() -> Iterator[None]:
    cache.clear()
    with time_machine.travel(makers.NOON, tick=True):
        yield


@pytest.fixture
def lab(db: None) -> LabClient:
    makers.technician_one()
    return make_lab_client()


@pytest.fixture
def order(lab: LabClient) -> WorkOrder:
    return order_at(lab.lab)


@pytest.fixture
def browser(lab: LabClient) -> Client:
    """A browser in which the lab has signed in."""
    client = Client()
    answer = client.post(SIGN_IN, {"key": lab.key})
    assert (answer.status_code, answer.headers["Location"]) == (302, LIST)
    return client


def page_of(order: WorkOrder) -> str:
    return f"/lab/cylinders/{order.lines.get().pk}/"


def readings(**changes: str) -> dict[str, str]:
    """What an operator types for a cylinder that passes."""
    return {
        "serial": "KX40417",
        "manufacturer_mark": "M9999",
        "authority": "DOT",
        "specification": "3AL",
        "service_pressure": "3000",
        "service_unit": "psi",
        "first_test": "2008-06",
        "lab_reference": "W-1",
        "date": "2026-11-25",
        "operator": "op 4",
        "method": "water_jacket",
        "pressure_unit": "psi",
        "volume_unit": "cc",
        "test_pressure": "5000",
        "hold_seconds": "32",
        "total_expansion": "70.0",
        "permanent_expansion": "0.9",
        "reading_increment": "0.1",
        "check_serial": "CAL-3",
        "check_date": "2026-11-25",
        "check_points": "4000 50.6\n5000 63.4",
        "check_pressure": "5000",
        "check_expansion": "63.3",
        "check_permanent": "0.0",
        "internal": "pass",
        "external": "pass",
        "thread": "pass",
        "thread_method": "scope",
        "standard": "CGA C-6.1",
        "drying": "hot water",
        "drying_c": "71",
        "use": "scuba",
        "disposition": "passed",
        "stamp_month": "11",
        "stamp_year": "2026",
    } | changes


def text(answer: Any) -> str:
    made: str = answer.content.decode()
    return made


def look(browser: Client, order: WorkOrder, **changes: str) -> tuple[int, str, str]:
    """Post once; return the status, the page and the number of what was looked at."""
    answer = browser.post(page_of(order), readings(**changes))
    page = text(answer) if answer.status_code != 302 else answer.headers["Location"]
    seen = re.search(r'name="seen" value="([0-9a-f]{64})"', page)
    return answer.status_code, page, seen[1] if seen else ""


def test_a_stranger_is_asked_for_the_key_on_every_page(order: WorkOrder) -> None:
    for path in (LIST, page_of(order), "/lab/records/W-1/", f"{LIST}?code=X"):
        answer = Client().get(path)
        assert (answer.status_code, answer.headers["Location"]) == (302, SIGN_IN)
    assert Client().post(page_of(order), readings()).status_code == 302
    assert not TestRecord.objects.exists()


def test_a_wrong_key_opens_nothing_and_is_not_shown_again(lab: LabClient) -> None:
    client = Client()
    wrong = f"{lab.key[:9]}{'A' * 43}"
    answer = client.post(SIGN_IN, {"key": wrong})
    assert answer.status_code == 422
    assert "no key of this service" in text(answer)
    assert wrong not in text(answer)
    assert client.get(LIST).status_code == 302


def test_tries_are_counted(lab: LabClient) -> None:
    client = Client()
    with time_machine.travel(makers.NOON, tick=False) as clock:
        guess = f"{lab.key[:9]}{'A' * 43}"
        statuses = [client.post(SIGN_IN, {"key": guess}).status_code for _ in range(6)]
        assert statuses == [422] * 5 + [429]
        assert client.post(SIGN_IN, {"key": lab.key}).status_code == 429
        clock.shift(lock_out.WINDOW)
        assert client.post(SIGN_IN, {"key": lab.key}).status_code == 302


def test_signing_in_makes_a_fresh_session_that_holds_no_secret(lab: LabClient) -> None:
    client = Client()
    client.get(SIGN_IN)
    session = client.session
    session["before"] = "1"
    session.save()
    before = session.session_key
    client.cookies["session"] = before or ""
    client.post(SIGN_IN, {"key": lab.key})
    assert client.session.session_key != before
    assert lab.key.partition(".")[2] not in str(dict(client.session))


def test_a_session_ends_with_its_key(browser: Client, lab: LabClient) -> None:
    assert browser.get(LIST).status_code == 200
    keys.revoke(prefix=lab.key[:8], at=makers.NOON)
    answer = browser.get(LIST)
    assert answer.status_code == 401
    assert "revoked" in text(answer)
    assert browser.get(LIST).status_code == 302


def test_a_key_that_may_not_send_results_opens_no_page(lab: LabClient) -> None:
    LabKey.objects.update(scopes=["cylinders:read"])
    answer = Client().post(SIGN_IN, {"key": lab.key})
    assert (answer.status_code, "results:write" in text(answer)) == (422, True)


def test_signing_out_is_a_post_and_ends_it(browser: Client) -> None:
    assert browser.get("/lab/sign-out/").status_code == 405
    browser.post("/lab/sign-out/")
    assert browser.get(LIST).status_code == 302


def test_a_scan_opens_the_form_of_its_cylinder(browser: Client, order: WorkOrder) -> None:
    tag = tag_of(order)
    for code in (tag.code, tag.code.lower(), f"{tag.url}\r\n", f"{tag.code[:4]} {tag.code[4:]}"):
        answer = browser.get(LIST, {"code": code})
        assert (answer.status_code, answer.headers["Location"]) == (302, page_of(order))


@pytest.mark.parametrize("code", ["", "7K2M9QX4WBTCK", "https://evil.test/", "<b>x", "W" * 5_000])
def test_a_scan_of_something_else_says_so(browser: Client, order: WorkOrder, code: str) -> None:
    answer = browser.get(LIST, {"code": code})
    assert answer.status_code == 404
    assert "names no cylinder" in text(answer)
    assert "<b>x" not in text(answer)


def test_the_list_shows_no_owner(browser: Client, order: WorkOrder) -> None:
    page = text(browser.get(LIST))
    assert "KX40417" in page
    for told in (order.customer.name, order.customer.email, order.customer.phone):
        assert told not in page


def test_nothing_is_sent_before_its_judgement_was_seen(browser: Client, order: WorkOrder) -> None:
    status, page, seen = look(browser, order)
    assert (status, bool(seen)) == (200, True)
    assert "passed" in page
    assert "Send this record" in page
    assert not TestRecord.objects.exists()
    status, where, _ = look(browser, order, seen=seen)
    assert (status, where) == (302, "/lab/records/W-1/")
    record = TestRecord.objects.get()
    assert (record.verdict, record.state) == ("passed", "attached")
    assert "It arrived and counts." in text(browser.get(where))


def test_what_was_changed_after_the_look_is_looked_at_again(
    browser: Client, order: WorkOrder
) -> None:
    seen = look(browser, order)[2]
    status, page, again = look(browser, order, seen=seen, permanent_expansion="7.2")
    assert status == 200
    assert "condemned" in page
    assert again != seen
    assert not TestRecord.objects.exists()


def test_sending_twice_stores_one_record(browser: Client, order: WorkOrder) -> None:
    seen = look(browser, order)[2]
    first, second = look(browser, order, seen=seen), look(browser, order, seen=seen)
    assert first == second
    assert TestRecord.objects.count() == 1


def test_a_page_sends_what_a_program_would_send() -> None:
    form = RecordForm(readings(date="2026-11-20", check_date="2026-11-20", lab_reference="R-1"))
    assert form.is_valid(), form.errors
    made = typed.body_of(form.cleaned_data, tag="", rin="Z999")
    sent = body(reference="R-1")
    sent["cylinder"] |= {"water_capacity": None, "alloy": None}
    assert parse(made) == parse(sent | {"elastic_expansion": None})


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("hold_seconds", "half a minute", "not a plain decimal"),
        ("permanent_expansion", "0,9", "not a plain decimal"),
        ("total_expansion", "", "is missing"),
        ("test_pressure", "", "Fill this in"),
        ("date", "25.11.2026", "give YYYY-MM-DD"),
        ("serial", "", "Fill this in"),
        ("check_points", "4000 50.6\nfive thousand 63.4", "not a plain decimal"),
        ("check_points", "", "1 to 50"),
        ("check_expansion", "", "is missing"),
        ("internal", "", "Choose one"),
        ("disposition", "", "Choose one"),
        ("stamp_month", "13", "not between 1 and 12"),
        ("stamp_year", "26", "not between"),
        ("first_test", "June 2008", "give YYYY-MM"),
        ("lab_reference", "a/b", "letters, digits"),
        ("drying", "", "is missing"),
        ("heat_exposure_c", "hot", "not a plain decimal"),
        ("operator", "\u202eop", "hidden character"),
        ("notes", "n" * 2_001, "at most 2000"),
    ],
)
def test_a_fault_stands_beside_its_field_and_nothing_typed_is_lost(
    browser: Client, order: WorkOrder, field: str, value: str, says: str
) -> None:
    status, page, seen = look(browser, order, **{field: value})
    assert (status, seen) == (422, "")
    assert "What you typed is still there" in page
    control = re.search(rf'id="id_{field}_error">(.*?)</div>', page, re.DOTALL)
    assert control is not None, page
    assert says in control[1]
    for name, kept in readings(**{field: value}).items():
        if name not in {"notes", "check_points", "operator"}:
            assert f'value="{kept}"' in page, name
    assert not TestRecord.objects.exists()


def test_a_crack_without_a_result_asks_for_the_result(browser: Client, order: WorkOrder) -> None:
    status, page, _ = look(browser, order, eddy_crack="0")
    assert (status, 'id="id_eddy_error"' in page) == (422, True)


def test_another_serial_than_ours_is_sent_and_held(browser: Client, order: WorkOrder) -> None:
    _, page, seen = look(browser, order, serial="KX40418")
    assert "held" in page
    _, where, _ = look(browser, order, serial="KX40418", seen=seen)
    assert TestRecord.objects.get().state == "held"
    assert "a person at the shop decides" in text(browser.get(where))
    assert Cylinder.objects.get().requalified == "2021-11"


def test_a_used_reference_is_refused_and_nothing_typed_is_lost(
    browser: Client, order: WorkOrder
) -> None:
    look(browser, order, seen=look(browser, order)[2])
    changed = {"hold_seconds": "40"}
    seen = look(browser, order, **changed)[2]
    status, page, _ = look(browser, order, seen=seen, **changed)
    assert status == 409
    assert "fresh reference" in page
    assert 'value="40"' in page
    assert TestRecord.objects.count() == 1


def test_a_script_may_ask_for_the_judgement_and_never_sends(
    browser: Client, order: WorkOrder
) -> None:
    seen = look(browser, order)[2]
    answer = browser.post(page_of(order), readings(seen=seen, look="1"))
    assert answer.status_code == 200
    assert "<html" not in text(answer)
    assert seen in text(answer)
    assert not TestRecord.objects.exists()
    answer = browser.post(page_of(order), readings(look="1", hold_seconds=""))
    assert "1 field to fill in" in text(answer)


def test_the_check_of_the_day_is_typed_once_a_day(browser: Client, lab: LabClient) -> None:
    first, second = order_at(lab.lab, "ZZ90000"), order_at(lab.lab, "ZZ90001")
    look(browser, first)
    page = text(browser.get(page_of(second)))
    for kept in ("CAL-3", "5000 63.4", "op 4", "CGA C-6.1"):
        assert kept in page
    assert 'value="32"' not in page
    with time_machine.travel(makers.NOON + dt.timedelta(hours=13), tick=False):
        browser.post(SIGN_IN, {"key": lab.key})
        page = text(browser.get(page_of(second)))
        assert "CAL-3" not in page


def test_nothing_that_decides_is_chosen_in_advance(browser: Client, order: WorkOrder) -> None:
    page = text(browser.get(page_of(order)))
    assert 'value="KX40417"' not in page
    for name in ("internal", "external", "thread", "eddy", "disposition"):
        chosen = re.search(rf'<select name="{name}".*?</select>', page, re.DOTALL)
        assert chosen is not None
        assert 'value="" selected' in chosen[0]


def test_another_labs_cylinders_and_records_are_not_there(browser: Client) -> None:
    other = make_lab_client("Z998")
    theirs = order_at(other.lab, "ZZ90000")
    other.post(body("ZZ90000", "THEIRS-1", rin="Z998"))
    assert browser.get(page_of(theirs)).status_code == 404
    assert browser.post(page_of(theirs), readings()).status_code == 404
    assert browser.get("/lab/records/THEIRS-1/").status_code == 404
    assert "THEIRS-1" not in text(browser.get(LIST))


def test_a_form_from_another_site_is_refused(lab: LabClient, order: WorkOrder) -> None:
    strict = Client(enforce_csrf_checks=True)
    assert strict.post(SIGN_IN, {"key": lab.key}).status_code == 403
    assert strict.post(page_of(order), readings()).status_code == 403


def test_hostile_notes_are_shown_as_text(browser: Client, order: WorkOrder) -> None:
    _, page, _ = look(browser, order, notes="</textarea><script>alert(1)</script>")
    assert "<script>alert" not in page
    assert "&lt;script&gt;alert" in page


@pytest.mark.parametrize("code", PROBLEMS)
def test_every_problem_has_its_page(code: str) -> None:
    answer = Client().get(f"/problems/{code}")
    assert answer.status_code == 200
    assert "What to do" in text(answer)
    assert code in text(Client().get("/problems/"))


def test_an_unknown_problem_has_none() -> None:
    assert Client().get("/problems/no_such_thing").status_code == 404


def test_every_part_of_a_body_has_its_field() -> None:
    with pytest.raises(UnusableBody) as unusable:
        parse(dict.fromkeys(body(), "?") | {"cylinder": {}, "visual": {}, "use": "x"})
    places = [typed.place_of(problem.pointer) for problem in unusable.value.problems]
    known = set(RecordForm.base_fields) | {"limit_percent", "required_test_pressure", "rin"}
    assert {place for place in places if place not in known} <= {"calibration"}
