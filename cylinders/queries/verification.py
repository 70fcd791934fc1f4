"""Hold what is stored against what follows from the history, cylinder by cylinder.

Links and tags are held against it where they live, in :mod:`api.links` and :mod:`labels.scanning`.
No event tells of people and what they agreed to, staff, labs and their keys, the shop's settings,
print runs, messages that have not gone, calls, and the hour of a packing or a return: there only
the backups can be asked.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from django.db.models import Model

from cylinders import history
from cylinders.models import Cylinder, NoticeState
from cylinders.queries import due_index, stored_files
from cylinders.queries.snapshot import snapshot
from cylinders.story import INSPECTION_FIELDS, MARKING_FIELDS, PART_FIELDS, State

_TOLD = (
    "life",
    "use_gas",
    "oxygen_clean",
    "last_visual",
    "last_thread_examination",
    "last_oxygen_clean",
    "last_valve_service",
)

#: what is read together with the cylinders, for so many of them at once
_BESIDE = (
    *("work_orders__lines__consignment", "parts", "shared_parts", "inspections", "fills"),
    *("attachments__file", "records__daily_check", "lab_reports", "notices", "known_dues"),
)
_AT_ONCE = 100


@dataclass(frozen=True, slots=True)
class Verified:
    """How much was looked at, and every problem as a sentence."""

    cylinders: int
    events: int
    problems: tuple[str, ...]

    @property
    def ok(self) -> bool:
        """Whether nothing was found."""
        return not self.problems


def verify() -> Verified:
    """Recompute every chain, and hold every row and every file against what its events say."""
    found = rows()
    return replace(found, problems=(*found.problems, *stored_files.problems()))


@snapshot()
def rows() -> Verified:
    """Recompute every chain and compare every row with the state that follows from its events.

    All of it is of one moment: who works meanwhile neither waits nor raises an alarm.
    """
    problems: list[str] = []
    count, book = 0, due_index.rule_book()
    every = Cylinder.objects.order_by("pk").select_related("due_look").prefetch_related(*_BESIDE)
    for cylinder in every.iterator(chunk_size=_AT_ONCE):
        count += 1
        problems += [*problems_of(cylinder), *due_index.problems_of(cylinder, book)]
    problems += due_index.reach_problems(book)
    return Verified(count, history.events_held(), tuple(problems))


def problems_of(cylinder: Cylinder) -> list[str]:
    """Every problem of one cylinder: a broken chain, or a row that no event explains."""
    broken = list(history.chain_problems(cylinder))
    try:
        state = history.state(cylinder.pk)
    except (KeyError, TypeError, ValueError) as problem:
        return [*broken, f"cylinder {cylinder.pk}: its history cannot be told: {problem!r}"]
    return broken + list(_rows_against(cylinder, state))


def _rows_against(cylinder: Cylinder, state: State) -> Iterator[str]:
    where = f"cylinder {cylinder.pk}"
    for name in MARKING_FIELDS:
        yield from _compare(f"{where}, {name}", getattr(cylinder, name), state.markings.get(name))
    for name in _TOLD:
        yield from _compare(f"{where}, {name}", getattr(cylinder, name), getattr(state, name))
    yield from _compare(f"{where}, owner", cylinder.owner_id, state.owner)
    decoded = history.digest_of_value(cylinder.decoded)
    yield from _compare(f"{where}, reading of its stamp", decoded, state.decoded)
    orders = cylinder.work_orders.all()
    stages = {order.pk: order.stage for order in orders}
    yield from _compare(f"{where}, stages of its orders", stages, state.stages)
    empty = {order.pk for order in orders if order.proven_empty}
    yield from _compare(f"{where}, orders proven empty", empty, state.proven_empty)
    agree = {order.pk: order.stamp_agrees for order in orders if order.stamp_agrees is not None}
    yield from _compare(f"{where}, stamps that agree", agree, state.stamps_agree)
    own = {part.pk: part.whereabouts for part in cylinder.parts.all()}
    shared = {part.pk for part in cylinder.shared_parts.all()}
    told_own = {part: place for part, place in state.parts.items() if part not in shared}
    yield from _compare(f"{where}, places of its parts", own, told_own)
    made = _columns(cylinder.parts.all(), PART_FIELDS)
    yield from _compare_each(f"{where}, part", made, state.made)
    seen = _columns(cylinder.inspections.all(), INSPECTION_FIELDS)
    yield from _compare_each(f"{where}, inspection", seen, state.inspections)
    yield from _compare_each(f"{where}, file", stored_files.rows_of(cylinder), state.files)
    yield from _records_against(cylinder, state)
    yield from _compare(f"{where}, its runs to a lab", _runs(cylinder), state.runs)
    notices = {
        notice.pk: (notice.duty, notice.due.isoformat(), notice.channel)
        for notice in cylinder.notices.all()
        if notice.state == NoticeState.SENT
    }
    yield from _compare(f"{where}, messages that went", notices, state.notices)


def _runs(cylinder: Cylinder) -> dict[tuple[int, int], tuple[str, int | None, str]]:
    lines = (line for order in cylinder.work_orders.all() for line in order.lines.all())
    runs: dict[tuple[int, int], tuple[str, int | None, str]] = {}
    for line in lines:
        run = line.consignment
        where = "home" if line.returned_at else "out" if run.sent_at else "packed"
        lab, carrier = (run.lab_id, run.carrier) if run.sent_at else (None, "")
        runs[line.work_order_id, run.pk] = (where, lab, carrier)
    return runs


def _records_against(cylinder: Cylinder, state: State) -> Iterator[str]:
    where = f"cylinder {cylinder.pk}"
    records = {record.pk: record for record in cylinder.records.all()}
    bodies = {pk: history.digest_of(record.body) for pk, record in records.items()}
    yield from _compare(f"{where}, bodies of its test records", bodies, state.bodies)
    answers = {pk: history.digest_of_value(record.answer) for pk, record in records.items()}
    yield from _compare(f"{where}, judgements of its test records", answers, state.answers)
    states = {pk: record.state for pk, record in records.items()}
    yield from _compare(f"{where}, states of its test records", states, state.records)
    verdicts = {pk: record.verdict for pk, record in records.items()}
    yield from _compare(f"{where}, verdicts of its test records", verdicts, state.verdicts)
    checks = {
        pk: history.digest_of(record.daily_check.body)
        for pk, record in records.items()
        if record.daily_check
    }
    yield from _compare(f"{where}, daily checks of its tests", checks, state.checks)
    reports = {
        row.pk: (
            row.state,
            row.came,
            history.digest_of(row.body),
            history.digest_of_value(row.answer),
        )
        for row in cylinder.lab_reports.all()
    }
    yield from _compare(f"{where}, reports of its lab", reports, state.reports)
    fills = {
        fill.pk: (fill.oxygen_fraction, fill.pressure, fill.pressure_unit)
        for fill in cylinder.fills.all()
    }
    yield from _compare(f"{where}, fills", fills, state.fills)


Rows = Mapping[int, Mapping[str, object]]


def _columns(rows: Iterable[Model], names: Sequence[str]) -> Rows:
    """The named columns of each row, a reference by its number."""
    return {row.pk: {name: row.serializable_value(name) for name in names} for row in rows}


def _compare_each(what: str, stored: Rows, told: Rows) -> Iterator[str]:
    for pk in sorted(stored.keys() | told.keys()):
        row, said = stored.get(pk, {}), told.get(pk, {})
        for name in {**row, **said}:
            yield from _compare(f"{what} {pk}, {name}", row.get(name), said.get(name))


def _compare(what: str, stored: object, told: object) -> Iterator[str]:
    if stored != told:
        yield f"{what}: stored as {stored!r}, but its history says {told!r}"
