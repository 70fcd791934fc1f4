"""A lab tries its file and sends it then: judged once, and afresh wherever anything has moved."""

import datetime as dt
import json
from collections.abc import Callable
from typing import Any

import pytest
from django.db import transaction

from api import posted_records
from cylinders.facts import Actor
from cylinders.models import Cylinder, Lab, Life, TestRecord
from cylinders.queries.verification import verify
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody, remembered
from tests import makers
from tests.api.v1.lab import LabClient, body, make_lab_client
from tests.api.v1.test_batches import cylinders_at, lines, post, verdicts

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.both_engines]


@pytest.fixture
def lab() -> LabClient:
    """A lab with three cylinders in its hands."""
    makers.technician_one()
    client = make_lab_client()
    cylinders_at(client, ("ZZ0", "ZZ1", "ZZ2"))
    return client


@pytest.fixture
def judged(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The references of the records that were really judged."""
    made: list[str] = []

    def counted(body: TestBody, **beside: Any) -> Judgement:
        made.append(body.lab_reference)
        return judgement.judge(body, **beside)

    monkeypatch.setattr(remembered, "judge", counted)
    return made


def stored() -> list[dict[str, Any]]:
    left_out = ("id", "received_at")
    names = [one.attname for one in TestRecord._meta.concrete_fields if one.name not in left_out]
    return list(TestRecord.objects.order_by("lab_reference").values(*names))


def test_a_file_that_was_tried_is_judged_once(lab: LabClient, judged: list[str]) -> None:
    content = "\n".join(lines(3))
    tried = verdicts(lab, post(lab, content, "?dry_run=true"))
    assert judged == ["B-0", "B-1", "B-2"]
    assert verdicts(lab, post(lab, content)) == tried
    assert judged == ["B-0", "B-1", "B-2"]
    assert [row["lab_reference"] for row in stored()] == judged
    assert verify().ok


def sent_and_undone(lab: LabClient) -> list[dict[str, Any]]:
    """What stands there when the file has been sent; it is taken back."""
    with transaction.atomic():
        posted_records.receive_many(
            lab_id=lab.lab.pk, texts=lines(3), at=makers.NOON, by=Actor("lab", "1")
        )
        rows = stored()
        transaction.set_rollback(True)
        return rows


def test_what_is_taken_from_memory_is_stored_as_what_was_judged(
    lab: LabClient, judged: list[str]
) -> None:
    fresh = sent_and_undone(lab)
    assert len(fresh) == len(judged) == 3
    assert sent_and_undone(lab) == fresh
    assert len(judged) == 3


def number_ran_out(_lab: LabClient) -> None:
    Lab.objects.update(rin_valid_until=dt.date(2020, 1, 1))


def was_condemned(_lab: LabClient) -> None:
    Cylinder.objects.filter(serial="ZZ1").update(life=Life.CONDEMNED)


def is_of_more_pressure(_lab: LabClient) -> None:
    Cylinder.objects.filter(serial="ZZ1").update(service_pressure="3500")


def was_tested_before(lab: LabClient) -> None:
    """The same cylinder on the same day: over its limit."""
    over = {
        "permanent_expansion": {"value": "9.0", "unit": "cc"},
        "elastic_expansion": {"value": "61.0", "unit": "cc"},
    }
    answer = lab.post(body("ZZ1", "A-1", disposition="condemned", stamp=None, **over))
    assert answer.json["verdict"] == "condemned"


def was_seen_to_be_cracked(lab: LabClient) -> None:
    seen = makers.inspection_body("threads", result="fail", cylinder=body("ZZ1")["cylinder"])
    assert lab.post(seen, path="/api/v1/inspections").status == 201


@pytest.mark.parametrize(
    "moved",
    [
        number_ran_out,
        was_condemned,
        is_of_more_pressure,
        was_tested_before,
        was_seen_to_be_cracked,
    ],
)
def test_what_has_moved_since_the_trial_counts(
    lab: LabClient, judged: list[str], moved: Callable[[LabClient], None]
) -> None:
    content = json.dumps(body("ZZ1", "B-1"))
    [tried] = verdicts(lab, post(lab, content, "?dry_run=true")).values()
    assert tried["verdict"] == "passed"
    moved(lab)
    [sent] = verdicts(lab, post(lab, content)).values()
    assert judged == ["B-1", "B-1"]
    assert sent["verdict"] != "passed"


def test_the_memory_is_given_back_when_the_file_was_sent(lab: LabClient) -> None:
    content = "\n".join(lines(3))
    post(lab, content, "?dry_run=true")
    assert posted_records.read_line.cache_info().currsize == 3
    post(lab, content)
    assert posted_records.read_line.cache_info().currsize == 0
    assert remembered._answered.cache_info().currsize == 0
