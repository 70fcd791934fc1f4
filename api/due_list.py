"""What is due in the whole shop, with the tag of each cylinder: for the command and for scripts."""

import datetime as dt
from typing import Any

from cylinders.queries.due import DueItem, due_list
from labels.models import Tag, TagKind, TagState


def listed(*, on: dt.date, within_days: int) -> dict[str, Any]:
    """The list in the shape of ``due --json``; ``tag`` is null where a cylinder bears none.

    Two queries beside that of the list, however long it is.
    """
    items = due_list(on=on, within_days=within_days)
    codes = dict(
        Tag.objects.filter(
            kind=TagKind.CYLINDER,
            state=TagState.LIVE,
            cylinder__in={item.cylinder.pk for item in items},
        ).values_list("cylinder_id", "code")
    )
    return {"on": on.isoformat(), "items": [_item(item, codes) for item in items]}


def _item(item: DueItem, codes: dict[int, str]) -> dict[str, Any]:
    duty = item.duty
    return {
        "cylinder": str(item.cylinder),
        "tag": codes.get(item.cylinder.pk),
        "duty": duty.kind.value,
        "due": duty.due.isoformat() if duty.due else None,
        "state": duty.state.value,
        "says": duty.says,
        "cites": str(duty.cites),
    }


def in_words(told: dict[str, Any]) -> str:
    """The same for a person, one line a duty."""
    lines = [
        f"{item['due'] or '   unknown'}  {item['state']:<15} {item['cylinder']}  {item['says']}"
        for item in told["items"]
    ]
    return "\n".join(lines) or f"Nothing is due by {told['on']}."
