"""A recorded marking was wrong: the right value comes in, the wrong one stays in the history."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, Corrected
from cylinders.models import Cylinder
from cylinders.rules.month import Month
from cylinders.rules.quantity import UNITS, QuantityError, read_number
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from cylinders.story import MARKING_FIELDS

_PRESSURE_UNITS = tuple(name for name, (what, _) in UNITS.items() if what == "pressure")
#: What the columns hold: SQLite would keep more, PostgreSQL would break.
_LONGEST = {
    name: getattr(Cylinder._meta.get_field(name), "max_length", 0)  # noqa: SLF001 - Django's own name
    for name in MARKING_FIELDS
}
_MONTHS = ("first_test", "requalified", "stamped_due", "life_end")


@transaction.atomic
def correct_marking(
    *,
    cylinder_id: int,
    field: str,
    becomes: str,
    reason: str,
    at: dt.datetime,
    by: Actor,
) -> Cylinder:
    """Correct one marking of a cylinder, with the reason.

    ``field`` is one of ``story.MARKING_FIELDS``. Raises :class:`Refused` for another field, for a
    value of the wrong shape, without a reason, and when nothing would change.
    """
    cylinder = history.lock(cylinder_id)
    if field not in MARKING_FIELDS:
        raise Refused(
            "unknown_marking",
            say(
                "{field} is no marking. One of: {marking_fields}.",
                field=field,
                marking_fields=MARKING_FIELDS,
            ),
        )
    if not reason.strip():
        raise Refused("no_reason", say("Write why, and where the right value was read."))
    was = getattr(cylinder, field)
    if was == becomes:
        raise Refused(
            "nothing_changes",
            say("{field} is {becomes} already.", field=field, becomes=becomes or say("empty")),
        )
    _check_shape(field, becomes)
    setattr(cylinder, field, becomes)
    cylinder.save(update_fields=[field])
    facts = Corrected(field=field, was=was, becomes=becomes, reason=reason)
    history.append(cylinder, facts, at=at, by=by)
    return cylinder


def _check_shape(field: str, becomes: str) -> None:
    if _LONGEST[field] and len(becomes) > _LONGEST[field]:
        says = say(
            "{field}: {count} characters; at most {longest}.",
            field=field,
            count=len(becomes),
            longest=_LONGEST[field],
        )
        raise Refused("bad_value", says)
    if field == "pressure_unit" and becomes not in _PRESSURE_UNITS:
        raise Refused(
            "bad_value",
            say(
                "{field}: use one of {pressure_units}.",
                field=field,
                pressure_units=", ".join(_PRESSURE_UNITS),
            ),
        )
    try:
        if field in _MONTHS and becomes:
            Month.parse(becomes)
        if field == "service_pressure" and becomes:
            read_number(becomes)
    except (ValueError, QuantityError) as problem:
        raise Refused("bad_value", f"{field}: {problem}.") from problem
