"""A tag is bound once to one thing, may be replaced, and is retired for ever."""

import datetime as dt
from dataclasses import dataclass

from django.db import transaction

from cylinders import history
from cylinders.facts import Actor, TagBound, TagRetired
from cylinders.models import Cylinder, Part, WorkOrder
from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say
from labels.models import Printed, Tag, TagKind, TagState
from labels.operations.minting import mint


@dataclass(frozen=True, slots=True)
class Thing:
    """What a tag is to stand for: a cylinder, its part, or one visit of it."""

    kind: TagKind
    cylinder_id: int
    part_id: int | None = None
    work_order_id: int | None = None

    @classmethod
    def cylinder(cls, cylinder: Cylinder) -> "Thing":
        """The durable tag of a cylinder."""
        return cls(TagKind.CYLINDER, cylinder.pk)

    @classmethod
    def bag(cls, part: Part) -> "Thing":
        """The bag of one part."""
        return cls(TagKind.BAG, part.cylinder_id, part.pk, part.work_order_id)

    @classmethod
    def teardown(cls, order: WorkOrder) -> "Thing":
        """The bare cylinder of one visit."""
        return cls(TagKind.TEARDOWN, order.cylinder_id, None, order.pk)

    @classmethod
    def kit(cls, order: WorkOrder) -> "Thing":
        """The bag with the other parts of one visit."""
        return cls(TagKind.KIT, order.cylinder_id, None, order.pk)


@transaction.atomic
def issue(*, thing: Thing, host: str, at: dt.datetime, by: Actor) -> Tag:
    """Return the live tag of ``thing``, minting and binding one when it has none.

    Asked twice it gives the same tag, so a second tap on "print" prints the same code.
    """
    cylinder = history.lock(thing.cylinder_id)
    live = live_tag(thing)
    if live:
        return live
    [tag] = mint(count=1, host=host, at=at)
    return _bind(tag, thing, cylinder, at=at, by=by)


@transaction.atomic
def bind(*, code: str, thing: Thing, at: dt.datetime, by: Actor) -> Tag:
    """Bind a blank tag, minted earlier, to ``thing``.

    Raises :class:`Refused` when the code is unknown, was bound or retired before, or when the thing
    has a live tag already (replace that one instead).
    """
    cylinder = history.lock(thing.cylinder_id)
    tag = Tag.objects.select_for_update().filter(code=code).first()
    if tag is None:
        raise Refused("unknown_code", say("That code was never minted here. Read it again."))
    if tag.state != TagState.MINTED:
        raise Refused(
            "code_used",
            say(
                "That tag is {state_display}; a code stands for one thing for ever. Take a "
                "blank one.",
                state_display=tag.get_state_display(),
            ),
        )
    if tag.printed == Printed.RESERVED:
        raise Refused(
            "never_sent",
            say(
                "That label was reserved and never sent to a printer. Say how its print run ended."
            ),
        )
    live = live_tag(thing)
    if live:
        raise Refused(
            "has_tag",
            say("It has the tag {code} already. Replace that one instead.", code=live.code),
        )
    return _bind(tag, thing, cylinder, at=at, by=by)


@transaction.atomic
def replace(*, code: str, host: str, reason: str, at: dt.datetime, by: Actor) -> Tag:
    """Retire a torn or lost tag and bind a fresh one to the same thing; returns the new tag."""
    old = Tag.objects.filter(code=code, state=TagState.LIVE).first()
    if old is None or old.cylinder_id is None:
        raise Refused("not_live", say("Only a live tag can be replaced."))
    cylinder = history.lock(old.cylinder_id)
    thing = Thing(TagKind(old.kind), old.cylinder_id, old.part_id, old.work_order_id)
    _retire(old, cylinder, reason, at=at, by=by)
    [new] = mint(count=1, host=host, at=at)
    _bind(new, thing, cylinder, at=at, by=by, replaces=old.code)
    old.successor = new
    old.save(update_fields=["successor"])
    return new


@transaction.atomic
def retire(*, code: str, reason: str, at: dt.datetime, by: Actor) -> Tag:
    """Retire a live tag without a successor."""
    tag = Tag.objects.filter(code=code, state=TagState.LIVE).first()
    if tag is None or tag.cylinder_id is None:
        raise Refused("not_live", say("Only a live tag can be retired."))
    _retire(tag, history.lock(tag.cylinder_id), reason, at=at, by=by)
    return tag


def live_tag(thing: Thing) -> Tag | None:
    """The live tag of ``thing``, if it has one."""
    live = Tag.objects.filter(state=TagState.LIVE, kind=thing.kind, cylinder_id=thing.cylinder_id)
    if thing.part_id is not None:
        return live.filter(part_id=thing.part_id).first()
    if thing.work_order_id is not None:
        return live.filter(work_order_id=thing.work_order_id).first()
    return live.first()


def _bind(
    tag: Tag,
    thing: Thing,
    cylinder: Cylinder,
    *,
    at: dt.datetime,
    by: Actor,
    replaces: str = "",
) -> Tag:
    tag.kind, tag.state, tag.bound_at = thing.kind, TagState.LIVE, at
    tag.cylinder = cylinder
    tag.part_id, tag.work_order_id = thing.part_id, thing.work_order_id
    tag.save()
    facts = TagBound(
        code=tag.code,
        tag_kind=thing.kind.value,
        part=thing.part_id,
        replaces=replaces,
    )
    history.append(cylinder, facts, at=at, by=by)
    return tag


def _retire(tag: Tag, cylinder: Cylinder, reason: str, *, at: dt.datetime, by: Actor) -> None:
    # The first look was before the lock: somebody may have retired it in between.
    if not Tag.objects.select_for_update().filter(pk=tag.pk, state=TagState.LIVE).exists():
        raise Refused("not_live", say("Somebody has just retired that tag."))
    if not reason.strip():
        raise Refused("no_reason", say("Write why: torn, lost, illegible."))
    tag.state, tag.retired_at, tag.retired_why = TagState.RETIRED, at, reason[:200]
    tag.save(update_fields=["state", "retired_at", "retired_why"])
    history.append(cylinder, TagRetired(code=tag.code, reason=reason), at=at, by=by)
