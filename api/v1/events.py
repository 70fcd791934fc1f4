"""GET /api/v1/events: what happened since, for a lab that asks instead of being called."""

from collections.abc import Mapping
from typing import ClassVar
from urllib.parse import urlencode

from django.http import HttpResponse
from django.utils import timezone
from rest_framework.request import Request

from api import at_the_lab, lab_event
from api.keys import Scope
from api.v1 import answers, paging, shapes
from api.v1.authentication import caller_of
from api.v1.described import described
from api.v1.view import LabView
from cylinders.queries import lab_events


class Events(LabView):
    """The events that concern the lab."""

    scopes: ClassVar[Mapping[str, str]] = {"GET": Scope.READ_EVENTS}

    @described(
        name="list_events",
        answers={200: shapes.EVENT_PAGE},
        parameters=shapes.PAGE_PARAMETERS,
    )
    def get(self, request: Request) -> HttpResponse:
        """List what happened behind the place `after`, oldest first.

        Keep `after` of the answer and ask from there the next time; nothing is told twice and
        nothing is left out. On PostgreSQL an event is told some seconds after it happened.
        """
        after, limit = paging.window(request)
        page = lab_events.page(
            lab_id=caller_of(request).lab.pk,
            after=after,
            limit=limit,
            before=lab_event.seen_whole(at=timezone.now()),
        )
        tags = at_the_lab.tags_of({event.cylinder_id for event in page.events})
        following = urlencode({"after": page.after, "limit": limit})
        members = {
            "items": [lab_event.members(event, tags) for event in page.events],
            "after": page.after,
            "next": request.build_absolute_uri(f"{request.path}?{following}")
            if page.more
            else None,
        }
        return answers.of(members).response()
