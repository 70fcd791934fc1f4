"""The state that the events of a cylinder lead to, and the names of its fields."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from cylinders.rules.stages import Stage

FactsDict = Mapping[str, Any]

#: markings that a correction may change; the names are those of ``facts.Markings``
MARKING_FIELDS = (
    *("stamp_text", "authority", "specification", "permit"),
    *("service_pressure", "pressure_unit", "serial", "manufacturer_mark"),
    *("material", "alloy", "neck_thread", "first_test"),
    *("requalified", "requalified_symbol", "requalified_rin", "stamped_due", "life_end"),
)

#: What a part is; it never changes after it came off.
PART_FIELDS = (
    *("kind", "name", "thread", "outlet"),
    *("serial", "oxygen_clean", "condition", "shared_with"),
)
INSPECTION_FIELDS = (
    *("standard", "internal", "external", "threads", "result", "notes"),
    *("eddy_current", "eddy_equipment", "eddy_ring", "second_look", "second_notes"),
)
FILE_FIELDS = ("sha256", "file_kind", "media_type", "shows", "work_order", "record", "inspection")


@dataclass(slots=True)
class State:
    """The state that follows from the events; see the models of the same names.

    ``runs`` maps visit and consignment to where the cylinder is in it (packed, out, home), to which
    lab it went, and who carried it; ``notices`` maps those that went to duty, due day and channel;
    ``tests`` maps the records that counted once to day and reference: so they follow each other.
    """

    markings: dict[str, str] = field(default_factory=dict)
    owner: int | None = None
    life: str = "in_service"
    stages: dict[int, str] = field(default_factory=dict)
    proven_empty: set[int] = field(default_factory=set)
    stamps_agree: dict[int, bool] = field(default_factory=dict)
    parts: dict[int, str] = field(default_factory=dict)
    made: dict[int, dict[str, object]] = field(default_factory=dict)
    inspections: dict[int, dict[str, object]] = field(default_factory=dict)
    last_visual: str = ""
    last_thread_examination: str = ""
    last_oxygen_clean: str = ""
    last_valve_service: str = ""
    oxygen_clean: bool | None = None
    use_gas: str = "air"
    decoded: str = ""
    bodies: dict[int, str] = field(default_factory=dict)
    answers: dict[int, str] = field(default_factory=dict)
    records: dict[int, str] = field(default_factory=dict)
    verdicts: dict[int, str] = field(default_factory=dict)
    tests: dict[int, tuple[str, str]] = field(default_factory=dict)
    checks: dict[int, str] = field(default_factory=dict)
    reports: dict[int, tuple[str, str, str, str]] = field(default_factory=dict)
    fills: dict[int, tuple[str, str, str]] = field(default_factory=dict)
    tags: dict[str, tuple[str, int | None, bool]] = field(default_factory=dict)
    files: dict[int, dict[str, object]] = field(default_factory=dict)
    runs: dict[tuple[int, int], tuple[str, int | None, str]] = field(default_factory=dict)
    notices: dict[int, tuple[str, str, str]] = field(default_factory=dict)

    def move(self, facts: FactsDict, stage: Stage) -> None:
        """Put the visit named in ``facts`` at ``stage``; it leaves a run that is being packed."""
        order = facts.get("work_order")
        if order is None:
            return
        self.stages[order] = stage.value
        if stage is not Stage.AT_LAB:
            packed = [place for place, run in self.runs.items() if run[0] == "packed"]
            for place in packed:
                if place[0] == order:
                    del self.runs[place]
