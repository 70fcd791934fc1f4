"""The figure behind a specification: which unit it has, and whether it can be true.

A US mark is in psi, a Canadian one with M in bar. A figure that cannot be what the mark says is
not given a value: it is warned about or asked.
"""

from decimal import Decimal

from cylinders.rules.markings import sources
from cylinders.rules.markings.draft import Draft
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import Specification
from cylinders.rules.specifications.pressure import service_pressure_when_not_marked
from cylinders.rules.specifications.row import PressureRule
from cylinders.rules.wording import phrase, say, together

#: the specifications of scuba cylinders
_HIGH = frozenset({"3A", "3AA", "3AL"})
#: nothing that is carried is filled above 10,000 psi or 1,000 bar
HIGHEST = {"psi": Decimal(10_000), "bar": Decimal(1_000)}
#: a high-pressure scuba mark under this many psi is a usual figure in bar
_READS_LIKE_BAR = Decimal(400)
_THOUSANDS = 3
UNIT_NAMES = {"PSI": "psi", "PSIG": "psi", "BAR": "bar", "KPA": "kPa", "MPA": "MPa"}


def stamped(
    draft: Draft, row: Specification, mark: str, figure: str | None, unit: str | None
) -> Quantity | None:
    """Return the service pressure of ``mark`` ("DOT-3AL"), ``None`` where it is not certain."""
    if figure is None:
        return _not_marked(draft, row, mark)
    value = _whole(draft, mark, figure)
    if value is None:
        return None
    written = UNIT_NAMES[unit] if unit else row.unit
    if written != row.unit:
        draft.ask(
            "pressure_unit",
            say(
                "{mark} gives its pressure in {unit}, but {written} is written. Which is it?",
                mark=mark,
                unit=row.unit,
                written=written,
            ),
            f"{figure} {row.unit}",
            f"{figure} {written}",
        )
        return None
    if mark.startswith("TC-") and row.unit == "psi" and not _canadian(draft, row, figure, value):
        return None
    return _within(draft, row, mark, Quantity(value, row.unit))


_UNMARKED = phrase("{mark} is stamped without a pressure: it is treated as {unmarked}")


def _not_marked(draft: Draft, row: Specification, mark: str) -> Quantity | None:
    """Say what a mark without a figure means."""
    unmarked = service_pressure_when_not_marked(row)
    if unmarked is not None:
        draft.warn(
            "pressure_not_marked",
            say(_UNMARKED, mark=mark, unmarked=unmarked),
            sources.UNMARKED_PRESSURE,
        )
        return None
    if row.service_fixed is not None:
        return Quantity(row.service_fixed, "psi")
    draft.warn(
        "pressure_missing",
        say("No service pressure was read behind {mark}; read it on the cylinder", mark=mark),
        sources.ORIGINAL_MARKS,
    )
    return None


def _whole(draft: Draft, mark: str, figure: str) -> Decimal | None:
    """Return the figure where it is a whole number, as every service pressure is."""
    if figure.isdigit():
        return Decimal(figure)
    digits = figure.replace(",", "").replace(".", "")
    if len(figure) - 1 - max(figure.find(","), figure.find(".")) == _THOUSANDS:
        draft.ask(
            "pressure_figure",
            say(
                "{figure} behind {mark}: is the sign between the digits a thousands mark?",
                figure=figure,
                mark=mark,
            ),
            digits,
            say("{figure} is not what is stamped", figure=figure),
        )
    else:
        draft.warn(
            "pressure_decimal",
            say(
                "{figure} behind {mark} has a decimal: service pressures are stamped as "
                "whole numbers; read it on the cylinder",
                figure=figure,
                mark=mark,
            ),
            sources.AS_STAMPED,
        )
    return None


def _canadian(draft: Draft, row: Specification, figure: str, value: Decimal) -> bool:
    """Whether a TC mark without M can be in psi; asks where it can be either."""
    if value > HIGHEST["bar"]:
        draft.warn(
            "metric_letter_missing",
            say(
                "TC-{code}{figure} lacks the M of a Canadian mark; its figure can only be psi",
                code=row.code,
                figure=figure,
            ),
            sources.METRIC,
        )
        return True
    draft.ask(
        "metric_letter_missing",
        say(
            "TC-{code}{figure} lacks the M that says bar. Which is it?",
            code=row.code,
            figure=figure,
        ),
        say("TC-{code}M{figure} ({figure} bar)", code=row.code, figure=figure),
        say("TC-{code}{figure} ({figure} psi)", code=row.code, figure=figure),
    )
    return False


def _within(draft: Draft, row: Specification, mark: str, found: Quantity) -> Quantity | None:
    """Return ``found`` unless no cylinder can have it; warn where the specification excludes it."""
    value = found.value
    if value > HIGHEST[found.unit] or not value:
        _impossible(draft, mark, found)
        return None
    low = row.service_min is not None and value < row.service_min
    high = row.service_max is not None and value > row.service_max
    if low or high or (row.service_fixed is not None and value != row.service_fixed):
        draft.warn(
            "pressure_outside_specification",
            say(
                "{mark}{value}: {code} is not made for {found} ({allowed})",
                mark=mark,
                value=value,
                code=row.code,
                found=found,
                allowed=allowed(row),
            ),
            row.cites,
        )
    elif row.test is PressureRule.FACTOR and row.code in _HIGH and value < _READS_LIKE_BAR:
        draft.ask(
            "pressure_unit",
            say(
                "{mark} means {value} psi, which is low; {value} bar is a usual figure. "
                "Which is it?",
                mark=mark,
                value=value,
            ),
            say("{value} psi", value=value),
            say("{value} bar", value=value),
        )
    return found


def _impossible(draft: Draft, mark: str, found: Quantity) -> None:
    """Warn of a pressure that no cylinder has."""
    metric = found.unit == "bar"
    says = say(
        "{mark}{figure}: no cylinder is made for {pressure}",
        mark=mark,
        figure=found.value,
        pressure=found,
    )
    draft.warn(
        "metric_figure_too_high" if metric and found.value else "pressure_impossible",
        together(
            [says, say("M means bar, and this figure reads like psi") if metric else ""], by="; "
        ),
        sources.METRIC if metric else sources.ORIGINAL_MARKS,
    )


def allowed(row: Specification) -> str:
    """Service pressures that ``row`` allows, in words."""
    if row.service_fixed is not None:
        return say("{service_fixed} psi only", service_fixed=row.service_fixed)
    ceiling = (
        say(" to {service_max}", service_max=row.service_max)
        if row.service_max is not None
        else say(" or more")
    )
    return say("{service_min}{ceiling} psi", service_min=row.service_min, ceiling=ceiling)
