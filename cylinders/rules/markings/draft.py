"""What is gathered while a stamp is read from its first character to its last."""

import datetime as dt
from typing import TYPE_CHECKING

from cylinders.rules.markings.normalising import Clean
from cylinders.rules.markings.reading import Question, Unread, Warned
from cylinders.rules.quantity import Quantity
from cylinders.rules.verdict import Citation

if TYPE_CHECKING:
    from decimal import Decimal

    from cylinders.rules.markings.marks import Mark
    from cylinders.rules.month import Month

_SEPARATORS = " /,;|&-().:"
#: what the next word may be, by its place
NOTHING, SERIAL, MAKER = 0, 1, 2


class PendingOriginal:
    """A specification mark before it is known what else stands beside it."""

    __slots__ = (
        "authority",
        "below",
        "permit",
        "plus",
        "pressure",
        "spec",
        "style",
        "test_pressure",
    )

    def __init__(self, authority: str | None, spec: str, pressure: Quantity | None) -> None:
        self.authority = authority
        self.spec = spec
        self.pressure = pressure
        self.permit: str | None = None
        self.style: str | None = None
        self.test_pressure: Quantity | None = None
        self.plus = False
        #: the figure as stamped where it stands on the line below the specification
        self.below: str | None = None


class PendingUn:
    """A UN or ISO stamp while its tokens are still being met."""

    def __init__(self) -> None:
        self.standards: list[str] = []
        self.un = False
        self.country_approval: str | None = None
        self.approval_no: str | None = None
        self.test_pressure: Quantity | None = None
        self.working_pressure: Quantity | None = None
        self.empty_mass_kg: Decimal | None = None
        self.min_wall_mm: Decimal | None = None
        self.water_capacity_l: Decimal | None = None
        self.country_of_manufacture: str | None = None
        self.steel_h = False
        self.underwater = False
        self.final_date: Month | None = None
        self.service_date: Month | None = None


class Draft:
    """Marks in reading order, what was asked and warned, and what belongs to the whole cylinder.

    One cylinder has one serial number, one maker and one first test, so these are kept here and
    given to every specification mark at the end. ``awaits`` is what the next word may be.
    """

    __slots__ = (
        "alloy",
        "awaits",
        "clean",
        "contested",
        "country",
        "inspector",
        "maker",
        "marks",
        "not_refillable",
        "on",
        "pending",
        "questions",
        "ree",
        "requalified",
        "serial",
        "serial_end",
        "symbol",
        "test_date",
        "text",
        "thread",
        "un",
        "un_mode",
        "unread",
        "warnings",
        "written",
    )

    def __init__(
        self, written: str, clean: Clean, *, on: dt.date, country: str, un_mode: bool
    ) -> None:
        self.written, self.clean, self.text = written, clean, clean.text
        self.on, self.country, self.un_mode = on, country, un_mode
        self.marks: list[Mark | PendingOriginal | PendingUn] = []
        self.pending: list[PendingOriginal] = []
        self.un: PendingUn | None = None
        self.warnings: list[Warned] = []
        self.questions: list[Question] = []
        self.unread: list[tuple[int, int]] = []
        self.awaits = SERIAL if un_mode else NOTHING
        self.requalified = False
        self.serial: str | None = None
        self.serial_end = -1
        self.maker: str | None = None
        self.inspector: str | None = None
        self.test_date: Month | None = None
        #: two dates may be that of the first test: it was asked, and no later date settles it
        self.contested = False
        self.symbol: str | None = None
        self.ree: Decimal | None = None
        self.alloy: str | None = None
        self.thread: str | None = None
        self.not_refillable = False

    def warn(self, code: str, says: str, cites: Citation) -> None:
        """Note something that cannot be true or must be known."""
        self.warnings.append(Warned(code, says, cites))

    def ask(self, code: str, says: str, *choices: str) -> None:
        """Note something that has more than one reading."""
        self.questions.append(Question(code, says, choices))

    def leave(self, start: int, end: int) -> int:
        """Note the folded text from ``start`` to ``end`` as not understood; return ``end``."""
        self.unread.append((start, end))
        self.close()
        return end

    def close(self) -> None:
        """Expect no serial number or maker here any more; a UN stamp has them anywhere."""
        if not self.un_mode:
            self.awaits = NOTHING

    @property
    def date_open(self) -> bool:
        """Whether a date met now is that of the first test: a stamp is open and has none yet."""
        return (
            self.test_date is None
            and not (self.requalified or self.contested)
            and bool(self.pending or self.un_mode)
        )

    def runs(self) -> list[tuple[int, int]]:
        """Return the places of what was not understood, neighbours on one line joined."""
        joined: list[tuple[int, int]] = []
        for start, end in self.unread:
            if joined and not self.text[joined[-1][1] : start].strip(_SEPARATORS):
                joined[-1] = (joined[-1][0], end)
            else:
                joined.append((start, end))
        if not (joined or self.marks or self.questions) and self.text.strip():
            joined.append((0, len(self.text)))
        return joined

    def places(self, runs: list[tuple[int, int]]) -> tuple[Unread, ...]:
        """Return ``runs`` with their text as written, line and column; one pass over the text."""
        found: list[Unread] = []
        line, line_start, seen = 1, 0, 0
        for first, last in runs:
            start, end = self.clean.at(first), self.clean.at(last)
            breaks = self.text.count("\n", seen, first)
            if breaks:
                line += breaks
                line_start = self.clean.at(self.text.rindex("\n", seen, first) + 1)
            seen = first
            found.append(Unread(self.written[start:end], start, line, start - line_start + 1))
        return tuple(found)
