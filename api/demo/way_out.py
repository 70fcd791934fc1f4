"""The first half of the job: drop-off, teardown, the run to the lab, the lab's record."""

from collections.abc import Callable

from api import links
from api.demo import lab as partner
from api.demo import scenario
from api.demo.job import Job, Told
from cylinders.models import TestRecord
from cylinders.operations import consignment, teardown
from cylinders.queries.due import duties_of
from cylinders.queries.find import likely_duplicates
from cylinders.rules.refusal import Refused
from labels import codes
from labels.operations.binding import Thing

#: The job's own cylinders bear these serials, one a run.
SERIALS = "KX60"
_PARTS = (
    teardown.Removal(kind="net", name="red net"),
    teardown.Removal(kind="boot", name="black boot"),
    teardown.Removal(kind="handle", name="carry handle"),
)
_VALVE = teardown.Removal(kind="valve", thread="3/4-14 NPSM", outlet="yoke", serial="V-1187")


def intake(job: Job) -> Told:
    """Dropped off, its stamp read, what is due said, tag bound, link sent."""
    thing = next(thing for thing in scenario.load()["cylinders"] if thing.get("job"))
    serial = f"{SERIALS}{job.number:03d}"
    job.order = scenario.receive(
        thing, job.world, today=job.now.date(), at=job.tick(), serial=serial
    )
    cylinder = job.cylinder()
    job.tag = job.issue(Thing.cylinder(cylinder))
    link = links.issue(cylinder_id=cylinder.pk, at=job.tick(), by=job.world.by)
    job.status_address = link.address
    duty = duties_of(cylinder, on=job.now.date())[0]
    twins = len(likely_duplicates(serial=serial)) - 1
    says = (
        f"{job.world.owner.name} drops off {cylinder}. {duty.says} ({duty.cites}) "
        f"Cylinders of the same serial: {twins}. Tag {codes.show(job.tag.code)}; "
        f"the owner's link: {job.status_address}"
    )
    return Told(duty.due is not None and not twins, says, (job.tag,))


def teardown_and_tags(job: Job) -> Told:
    """The valve stays in until it is proven empty; then every part is off, bagged and tagged."""
    pk, by = job.order.pk, job.world.by
    early = _refusal(
        lambda: teardown.remove_part(work_order_id=pk, removal=_VALVE, at=job.tick(), by=by)
    )
    teardown.prove_empty(
        work_order_id=pk, how="valve open, no hiss, gauge at zero", at=job.tick(), by=by
    )
    parts = [
        teardown.remove_part(work_order_id=pk, removal=removal, at=job.tick(), by=by)
        for removal in (*_PARTS, _VALVE)
    ]
    tags = (
        job.issue(Thing.bag(parts[-1])),
        job.issue(Thing.kit(job.order)),
        job.issue(Thing.teardown(job.order)),
    )
    teardown.finish(work_order_id=pk, outside="sound", travel_plug=True, at=job.tick(), by=by)
    says = (
        f"The valve before it is empty: {early} Then drained, proven empty, "
        f"{', '.join(map(str, parts))} off, bagged and tagged, travel plug in."
    )
    return Told(early != "" and len(parts) == len(_PARTS) + 1, says, tags)


def dispatch(job: Job) -> Told:
    """Scanned into a consignment and handed to the carrier."""
    by = job.world.by
    line = consignment.pack(
        work_order_id=job.order.pk, lab_id=job.world.lab.pk, at=job.tick(), by=by
    )
    sent = consignment.send(
        consignment_id=line.consignment_id,
        carrier="the shop's van",
        on=job.now.date(),
        at=job.tick(),
        by=by,
    )
    count = sent.lines.count()
    return Told(count > 0, f"{sent}: {count} cylinder on the list, carried by {sent.carrier}.")


def at_the_lab(job: Job) -> Told:
    """The lab posts its record over the API, twice; it is judged again and held once."""
    body = partner.record_of(
        job.cylinder(),
        tag=job.tag.code,
        on=job.now.date(),
        rin=job.world.lab.rin,
        number=job.number + 1,
    )
    status, _answer = partner.post_record(body, key=job.key, idempotency_key=f"demo-{job.tag.code}")
    again, _same = partner.post_record(body, key=job.key, idempotency_key=f"demo-{job.tag.code}")
    record = TestRecord.objects.filter(work_order=job.order).first()
    if record is None:
        return Told(ok=False, says=f"The lab's post was answered {status} and stored nothing.")
    says = (
        f"{job.world.lab.name} posts {record.lab_reference} ({status}; again: {again}). "
        f"Judged again: {record.verdict}, permanent expansion "
        f"{record.answer['percent_permanent']} %, next due {record.answer['next_due']}."
    )
    return Told(record.verdict == "passed" and job.order.records.count() == 1, says)


def _refusal(action: Callable[[], object]) -> str:
    try:
        action()
    except Refused as refusal:
        return refusal.says
    return ""
