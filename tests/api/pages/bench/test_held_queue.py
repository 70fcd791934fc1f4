"""The queue of held records: it says what contradicts what before anybody opens one."""

import pytest
from django.test import Client

from cylinders.models import TestRecord
from tests import makers
from tests.api.v1.lab import LabClient, body, make_lab_client, order_at

pytestmark = pytest.mark.django_db


@pytest.fixture
def lab(db: None) -> LabClient:
    makers.technician_one()
    program = make_lab_client()
    order_at(program.lab)
    return program


@pytest.fixture
def bench() -> Client:
    client = Client()
    client.force_login(makers.make_technician("sam"))
    return client


def pages(bench: Client) -> tuple[str, str]:
    held = TestRecord.objects.filter(state="held").get()
    queue = bench.get("/bench/held/").content.decode()
    return queue, bench.get(f"/bench/records/{held.pk}/").content.decode()


def test_a_gate_against_the_record_is_named_with_its_report(lab: LabClient, bench: Client) -> None:
    lab.post(makers.inspection_body(result="fail", notes="a fold"), path="/api/v1/inspections")
    lab.post(body())
    for page in pages(bench):
        assert "INS-inside" in page
        assert "a fold" in page


def test_a_missing_check_of_the_day_is_named(lab: LabClient, bench: Client) -> None:
    lab.post(body(calibration=None))
    for page in pages(bench):
        assert "on 2026-11-20 has come" in page


def test_a_correction_that_would_lift_an_end_says_so(lab: LabClient, bench: Client) -> None:
    over = {"value": "7.1", "unit": "cc"}
    lab.post(
        body(permanent_expansion=over, elastic_expansion=None, disposition="condemned", stamp=None)
    )
    sent = {"reason": "misread", "record": body(reference="R-2")}
    lab.post(sent, path="/api/v1/test-records/NG-2026-0417/corrections")
    for page in pages(bench):
        assert "lift the verdict" in page


def test_what_nobody_can_compare_is_not_attached_by_hand(lab: LabClient, bench: Client) -> None:
    lab.post(body(calibration=None))
    record = TestRecord.objects.get()
    sent = {"do": "decide", "once": "n", "attach": "yes", "reason": "I saw the paper"}
    answer = bench.post(f"/bench/records/{record.pk}/", sent)
    assert answer.status_code == 409
    record.refresh_from_db()
    assert record.state == "held"
