"""Permanent expansion over a cylinder's tests: a small drawing and the same figures as a table.

Two tests are joined by a line only where method and pressure are equal; others do not compare. The
limit drawn is that of 49 CFR 180.205(i)(1)(iv), 2019-10-01: 10 % of the total expansion.
"""

import json
from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

from api.wording import told, with_sign, word
from cylinders.models import RecordState, TestRecord
from cylinders.rules.quantity import QuantityError, read_number

LIMIT = Decimal(10)
_LEFT, _TOP, _WIDTH, _HEIGHT = 34, 8, 280, 120
_HEADROOM = Decimal(12)


@dataclass(frozen=True, slots=True)
class Point:
    """One test: its figures, and where it stands in the drawing."""

    tested_on: str
    percent: str
    method: str
    pressure: str
    verdict: str
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Trend:
    """The drawing of two tests or more; ``limit_y`` is the height of the limit."""

    points: tuple[Point, ...]
    lines: tuple[tuple[Point, Point], ...]
    limit_y: int


def trend_of(records: Iterable[TestRecord]) -> Trend | None:
    """The trend of the records that count, oldest first; None where there are fewer than two."""
    tests = [(record, _percent(record)) for record in records if _counts(record)]
    known = [(record, share) for record, share in tests if share is not None]
    if len(known) < 2:  # noqa: PLR2004 - a line has two ends
        return None
    known.sort(key=lambda test: (test[0].tested_on, test[0].pk))
    top = max(_HEADROOM, *(share for _, share in known))
    first, last = known[0][0].tested_on, known[-1][0].tested_on
    span = max((last - first).days, 1)
    points = tuple(
        _point(record, share, x=(record.tested_on - first).days * _WIDTH // span, top=top)
        for record, share in known
    )
    joined = tuple(
        (one, two)
        for one, two in pairwise(points)
        if (one.method, one.pressure) == (two.method, two.pressure)
    )
    return Trend(points, joined, _height(LIMIT, top))


def _counts(record: TestRecord) -> bool:
    return record.state == RecordState.ATTACHED


def _percent(record: TestRecord) -> Decimal | None:
    try:
        return read_number(str(record.answer.get("percent_permanent")))
    except QuantityError:
        return None


def _point(record: TestRecord, share: Decimal, *, x: int, top: Decimal) -> Point:
    body = json.loads(record.body)
    pressure = body.get("test_pressure") or {}
    return Point(
        tested_on=record.tested_on.isoformat(),
        percent=with_sign(f"{share:f}"),
        method=word(str(body.get("method") or "not known")),
        pressure=f"{pressure.get('value', '')} {pressure.get('unit', '')}".strip(),
        verdict=told(record.verdict),
        x=_LEFT + x,
        y=_height(share, top),
    )


def _height(share: Decimal, top: Decimal) -> int:
    return _TOP + _HEIGHT - int(share * _HEIGHT / top)
