"""One report that a lab sent beside its records, from its JSON value to a stored, judged report.

The API and the lab's pages both come through here.
"""

import datetime as dt
from typing import Any

from django.utils import timezone

from api import at_the_lab
from api.posted_records import canonical
from cylinders.facts import Actor
from cylinders.models import Cylinder, LabReport
from cylinders.operations import lab_reports
from cylinders.operations.lab_reports import Receipt, Sent
from cylinders.queries.for_lab import Stamped
from cylinders.queries.lab_reports import reports
from cylinders.rules.judgement.body import Cylinder as Named
from cylinders.rules.lab_reports import reading
from cylinders.rules.lab_reports.bodies import Body, CalibrationBody, ReportKind
from cylinders.rules.refusal import Refused

#: A lab may stand in a time zone whose day has begun before the shop's.
_AHEAD = dt.timedelta(days=1)


def receive(
    *,
    lab_id: int,
    kind: ReportKind,
    value: object,
    at: dt.datetime,
    by: Actor,
    corrects: str = "",
    reason: str = "",
) -> Receipt:
    """Store and judge one report; the cylinder of an inspection or drying was sent to that lab.

    Raises ``UnusableBody`` for a wrong shape, and :class:`Refused`: ``cylinder_not_found``,
    ``cylinder_ambiguous``, ``tag_retired``, ``tested_in_future``, or what the operation refuses.
    The same report again is no error, also when its cylinder has gone home.
    """
    body = reading.read(kind, value)
    if body.date > timezone.localdate(at) + _AHEAD:
        says = f"{body.date} is a day to come. Check the date."
        raise Refused("tested_in_future", says)
    sent = Sent(
        kind=kind,
        body=body,
        text=canonical(value),
        day=body.date,
        corrects=corrects,
        reason=reason,
    )
    held = reports(lab_id=lab_id, kind=kind).filter(lab_reference=body.lab_reference).first()
    earlier = reports(lab_id=lab_id, kind=kind).filter(lab_reference=corrects).first()
    cylinder = None if held else _cylinder(lab_id, body, earlier)
    return lab_reports.receive(
        lab_id=lab_id,
        cylinder_id=cylinder.pk if cylinder else None,
        sent=sent,
        at=at,
        by=by,
    )


def as_told(report: LabReport) -> dict[str, Any]:
    """A report as the lab is told of it: what it comes to, why, and whether it counts."""
    later = reports(lab_id=report.lab_id, kind=ReportKind(report.kind)).filter(
        corrects=report.lab_reference
    )
    return {
        "lab_reference": report.lab_reference,
        "came": report.came,
        "state": report.state,
        "day": report.day.isoformat(),
        "received_at": report.received_at.isoformat(),
        "reasons": report.answer["reasons"],
        "checks": report.answer["checks"],
        "supersedes": report.corrects or None,
        "correction_reason": report.correction_reason or None,
        "superseded_by": later.values_list("lab_reference", flat=True).first(),
    }


def _cylinder(lab_id: int, body: Body, earlier: LabReport | None) -> Cylinder | None:
    """The cylinder that a body names, that of what it corrects first; None for a daily check."""
    if isinstance(body, CalibrationBody):
        return None
    named = body.cylinder
    if earlier is None or earlier.cylinder is None:
        return at_the_lab.named(lab_id=lab_id, tag=named.tag or "", stamped=_marks(named))
    if named.tag and not at_the_lab.bears(earlier.cylinder, named.tag):
        says = f"{earlier.lab_reference} is of a cylinder that does not bear this tag."
        raise Refused("other_cylinder", says)
    return earlier.cylinder


def _marks(named: Named) -> Stamped:
    return Stamped(
        authority=named.authority or "",
        specification=named.specification or "",
        serial=named.serial,
        manufacturer_mark=named.manufacturer_mark,
    )
