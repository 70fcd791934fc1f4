"""Clean for oxygen, and no longer clean: both are said aloud, never assumed."""

import datetime as dt

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, OxygenCleanBroken, OxygenCleaned
from cylinders.models import Cylinder
from cylinders.operations import visit
from cylinders.rules.month import Month
from cylinders.rules.refusal import Refused
from cylinders.rules.stages import Step
from cylinders.rules.wording import say


@transaction.atomic
def clean(
    *,
    work_order_id: int,
    method: str,
    on: dt.date,
    at: dt.datetime,
    by: Actor,
) -> Cylinder:
    """Record that the cylinder was cleaned for oxygen on ``on`` and how that was checked."""
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.CLEAN_FOR_OXYGEN)
    visit.must_be_in_service(cylinder)
    if not method.strip():
        raise Refused("no_method", say("Write the method, and how cleanness was checked."))
    month = str(Month.of(on))
    cylinder.oxygen_clean, cylinder.last_oxygen_clean = True, month
    cylinder.save(update_fields=["oxygen_clean", "last_oxygen_clean"])
    facts = OxygenCleaned(work_order=order.pk, month=month, method=method)
    history.append(cylinder, facts, at=at, by=by)
    return cylinder


@transaction.atomic
def break_clean(*, cylinder_id: int, why: str, at: dt.datetime, by: Actor) -> Cylinder:
    """Record that the cylinder no longer counts as clean for oxygen, e.g. after an oily fill."""
    cylinder = history.lock(cylinder_id)
    if not why.strip():
        raise Refused("no_reason", say("Write what got into it."))
    if cylinder.oxygen_clean is False:
        raise Refused("not_clean", say("It does not count as clean for oxygen already."))
    cylinder.oxygen_clean = False
    cylinder.save(update_fields=["oxygen_clean"])
    history.append(cylinder, OxygenCleanBroken(why=why), at=at, by=by)
    return cylinder
