"""The model: what must be true, in plain dicts, and the bench's rules restated by hand."""

import datetime as dt
from dataclasses import dataclass, field
from typing import Any

from tests import makers

Row = dict[str, Any]
Rows = dict[Any, Row]

WORKING = {
    *("received", "torn_down", "at_lab", "back"),
    *("inspected", "reassembled", "filled", "ready"),
}
EXITS = {"rejected", "condemned", "withdrawn"}
#: step -> the stages at which it may happen
ALLOWED: dict[str, set[str]] = {
    "prove_empty": {"received"},
    "remove_part": {"received"},
    "finish_teardown": {"received"},
    "pack": {"torn_down"},
    "unpack": {"torn_down"},
    "take_back": {"at_lab"},
    "undo_return": {"back"},
    "report": {"at_lab", "back"},
    "compare": {"back"},
    "inspect": {"torn_down", "back"},
    "service": {"torn_down", "at_lab", "back", "inspected"},
    "clean": {"torn_down", "back", "inspected"},
    "fit": {"inspected"},
    "unfit": {"inspected"},
    "finish": {"inspected"},
    "fill": {"received", "reassembled"},
    "ready": {"reassembled", "filled"},
    "hand_over": {"ready"} | EXITS,
    "reject": WORKING,
    "condemn": WORKING | {"rejected"},
    "withdraw": WORKING,
}
OUT_OF_ORDER = "step_out_of_order"
NECK = "3/4-14 NPSM"
IN_THE_NECK = {"valve", "manifold"}
NOTICE_DAYS = (60, 30, 7, 0, -30)
#: A reminder goes while nothing newer has come; the last one for thirty days.
LAST_FOR = 30


@dataclass
class World:
    """Everything that the model knows; numbers are those of the rows."""

    now: dt.datetime = makers.NOON
    owners: Rows = field(default_factory=dict)
    labs: Rows = field(default_factory=dict)
    cylinders: Rows = field(default_factory=dict)
    orders: Rows = field(default_factory=dict)
    parts: Rows = field(default_factory=dict)
    consignments: Rows = field(default_factory=dict)
    records: Rows = field(default_factory=dict)
    fills: Rows = field(default_factory=dict)
    tags: Rows = field(default_factory=dict)
    runs: Rows = field(default_factory=dict)
    links: Rows = field(default_factory=dict)
    serial: int = 0

    @property
    def on(self) -> dt.date:
        """The day of ``now``."""
        return self.now.date()

    def next_number(self) -> int:
        """A number that was not used before."""
        self.serial += 1
        return self.serial

    def cylinder_of(self, order: int) -> Row:
        """The cylinder of an order."""
        found: Row = self.cylinders[self.orders[order]["cylinder"]]
        return found

    def open_order(self, cylinder: int) -> int | None:
        """The visit that is open, if one is."""
        mine = (pk for pk, row in self.orders.items() if row["cylinder"] == cylinder)
        return next((pk for pk in mine if self.orders[pk]["stage"] != "collected"), None)

    def parts_of(self, order: int) -> Rows:
        """The parts that came off in a visit."""
        return {pk: row for pk, row in self.parts.items() if row["order"] == order}

    def may(self, step: str, order: int) -> str:
        """Empty where ``step`` may happen now, else the code of the refusal."""
        return "" if self.orders[order]["stage"] in ALLOWED[step] else OUT_OF_ORDER

    def out_of_use(self, order: int) -> str:
        """The refusal of work on a cylinder that was rejected or condemned."""
        life = self.cylinder_of(order)["life"]
        return "" if life == "in_service" else f"cylinder_{life}"


def first(*codes: str) -> str:
    """The first refusal in the order in which an operation looks; empty: none."""
    return next((code for code in codes if code), "")


def when(condition: object, code: str) -> str:
    """``code`` where ``condition`` holds."""
    return code if condition else ""


def pick(items: Any, number: int) -> Any:
    """One of ``items`` by a number that was drawn."""
    every = list(items)
    return every[number % len(every)]


def month_of(day: dt.date) -> str:
    return f"{day.year:04d}-{day.month:02d}"


def months(text: str) -> int:
    """Months since the year 0 of ``YYYY-MM``."""
    return int(text[:4]) * 12 + int(text[5:]) - 1


def last_day(text: str, *, after: int) -> dt.date:
    """The last day of the month that comes ``after`` months later than ``text``."""
    following = months(text) + after + 1
    return dt.date(following // 12, following % 12 + 1, 1) - dt.timedelta(days=1)


def last_visual(cylinder: Row) -> str:
    """The later of the shop's look and the test, which brings one with it."""
    return max(str(cylinder["last_visual"]), str(cylinder["requalified"]))


def dues_of(cylinder: Row) -> dict[str, dt.date]:
    """The last days in date of the two duties that every cylinder has, where they are known."""
    if cylinder["life"] != "in_service":
        return {}
    tested = cylinder["requalified"] or "2008-06"
    found = {"requalification": last_day(tested, after=60)}
    if last_visual(cylinder):
        found["internal_visual"] = last_day(last_visual(cylinder), after=12)
    return found


def notice_of(due: dt.date, on: dt.date) -> int | None:
    """The days of the one reminder that may go on ``on``."""
    come = [days for days in NOTICE_DAYS if due - dt.timedelta(days=days) <= on]
    if not come or (min(come) == -30 and on > due + dt.timedelta(days=30 + LAST_FOR)):
        return None
    return min(come)


def against_fill(cylinder: Row, on: dt.date, *, enriched: bool, pressure: int) -> set[str]:
    """The kinds of reason that stand against a fill."""
    if cylinder["life"] != "in_service":
        return {"life"}
    dues = dues_of(cylinder)
    rich = enriched or cylinder["use_gas"] != "air"
    cleaned = cylinder["last_oxygen_clean"]
    reasons = {
        "test": on > dues["requalification"],
        "visual": "internal_visual" not in dues or on > dues["internal_visual"],
        "clean": rich and not cylinder["oxygen_clean"],
        "cleaned": rich and (not cleaned or on > last_day(cleaned, after=12)),
        "pressure": pressure > 3000,
    }
    return {name for name, stands in reasons.items() if stands}
