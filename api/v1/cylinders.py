"""GET /api/v1/cylinders and /api/v1/consignments: what the lab has and what was sent to it."""

from collections.abc import Mapping, Sequence
from typing import Any, ClassVar

from django.http import HttpResponse
from rest_framework.request import Request

from api import at_the_lab
from api.at_the_lab import InHand
from api.keys import Scope
from api.v1 import paging, shapes
from api.v1.authentication import caller_of
from api.v1.described import described
from api.v1.view import LabView
from cylinders.models import Consignment, ConsignmentLine
from cylinders.queries import for_lab
from cylinders.rules.quantity import as_json


class Cylinders(LabView):
    """The cylinders in the lab's hands."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_CYLINDERS}

    @described(
        name="list_cylinders",
        answers={200: shapes.page_of("CylinderInHand")},
        parameters=shapes.PAGE_PARAMETERS,
    )
    def get(self, request: Request) -> HttpResponse:
        """List the cylinders that were sent to this lab and have not gone home.

        In the order of packing. A cylinder is named by its tag, or by its marks where a tag cannot
        be read.
        """
        lab_id = caller_of(request).lab.pk

        def show(lines: Sequence[ConsignmentLine]) -> list[dict[str, Any]]:
            return [_cylinder(one) for one in at_the_lab.in_hand(lab_id=lab_id, lines=lines)]

        return paging.page(request, for_lab.lines_in_hand(lab_id=lab_id), show)


class Consignments(LabView):
    """What was sent to the lab."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_CYLINDERS}

    @described(
        name="list_consignments",
        answers={200: shapes.page_of("Consignment")},
        parameters=shapes.PAGE_PARAMETERS,
    )
    def get(self, request: Request) -> HttpResponse:
        """List the consignments that left for this lab, oldest first, closed ones too."""
        rows = for_lab.consignments(lab_id=caller_of(request).lab.pk)
        return paging.page(request, rows, lambda found: [_consignment(row) for row in found])


def _cylinder(one: InHand) -> dict[str, Any]:
    cylinder = one.cylinder
    return {
        "tag": one.tag or None,
        "teardown_tag": one.teardown_tag or None,
        "authority": cylinder.authority or None,
        "specification": cylinder.specification or None,
        "permit": cylinder.permit or None,
        "serial": cylinder.serial or None,
        "manufacturer_mark": cylinder.manufacturer_mark or None,
        "service_pressure": as_json(cylinder.pressure),
        "material": cylinder.material or None,
        "alloy": cylinder.alloy or None,
        "neck_thread": cylinder.neck_thread or None,
        "first_test": cylinder.first_test or None,
        "requalified": cylinder.requalified or None,
        "services": one.line.work_order.services,
        "consignment": one.line.consignment_id,
        "records": list(one.references),
    }


def _consignment(row: Consignment) -> dict[str, Any]:
    counts = {name: getattr(row, name) for name in ("cylinders", "in_hand")}
    return {
        "consignment": row.pk,
        "sent_at": row.sent_at.isoformat() if row.sent_at else None,
        "carrier": row.carrier,
        "closed_at": row.closed_at.isoformat() if row.closed_at else None,
        **counts,
    }
