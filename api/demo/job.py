"""The whole job for one cylinder, from drop-off to collection, each step in a sentence."""

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, field

from django.conf import settings

from api import links
from api.demo import bench, lab, scenario
from api.demo.printing import write
from api.demo.report import Report
from api.demo.scenario import World
from cylinders.models import Cylinder, Part, TestRecord, WorkOrder
from cylinders.operations import (
    consignment,
    fitting,
    handover,
    reassembly,
    reminders,
    stamp,
    teardown,
)
from cylinders.queries.due import duties_of, fill_verdict
from cylinders.queries.find import likely_duplicates
from cylinders.rules.refusal import Refused
from labels import codes, scanning
from labels.content import contents_of
from labels.models import Tag, TagKind, TagState
from labels.operations import binding
from labels.operations.binding import Thing

_PARTS = (
    teardown.Removal(kind="net", name="red net"),
    teardown.Removal(kind="boot", name="black boot"),
    teardown.Removal(kind="handle", name="carry handle"),
)
_VALVE = teardown.Removal(kind="valve", thread="3/4-14 NPSM", outlet="yoke", serial="V-1187")


#: The job's own cylinders bear these serials, one a run.
SERIALS = "KX60"


@dataclass(slots=True)
class Job:
    """One cylinder on its way; ``now`` moves on with every step."""

    world: World
    report: Report
    key: str
    number: int
    now: dt.datetime
    say: Callable[[str], None]
    order: WorkOrder = field(init=False)
    tag: Tag = field(init=False)
    status_address: str = ""

    def play(self) -> None:
        """Play every step; a step that goes wrong is reported and ends the job."""
        steps: tuple[tuple[str, Callable[[], tuple[bool, str, tuple[Tag, ...]]]], ...] = (
            ("intake", self._intake),
            ("teardown", self._teardown),
            ("dispatch", self._dispatch),
            ("lab", self._lab),
            ("return", self._return),
            ("inspection", self._inspection),
            ("wrong part refused", self._wrong_part),
            ("reassembly", self._reassembly),
            ("overfill refused", self._overfill),
            ("fill", self._fill),
            ("ready", self._ready),
            ("collected", self._collected),
            ("condemned", self._condemned),
            ("reminders", self._reminders),
        )
        for name, action in steps:
            try:
                ok, says, tags = action()
            except Refused as refusal:
                ok, says, tags = False, f"refused: {refusal.says}", ()
            done = self.report.step(name, ok=ok, says=says, tags=tags)
            self.say(f"{done.n:2}. {name}: {says}")
            if not ok:
                return

    def tick(self) -> dt.datetime:
        """A minute later."""
        self.now += dt.timedelta(minutes=1)
        return self.now

    def _issue(self, thing: Thing) -> Tag:
        return binding.issue(thing=thing, host=settings.TAG_HOST, at=self.tick(), by=self.world.by)

    def _intake(self) -> tuple[bool, str, tuple[Tag, ...]]:
        thing = next(thing for thing in scenario.load()["cylinders"] if thing.get("job"))
        serial = f"{SERIALS}{self.number:03d}"
        self.order = scenario.receive(
            thing, self.world, today=self.now.date(), at=self.tick(), serial=serial
        )
        cylinder = self._cylinder()
        self.tag = self._issue(Thing.cylinder(cylinder))
        link = links.issue(cylinder_id=cylinder.pk, at=self.tick(), by=self.world.by)
        self.status_address = link.address
        duty = duties_of(cylinder, on=self.now.date())[0]
        twins = len(likely_duplicates(serial=serial)) - 1
        says = (
            f"{self.world.owner.name} drops off {cylinder}. {duty.says} ({duty.cites}) "
            f"Cylinders of the same serial: {twins}. Tag {codes.show(self.tag.code)}; "
            f"the owner's link: {self.status_address}"
        )
        return duty.due is not None and not twins, says, (self.tag,)

    def _teardown(self) -> tuple[bool, str, tuple[Tag, ...]]:
        pk, by = self.order.pk, self.world.by
        early = self._refusal(
            lambda: teardown.remove_part(work_order_id=pk, removal=_VALVE, at=self.tick(), by=by)
        )
        teardown.prove_empty(
            work_order_id=pk, how="valve open, no hiss, gauge at zero", at=self.tick(), by=by
        )
        parts = [
            teardown.remove_part(work_order_id=pk, removal=removal, at=self.tick(), by=by)
            for removal in (*_PARTS, _VALVE)
        ]
        tags = (
            self._issue(Thing.bag(parts[-1])),
            self._issue(Thing.kit(self.order)),
            self._issue(Thing.teardown(self.order)),
        )
        teardown.finish(work_order_id=pk, outside="sound", travel_plug=True, at=self.tick(), by=by)
        says = (
            f"The valve before it is empty: {early} Then drained, proven empty, "
            f"{', '.join(map(str, parts))} off, bagged and tagged, travel plug in."
        )
        return early != "" and len(parts) == len(_PARTS) + 1, says, tags

    def _dispatch(self) -> tuple[bool, str, tuple[Tag, ...]]:
        by = self.world.by
        line = consignment.pack(
            work_order_id=self.order.pk, lab_id=self.world.lab.pk, at=self.tick(), by=by
        )
        sent = consignment.send(
            consignment_id=line.consignment_id,
            carrier="the shop's van",
            on=self.now.date(),
            at=self.tick(),
            by=by,
        )
        count = sent.lines.count()
        return count > 0, f"{sent}: {count} cylinder on the list, carried by {sent.carrier}.", ()

    def _lab(self) -> tuple[bool, str, tuple[Tag, ...]]:
        body = lab.record_of(
            self._cylinder(),
            tag=self.tag.code,
            on=self.now.date(),
            rin=self.world.lab.rin,
            number=self.number + 1,
        )
        status, _answer = lab.post_record(
            body, key=self.key, idempotency_key=f"demo-{self.tag.code}"
        )
        again, _same = lab.post_record(body, key=self.key, idempotency_key=f"demo-{self.tag.code}")
        record = TestRecord.objects.filter(work_order=self.order).first()
        if record is None:
            return False, f"The lab's post was answered {status} and stored nothing.", ()
        says = (
            f"{self.world.lab.name} posts {record.lab_reference} ({status}; again: {again}). "
            f"Judged again: {record.verdict}, permanent expansion "
            f"{record.answer['percent_permanent']} %, next due {record.answer['next_due']}."
        )
        return record.verdict == "passed" and self.order.records.count() == 1, says, ()

    def _return(self) -> tuple[bool, str, tuple[Tag, ...]]:
        by, rin = self.world.by, self.world.lab.rin
        consignment.take_back(work_order_id=self.order.pk, at=self.tick(), by=by)
        month, year = self.now.month, self.now.year % 100
        square = f"{rin[:2]}/{rin[3]}{rin[2]}"
        wrong, right = f"{month} {square} {year - 1}", f"{month} {square} {year}"
        answers = [
            stamp.compare_stamp(
                work_order_id=self.order.pk,
                typed=typed,
                on=self.now.date(),
                at=self.tick(),
                by=by,
            )
            for typed in (wrong, right)
        ]
        says = (
            f"Home again. Stamp typed as {wrong}: {' '.join(answers[0].differences)} "
            f"Read again as {right}: it agrees with the record."
        )
        return not answers[0].agrees and answers[1].agrees, says, ()

    def _inspection(self) -> tuple[bool, str, tuple[Tag, ...]]:
        self._visit().inspect()
        self.order.refresh_from_db()
        says = f"Inside, outside and threads by {bench.SOUND.standard}; old sticker off."
        return self.order.stage == "inspected", says, ()

    def _wrong_part(self) -> tuple[bool, str, tuple[Tag, ...]]:
        stranger = (
            Part.objects.exclude(cylinder=self.order.cylinder)
            .filter(whereabouts="bagged", kind="valve")
            .select_related("cylinder")
            .first()
        )
        if stranger is None:
            return False, "There is no other valve in the house to try.", ()
        bag = self._issue(Thing.bag(stranger))
        offer = self._offer(bag.url)
        stranger.refresh_from_db()
        owner = offer.belongs_to
        says = f"{offer.says} It belongs to {owner}."
        kept = stranger.whereabouts == "bagged"
        return offer.code == "wrong_cylinder" and owner is not None and kept, says, ()

    def _reassembly(self) -> tuple[bool, str, tuple[Tag, ...]]:
        visit = self._visit()
        valve = self.order.parts.get(kind="valve")
        visit.service(valve)
        bag = Tag.objects.get(part=valve, state=TagState.LIVE)
        first, second = self._offer(bag.url), self._offer(bag.url)
        kit = Tag.objects.get(work_order=self.order, kind=TagKind.KIT)
        for part in self.order.parts.exclude(pk=valve.pk).order_by("pk"):
            self._offer(kit.url, part)
        reassembly.finish(work_order_id=self.order.pk, at=self.tick(), by=self.world.by)
        says = (
            f"Valve serviced with new O-rings. Its bag scanned: {first.says} "
            f"Scanned again: {second.says} All {self.order.parts.count()} parts are on."
        )
        return first.fits and second.code == "already_fitted", says, ()

    def _overfill(self) -> tuple[bool, str, tuple[Tag, ...]]:
        outcome = self._visit().fill("0.21", "3300")
        says = " ".join(reason.says for reason in outcome.reasons)
        return not outcome.allowed and bool(outcome.reasons), f"3300 psi: {says}", ()

    def _fill(self) -> tuple[bool, str, tuple[Tag, ...]]:
        outcome = self._visit().fill("0.21", "3000")
        if outcome.fill is None:
            return False, " ".join(reason.says for reason in outcome.reasons), ()
        label = contents_of(outcome.fill, self.tag, initials=self.world.technician.username[:2])
        files = write(label, f"contents-{self.tag.code}", self.report.folder / "tags")
        says = f"Air to {outcome.fill.pressure} psi; {outcome.fill.mod}. Label: {files.pdf}"
        return True, says, ()

    def _ready(self) -> tuple[bool, str, tuple[Tag, ...]]:
        self._visit().call_ready()
        self.order.refresh_from_db()
        return self.order.stage == "ready", f"{self.world.owner.name} may come.", ()

    def _collected(self) -> tuple[bool, str, tuple[Tag, ...]]:
        handover.hand_over(
            work_order_id=self.order.pk, to_owner=True, at=self.tick(), by=self.world.by
        )
        duty = duties_of(self._cylinder(), on=self.now.date())[0]
        return duty.due is not None, f"Handed over. {duty.says}", ()

    def _condemned(self) -> tuple[bool, str, tuple[Tag, ...]]:
        cylinder = Cylinder.objects.filter(life="condemned").first()
        if cylinder is None:
            return False, "The scenario's condemned cylinder is missing.", ()
        verdict = fill_verdict(cylinder, on=self.now.date())
        says = " ".join(reason.says for reason in verdict.reasons)
        never = any(reason.code == "condemned" for reason in verdict.reasons)
        return never and not verdict.allowed, f"{cylinder}: {says}", ()

    def _reminders(self) -> tuple[bool, str, tuple[Tag, ...]]:
        planned = reminders.plan(on=self.now.date())
        again = reminders.plan(on=self.now.date())
        says = f"{planned} reminders planned; planned a second time: {again}."
        return again == 0, says, ()

    def _offer(self, scanned: str, part: Part | None = None) -> fitting.Offer:
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

    def _visit(self) -> bench.Visit:
        return bench.Visit(self.order, self.world.lab, self.world.by, self.tick())

    def _cylinder(self) -> Cylinder:
        return Cylinder.objects.get(pk=self.order.cylinder_id)

    def _refusal(self, action: Callable[[], object]) -> str:
        try:
            action()
        except Refused as refusal:
            return refusal.says
        return ""
