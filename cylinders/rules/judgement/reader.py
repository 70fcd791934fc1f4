"""Read one JSON object field by field, noting each problem with its JSON Pointer.

Every method returns a value of the right type even where the field is wrong, and notes why; the
caller throws the result away when any problem was noted. So one reading finds them all.
"""

import datetime as dt
import re
import unicodedata
from collections.abc import Collection
from decimal import Decimal
from typing import Final, TypeVar

from cylinders.rules.judgement.measured import UNITS_OF, as_sent, usual
from cylinders.rules.judgement.problem import Problem
from cylinders.rules.month import Month
from cylinders.rules.quantity import MOST_DIGITS, Quantity, QuantityError
from cylinders.rules.wording import say

_DAY = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", re.ASCII)
_FIRST_YEAR: Final = 1900
#: far enough ahead, and any period from it still ends in a month that can be written
_LAST_YEAR: Final = 2899
_SHOWN: Final = 40
#: control, format, surrogate, private use and unassigned characters have no place in a record
_HIDDEN: Final = frozenset({"Cc", "Cf", "Cs", "Co", "Cn"})

T = TypeVar("T", bound=str)


class Fields:
    """One object of the body and where it stands; problems are shared by the whole reading."""

    def __init__(self, value: object, pointer: str, problems: list[Problem]) -> None:
        self._pointer = pointer
        self._problems = problems
        self._asked: set[str] = set()
        self._values: dict[str, object] = value if isinstance(value, dict) else {}
        self._is_object = isinstance(value, dict)
        if not self._is_object and value is not None:
            self._note_at(pointer, "wrong_type", say("{kind} is not an object", kind=_kind(value)))

    def _note_at(self, pointer: str, code: str, says: str) -> None:
        self._problems.append(Problem(pointer, code, says))

    def note(self, name: str, code: str, says: str) -> None:
        """Note a problem of one field."""
        self._note_at(f"{self._pointer}/{name}", code, says)

    def close(self) -> None:
        """Note every field that nothing asked for: a mistyped name must not be passed over."""
        for name in self._values:
            if name not in self._asked:
                known = ", ".join(sorted(self._asked))
                escaped = str(name)[:_SHOWN].replace("~", "~0").replace("/", "~1")
                self.note(
                    escaped, "unknown_field", say("no such field; known here: {known}", known=known)
                )

    def _get(self, name: str, *, required: bool) -> object:
        self._asked.add(name)
        value = self._values.get(name)
        if value is None and required and self._is_object:
            self.note(name, "missing", say("is missing; it is needed to judge the test"))
        return value

    def given(self, name: str) -> bool:
        """Whether the field holds anything but null."""
        self._asked.add(name)
        return self._values.get(name) is not None

    def child(self, name: str) -> "Fields":
        """A required object."""
        value = self._get(name, required=True)
        return Fields(value, f"{self._pointer}/{name}", self._problems)

    def children(self, name: str, *, most: int) -> list["Fields"]:
        """A list of one to ``most`` objects."""
        value = self._get(name, required=True)
        if not isinstance(value, list) or not 1 <= len(value) <= most:
            if value is not None:
                self.note(
                    name, "wrong_type", say("must be a list of 1 to {most} objects", most=most)
                )
            return []
        pointer = f"{self._pointer}/{name}"
        for n, row in enumerate(value):
            if row is None:
                self.note(f"{name}/{n}", "wrong_type", say("null is not an object"))
        return [Fields(row, f"{pointer}/{n}", self._problems) for n, row in enumerate(value)]

    def text(self, name: str, *, most: int = 80) -> str:
        """Text of 1 to ``most`` characters without hidden characters or blanks at its ends."""
        value = self._get(name, required=True)
        return self._checked(name, value, most) if value is not None else ""

    def optional_text(self, name: str, *, most: int = 80) -> str | None:
        """As :meth:`text`, or ``None``."""
        value = self._get(name, required=False)
        return None if value is None else self._checked(name, value, most)

    def _checked(self, name: str, value: object, most: int) -> str:
        if not isinstance(value, str):
            self.note(name, "wrong_type", say("{kind} is not a text", kind=_kind(value)))
            return ""
        if not value or len(value) > most:
            self.note(
                name,
                "bad_text",
                say("has {count} characters; 1 to {most} are taken", count=len(value), most=most),
            )
        elif value != value.strip():
            self.note(name, "bad_text", say("has blanks at its ends; send it without"))
        elif _hides(value):
            self.note(name, "bad_text", say("holds a control or hidden character; send it without"))
        return value

    def remark(self, name: str, *, most: int = 2000) -> str:
        """Free text, empty where nothing was sent; line breaks and tabs may stand in it."""
        value = self._get(name, required=False)
        if value is None:
            return ""
        if not isinstance(value, str):
            self.note(name, "wrong_type", say("{kind} is not a text", kind=_kind(value)))
            return ""
        if len(value) > most:
            self.note(
                name,
                "bad_text",
                say(
                    "has {count} characters; at most {most} are taken", count=len(value), most=most
                ),
            )
        shown = value.translate({ord("\n"): " ", ord("\r"): " ", ord("\t"): " "})
        if _hides(shown):
            self.note(name, "bad_text", say("holds a control or hidden character; send it without"))
        return value

    def choice(self, name: str, options: Collection[T], fallback: T) -> T:
        """One of the named words, spelt exactly so; ``fallback`` only beside a noted problem."""
        value = self._get(name, required=True)
        for option in options:
            if value == option and isinstance(value, str):
                return option
        if value is not None:
            shown = repr(value)[:_SHOWN] if isinstance(value, str) else _kind(value)
            self.note(
                name,
                "not_one_of",
                say("{shown} is not one of {options}", shown=shown, options=", ".join(options)),
            )
        return fallback

    def number(self, name: str) -> Decimal:
        """A JSON number or a decimal in quotes, exactly as written; a negative zero is zero."""
        value = self._get(name, required=True)
        return self._decimal(name, value) if value is not None else Decimal(0)

    def optional_number(self, name: str) -> Decimal | None:
        """As :meth:`number`, or ``None``."""
        value = self._get(name, required=False)
        return None if value is None else self._decimal(name, value)

    def _decimal(self, name: str, value: object) -> Decimal:
        if isinstance(value, bool) or not isinstance(value, int | Decimal | str):
            hint = say("; read the JSON without floats") if isinstance(value, float) else ""
            self.note(
                name,
                "wrong_type",
                say("{kind} is not a decimal number{hint}", kind=_kind(value), hint=hint),
            )
            return Decimal(0)
        try:
            return as_sent(value)
        except QuantityError as wrong:
            self.note(name, "not_a_number", str(wrong))
            return Decimal(0)

    def whole(self, name: str, *, least: int, most: int) -> int:
        """A required JSON integer between two bounds."""
        value = self._get(name, required=True)
        return least if value is None else self._integer(name, value, least, most)

    def optional_whole(self, name: str, *, least: int, most: int) -> int | None:
        """As :meth:`whole`, or ``None``."""
        value = self._get(name, required=False)
        return None if value is None else self._integer(name, value, least, most)

    def _integer(self, name: str, value: object, least: int, most: int) -> int:
        if isinstance(value, Decimal) and value.is_finite() and value == value.to_integral_value():
            value = int(value) if value.adjusted() < MOST_DIGITS else None  # 11.0 is 11 in JSON
        if isinstance(value, bool) or not isinstance(value, int):
            self.note(name, "wrong_type", say("{kind} is not a whole number", kind=_kind(value)))
            return least
        if not least <= value <= most:
            self.note(
                name,
                "out_of_range",
                say(
                    "{value} is not between {least} and {most}", value=value, least=least, most=most
                ),
            )
            return least
        return value

    def quantity(self, name: str, dimension: str, *, positive: bool = False) -> Quantity:
        """A required ``{"value": ..., "unit": ...}`` of one dimension."""
        value = self._get(name, required=True)
        missing = Quantity(Decimal(1), UNITS_OF[dimension][0])
        return missing if value is None else self._measured(name, value, dimension, positive)

    def optional_quantity(
        self, name: str, dimension: str, *, positive: bool = False
    ) -> Quantity | None:
        """As :meth:`quantity`, or ``None``."""
        value = self._get(name, required=False)
        return None if value is None else self._measured(name, value, dimension, positive)

    def _measured(self, name: str, value: object, dimension: str, positive: bool) -> Quantity:  # noqa: FBT001 - private, and named at both callers
        found = usual(value, dimension)
        if found is None:
            fields = Fields(value, f"{self._pointer}/{name}", self._problems)
            units = UNITS_OF[dimension]
            found = Quantity(fields.number("value"), fields.choice("unit", units, units[0]))
            fields.close()
        if positive and found.value <= 0:
            self.note(name, "out_of_range", say("{found} must be more than zero", found=found))
        return found

    def day(self, name: str) -> dt.date:
        """A required day, ``YYYY-MM-DD``, of the calendar."""
        value = self._get(name, required=True)
        fallback = dt.date(_FIRST_YEAR, 1, 1)
        if value is None:
            return fallback
        try:
            if isinstance(value, str) and _DAY.fullmatch(value):
                found = dt.date.fromisoformat(value)
                if _FIRST_YEAR <= found.year <= _LAST_YEAR:
                    return found
        except ValueError:
            pass
        shown = repr(value)[:_SHOWN] if isinstance(value, str) else _kind(value)
        self.note(
            name,
            "bad_date",
            say(
                "{shown} is no day from {first_year} to {last_year}; give YYYY-MM-DD",
                shown=shown,
                first_year=_FIRST_YEAR,
                last_year=_LAST_YEAR,
            ),
        )
        return fallback

    def optional_month(self, name: str) -> Month | None:
        """A month, ``YYYY-MM``, or ``None``."""
        value = self._get(name, required=False)
        if value is None:
            return None
        try:
            if isinstance(value, str) and (found := Month.parse(value)).year <= _LAST_YEAR:
                return found
        except ValueError:
            pass
        shown = repr(value)[:_SHOWN] if isinstance(value, str) else _kind(value)
        self.note(name, "bad_month", say("{shown} is no month; give YYYY-MM", shown=shown))
        return None


def _hides(text: str) -> bool:
    # What can be printed hides nothing; of the rest, separators hide nothing either.
    return not text.isprintable() and any(unicodedata.category(one) in _HIDDEN for one in text)


_KINDS: Final = {
    type(None): "null",
    bool: say("true or false"),
    int: say("a number"),
    Decimal: say("a number"),
    float: say("a binary floating-point number"),
    str: say("a text"),
    list: say("a list"),
    dict: say("an object"),
}


def _kind(value: object) -> str:
    return _KINDS.get(type(value), "this")
