"""An event as a lab is told of it, whether it asks or is called."""

import datetime as dt
from collections.abc import Mapping
from typing import Any

from django.db import connection

from cylinders.queries.lab_events import LabEvent

RECORDS = "/api/v1/test-records"
#: PostgreSQL numbers events before they are committed: a younger one may be seen first.
_STILL_COMING = dt.timedelta(seconds=10)


def seen_whole(*, at: dt.datetime) -> dt.datetime | None:
    """The moment up to which every event is in the table for certain; None: up to now."""
    return at - _STILL_COMING if connection.vendor == "postgresql" else None


def members(event: LabEvent, tags: Mapping[int, str]) -> dict[str, Any]:
    """The event's members; ``tags`` gives the live tag of a cylinder."""
    return {
        "place": event.place,
        "type": event.type,
        "at": event.at.isoformat(),
        "tag": tags.get(event.cylinder_id),
        "lab_reference": event.reference,
        "record": f"{RECORDS}/{event.reference}" if event.reference else None,
        "consignment": event.consignment,
    }
