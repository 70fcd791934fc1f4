"""Permanent and elastic expansion over successive tests: a plot as inline SVG, and its table.

Two panels under one time axis: permanent expansion in per cent of total with the limit as a line,
and elastic expansion in cc. A cylinder whose wall thins shows it as a rising elastic expansion long
before it fails; one whose metal has softened as a rising permanent one. The table says the same for
those who do not see the plot, so the drawing itself is hidden from screen readers.

>>> from cylinders.rules.quantity import cc
>>> rows = table((Test(dt.date(2021, 11, 3), Expansion(cc("70.4"), cc("1.2")), Decimal(10)),))
>>> rows[0].percent, rows[0].elastic
('1.8', '69.2')
"""

import datetime as dt
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal

from cylinders.rules.quantity import ROUND_CEILING, Quantity
from cylinders.rules.water_jacket import Expansion, exact_percent, exceeds, possible, shown_percent

WIDTH, PANEL, GAP, LEFT, RIGHT, TOP, BOTTOM = 480, 110, 34, 46, 14, 18, 22
HEIGHT = TOP + PANEL + GAP + PANEL + BOTTOM
_HEADROOM = 1.15
#: drawn so that it can be read without any style sheet, in the colour of the text around it
_STROKE = 'fill="none" stroke="currentColor"'
_THIN = f'{_STROKE} stroke-opacity="0.4"'
_FEWEST_TO_PLOT = 2


@dataclass(frozen=True, slots=True)
class Test:
    """One earlier test: its day, its readings and the limit it was judged by (None: unknown)."""

    __test__ = False  # not a test case, whatever its name

    date: dt.date
    read: Expansion
    limit_percent: Decimal | None


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table, as shown: expansions in cc, percentage rounded up."""

    date: dt.date
    total: str
    permanent: str
    elastic: str
    percent: str
    limit: str
    above: bool


def usable(tests: Sequence[Test]) -> tuple[Test, ...]:
    """The tests whose readings can be, oldest first."""
    can_be = (test for test in tests if possible(test.read).passed)
    return tuple(sorted(can_be, key=lambda test: test.date))


def table(tests: Sequence[Test]) -> tuple[Row, ...]:
    """The rows behind the plot, oldest first; readings that cannot be are left out."""
    return tuple(_row(test) for test in usable(tests))


def _row(test: Test) -> Row:
    limit = test.limit_percent
    return Row(
        date=test.date,
        total=_cc(test.read.total),
        permanent=_cc(test.read.permanent),
        elastic=_cc(test.read.elastic),
        percent=f"{shown_percent(test.read):f}",
        limit="not known" if limit is None else f"{limit:f}",
        above=limit is not None and exceeds(test.read, limit),
    )


def _cc(volume: Quantity) -> str:
    return f"{volume.convert('cc', places=1, rounding=ROUND_CEILING).value:f}"


def svg(tests: Sequence[Test]) -> str:
    """The plot as one ``<svg>`` element, or ``""`` for fewer than two usable tests.

    Positions are drawing coordinates (floats); every figure shown comes from the exact values.
    """
    shown = usable(tests)
    if len(shown) < _FEWEST_TO_PLOT:
        return ""
    rows, place = table(shown), _time_axis(shown)
    limits = [test.limit_percent for test in shown if test.limit_percent is not None]
    most = max([Decimal(row.percent) for row in rows] + limits)
    percents = [float(exact_percent(test.read)) for test in shown]
    upper = _panel(_spots(shown, percents, place, most, TOP), "Permanent, % of total", most, TOP)
    elastics = [float(test.read.elastic_base) for test in shown]
    widest, below = max(Decimal(row.elastic) for row in rows), TOP + PANEL + GAP
    lower = _panel(_spots(shown, elastics, place, widest, below), "Elastic, cc", widest, below)
    line = _limit_line(shown[-1].limit_percent, most)
    return (
        f'<svg class="trend" viewBox="0 0 {WIDTH} {HEIGHT}" width="{WIDTH}" height="{HEIGHT}" '
        f'fill="currentColor" font-size="11" aria-hidden="true" focusable="false">'
        f"{upper}{line}{lower}{_years(shown, place)}</svg>"
    )


def _time_axis(shown: Sequence[Test]) -> Callable[[dt.date], float]:
    first, last = shown[0].date.toordinal(), shown[-1].date.toordinal()
    span = max(1, last - first)
    width = WIDTH - LEFT - RIGHT
    return lambda day: LEFT + width * (day.toordinal() - first) / span


def _height(value: float, most: Decimal, top: int) -> float:
    return top + PANEL * (1 - value / (float(most) * _HEADROOM or 1))


def _spots(
    shown: Sequence[Test],
    values: Sequence[float],
    place: Callable[[dt.date], float],
    most: Decimal,
    top: int,
) -> list[tuple[float, float]]:
    """Where each test stands in its panel."""
    return [
        (place(test.date), _height(value, most, top))
        for test, value in zip(shown, values, strict=True)
    ]


def _panel(spots: Sequence[tuple[float, float]], name: str, most: Decimal, top: int) -> str:
    """One panel: frame, name, scale (its highest figure, as shown), a line and a dot each."""
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y in spots)
    dots = "".join(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="3"/>' for x, y in spots)
    return (
        f'<rect class="trend-frame" x="{LEFT}" y="{top}" width="{WIDTH - LEFT - RIGHT}" '
        f'height="{PANEL}" {_THIN}/><text x="{LEFT}" y="{top - 5}">{name}</text>'
        f'<text class="trend-scale" x="{LEFT - 6}" y="{_height(float(most), most, top) + 4:.1f}" '
        f'text-anchor="end">{most:f}</text>'
        f'<text class="trend-scale" x="{LEFT - 6}" y="{top + PANEL}" text-anchor="end">0</text>'
        f'<polyline class="trend-line" points="{path}" {_STROKE}/><g class="trend-dots">{dots}</g>'
    )


def _limit_line(limit: Decimal | None, most: Decimal) -> str:
    """The limit of the latest test, dashed and named."""
    if limit is None:
        return ""
    y = _height(float(limit), most, TOP)
    return (
        f'<line class="trend-limit" x1="{LEFT}" x2="{WIDTH - RIGHT}" y1="{y:.1f}" y2="{y:.1f}" '
        f'{_STROKE} stroke-dasharray="5 3"/><text class="trend-limit-name" x="{WIDTH - RIGHT - 4}" '
        f'y="{y - 4:.1f}" text-anchor="end">limit {limit:f} %</text>'
    )


def _years(shown: Sequence[Test], place: Callable[[dt.date], float]) -> str:
    """First and last test below the axis."""
    first, last = shown[0].date, shown[-1].date
    return (
        f'<text x="{place(first):.1f}" y="{HEIGHT - 6}">{first:%Y-%m}</text>'
        f'<text x="{place(last):.1f}" y="{HEIGHT - 6}" text-anchor="end">{last:%Y-%m}</text>'
    )
