"""What is due in the whole shop, with the tag of each cylinder: for the command and for scripts."""

import datetime as dt
from typing import Any

from cylinders.queries.due_in_order import due_items
from cylinders.rules.stamp_due import item_json
from labels.models import Tag, TagKind, TagState


def listed(*, on: dt.date, within_days: int) -> dict[str, Any]:
    """The list in the shape of ``due --json``; ``tag`` is null where a cylinder bears none.

    One query beside those of the list, however long it is.
    """
    items = due_items(on=on, within_days=within_days)
    codes = dict(
        Tag.objects.filter(
            kind=TagKind.CYLINDER,
            state=TagState.LIVE,
            cylinder__in={item.cylinder.pk for item in items},
        ).values_list("cylinder_id", "code")
    )
    return {
        "on": on.isoformat(),
        "items": [
            item_json(item.duty, cylinder=str(item.cylinder), tag=codes.get(item.cylinder.pk))
            for item in items
        ],
    }


def in_words(told: dict[str, Any]) -> str:
    """The same for a person, one line a duty."""
    lines = [
        f"{item['due'] or '   unknown'}  {item['state']:<15} {item['cylinder']}  {item['says']}"
        for item in told["items"]
    ]
    return "\n".join(lines) or f"Nothing is due by {told['on']}."
