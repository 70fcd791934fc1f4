"""Back at the shop: the new stamp is typed in and held against the lab's record."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, StampCompared
from cylinders.models import RecordState, TestRecord, WorkOrder
from cylinders.operations import visit
from cylinders.rules import judgement, markings
from cylinders.rules.judgement.case import symbol_of
from cylinders.rules.markings.marks import RequalificationMark
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


@dataclass(frozen=True, slots=True)
class Comparison:
    """Whether stamp and record agree; each difference is a sentence."""

    agrees: bool
    differences: tuple[str, ...]
    record: TestRecord


@transaction.atomic
def compare_stamp(
    *,
    work_order_id: int,
    typed: str,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Comparison:
    """Compare the newest mark in ``typed`` with the passed record of this visit.

    Month, identification number, year and symbol must all agree (49 CFR 180.213(d), (f)). Raises
    :class:`Refused` when there is nothing to compare with, or no mark can be read in ``typed``.
    """
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.COMPARE_STAMP)
    record = _record_of(order)
    mark = markings.read(typed, on=on).latest_requalification
    if mark is None:
        raise Refused(
            "stamp_not_read",
            say(
                "No requalification mark could be read in that. Type month, number and "
                'year as stamped, e.g. "11 Z4/71 26".'
            ),
            "49 CFR 180.213(d)",
        )
    differences = _differences(mark, record)
    order.stamp_agrees = not differences
    order.save(update_fields=["stamp_agrees"])
    facts = StampCompared(
        work_order=order.pk,
        record=record.pk,
        typed=typed,
        agrees=not differences,
        differences=list(differences),
    )
    history.append(cylinder, facts, at=at, by=by)
    return Comparison(not differences, differences, record)


def _record_of(order: WorkOrder) -> TestRecord:
    record = (
        order.records.filter(state=RecordState.ATTACHED, verdict="passed").order_by("-pk").first()
    )
    if record is None:
        raise Refused(
            "no_record",
            say("There is no passed test record for this visit. Ask the lab to send it first."),
            "49 CFR 180.215(b)",
        )
    return record


def _differences(mark: RequalificationMark, record: TestRecord) -> tuple[str, ...]:
    body = judgement.parse(judgement.loads(record.body))
    if body.stamp is None:
        return (say("The record names no stamp at all."),)
    pairs = {
        "month": (mark.date.month, body.stamp.month),
        "year": (mark.date.year, body.stamp.year),
        say("identification number"): (mark.rin or "none", body.rin),
        "symbol": (mark.symbol or "none", symbol_of(body) or "none"),
    }
    return tuple(
        say(
            "The {name} is stamped {stamped}, the record says {recorded}.",
            name=name,
            stamped=stamped,
            recorded=recorded,
        )
        for name, (stamped, recorded) in pairs.items()
        if stamped != recorded
    )
