"""A bag is scanned at a cylinder: it fits, or it is refused and the refusal is kept.

A refusal is an outcome, not an error: it must be stored. One conditional UPDATE decides which of
two people who scan one bag at once has fitted it; the other is told by whom and when.
"""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, PartFitted, PartRefused
from cylinders.models import Cylinder, Gas, Part, PartKind, Whereabouts, WorkOrder
from cylinders.operations import visit
from cylinders.rules.matching import (
    Match,
    PartFacts,
    PartVerdict,
    TargetFacts,
    judge_part,
)
from cylinders.rules.stages import Step

#: Parts that the gas runs through, and that are screwed into the neck.
_IN_THE_NECK = (PartKind.VALVE, PartKind.MANIFOLD)


@dataclass(frozen=True, slots=True)
class Offer:
    """What came of a scan; ``code`` is one of :class:`cylinders.rules.matching.Match`.

    ``belongs_to`` names the right cylinder of a part that was offered to a wrong one;
    ``settled_by`` and ``settled_at`` tell who fitted it first.
    """

    fits: bool
    code: str
    says: str
    cites: str
    part: Part | None = None
    belongs_to: Cylinder | None = None
    settled_by: str = ""
    settled_at: dt.datetime | None = None


@transaction.atomic
def offer_part(
    *,
    work_order_id: int,
    part_id: int | None,
    scanned: str,
    tag_state: str,
    at: dt.datetime,
    by: Actor,
) -> Offer:
    """Fit a part to the cylinder of ``work_order_id``, or refuse it; either way one event.

    ``part_id`` is None where the scanned code names no part; ``tag_state`` is "live", "retired" or
    "unknown". ``scanned`` is kept with a refusal, cut to what a code can be. Raises
    :class:`Refused` only when nothing may be fitted at this stage.
    """
    part = _find(part_id)
    _lock_twins(part)
    cylinder, order = visit.begin(work_order_id=work_order_id, step=Step.FIT_PART)
    visit.must_be_in_service(cylinder)
    verdict = _judge(part, cylinder, tag_state)
    if part and verdict.may_be_fitted and _take_from_bag(part, at, by):
        _record_fit(part, cylinder, order, at=at, by=by)
        return _offer(verdict, part)
    if part and verdict.may_be_fitted:
        part = _find(part.pk)
        verdict = _judge(part, cylinder, tag_state)
    refusal = PartRefused(
        work_order=order.pk,
        code=verdict.match.value,
        scanned=scanned[:40],
        part=part.pk if part else None,
        belongs_to=part.cylinder_id if part else None,
    )
    history.append(cylinder, refusal, at=at, by=by)
    return _offer(verdict, part)


def _find(part_id: int | None) -> Part | None:
    if part_id is None:
        return None
    return Part.objects.select_related("cylinder", "settled_by").filter(pk=part_id).first()


def _lock_twins(part: Part | None) -> None:
    # The fit of a twin set's part stands in both histories; taken in one order by everybody, the
    # two locks cannot wait for each other.
    if part and part.shared_with_id:
        for cylinder_id in sorted((part.cylinder_id, part.shared_with_id)):
            history.lock(cylinder_id)


def _judge(part: Part | None, cylinder: Cylinder, tag_state: str) -> PartVerdict:
    target = TargetFacts(
        identity=str(cylinder.pk),
        name=str(cylinder),
        neck_thread=cylinder.neck_thread,
        enriched=cylinder.use_gas != Gas.AIR or bool(cylinder.oxygen_clean),
    )
    return judge_part(_facts(part, cylinder, tag_state) if part else None, cylinder=target)


def _facts(part: Part, cylinder: Cylinder, tag_state: str) -> PartFacts:
    home = cylinder.pk if cylinder.pk == part.shared_with_id else part.cylinder_id
    fitted = part.whereabouts == Whereabouts.FITTED
    in_the_neck = part.kind in _IN_THE_NECK
    return PartFacts(
        name=str(part),
        came_off=str(home),
        fitted_to=str(home) if fitted else None,
        retired=tag_state == "retired" or part.whereabouts == Whereabouts.ACCOUNTED,
        thread=part.thread if in_the_neck else None,
        oxygen_clean=part.oxygen_clean if in_the_neck else None,
        touches_gas=in_the_neck,
    )


def _take_from_bag(part: Part, at: dt.datetime, by: Actor) -> bool:
    taken = Part.objects.filter(pk=part.pk, whereabouts=Whereabouts.BAGGED).update(
        whereabouts=Whereabouts.FITTED,
        settled_how="fitted",
        settled_at=at,
        settled_by_id=by.staff_id,
    )
    return bool(taken)


def _record_fit(
    part: Part,
    cylinder: Cylinder,
    order: WorkOrder,
    *,
    at: dt.datetime,
    by: Actor,
) -> None:
    part.refresh_from_db()
    history.append(cylinder, PartFitted(work_order=order.pk, part=part.pk), at=at, by=by)
    if part.cylinder_id != cylinder.pk:
        home = history.lock(part.cylinder_id)
        facts = PartFitted(work_order=part.work_order_id, part=part.pk)
        history.append(home, facts, at=at, by=by)


def _offer(verdict: PartVerdict, part: Part | None) -> Offer:
    finding = verdict.findings[0]
    wrong = verdict.match is Match.WRONG_CYLINDER and part is not None
    return Offer(
        fits=verdict.may_be_fitted,
        code=verdict.match.value,
        says=verdict.says,
        cites=str(finding.cites),
        part=part,
        belongs_to=part.cylinder if wrong and part else None,
        settled_by=str(part.settled_by or "") if part else "",
        settled_at=part.settled_at if part else None,
    )
