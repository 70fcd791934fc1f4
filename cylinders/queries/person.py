"""Everything that is known of one person, as one document that can be handed to them."""

import base64
import datetime as dt
from collections.abc import Iterable
from typing import Any

from cylinders import history
from cylinders.models import Attachment, Customer, Cylinder
from cylinders.queries import stored_files
from cylinders.queries.for_customer import since_theirs

Document = dict[str, Any]


def everything_of(customer: Customer, *, at: dt.datetime) -> Document:
    """The data of one customer, their cylinders since these were theirs, and who looked."""
    return {
        "made_at": at.isoformat(),
        "person": {
            "number": customer.pk,
            "name": customer.name,
            "email": customer.email,
            "phone": customer.phone,
            "language": customer.language,
            "units": customer.units,
            "email_consent": customer.email_consent,
            "email_bounced": customer.email_bounced,
            "text_consent": customer.text_consent,
            "text_refused": customer.text_refused,
        },
        "consents": _rows(customer.consents.order_by("at"), "channel", "given", "wording", "at"),
        "declined": _rows(customer.declined.order_by("at"), "kind", "at"),
        "cylinders": [_cylinder(cylinder) for cylinder in customer.cylinders.order_by("pk")],
        "visits": _rows(
            customer.work_orders.order_by("opened_at"),
            *("cylinder_id", "stage", "services", "condition", "pressure_on_arrival"),
            *("opened_at", "closed_at"),
        ),
        "photos": [_photo(photo) for photo in stored_files.photos_of_person(customer)],
        "messages": _rows(
            customer.notices.order_by("send_on", "pk"),
            *("cylinder_id", "duty", "due", "days_before", "channel", "send_on", "state", "why"),
        ),
        "who_looked": _rows(customer.log.order_by("at"), "kind", "at", "by", "where"),
    }


def _photo(photo: Attachment) -> Document:
    """A photo with its bytes: as base64 they stand in the one document that is handed out."""
    try:
        data = base64.b64encode(stored_files.read(photo.file)).decode()
    except stored_files.FileMissing:
        data = ""
    return {
        "cylinder": photo.cylinder_id,
        "shows": photo.get_shows_display(),
        "added_at": photo.added_at.isoformat(),
        "media_type": photo.file.media_type,
        "sha256": photo.file.sha256,
        "base64": data,
    }


def _cylinder(cylinder: Cylinder) -> Document:
    return {
        "number": cylinder.pk,
        "stamp": cylinder.stamp_text,
        "serial": cylinder.serial,
        "events": [
            {"at": entry.at.isoformat(), "kind": entry.kind.value, "facts": dict(entry.facts)}
            for entry in since_theirs(history.timeline(cylinder.pk))
        ],
    }


def _rows(rows: Iterable[object], *names: str) -> list[Document]:
    return [{name: _plain(getattr(row, name)) for name in names} for row in rows]


def _plain(value: object) -> object:
    return value.isoformat() if isinstance(value, dt.date) else value
