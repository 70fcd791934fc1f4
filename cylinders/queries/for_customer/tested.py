"""What was measured and seen, with what each figure means."""

import datetime as dt
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from cylinders.models import Cylinder, RecordState, TestRecord
from cylinders.rules import judgement
from cylinders.rules.month import Month
from cylinders.rules.quantity import Quantity
from cylinders.rules.wording import Least, say, together

_METHODS = {
    "water_jacket": say("Water jacket test"),
    "direct_expansion": say("Direct expansion test"),
    "proof_pressure": say("Proof pressure test"),
}
_WORDS = {
    "passed": (say("Passed"), "ok"),
    "rejected": (say("Rejected"), "fail"),
    "condemned": (say("Condemned"), "fail"),
    "invalid": (say("Does not count"), "unknown"),
    "held": (say("Being checked"), "unknown"),
    "waiting": (say("Being checked"), "unknown"),
}


@dataclass(frozen=True, slots=True)
class Figure:
    """One measured figure and what it means."""

    name: str
    value: str
    means: str


@dataclass(frozen=True, slots=True)
class Check:
    """One thing that the record was checked for, with the clause behind it."""

    outcome: str
    says: str
    cites: str


@dataclass(frozen=True, slots=True)
class Tested:
    """One pressure test of a lab, as it was judged here."""

    number: int
    on: dt.date
    method: str
    lab: str
    rin: str
    reference: str
    word: str
    tone: str
    figures: tuple[Figure, ...]
    checks: tuple[Check, ...]
    next_due: dt.date | None


@dataclass(frozen=True, slots=True)
class Looked:
    """One inspection of the shop."""

    on: dt.date
    standard: str
    word: str
    tone: str
    looks: tuple[tuple[str, str], ...]


def tests(cylinder: Cylinder) -> tuple[Tested, ...]:
    """Every test that counts, the latest first; a record that is held or dismissed is not shown."""
    records = (
        cylinder.records.filter(state=RecordState.ATTACHED)
        .select_related("lab")
        .order_by("-tested_on", "-pk")
    )
    return tuple(_tested(record) for record in records)


def inspections(cylinder: Cylinder) -> tuple[Looked, ...]:
    """Every inspection, the latest first."""
    looked = cylinder.inspections.order_by("-done_on", "-pk")
    return tuple(
        Looked(
            on=row.done_on,
            standard=row.standard,
            word=_WORDS[row.result][0],
            tone=_WORDS[row.result][1],
            looks=(
                (say("Inside"), row.internal.replace("_", " ")),
                (say("Outside"), row.external.replace("_", " ")),
                (say("Threads"), row.threads.replace("_", " ")),
            ),
        )
        for row in looked
    )


def _tested(record: TestRecord) -> Tested:
    body = judgement.parse(judgement.loads(record.body))
    word, tone = _WORDS[record.verdict]
    next_due = record.answer["next_due"]
    return Tested(
        number=record.pk,
        on=record.tested_on,
        method=_METHODS[body.method],
        lab=record.lab.name,
        rin=record.lab.rin,
        reference=record.lab_reference,
        word=word,
        tone=tone,
        figures=tuple(_figures(body, record.answer)),
        checks=tuple(
            Check(check["outcome"], check["says"], check["cites"])
            for check in record.answer["checks"]
        ),
        next_due=Month.parse(next_due).last_day if next_due and word == "Passed" else None,
    )


def _figures(body: judgement.TestBody, answer: dict[str, Any]) -> list[Figure]:
    figures = [
        Figure(
            say("Test pressure"),
            say("{pressure}", pressure=body.test_pressure),
            _required(answer) or say("What it was pressed to."),
        )
    ]
    figures += _figure(
        say("Total expansion"),
        body.total_expansion,
        say("How much it grew while the pressure was on."),
    )
    figures += _figure(
        say("Permanent expansion"),
        body.permanent_expansion,
        say("How much of that stayed when the pressure was gone. Sound metal springs back."),
    )
    share = answer["percent_permanent"]
    if share:
        judged = [c["says"] for c in answer["checks"] if c["code"] == "permanent_expansion"]
        stayed = say("{share} %", share=Decimal(share))
        figures.append(Figure(say("Share that stayed"), stayed, together(judged)))
    return figures


def _figure(name: str, value: Quantity | None, means: str) -> list[Figure]:
    return [] if value is None else [Figure(name, say("{value}", value=value), means)]


def _required(answer: dict[str, Any]) -> str:
    required = answer["required_test_pressure"]
    if not required:
        return ""
    least = Least(Quantity(Decimal(required["value"]), required["unit"]))
    return say("At least {least} is required.", least=least)
