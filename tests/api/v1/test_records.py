"""A record that a lab posts is judged, kept once, and told again."""

import pytest

from cylinders.models import Cylinder, Lab, TestRecord
from cylinders.operations import consignment
from cylinders.queries.verification import verify
from labels.operations import binding
from tests import makers
from tests.api.v1.lab import BY, RECORDS, LabClient, body, make_lab_client, order_at, tag_of

pytestmark = [pytest.mark.both_engines, pytest.mark.django_db]


def test_a_good_record_is_stored_judged_and_can_be_read_again(lab: LabClient) -> None:
    posted = lab.post(body())
    assert posted.status == 201, posted.raw
    assert posted.headers["Location"] == f"{RECORDS}/NG-2026-0417"
    assert (posted.json["verdict"], posted.json["state"]) == ("passed", "attached")
    assert posted.json["next_due"] == "2031-11"
    read = lab.get(posted.headers["Location"])
    assert read.status == 200
    assert read.json["body"] == body()
    assert {name: read.json[name] for name in posted.json} == posted.json
    assert Cylinder.objects.get().requalified == "2026-11"
    assert verify().ok


def test_the_labs_own_verdict_never_counts_against_its_numbers(lab: LabClient) -> None:
    # 49 CFR 180.205(i)(1)(iii), 2019-10-01 edition: more than 10 % permanent condemns
    over = {"value": "7.1", "unit": "cc"}
    posted = lab.post(body(permanent_expansion=over, elastic_expansion=None))
    assert posted.status == 201
    assert posted.json["verdict"] == "condemned"
    assert Cylinder.objects.get().life == "condemned"


def test_a_record_that_contradicts_itself_is_held_and_changes_no_cylinder(lab: LabClient) -> None:
    posted = lab.post(body(stamp={"month": 3, "year": 2024, "symbol": None}))
    assert posted.status == 201
    assert (posted.json["verdict"], posted.json["state"]) == ("held", "held")
    assert posted.json["reasons"]
    assert Cylinder.objects.get().requalified == "2021-11"
    assert verify().ok


def test_the_same_record_with_another_key_is_held_already(lab: LabClient) -> None:
    first, again = lab.post(body(), key="a"), lab.post(body(), key="b")
    assert (first.status, again.status) == (201, 200)
    assert first.json == again.json
    assert TestRecord.objects.count() == 1


def test_the_same_record_is_held_already_also_after_its_cylinder_went_home(lab: LabClient) -> None:
    lab.post(body())
    order = Cylinder.objects.get().work_orders.get()
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    assert lab.post(body()).status == 200


def test_a_record_is_taken_after_its_cylinder_went_home_before_it(lab: LabClient) -> None:
    order = Cylinder.objects.get().work_orders.get()
    consignment.take_back(work_order_id=order.pk, at=makers.NOON, by=BY)
    assert lab.post(body()).status == 201


def test_a_reference_names_one_record_for_ever(lab: LabClient) -> None:
    lab.post(body())
    other = lab.post(body(hold_seconds=31))
    assert (other.status, other.code) == (409, "reference_used")
    order_at(lab.lab, "ZZ90000")
    assert lab.post(body("ZZ90000")).code == "reference_used"
    assert TestRecord.objects.count() == 1


def test_two_labs_may_use_one_reference(lab: LabClient) -> None:
    other = make_lab_client("Z998")
    order_at(other.lab, "ZZ90000")
    assert lab.post(body()).status == 201
    assert other.post(body("ZZ90000", rin="Z998")).status == 201


def test_a_cylinder_is_named_by_its_tag_in_any_writing(lab: LabClient) -> None:
    order = order_at(lab.lab, "ZZ90000")
    tag = tag_of(order)
    sent = body("ZZ90000")
    for number, text in enumerate((tag.code, f" {tag.code.lower()[:4]}-{tag.code[4:]}".strip())):
        sent = body("ZZ90000", f"R-{number}")
        sent["cylinder"]["tag"] = text
        assert lab.post(sent).status == 201, text


def test_a_right_tag_with_another_serial_is_held_for_a_person(lab: LabClient) -> None:
    order = order_at(lab.lab, "ZZ90000")
    sent = body("KX40417")
    sent["cylinder"]["tag"] = tag_of(order).code
    posted = lab.post(sent)
    assert (posted.status, posted.json["state"]) == (201, "held")


def test_an_unknown_cylinder_and_another_labs_are_not_told_apart(lab: LabClient) -> None:
    other = make_lab_client("Z998")
    elsewhere = order_at(other.lab, "ZZ90000")
    home = makers.receive(serial="HM10000")
    answers = [lab.post(body(serial)) for serial in ("ZZ90000", "HM10000", "NEVERSEEN")]
    for tag in (tag_of(elsewhere).code, tag_of(home).code, "7K2M9QX4WBTCK"):
        sent = body()
        sent["cylinder"]["tag"] = tag
        answers.append(lab.post(sent))
    assert {(answer.status, answer.code) for answer in answers} == {(404, "cylinder_not_found")}
    assert len({answer.json["detail"] for answer in answers[:3]}) == 1
    assert len({answer.json["detail"] for answer in answers[3:]}) == 1
    assert not TestRecord.objects.exists()


def test_marks_that_fit_two_cylinders_choose_neither(lab: LabClient) -> None:
    order_at(lab.lab, "KX-40417")
    answer = lab.post(body())
    assert (answer.status, answer.code) == (409, "cylinder_ambiguous")


def test_look_alike_letters_are_not_folded_in_a_serial(lab: LabClient) -> None:
    assert lab.post(body("KX4O417")).status == 404
    assert lab.post(body("kx 40417")).status == 201


def test_a_retired_tag_is_told_so_only_to_the_lab_that_has_the_cylinder(lab: LabClient) -> None:
    order = Cylinder.objects.get().work_orders.get()
    code = tag_of(order).code
    binding.replace(code=code, host="CYL.EXAMPLE", reason="torn", at=makers.NOON, by=BY)
    sent = body()
    sent["cylinder"]["tag"] = code
    assert lab.post(sent).code == "tag_retired"
    assert make_lab_client("Z998").post(sent).code == "cylinder_not_found"


def test_a_lab_reads_its_own_records_only(lab: LabClient) -> None:
    other = make_lab_client("Z998")
    lab.post(body())
    assert other.get(f"{RECORDS}/NG-2026-0417").code == "not_found"
    assert other.get(RECORDS).json == {"items": [], "next": None}
    assert [one["lab_reference"] for one in lab.get(RECORDS).json["items"]] == ["NG-2026-0417"]


def test_a_record_is_not_sent_again_to_whoever_has_it(lab: LabClient) -> None:
    where = lab.post(body()).headers["Location"]
    tag = lab.get(where).headers["ETag"]
    assert lab.get(where, if_none_match=tag).status == 304
    assert lab.get(where, if_none_match='"other"').status == 200


def test_an_expired_number_of_the_lab_is_never_a_silent_pass(lab: LabClient) -> None:
    # 49 CFR 180.205(b), 2019-10-01 edition: the requalifier holds a number in force
    Lab.objects.update(rin_valid_until="2026-11-19")
    assert lab.post(body()).json["verdict"] != "passed"
