"""What a lab reports beside its test records: taken, corrected, voided, and what follows from it.

A report is never edited. Whatever arrives, and in whatever order, each test record of the day or of
the visit is judged again by all that stands: see :mod:`cylinders.operations.rejudging`.
"""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, LabReported, ReportSettled
from cylinders.models import Cylinder, Lab, LabReport, ReportState, ReportVoid
from cylinders.operations import rejudging
from cylinders.operations.chains import chain_of
from cylinders.operations.retest import order_at
from cylinders.queries.lab_reports import known
from cylinders.rules.lab_reports import judging
from cylinders.rules.lab_reports.bodies import Body, ReportKind
from cylinders.rules.lab_reports.judging import ReportJudgement
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import phrase, say


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """A report as it came: its kind, the body read and as text, and what it corrects and why."""

    kind: ReportKind
    body: Body
    text: str
    day: dt.date
    corrects: str = ""
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Receipt:
    """The stored report; ``created`` is false when the very same one was held already."""

    report: LabReport
    created: bool


@transaction.atomic
def receive(
    *, lab_id: int, cylinder_id: int | None, sent: Sent, at: dt.datetime, by: Actor
) -> Receipt:
    """Judge and keep a report; ``cylinder_id`` is None for a daily check.

    Raises :class:`Refused`: ``reference_used`` for another body under the same reference,
    ``not_at_lab``, ``no_reason``, ``already_corrected``, ``corrects_itself``, ``other_cylinder``.
    """
    lab = Lab.objects.select_for_update().get(pk=lab_id)
    own = LabReport.objects.filter(lab=lab, kind=sent.kind)
    held = own.filter(lab_reference=sent.body.lab_reference).first()
    if held:
        return _held_already(held, sent)
    cylinder = None if cylinder_id is None else history.lock(cylinder_id)
    if sent.corrects:
        _check_correction(lab, cylinder_id, sent)
    order = order_at(lab, cylinder) if cylinder else None
    judged = judging.judge(sent.body, known(cylinder) if cylinder else None)
    report = LabReport.objects.create(
        lab=lab,
        kind=sent.kind,
        lab_reference=sent.body.lab_reference,
        cylinder=cylinder,
        work_order=order,
        day=sent.day,
        received_at=at,
        body=sent.text,
        answer=as_json(judged),
        came=judged.came,
        corrects=sent.corrects,
        correction_reason=sent.reason,
    )
    if cylinder:
        _note(report, cylinder, at=at, by=by)
    _settle(report, at=at, by=by)
    report.refresh_from_db()
    return Receipt(report, created=True)


@transaction.atomic
def void(
    *, lab_id: int, kind: ReportKind, lab_reference: str, reason: str, at: dt.datetime, by: Actor
) -> tuple[ReportVoid, bool]:
    """Take one report out, as if it had never come; returns the void and whether it is new.

    Raises :class:`Refused`: ``no_reason``.
    """
    lab = Lab.objects.select_for_update().get(pk=lab_id)
    key = {"lab": lab, "kind": kind, "lab_reference": lab_reference}
    held = ReportVoid.objects.filter(**key).first()
    if held:
        return held, False
    _check_reason(reason)
    made = ReportVoid.objects.create(**key, reason=reason, received_at=at)
    report = LabReport.objects.filter(**key).first()
    if report:
        _settle(report, at=at, by=by)
    return made, True


def as_json(judged: ReportJudgement) -> dict[str, object]:
    """The judgement for a machine."""
    checks = [
        {
            "code": one.code,
            "outcome": str(one.outcome),
            "says": str(one.says),
            "cites": str(one.cites),
        }
        for one in judged.checks
    ]
    return {"reasons": [str(one) for one in judged.reasons], "checks": checks}


_USED = phrase(
    "{reference} came with another body. Choose a fresh reference, or send a correction."
)
_OTHER = phrase("{corrects} is of another cylinder. Void it and send a new one.")
_TAKEN = phrase("{other} corrects {corrects} already. Correct that one.")


def _held_already(held: LabReport, sent: Sent) -> Receipt:
    if held.body != sent.text or held.corrects != sent.corrects:
        raise Refused("reference_used", say(_USED, reference=held.lab_reference))
    return Receipt(held, created=False)


def _check_correction(lab: Lab, cylinder_id: int | None, sent: Sent) -> None:
    _check_reason(sent.reason)
    if sent.corrects == sent.body.lab_reference:
        raise Refused("corrects_itself", say("A correction has a reference of its own."))
    own = LabReport.objects.filter(lab=lab, kind=sent.kind)
    other = own.filter(corrects=sent.corrects).first()
    if other:
        taken = {"other": other.lab_reference, "corrects": sent.corrects}
        raise Refused("already_corrected", say(_TAKEN, **taken))
    earlier = own.filter(lab_reference=sent.corrects).first()
    if earlier and earlier.cylinder_id != cylinder_id:
        raise Refused("other_cylinder", say(_OTHER, corrects=sent.corrects))


def _check_reason(reason: str) -> None:
    if not reason.strip():
        raise Refused("no_reason", say("Write what was wrong with the report."))


def _note(report: LabReport, cylinder: Cylinder, *, at: dt.datetime, by: Actor) -> None:
    facts = LabReported(
        work_order=report.work_order_id,
        report=report.pk,
        lab=report.lab_id,
        lab_reference=report.lab_reference,
        about=report.kind,
        day=report.day.isoformat(),
        came=report.came,
        why=report.answer["reasons"],
        body_sha256=history.digest_of(report.body),
        answer_sha256=history.digest_of_value(report.answer),
        corrects=report.corrects,
    )
    history.append(cylinder, facts, at=at, by=by)


def _settle(report: LabReport, *, at: dt.datetime, by: Actor) -> None:
    """Bring the chain of a report in step, then judge again the records that it bears on."""
    own = LabReport.objects.filter(lab=report.lab_id, kind=report.kind, cylinder=report.cylinder_id)
    links = chain_of(report, own)
    voids = dict(
        ReportVoid.objects.filter(
            lab=report.lab_id,
            kind=report.kind,
            lab_reference__in=[link.lab_reference for link in links],
        ).values_list("lab_reference", "reason")
    )
    counting = ""
    for link in reversed(links):
        if link.lab_reference in voids:
            _put(link, ReportState.VOIDED, voids[link.lab_reference], at=at, by=by)
        elif counting:
            says = say("{other} has taken its place", other=counting)
            _put(link, ReportState.SUPERSEDED, says, at=at, by=by)
        else:
            counting = link.lab_reference
            _put(link, ReportState.STANDING, say("nothing stands in its place"), at=at, by=by)
    rejudging.after(links, because=report.lab_reference, at=at, by=by)


def _put(report: LabReport, state: ReportState, why: str, *, at: dt.datetime, by: Actor) -> None:
    if report.state == state:
        return
    report.state = state
    report.save(update_fields=["state"])
    if report.cylinder_id is None:
        return
    facts = ReportSettled(
        report=report.pk,
        lab_reference=report.lab_reference,
        about=report.kind,
        state=state.value,
        why=why,
    )
    history.append(history.lock(report.cylinder_id), facts, at=at, by=by)
