"""One cylinder on its way through the shop, and what every step of the demonstration needs."""

import datetime as dt
from dataclasses import dataclass, field

from django.conf import settings
from django.utils import timezone

from api.demo import bench
from api.demo.scenario import World
from cylinders.models import Cylinder, Part, WorkOrder
from cylinders.operations import fitting
from labels import scanning
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing


@dataclass(frozen=True, slots=True)
class Told:
    """What a step came to: whether it did what it should, a sentence, and tags to print."""

    ok: bool
    says: str
    tags: tuple[Tag, ...] = ()
    files: tuple[str, ...] = ()


@dataclass(slots=True)
class Job:
    """One cylinder; ``now`` is the time of the last action. ``number`` counts the runs."""

    world: World
    key: str
    number: int
    now: dt.datetime
    folder: str
    status_address: str = ""
    order: WorkOrder = field(init=False)
    tag: Tag = field(init=False)

    def tick(self) -> dt.datetime:
        """The time of the next action: the real one, so that the lab's post falls into place."""
        self.now = timezone.now()
        return self.now

    def issue(self, thing: Thing) -> Tag:
        """The tag of ``thing``, minted and bound when it has none."""
        return binding.issue(thing=thing, host=settings.TAG_HOST, at=self.tick(), by=self.world.by)

    def offer(self, scanned: str, part: Part | None = None) -> fitting.Offer:
        """Scan a bag, or one ``part`` out of the kit that was scanned."""
        named = scanning.identify(scanned, hosts={settings.TAG_HOST})
        found = named.part or part if isinstance(named, scanning.Named) else None
        return fitting.offer_part(
            work_order_id=self.order.pk,
            part_id=found.pk if found else None,
            scanned=scanned,
            tag_state="live" if found else "unknown",
            at=self.tick(),
            by=self.world.by,
        )

    def visit(self) -> bench.Visit:
        """The steps that the scenario's other visits take too."""
        return bench.Visit(self.order, self.world.lab, self.world.by, self.tick)

    def cylinder(self) -> Cylinder:
        """The cylinder as it is stored now."""
        return Cylinder.objects.get(pk=self.order.cylinder_id)
