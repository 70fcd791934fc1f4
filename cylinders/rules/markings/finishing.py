"""Give every mark what stands beside it, once the whole stamp is known."""

from cylinders.rules.markings.draft import Draft, PendingOriginal, PendingUn
from cylinders.rules.markings.marks import Mark, OriginalMark, UnMark


def finished(draft: Draft) -> tuple[Mark, ...]:
    """Return the marks of ``draft`` in reading order."""
    marks: list[Mark] = []
    for mark in draft.marks:
        if isinstance(mark, PendingOriginal):
            marks.append(_original(draft, mark))
        elif isinstance(mark, PendingUn):
            marks.append(_receptacle(draft, mark))
        else:
            marks.append(mark)
    return tuple(marks)


def _original(draft: Draft, mark: PendingOriginal) -> OriginalMark:
    """Return the specification mark with the cylinder's serial number, maker and first test."""
    return OriginalMark(
        mark.authority,
        mark.spec,
        mark.pressure,
        mark.permit,
        mark.style,
        mark.test_pressure,
        mark.plus,
        draft.serial,
        draft.maker,
        draft.inspector,
        draft.test_date,
        draft.symbol,
        draft.ree,
        draft.alloy,
        draft.thread,
        draft.not_refillable,
    )


def _receptacle(draft: Draft, mark: PendingUn) -> UnMark:
    """Return the UN stamp with the cylinder's serial number, inspection and thread."""
    return UnMark(
        tuple(mark.standards),
        mark.un,
        mark.country_approval,
        mark.approval_no,
        draft.inspector,
        draft.test_date,
        mark.test_pressure,
        mark.working_pressure,
        mark.empty_mass_kg,
        mark.min_wall_mm,
        mark.water_capacity_l,
        draft.thread,
        mark.country_of_manufacture,
        draft.serial,
        draft.maker,
        draft.alloy,
        mark.steel_h,
        mark.underwater,
        mark.final_date,
        mark.service_date,
    )
