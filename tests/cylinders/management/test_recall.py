"""An instrument is found to be wrong: who has a cylinder that stands on it?"""

import csv
import datetime as dt
import json
from io import StringIO
from typing import Any

import pytest
from django.core.management import CommandError, call_command

from cylinders.facts import Actor
from cylinders.models import Customer, Lab, TestRecord
from cylinders.operations import amendment, consignment, retest
from cylinders.queries.recall import Suspect, affected
from cylinders.rules import judgement
from tests import makers
from tests.makers import NOON, TODAY

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")
SPAN = ("--from", "2026-11-01", "--to", "2026-11-30")


def record_of(lab: Lab, serial: str, **changes: Any) -> TestRecord:
    """A record of a cylinder of that serial, sent to and tested by that lab."""
    order = makers.receive(makers.make_customer(f"Owner {serial}"), serial=serial)
    makers.take_down(order)
    line = consignment.pack(work_order_id=order.pk, lab_id=lab.pk, at=NOON, by=BY)
    consignment.send(consignment_id=line.consignment_id, carrier="van", on=TODAY, at=NOON, by=BY)
    body = makers.record_body(lab_reference=f"R-{serial}", rin=lab.rin, **changes)
    body["cylinder"] = body["cylinder"] | {"serial": serial}
    text = json.dumps(body)
    return retest.receive_record(
        lab_id=lab.pk,
        cylinder_id=order.cylinder_id,
        body=judgement.parse(judgement.loads(text)),
        body_text=text,
        on=TODAY,
        at=NOON,
        by=BY,
    ).record


@pytest.fixture
def labs(db: None) -> tuple[Lab, Lab]:
    makers.technician_one()
    return makers.make_lab("Z999"), makers.make_lab("Z998")


def day(text: str) -> dict[str, Any]:
    """A test of another day, checked on that day."""
    return {
        "date": text,
        "calibration": makers.record_body()["calibration"] | {"date": text},
        "stamp": None,
    }


def found(suspect: Suspect, first: str = "2026-11-01", last: str = "2026-11-30") -> list[str]:
    span = {"first": dt.date.fromisoformat(first), "last": dt.date.fromisoformat(last)}
    return [one.lab_reference for one in affected(suspect=suspect, **span)]


def told(*words: str) -> str:
    out = StringIO()
    call_command("recall", *SPAN, *words, stdout=out)
    return out.getvalue()


def test_a_calibrated_cylinder_finds_every_test_that_was_checked_with_it(
    labs: tuple[Lab, Lab],
) -> None:
    other = makers.record_body()["calibration"] | {"cylinder_serial": "CAL-4"}
    record_of(labs[0], "A1")
    record_of(labs[0], "A2", calibration=other)
    record_of(labs[1], "A3", **day("2026-11-18"))
    record_of(labs[0], "A4", calibration=None)
    assert found(Suspect(calibrated_cylinder="CAL-3")) == ["R-A3", "R-A1"]
    assert found(Suspect(calibrated_cylinder="CAL-3", rin="Z999")) == ["R-A1"]
    assert found(Suspect(calibrated_cylinder="cal-3")) == []


def test_both_days_of_the_span_belong_to_it(labs: tuple[Lab, Lab]) -> None:
    for serial, on in (("B1", "2026-11-09"), ("B2", "2026-11-10"), ("B3", "2026-11-12")):
        record_of(labs[0], serial, **day(on))
    assert found(Suspect(rin="Z999"), "2026-11-10", "2026-11-12") == ["R-B2", "R-B3"]


def test_an_operator_and_an_instrument_are_found_too(labs: tuple[Lab, Lab]) -> None:
    exam = {
        "result": "pass",
        "crack_thread_lengths": "0",
        "equipment": "EC-2",
        "reference_ring": "",
    }
    record_of(labs[0], "C1", operator="op 9", eddy_current=exam)
    record_of(labs[0], "C2")
    assert found(Suspect(operator="op 9")) == ["R-C1"]
    assert found(Suspect(equipment="EC-2")) == ["R-C1"]


def test_a_record_that_counts_no_more_is_listed_as_what_it_is(labs: tuple[Lab, Lab]) -> None:
    record_of(labs[0], "D1")
    amendment.void_record(
        lab_id=labs[0].pk, lab_reference="R-D1", reason="wrong cylinder", at=NOON, by=BY
    )
    [row] = json.loads(told("--rin", "Z999", "--json"))["items"]
    assert (row["lab_reference"], row["state"]) == ("R-D1", "voided")
    assert (row["owner"], row["email"]) == ("Owner D1", "owner@example.org")


def test_the_export_is_safe_in_a_sheet(labs: tuple[Lab, Lab]) -> None:
    record_of(labs[0], "E1")
    Customer.objects.update(name="=HYPERLINK(1)", phone="+1 555-0100")
    [heading, row] = list(csv.reader(StringIO(told("--rin", "Z999", "--csv"))))
    cells = dict(zip(heading, row, strict=True))
    assert (cells["owner"], cells["phone"]) == ("'=HYPERLINK(1)", "'+1 555-0100")
    assert cells["serial"] == "E1"


def test_it_is_told_in_lines_for_a_person(labs: tuple[Lab, Lab]) -> None:
    record_of(labs[0], "F1")
    assert told("--operator", "op 4").splitlines()[-1] == "1 record."
    assert told("--operator", "nobody") == "0 records.\n"


def test_a_recall_of_everything_is_a_slip(labs: tuple[Lab, Lab]) -> None:
    with pytest.raises(CommandError, match="Nothing is asked for"):
        told()
    with pytest.raises(CommandError, match="before"):
        call_command("recall", "--rin", "Z1", "--from", "2026-11-02", "--to", "2026-11-01")
