"""The second half of the job: home from the lab, inspected, put together, filled, handed over."""

from pathlib import Path

from api.demo import bench
from api.demo.job import Job, Told
from api.demo.printing import write
from cylinders.models import Cylinder, Part
from cylinders.operations import consignment, handover, reassembly, reminders, stamp
from cylinders.queries.due import duties_of, fill_verdict
from labels.content import contents_of
from labels.models import Tag, TagKind, TagState
from labels.operations.binding import Thing


def home_again(job: Job) -> Told:
    """Scanned home; a misread stamp is found out, the right one agrees."""
    by, rin = job.world.by, job.world.lab.rin
    consignment.take_back(work_order_id=job.order.pk, at=job.tick(), by=by)
    month, year = job.now.month, job.now.year % 100
    square = f"{rin[:2]}/{rin[3]}{rin[2]}"
    wrong, right = f"{month} {square} {year - 1}", f"{month} {square} {year}"
    answers = [
        stamp.compare_stamp(
            work_order_id=job.order.pk,
            typed=typed,
            on=job.now.date(),
            at=job.tick(),
            by=by,
        )
        for typed in (wrong, right)
    ]
    says = (
        f"Home again. Stamp typed as {wrong}: {' '.join(answers[0].differences)} "
        f"Read again as {right}: it agrees with the record."
    )
    return Told(not answers[0].agrees and answers[1].agrees, says)


def inspection(job: Job) -> Told:
    """Inspected by a named standard."""
    job.visit().inspect()
    job.order.refresh_from_db()
    says = f"Inside, outside and threads by {bench.SOUND.standard}; old sticker off."
    return Told(job.order.stage == "inspected", says)


def wrong_part(job: Job) -> Told:
    """Another cylinder's valve is offered, refused, and its own cylinder named."""
    stranger = (
        Part.objects.exclude(cylinder=job.order.cylinder)
        .filter(whereabouts="bagged", kind="valve")
        .select_related("cylinder")
        .first()
    )
    if stranger is None:
        return Told(ok=False, says="There is no other valve in the house to try.")
    bag = job.issue(Thing.bag(stranger))
    offer = job.offer(bag.url)
    stranger.refresh_from_db()
    owner = offer.belongs_to
    says = f"{offer.says} It belongs to {owner}."
    kept = stranger.whereabouts == "bagged"
    return Told(offer.code == "wrong_cylinder" and owner is not None and kept, says)


def put_together(job: Job) -> Told:
    """The valve is serviced, its bag fits once, the kit follows, the reassembly closes."""
    visit = job.visit()
    valve = job.order.parts.get(kind="valve")
    visit.service(valve)
    bag = Tag.objects.get(part=valve, state=TagState.LIVE)
    first, second = job.offer(bag.url), job.offer(bag.url)
    kit = Tag.objects.get(work_order=job.order, kind=TagKind.KIT)
    for part in job.order.parts.exclude(pk=valve.pk).order_by("pk"):
        job.offer(kit.url, part)
    reassembly.finish(work_order_id=job.order.pk, at=job.tick(), by=job.world.by)
    says = (
        f"Valve serviced with new O-rings. Its bag scanned: {first.says} "
        f"Scanned again: {second.says} All {job.order.parts.count()} parts are on."
    )
    return Told(first.fits and second.code == "already_fitted", says)


def overfill(job: Job) -> Told:
    """A fill over the marked pressure is refused."""
    outcome = job.visit().fill("0.21", "3300")
    says = " ".join(reason.says for reason in outcome.reasons)
    return Told(not outcome.allowed and bool(outcome.reasons), f"3300 psi: {says}")


def fill(job: Job) -> Told:
    """A fill to the marked pressure, with its contents label."""
    outcome = job.visit().fill("0.21", "3000")
    if outcome.fill is None:
        return Told(ok=False, says=" ".join(reason.says for reason in outcome.reasons))
    label = contents_of(outcome.fill, job.tag, initials=job.world.technician.username[:2])
    files = write(label, f"contents-{job.tag.code}", Path(job.folder) / "tags")
    says = f"Air to {outcome.fill.pressure} psi; {outcome.fill.mod}."
    return Told(ok=True, says=says, files=tuple(files.all))


def ready(job: Job) -> Told:
    """The customer may come."""
    job.visit().call_ready()
    job.order.refresh_from_db()
    return Told(job.order.stage == "ready", f"{job.world.owner.name} may come.")


def collected(job: Job) -> Told:
    """Handed over, with the next due date."""
    handover.hand_over(work_order_id=job.order.pk, to_owner=True, at=job.tick(), by=job.world.by)
    duty = duties_of(job.cylinder(), on=job.now.date())[0]
    return Told(duty.due is not None, f"Handed over. {duty.says}")


def condemned(job: Job) -> Told:
    """A condemned cylinder is never filled."""
    cylinder = Cylinder.objects.filter(life="condemned").first()
    if cylinder is None:
        return Told(ok=False, says="The scenario's condemned cylinder is missing.")
    verdict = fill_verdict(cylinder, on=job.now.date())
    says = " ".join(reason.says for reason in verdict.reasons)
    never = any(reason.code == "condemned" for reason in verdict.reasons)
    return Told(never and not verdict.allowed, f"{cylinder}: {says}")


def plan_reminders(job: Job) -> Told:
    """Reminders are planned once, however often they are planned."""
    planned = reminders.plan(on=job.now.date())
    again = reminders.plan(on=job.now.date())
    says = f"{planned} reminders planned; planned a second time: {again}."
    return Told(again == 0, says)
