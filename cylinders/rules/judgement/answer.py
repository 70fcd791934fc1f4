"""The answer to one test record, in the published shape."""

from dataclasses import dataclass

from cylinders.rules.judgement.ruling import Judgement
from cylinders.rules.quantity import as_json as quantity_as_json
from cylinders.rules.verdict import Finding

Json = dict[str, object]


@dataclass(frozen=True, slots=True, eq=False, weakref_slot=True)
class Answered:
    """A judgement and its answer in the published shape, which nobody may change."""

    judgement: Judgement
    answer: Json


def as_json(judgement: Judgement) -> Json:
    """The judgement for a machine; ``reasons`` are the sentences that led to the verdict."""
    percent = judgement.percent_permanent
    return {
        "lab_reference": judgement.lab_reference,
        "on": judgement.on.isoformat(),
        "verdict": str(judgement.verdict),
        "percent_permanent": None if percent is None else f"{percent:f}",
        "required_test_pressure": quantity_as_json(judgement.required_test_pressure),
        "elastic_expansion": quantity_as_json(judgement.elastic_expansion),
        "next_due": None if judgement.next_due is None else str(judgement.next_due),
        "reasons": list(judgement.reasons),
        "checks": [_check(finding) for finding in judgement.checks],
    }


def _check(finding: Finding) -> Json:
    return {
        "code": finding.code,
        "outcome": str(finding.outcome),
        "says": finding.says,
        "cites": str(finding.cites),
    }
