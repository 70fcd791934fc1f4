"""What one lab may see: the consignments sent to it, the cylinders in its hands, its own records.

A cylinder is in a lab's hands from the moment its consignment left until it was scanned home, as
long as its visit is open. Nothing here names an owner.
"""

import datetime as dt
import re
from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Count, Q, QuerySet

from cylinders.models import Consignment, ConsignmentLine, Cylinder, Lab, TestRecord
from cylinders.queries import lab_reports
from cylinders.queries.owner_rows import extra_rows
from cylinders.queries.tested import known_cylinder, lab_standing, previous_tests
from cylinders.rules import judgement
from cylinders.rules.judgement import Judgement, TestBody

_SEPARATORS = re.compile(r"[\s\-./]+")


@dataclass(frozen=True, slots=True)
class Stamped:
    """The marks that name a cylinder when its tag cannot be read; empty text where not stamped."""

    authority: str
    specification: str
    serial: str
    manufacturer_mark: str


def lines_sent(*, lab_id: int) -> QuerySet[ConsignmentLine]:
    """The lines of cylinders that left for that lab in a visit that is still open.

    A record may be taken for each of these: a result often travels slower than its cylinder.
    """
    return (
        ConsignmentLine.objects.filter(
            consignment__lab_id=lab_id,
            consignment__sent_at__isnull=False,
            work_order__closed_at__isnull=True,
        )
        .select_related("consignment", "work_order__cylinder")
        .order_by("pk")
    )


def lines_in_hand(*, lab_id: int) -> QuerySet[ConsignmentLine]:
    """The same without those that have gone home: what is in the lab's hands now."""
    return lines_sent(lab_id=lab_id).filter(returned_at__isnull=True)


def consignments(*, lab_id: int) -> QuerySet[Consignment]:
    """What was sent to that lab, oldest first, with ``cylinders`` and ``in_hand`` counted."""
    return (
        Consignment.objects.filter(lab_id=lab_id, sent_at__isnull=False)
        .annotate(
            cylinders=Count("lines"),
            in_hand=Count("lines", filter=Q(lines__returned_at__isnull=True)),
        )
        .order_by("pk")
    )


def was_sent(*, lab_id: int, cylinder_id: int) -> bool:
    """Whether that cylinder was sent to that lab in a visit that is still open."""
    return lines_sent(lab_id=lab_id).filter(work_order__cylinder_id=cylinder_id).exists()


def cylinders_stamped(*, lab_id: int, stamped: Stamped) -> list[Cylinder]:
    """Every cylinder sent to that lab in an open visit that bears exactly these four marks.

    Case, blanks, hyphens, dots and slashes do not count ("KX 40417" is "KX40417"); nothing else is
    folded: O is not 0. More than one answer means that a person must look.
    """
    sent = {line.work_order.cylinder for line in lines_sent(lab_id=lab_id)}
    return [one for one in sent if folded(marks_of(one)) == folded(stamped)]


def records(*, lab_id: int) -> QuerySet[TestRecord]:
    """That lab's own records, in the order of their arrival."""
    return (
        TestRecord.objects.filter(lab_id=lab_id)
        .select_related("cylinder", "supersedes", "superseded_by", "daily_check")
        .order_by("pk")
    )


def references_by_order(
    *,
    lab_id: int,
    work_orders: Collection[int],
) -> dict[int, list[str]]:
    """The lab's references of the records of each of these visits."""
    found: dict[int, list[str]] = {}
    own = TestRecord.objects.filter(lab_id=lab_id, work_order__in=work_orders).order_by("pk")
    for order, reference in own.values_list("work_order", "lab_reference"):
        if order is not None:
            found.setdefault(order, []).append(reference)
    return found


def judged(*, lab_id: int, cylinder: Cylinder, body: TestBody, on: dt.date) -> Judgement:
    """What a record would be judged to be if it were sent now; nothing is stored."""
    sent = lines_sent(lab_id=lab_id).filter(work_order__cylinder=cylinder).last()
    order = sent.work_order if sent else None
    return judgement.judge(
        body,
        on=on,
        lab=lab_standing(Lab.objects.get(pk=lab_id)),
        known_cylinder=known_cylinder(cylinder, came_at=order.opened_at if order else None),
        previous=previous_tests(cylinder),
        extra=extra_rows(),
        on_file=lab_reports.on_file(
            lab_id=lab_id, body=body, work_order=order.pk if order else None
        ),
    )


def marks_of(cylinder: Cylinder) -> Stamped:
    """The four marks of a cylinder."""
    return Stamped(
        authority=cylinder.authority,
        specification=cylinder.specification,
        serial=cylinder.serial,
        manufacturer_mark=cylinder.manufacturer_mark,
    )


def folded(marks: Stamped) -> tuple[str, ...]:
    """The marks as they are compared."""
    parts = (marks.authority, marks.specification, marks.serial, marks.manufacturer_mark)
    return tuple(_SEPARATORS.sub("", part).upper() for part in parts)
