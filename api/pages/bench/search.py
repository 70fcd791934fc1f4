"""Where is it: the list that is asked for most."""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from django.urls import reverse
from django.utils.translation import gettext as _

from api.pages.bench.order import stage_name
from api.pages.bench.resolve import scanned
from api.pages.page import BenchPage
from cylinders.models import Cylinder, WorkOrder
from cylinders.queries.find import search
from labels.scanning import Named

LONGEST = 200


@dataclass(frozen=True, slots=True)
class Hit:
    """A cylinder that was found, and where it is."""

    cylinder: Cylinder
    where: str
    url: str


class Find(BenchPage):
    """By code, serial, owner or bag."""

    template = "pages/bench/find.html"
    tab = "find"

    def context(self) -> dict[str, Any]:
        """What was asked and what was found."""
        asked = self.request.GET.get("q", "")[:LONGEST].strip()
        return {"q": asked, "rows": self._hits(asked) if asked else []}

    def _hits(self, asked: str) -> list[Hit]:
        named = scanned(self.request, asked)
        by_tag = [named.cylinder] if isinstance(named, Named) and named.cylinder else []
        found = [*by_tag, *(c for c in search(asked) if c not in by_tag)]
        return where_are(found)


def where_are(cylinders: Iterable[Cylinder]) -> list[Hit]:
    """Each cylinder with the place of its open visit."""
    cylinders = list(cylinders)
    orders = {
        order.cylinder_id: order
        for order in WorkOrder.objects.filter(cylinder__in=cylinders, closed_at__isnull=True)
    }
    return [Hit(c, _where(orders.get(c.pk)), reverse("cylinder", args=[c.pk])) for c in cylinders]


def _where(order: WorkOrder | None) -> str:
    if order is None:
        return _("Not in the house")
    return _("%(stage_name)s since %(moved_at)s, order %(order)s") % {
        "stage_name": stage_name(order.stage),
        "moved_at": format(order.moved_at, "%Y-%m-%d"),
        "order": order.pk,
    }
