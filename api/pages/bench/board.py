"""The board: work in hand by stage, what waits longest first, with counts that add up."""

import datetime as dt
from dataclasses import dataclass
from typing import Any

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from api import arming
from api.batches import waiting
from api.pages.bench.order import next_of, stage_name
from api.pages.page import BenchPage
from api.wording import numbered
from cylinders.models import RecordState, TestRecord, WorkOrder
from cylinders.queries.board import Column, board

_DAY, _HOUR, _MINUTE = 86_400, 3_600, 60


_SIZES = (
    (_DAY, numbered("waits %(count)s day", "waits %(count)s days")),
    (_HOUR, numbered("waits %(count)s hour", "waits %(count)s hours")),
    (_MINUTE, numbered("waits %(count)s minute", "waits %(count)s minutes")),
)


@dataclass(frozen=True, slots=True)
class BoardRow:
    """One visit as the board shows it."""

    order: WorkOrder
    waits: str
    bagged: int
    then: str


@dataclass(frozen=True, slots=True)
class BoardColumn:
    """One stage that has visits."""

    name: str
    rows: tuple[BoardRow, ...]


class Board(BenchPage):
    """Every open visit; stages without one are left out."""

    template = "pages/bench/board.html"
    tab = "board"

    def context(self) -> dict[str, Any]:
        """The columns, their sum and how many records wait for a person."""
        columns = [_column(column) for column in board(now=self.at) if column.rows]
        return {
            "columns": columns,
            "total": sum(len(column.rows) for column in columns),
            "sum": " + ".join(f"{len(c.rows)} {c.name.lower()}" for c in columns) or "0",
            "silent": not arming.is_armed(),
            "waiting": waiting.lines().count(),
            "held": TestRecord.objects.filter(state=RecordState.HELD).count(),
        }


class Wall(Board):
    """The board for a screen in the workshop: large, without names, looked at each minute."""

    template = "pages/bench/wall.html"


def waited(time: dt.timedelta) -> str:
    """How long something waits, in one unit, rounded down."""
    seconds = max(int(time.total_seconds()), 0)
    for size, words in _SIZES:
        count = seconds // size
        if count:
            return ngettext(*words, count) % {"count": count}
    return _("just now")


def _column(column: Column) -> BoardColumn:
    rows = tuple(
        BoardRow(row.order, waited(row.waits), row.bagged, next_of(row.order).words)
        for row in column.rows
    )
    return BoardColumn(stage_name(column.stage), rows)
