"""Checks of the day, inspections and drying: kept once, judged, and leaned on by the records."""

import json
from itertools import permutations
from typing import Any

import pytest
from django.db.models import ProtectedError

from cylinders import history
from cylinders.facts import Kind
from cylinders.models import Cylinder, LabReport, TestRecord
from cylinders.queries.verification import verify
from tests import makers
from tests.api.v1.lab import RECORDS, Answer, LabClient, body, make_lab_client, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]

BASE = "/api/v1/"
CHECKS, LOOKS, DRYINGS = f"{BASE}calibrations", f"{BASE}inspections", f"{BASE}dryings"
PSI_CC = {"pressure": "psi", "expansion": "cc", "permanent": "cc"}


def bare(**changes: Any) -> dict[str, Any]:
    """A record that carries no check of its own."""
    return body(calibration=None, **changes)


def check(**changes: Any) -> dict[str, Any]:
    return makers.check_body(**changes)


def reading(pressure: str, expansion: str, permanent: str = "0.0") -> dict[str, Any]:
    shown = {"pressure": pressure, "expansion": expansion, "permanent": permanent}
    return {name: {"value": value, "unit": PSI_CC[name]} for name, value in shown.items()}


def state(lab: LabClient, reference: str = "NG-2026-0417") -> tuple[str, str]:
    read = lab.get(f"{RECORDS}/{reference}").json
    return read["state"], read["verdict"]


def reasons(lab: LabClient) -> str:
    return " ".join(lab.get(f"{RECORDS}/NG-2026-0417").json["reasons"])


def posted(answer: Answer, *expected: str) -> None:
    assert answer.status == 201, answer.raw
    assert (answer.json["came"], answer.json["state"]) == expected


# ------------------------------------------------------------------ kept as records are


@pytest.mark.parametrize(
    ("path", "sent"),
    [
        (CHECKS, makers.check_body()),
        (LOOKS, makers.inspection_body()),
        (DRYINGS, makers.drying_body()),
    ],
    ids=["calibration", "inspection", "drying"],
)
def test_a_report_is_kept_once_and_can_be_read_again(
    lab: LabClient, path: str, sent: dict[str, Any]
) -> None:
    first = lab.post(sent, path=path, key="a")
    posted(first, "passed", "standing")
    again = lab.post(sent, path=path, key="a")
    assert (again.status, again.raw) == (201, first.raw)
    assert lab.post(sent | {"operator": "op 5"}, path=path, key="a").status == 422
    by_reference = lab.post(sent, path=path, key="b")
    assert (by_reference.status, by_reference.raw) == (200, first.raw)
    assert lab.post(sent | {"operator": "op 5"}, path=path).code == "reference_used"
    read = lab.get(first.headers["Location"])
    assert read.json["body"] == sent
    assert lab.get(path).json["items"] == [first.json]
    assert lab.get(first.headers["Location"], if_none_match=read.headers["ETag"]).status == 304
    assert LabReport.objects.count() == 1
    assert verify().ok


@pytest.mark.parametrize(
    ("path", "change", "pointer"),
    [
        (CHECKS, {"time": "25:00"}, "/time"),
        (CHECKS, {"date": "2026-02-30"}, "/date"),
        (CHECKS, {"readings": []}, "/readings"),
        (CHECKS, {"certificate": {"number": "C", "date": "2026-01-01"}}, "/certificate/points"),
        (CHECKS, {"owner": "x"}, "/owner"),
        (CHECKS, {"lab_reference": "a b"}, "/lab_reference"),
        (LOOKS, {"gate": "everywhere"}, "/gate"),
        (LOOKS, {"result": "PASS "}, "/result"),
        (LOOKS, {"crack_thread_lengths": "1"}, "/crack_thread_lengths"),
        (LOOKS, {"gate": "eddy_current"}, "/crack_thread_lengths"),
        (DRYINGS, {"temperature": {"value": True, "unit": "C"}}, "/temperature/value"),
        (DRYINGS, {"temperature": {"value": "70", "unit": "psi"}}, "/temperature/unit"),
        (DRYINGS, {"minutes": "-1"}, "/minutes"),
    ],
    ids=str,
)
@pytest.mark.sampled(of=4)
def test_what_has_another_shape_is_refused_by_its_place(
    lab: LabClient, path: str, change: dict[str, Any], pointer: str
) -> None:
    sent = {CHECKS: check(), LOOKS: makers.inspection_body(), DRYINGS: makers.drying_body()}[path]
    refused = lab.post(sent | change, path=path)
    assert (refused.status, refused.code) == (400, "invalid_body")
    assert pointer in {one["pointer"] for one in refused.json["errors"]}
    assert not LabReport.objects.exists()


def test_a_day_to_come_is_refused(lab: LabClient) -> None:
    assert lab.post(check(date="2026-11-30"), path=CHECKS).code == "tested_in_future"


def test_a_cylinder_out_of_the_labs_hands_is_not_found(lab: LabClient) -> None:
    other = make_lab_client("Z998")
    for path, sent in ((LOOKS, makers.inspection_body()), (DRYINGS, makers.drying_body())):
        assert other.post(sent, path=path).code == "cylinder_not_found"
    assert other.get(f"{CHECKS}/CAL-1120-1").status == 404


def test_two_labs_may_use_one_reference(lab: LabClient) -> None:
    posted(lab.post(check(), path=CHECKS), "passed", "standing")
    posted(make_lab_client("Z998").post(check(), path=CHECKS), "passed", "standing")


def test_reports_of_a_cylinder_are_events_of_it(lab: LabClient) -> None:
    lab.post(makers.inspection_body(), path=LOOKS)
    lab.post(makers.drying_body(), path=DRYINGS)
    lab.post({"reason": "a slip"}, path=f"{LOOKS}/INS-inside/void")
    told = [e.kind for e in history.timeline(Cylinder.objects.get().pk)][-3:]
    assert told == [Kind.LAB_REPORTED, Kind.LAB_REPORTED, Kind.REPORT_SETTLED]
    assert verify().ok
    LabReport.objects.filter(kind="drying").update(came="failed")
    assert any("reports of its lab" in problem for problem in verify().problems)


# ------------------------------------------------------------------ the check of the day


@pytest.mark.parametrize(
    ("change", "came"),
    [
        ({}, "passed"),
        # 49 CFR 180.205(g)(4), 2019-10-01 edition: within 1.0 % of the certificate
        ({"readings": [reading("5000", "62.77")]}, "passed"),
        ({"readings": [reading("5000", "62.75")]}, "failed"),
        ({"readings": [reading("5000", "63.4", "0.1")]}, "failed"),
        ({"readings": [reading("6000", "76.0")]}, "unknown"),
        ({"readings": [reading("5000", "63.4"), reading("4000", "52")]}, "failed"),
        ({"gauge": None}, "passed"),
        ({"certificate": {**makers.check_body()["certificate"], "date": "2026-11-21"}}, "failed"),
    ],
    ids=str,
)
def test_a_check_is_judged_by_its_certificate(
    lab: LabClient, change: dict[str, Any], came: str
) -> None:
    answer = lab.post(check(**change), path=CHECKS)
    posted(answer, came, "standing")
    assert bool(answer.json["reasons"]) == (came != "passed")


def test_a_record_leans_on_the_check_of_its_day(lab: LabClient) -> None:
    lab.post(check(), path=CHECKS)
    sent = lab.post(bare())
    assert (sent.json["state"], sent.json["verdict"]) == ("attached", "passed")
    assert sent.json["daily_check"] == "CAL-1120-1"
    assert verify().ok


def test_a_record_that_carries_its_own_check_needs_no_other(lab: LabClient) -> None:
    sent = lab.post(body())
    assert (sent.json["state"], sent.json["daily_check"]) == ("attached", None)


WRONG_CHECKS: dict[str, tuple[list[dict[str, Any]], dict[str, Any], str]] = {
    "none": ([], {}, "has come"),
    "of another day": ([check(date="2026-11-19")], {}, "has come"),
    "named but not here": ([], {"daily_check": "CAL-9"}, "has not come"),
    "named of another day": (
        [check(date="2026-11-19")],
        {"daily_check": "CAL-1120-1"},
        "is of 2026-11-19",
    ),
    "at another pressure": (
        [check(readings=[reading("4000", "50.6")])],
        {},
        "must be within 500 psi",
    ),
    "out": ([check(readings=[reading("5000", "60")])], {}, "cannot be leaned on"),
    "a gauge that ends below": (
        [
            check(
                gauge={
                    **makers.check_body()["gauge"],
                    "full_scale": {"value": "5000", "unit": "psi"},
                }
            )
        ],
        {},
        "does not reach",
    ),
    "of another apparatus": ([check()], {"apparatus": "chamber 2"}, "chamber 2"),
    "went out later": (
        [check(), check(lab_reference="C-2", time="15:00", readings=[reading("5000", "60")])],
        {},
        "C-2",
    ),
    "one of two not right, none named": (
        [
            check(),
            check(lab_reference="C-2", apparatus="chamber 2", readings=[reading("5000", "60")]),
        ],
        {},
        "Name the apparatus",
    ),
}


@pytest.mark.parametrize("case", WRONG_CHECKS)
@pytest.mark.sampled(of=4)
def test_without_a_valid_check_of_its_day_a_record_is_held(lab: LabClient, case: str) -> None:
    checks, change, says = WRONG_CHECKS[case]
    for sent in checks:
        assert lab.post(sent, path=CHECKS).status == 201
    lab.post(bare(**change))
    assert state(lab) == ("held", "held")
    assert says in reasons(lab)
    assert Cylinder.objects.get().requalified == "2021-11"
    assert verify().ok


def test_a_check_that_was_out_first_is_made_good_by_a_later_one(lab: LabClient) -> None:
    lab.post(check(readings=[reading("5000", "60")]), path=CHECKS)
    lab.post(check(lab_reference="C-2", time="08:10"), path=CHECKS)
    assert lab.post(bare()).json["daily_check"] == "C-2"


def test_two_chambers_each_have_their_own_check(lab: LabClient) -> None:
    lab.post(check(), path=CHECKS)
    lab.post(check(lab_reference="C-2", apparatus="chamber 2"), path=CHECKS)
    assert lab.post(bare(apparatus="chamber 1")).json["daily_check"] == "CAL-1120-1"
    other = lab.post(bare(reference="R-2", apparatus="chamber 2"))
    assert other.json["daily_check"] == "C-2"


def test_a_proof_pressure_test_reads_no_expansion_and_needs_no_calibrated_cylinder(
    lab: LabClient,
) -> None:
    none = dict.fromkeys(("total_expansion", "permanent_expansion", "elastic_expansion"))
    sent = lab.post(bare(method="proof_pressure", **none))
    assert "has come" not in " ".join(sent.json["reasons"])


def test_a_check_that_comes_late_lets_the_record_count(lab: LabClient) -> None:
    lab.post(bare())
    assert state(lab) == ("held", "held")
    lab.post(check(), path=CHECKS)
    assert state(lab) == ("attached", "passed")
    assert Cylinder.objects.get().requalified == "2026-11"
    assert verify().ok


def test_a_check_that_is_taken_back_takes_its_records_with_it(lab: LabClient) -> None:
    lab.post(check(), path=CHECKS)
    lab.post(bare())
    voided = lab.post({"reason": "typed by mistake"}, path=f"{CHECKS}/CAL-1120-1/void")
    assert voided.status == 201
    assert lab.post({"reason": "again"}, path=f"{CHECKS}/CAL-1120-1/void").status == 200
    assert state(lab) == ("held", "held")
    assert Cylinder.objects.get().requalified == "2021-11"
    assert verify().ok


def test_a_corrected_check_is_never_edited_and_the_newer_one_counts(lab: LabClient) -> None:
    lab.post(check(readings=[reading("5000", "36.4")]), path=CHECKS)
    lab.post(bare())
    corrected = lab.post(
        {"reason": "figures turned", "report": check(lab_reference="C-2")},
        path=f"{CHECKS}/CAL-1120-1/corrections",
    )
    assert (corrected.status, corrected.json["supersedes"]) == (201, "CAL-1120-1")
    old = lab.get(f"{CHECKS}/CAL-1120-1").json
    assert (old["state"], old["superseded_by"], old["came"]) == ("superseded", "C-2", "failed")
    assert state(lab) == ("attached", "passed")
    second = lab.post(
        {"reason": "x", "report": check(lab_reference="C-3")},
        path=f"{CHECKS}/CAL-1120-1/corrections",
    )
    assert second.code == "already_corrected"


def test_a_correction_of_another_state_than_was_seen_is_refused(lab: LabClient) -> None:
    lab.post(check(), path=CHECKS)
    seen = lab.get(f"{CHECKS}/CAL-1120-1").headers["ETag"]
    sent = json.dumps({"reason": "x", "report": check(lab_reference="C-2")}).encode()
    path = f"{CHECKS}/CAL-1120-1/corrections"
    stale = lab.send("POST", path, sent, idempotency_key="k", if_match='"other"')
    assert (stale.status, stale.code) == (412, "record_changed")
    taken = [lab.send("POST", path, sent, idempotency_key="k", if_match=seen) for _ in range(2)]
    assert [one.status for one in taken] == [201, 201]
    assert taken[0].raw == taken[1].raw


ARRIVALS = ("check", "correction", "void", "record", "look")


def arrive(lab: LabClient, what: str) -> None:
    sent: dict[str, tuple[str, Any]] = {
        "check": (CHECKS, check(readings=[reading("5000", "60")])),
        "correction": (
            f"{CHECKS}/CAL-1120-1/corrections",
            {"reason": "a slip", "report": check(lab_reference="C-2")},
        ),
        "void": (f"{LOOKS}/INS-inside/void", {"reason": "another cylinder's"}),
        "record": (RECORDS, bare()),
        "look": (LOOKS, makers.inspection_body(result="fail")),
    }
    path, value = sent[what]
    assert lab.post(value, path=path).status == 201, what


ORDERS = list(permutations(ARRIVALS))


@pytest.mark.parametrize(
    "order",
    [
        pytest.param(o, marks=[] if n % 24 == 7 else [pytest.mark.long])
        for n, o in enumerate(ORDERS)
    ],
    ids="-".join,
)
@pytest.mark.sampled(of=3)
def test_every_order_of_arrival_ends_in_the_same_state(
    lab: LabClient, order: tuple[str, ...]
) -> None:
    for what in order:
        arrive(lab, what)
    assert state(lab) == ("attached", "passed")
    standing = set(LabReport.objects.values_list("lab_reference", "state"))
    assert standing == {
        ("CAL-1120-1", "superseded"),
        ("C-2", "standing"),
        ("INS-inside", "voided"),
    }
    assert Cylinder.objects.get().requalified == "2026-11"
    assert verify().ok


# ------------------------------------------------------------------ gates before the test


NOT_DONE = {"internal": "not_done", "external": "not_done", "standard": "CGA C-6.1"}


def test_inspections_that_came_by_themselves_open_the_gates_of_a_record(lab: LabClient) -> None:
    held = lab.post(body(visual=NOT_DONE))
    assert held.json["state"] == "held"
    for gate in ("inside", "outside"):
        posted(lab.post(makers.inspection_body(gate), path=LOOKS), "passed", "standing")
    assert state(lab) == ("attached", "passed")


@pytest.mark.parametrize("gate", ["inside", "outside", "threads", "eddy_current"])
@pytest.mark.parametrize("first", ["record", "look"])
@pytest.mark.sampled(of=4)
def test_a_gate_that_failed_holds_a_record_that_passes(
    lab: LabClient, gate: str, first: str
) -> None:
    failed = makers.inspection_body(gate, result="fail", notes="a fold")
    if first == "record":
        lab.post(body())
    posted(lab.post(failed, path=LOOKS), "failed", "standing")
    if first == "look":
        lab.post(body())
    assert state(lab) == ("held", "held")
    assert f"INS-{gate}" in reasons(lab)
    assert Cylinder.objects.get().requalified == "2021-11"
    assert verify().ok


def test_a_gate_after_the_test_was_none_before_it(lab: LabClient) -> None:
    for gate in ("inside", "outside"):
        lab.post(makers.inspection_body(gate, date="2026-11-21"), path=LOOKS)
    lab.post(body(visual=NOT_DONE))
    assert state(lab) == ("held", "held")
    assert "after the test" in reasons(lab)


def test_the_latest_look_at_a_gate_counts(lab: LabClient) -> None:
    lab.post(makers.inspection_body(result="fail", date="2026-11-18"), path=LOOKS)
    lab.post(makers.inspection_body(lab_reference="I-2"), path=LOOKS)
    lab.post(body())
    assert state(lab) == ("attached", "passed")


def test_a_failed_gate_agrees_with_a_record_that_rejects(lab: LabClient) -> None:
    lab.post(makers.inspection_body(result="fail"), path=LOOKS)
    seen = {"internal": "fail", "external": "pass", "standard": "CGA C-6.1"}
    lab.post(body(visual=seen, disposition="rejected", reason="pits", stamp=None))
    assert state(lab) == ("attached", "rejected")


def test_an_examination_that_the_alloy_asks_for_may_come_by_itself(lab: LabClient) -> None:
    # 49 CFR 180.209(m), 2019-10-01 edition: 6351-T6 in scuba service
    Cylinder.objects.update(alloy="6351-T6")
    marked = body()["cylinder"] | {"alloy": "6351-T6"}
    lab.post(body(cylinder=marked))
    assert state(lab) == ("held", "held")
    posted(lab.post(makers.inspection_body("eddy_current"), path=LOOKS), "passed", "standing")
    assert state(lab) == ("attached", "passed")
    assert Cylinder.objects.get().last_thread_examination == "2026-11"


def test_a_look_at_another_serial_than_the_tags_opens_no_gate(lab: LabClient) -> None:
    order = Cylinder.objects.get().work_orders.get()
    named = body()["cylinder"] | {"tag": tag_of(order).code, "serial": "ZZ90000"}
    answer = lab.post(makers.inspection_body(cylinder=named), path=LOOKS)
    posted(answer, "unknown", "standing")
    lab.post(body())
    assert state(lab) == ("held", "held")


# ------------------------------------------------------------------ drying


@pytest.mark.parametrize(
    ("celsius", "came"),
    # 49 CFR 180.203, 2019-10-01 edition: aluminium is over-heated from 176 C (350 F) on
    [(None, "passed"), ("71", "passed"), ("130", "passed"), ("175.9", "passed"), ("176", "failed")],
)
def test_drying_is_judged_by_the_limit_of_the_metal(
    lab: LabClient, celsius: str | None, came: str
) -> None:
    posted(lab.post(makers.drying_body(celsius), path=DRYINGS), came, "standing")


def test_over_heated_aluminium_is_condemned_also_when_the_drying_comes_late(
    lab: LabClient,
) -> None:
    lab.post(body(drying=None))
    assert state(lab) == ("attached", "passed")
    lab.post(makers.drying_body("180"), path=DRYINGS)
    # 180.205(i)(1)(viii) condemns; the lab's own "passed" against it is told beside
    assert state(lab)[1] == "condemned"
    assert Cylinder.objects.get().life == "condemned"
    assert verify().ok


def test_a_hot_drying_against_a_cool_one_in_the_record_holds_it(lab: LabClient) -> None:
    lab.post(makers.drying_body("180"), path=DRYINGS)
    lab.post(body())
    assert state(lab) == ("held", "held")
    assert "DRY-1" in reasons(lab)


# ------------------------------------------------------------------ kept for ever


def test_no_report_and_no_record_is_ever_deleted(lab: LabClient) -> None:
    lab.post(check(), path=CHECKS)
    lab.post(bare())
    with pytest.raises(ProtectedError):
        LabReport.objects.get().delete()
    assert TestRecord.objects.get().daily_check == LabReport.objects.get()
