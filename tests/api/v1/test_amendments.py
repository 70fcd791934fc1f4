"""A lab takes back what it reported: by a correction with a reason, or by a void."""

import json
from typing import Any

import pytest

from cylinders.models import Cylinder, RecordVoid, TestRecord
from cylinders.operations import consignment
from cylinders.queries.verification import verify
from tests import makers
from tests.api.v1.lab import BY, RECORDS, Answer, LabClient, body, order_at, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

CORRECTIONS, VOID = f"{RECORDS}/NG-1/corrections", f"{RECORDS}/NG-1/void"
WHY = "the hold was read wrongly"


def correction(reference: str = "NG-2", reason: str = WHY, **changes: Any) -> dict[str, Any]:
    return {"reason": reason, "record": body(reference=reference, **changes)}


@pytest.fixture
def first(lab: LabClient) -> Answer:
    """The record NG-1, accepted."""
    posted = lab.post(body(reference="NG-1"))
    assert posted.json["state"] == "attached"
    return posted


def test_a_correction_takes_the_place_of_a_record(lab: LabClient, first: Answer) -> None:
    posted = lab.post(correction(hold_seconds=33), path=CORRECTIONS)
    assert (posted.status, posted.headers["Location"]) == (201, f"{RECORDS}/NG-2")
    assert (posted.json["state"], posted.json["supersedes"]) == ("attached", "NG-1")
    assert posted.json["correction_reason"] == WHY
    before = lab.get(f"{RECORDS}/NG-1").json
    assert (before["state"], before["superseded_by"]) == ("superseded", "NG-2")
    assert before["body"] == body(reference="NG-1")
    assert verify().ok


def test_a_correction_is_judged_like_any_record(lab: LabClient, first: Answer) -> None:
    worse = correction(
        permanent_expansion={"value": "7.1", "unit": "cc"},
        elastic_expansion=None,
        disposition="condemned",
        reason="over 10 %",
        stamp=None,
    )
    assert lab.post(worse, path=CORRECTIONS).json["verdict"] == "condemned"
    assert Cylinder.objects.get().life == "condemned"
    better = lab.post(correction("NG-3"), path=f"{RECORDS}/NG-2/corrections").json
    assert better["state"] == "held"
    assert Cylinder.objects.get().life == "condemned"


def test_a_correction_that_came_first_waits_for_its_record(lab: LabClient) -> None:
    early = lab.post(correction(hold_seconds=33), path=CORRECTIONS)
    assert (early.status, early.json["state"]) == (201, "held")
    assert lab.post(body(reference="NG-1")).json["state"] == "superseded"
    assert lab.get(f"{RECORDS}/NG-2").json["state"] == "attached"
    assert verify().ok


def test_a_correction_is_taken_after_the_cylinder_went_home(lab: LabClient, first: Answer) -> None:
    order = Cylinder.objects.get().work_orders.get()
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    assert lab.post(correction(), path=CORRECTIONS).status == 201


def test_a_void_takes_a_record_out(lab: LabClient, first: Answer) -> None:
    assert Cylinder.objects.get().requalified == "2026-11"
    posted = lab.post({"reason": "another cylinder's"}, path=VOID)
    assert (posted.status, posted.json["voids"]) == (201, "NG-1")
    assert lab.get(f"{RECORDS}/NG-1").json["state"] == "voided"
    assert Cylinder.objects.get().requalified == "2021-11"
    again = lab.post({"reason": "another cylinder's"}, path=VOID)
    assert (again.status, again.json) == (200, posted.json)
    assert verify().ok


def test_a_void_that_came_first_takes_its_record_out_when_it_comes(lab: LabClient) -> None:
    assert lab.post({"reason": "sent by mistake"}, path=VOID).status == 201
    assert lab.post(body(reference="NG-1")).json["state"] == "voided"
    assert Cylinder.objects.get().requalified == "2021-11"


def test_a_condemnation_is_not_taken_back_by_a_void(lab: LabClient) -> None:
    condemned = body(
        reference="NG-1",
        visual={"internal": "fail", "external": "pass", "standard": "CGA C-6.1", "notes": ""},
        disposition="condemned",
        reason="pitted",
        stamp=None,
    )
    lab.post(condemned)
    answer = lab.post({"reason": "typed wrongly"}, path=VOID)
    assert (answer.status, answer.code) == (409, "void_needs_person")
    assert not RecordVoid.objects.exists()


def test_a_retry_gets_the_same_bytes(lab: LabClient, first: Answer) -> None:
    one, two = (lab.post(correction(), path=CORRECTIONS, key="c-1") for _ in range(2))
    assert (one.status, one.raw) == (two.status, two.raw)
    one, two = (lab.post({"reason": why}, path=VOID) for why in ("x", "y"))
    assert (one.status, two.status) == (201, 200)
    assert one.raw == two.raw
    assert TestRecord.objects.count() == 2


def test_a_key_of_one_address_means_nothing_at_another(lab: LabClient, first: Answer) -> None:
    assert lab.post(correction(), path=CORRECTIONS, key="k").status == 201
    assert lab.post(correction("NG-3"), path=f"{RECORDS}/NG-2/corrections", key="k").status == 201
    other = lab.post(correction("NG-4"), path=CORRECTIONS, key="k")
    assert (other.status, other.code) == (422, "idempotency_key_reused")


def test_a_change_to_what_has_changed_is_refused(lab: LabClient, first: Answer) -> None:
    tag = lab.get(f"{RECORDS}/NG-1").headers["ETag"]
    lab.post(correction(), path=CORRECTIONS)
    raw = json.dumps({"reason": "x"}).encode()
    late = lab.send("POST", VOID, raw, "application/json", if_match=tag, idempotency_key="k")
    assert (late.status, late.code) == (412, "record_changed")
    tag = lab.get(f"{RECORDS}/NG-1").headers["ETag"]
    now = lab.send("POST", VOID, raw, "application/json", if_match=tag, idempotency_key="k")
    assert now.status == 201
    absent = lab.send(
        "POST",
        f"{RECORDS}/NEVER/void",
        raw,
        "application/json",
        if_match="*",
        idempotency_key="k",
    )
    assert absent.status == 412


@pytest.mark.parametrize(
    ("sent", "pointer"),
    [
        ({}, "/reason"),
        ({"reason": "", "record": {}}, "/reason"),
        ({"reason": 1, "record": body()}, "/reason"),
        ({"reason": WHY}, "/record"),
        ({"reason": WHY, "record": "NG-2"}, "/record"),
        ({"reason": WHY, "record": body() | {"use": "diving"}}, "/record/use"),
        ({"reason": WHY, "record": body(), "supersedes": "NG-1"}, "/supersedes"),
    ],
)
@pytest.mark.sampled(of=3)
def test_a_wrong_correction_is_refused_with_its_place(
    lab: LabClient, first: Answer, sent: dict[str, Any], pointer: str
) -> None:
    answer = lab.post(sent, path=CORRECTIONS)
    assert (answer.status, answer.code) == (400, "invalid_body")
    assert pointer in {one["pointer"] for one in answer.json["errors"]}
    assert TestRecord.objects.count() == 1


@pytest.mark.parametrize("sent", [[], None, "x", {"reason": " "}, {"reason": "r", "why": "x"}, {}])
def test_a_wrong_void_is_refused(lab: LabClient, first: Answer, sent: object) -> None:
    answer = lab.post(sent, path=VOID)
    assert (answer.status, answer.code) == (400, "invalid_body")
    assert not RecordVoid.objects.exists()


@pytest.mark.parametrize("reference", ["a b", "%2e%2e", "a%2Fb", "A" * 81])
def test_what_no_record_can_be_called_is_not_there(lab: LabClient, reference: str) -> None:
    answer = lab.post({"reason": "x"}, path=f"{RECORDS}/{reference}/void")
    assert (answer.status, answer.code) in {(404, "not_found"), (405, "method_not_allowed")}
    assert not RecordVoid.objects.exists()


def test_a_correction_of_another_cylinder_is_refused(lab: LabClient, first: Answer) -> None:
    other = order_at(lab.lab, "ZZ90000")
    sent = correction()
    sent["record"]["cylinder"]["tag"] = tag_of(other).code
    answer = lab.post(sent, path=CORRECTIONS)
    assert (answer.status, answer.code) == (409, "other_cylinder")
    sent["record"]["cylinder"]["tag"] = tag_of(
        Cylinder.objects.get(serial="KX40417").work_orders.get()
    ).code
    assert lab.post(sent, path=CORRECTIONS).status == 201


def test_a_record_is_corrected_once_and_its_correction_in_turn(
    lab: LabClient, first: Answer
) -> None:
    lab.post(correction(), path=CORRECTIONS)
    answer = lab.post(correction("NG-3"), path=CORRECTIONS)
    assert (answer.status, answer.code) == (409, "already_corrected")
    assert lab.post(correction("NG-3"), path=f"{RECORDS}/NG-2/corrections").status == 201
    assert lab.post(correction("NG-1"), path=CORRECTIONS).code == "corrects_itself"
