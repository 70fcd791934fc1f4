"""Who looked at whom: each time staff open a page that shows a customer, a row says so.

Pages are found by the names of their addresses, so no page has to think of it. One person at one
customer counts once in a quarter of an hour, however often the page is reloaded.
"""

from collections.abc import Callable
from typing import TypeAlias

from django.core.cache import cache
from django.http import HttpRequest, HttpResponse
from django.utils import timezone

from cylinders.facts import Actor
from cylinders.models import Attachment, Cylinder, Notice, WorkOrder
from cylinders.operations import privacy

Answer: TypeAlias = Callable[[HttpRequest], HttpResponse]
QUARTER_OF_AN_HOUR = 15 * 60
_OK = 200

#: names of addresses whose ``pk`` is a customer, a cylinder, a message or a visit
_BY_CUSTOMER = frozenset({"person", "person-export"})
_BY_CYLINDER = frozenset({"cylinder", "owner-links", "receive-again", "photos"})
_BY_FILE = frozenset({"file"})
_BY_NOTICE = frozenset({"message-preview"})
_BY_ORDER = frozenset(
    {"teardown", "pack", "stamp", "inspection", "oxygen", "reassembly", "fill", "handover"}
    | {"stop", "notice", "service"}
)


class Looks:
    """Notes a look after the page was shown; a page that refused shows nothing."""

    def __init__(self, get_response: Answer) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Answer, then note whose data was in the answer."""
        response = self.get_response(request)
        if request.method == "GET" and response.status_code == _OK:
            self.note(request)
        return response

    def note(self, request: HttpRequest) -> None:
        """Write the row, where the page is one of those that name a customer."""
        match = request.resolver_match
        if match is None or not request.user.is_authenticated:
            return
        name, number = match.url_name or "", match.kwargs.get("pk")
        customer = _customer(name, number) if isinstance(number, int) else None
        if customer is None:
            return
        key = f"look:{request.user.pk}:{customer}"
        if cache.add(key, "1", timeout=QUARTER_OF_AN_HOUR):
            by = Actor("staff", str(request.user.pk))
            privacy.note_look(customer_id=customer, where=name, at=timezone.now(), by=by)


def _customer(name: str, number: int) -> int | None:
    """The customer that the page ``name`` of thing ``number`` shows, or None."""
    if name in _BY_CUSTOMER:
        return number
    if name in _BY_CYLINDER:
        return Cylinder.objects.filter(pk=number).values_list("owner_id", flat=True).first()
    if name in _BY_FILE:
        found = Attachment.objects.filter(pk=number)
        return found.values_list("cylinder__owner_id", flat=True).first()
    if name in _BY_NOTICE:
        return Notice.objects.filter(pk=number).values_list("customer_id", flat=True).first()
    if name in _BY_ORDER:
        return WorkOrder.objects.filter(pk=number).values_list("customer_id", flat=True).first()
    return None
