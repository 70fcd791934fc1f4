"""One posted test record, from its JSON value to a stored, judged record.

The API, a batch and the lab's pages come through here, so one record means the same by every way.
"""

import datetime as dt
import json
import re
from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import lru_cache
from typing import Any

from django.utils import timezone

from api import at_the_lab
from cylinders.facts import Actor
from cylinders.models import Cylinder, TestRecord
from cylinders.operations import amendment, retest, retest_many
from cylinders.operations.amendment import Correction
from cylinders.operations.retest_many import Outcome, Posted
from cylinders.queries import for_lab
from cylinders.queries.for_lab import Stamped
from cylinders.rules.judgement import TestBody, loads, parse, remembered
from cylinders.rules.judgement.problem import Problem, UnusableBody
from cylinders.rules.refusal import Refused

#: A lab may stand in a time zone whose day has begun before the shop's.
_AHEAD = dt.timedelta(days=1)
#: An address of its own must be able to hold the reference, without any escaping.
REFERENCE = re.compile(r"[A-Za-z0-9][A-Za-z0-9._:-]{0,79}", re.ASCII)


@dataclass(frozen=True, slots=True)
class Received:
    """The record, and whether it is new here; else it was held already and nothing was done."""

    record: TestRecord
    new: bool


def read(value: object) -> TestBody:
    """The record that a JSON value is; raises ``UnusableBody`` with every place that is wrong."""
    body = parse(value)
    if not REFERENCE.fullmatch(body.lab_reference):
        says = "begins with a letter or digit; then letters, digits and . _ : - only"
        raise UnusableBody([Problem("/lab_reference", "bad_text", says)])
    return body


def receive(
    *,
    lab_id: int,
    value: object,
    at: dt.datetime,
    by: Actor,
    picked: Cylinder | None = None,
) -> Received:
    """Store and judge one record of a cylinder that was sent to that lab.

    The body names the cylinder, unless a person ``picked`` it: then a serial that differs is a
    contradiction for the judgement and not another cylinder.

    Raises ``UnusableBody`` for a wrong shape, and :class:`Refused`: ``cylinder_not_found``,
    ``cylinder_ambiguous``, ``tag_retired``, ``reference_used``, ``tested_in_future``, or what the
    operation refuses. The same record again is no error, also when its cylinder has gone home.
    """
    body = _read_in_time(value, at=at)
    text = canonical(value)
    held = for_lab.records(lab_id=lab_id).filter(lab_reference=body.lab_reference).first()
    if held is not None:
        return _again(held, text)
    cylinder = picked or _named(lab_id, body)
    receipt = retest.receive_record(
        lab_id=lab_id,
        cylinder_id=cylinder.pk,
        body=body,
        body_text=text,
        on=timezone.localdate(at),
        at=at,
        by=by,
    )
    return Received(receipt.record, receipt.created)


def receive_many(
    *, lab_id: int, texts: Sequence[str], at: dt.datetime, by: Actor
) -> list[Received | Refused | UnusableBody]:
    """What :func:`receive` would return or raise for each JSON text in its turn; set-wise.

    Must run inside ``transaction.atomic``.
    """
    read = [_read_or_wrong(text, at=at) for text in texts]
    lines = [one for one in read if isinstance(one, Line)]
    found = at_the_lab.named_many(lab_id=lab_id, marks=[_marks(line.body) for line in lines])
    posted = [
        Posted(line.body, line.text, None, named)
        if isinstance(named, Refused)
        else Posted(line.body, line.text, named)
        for line, named in zip(lines, found, strict=True)
    ]
    on = timezone.localdate(at)
    outcomes = iter(retest_many.receive_records(lab_id=lab_id, posted=posted, on=on, at=at, by=by))
    return [_received(next(outcomes)) if isinstance(one, Line) else one for one in read]


@dataclass(frozen=True, slots=True)
class Line:
    """A record as read from a line of a file, and its one JSON text."""

    body: TestBody
    text: str


@lru_cache(remembered.MOST)
def read_line(text: str) -> Line:
    """The record that a line of a file is, read once: a lab tries its file before it sends it.

    Raises ``UnusableBody`` with every place that is wrong.
    """
    value = loads(text)
    return Line(read(value), canonical(value))


def forget() -> None:
    """Give back the memory that a file took."""
    read_line.cache_clear()
    remembered.forget()


def _read_or_wrong(text: str, *, at: dt.datetime) -> Line | Refused | UnusableBody:
    try:
        line = read_line(text)
        _refuse_days_to_come(line.body, at=at)
    except (Refused, UnusableBody) as wrong:
        return wrong
    return line


def _received(outcome: Outcome) -> Received | Refused:
    return outcome if isinstance(outcome, Refused) else Received(outcome.record, outcome.created)


def look(*, lab_id: int, value: object, at: dt.datetime) -> tuple[TestBody, Cylinder]:
    """The record that a value is and the cylinder that it names; raises as :func:`receive` does.

    Nothing is stored: a dry run asks what would come of it.
    """
    body = _read_in_time(value, at=at)
    held = for_lab.records(lab_id=lab_id).filter(lab_reference=body.lab_reference).first()
    if held is not None:
        return body, _again(held, canonical(value)).record.cylinder
    return body, _named(lab_id, body)


def correct(
    *,
    lab_id: int,
    correction: Correction,
    value: object,
    at: dt.datetime,
    by: Actor,
) -> Received:
    """Store and judge a record that corrects another of the same lab.

    Raises as :func:`receive` does, and what :func:`amendment.correct_record` refuses. The record
    that is corrected tells the cylinder; where it has not come yet, the body names it.
    """
    body = _read_in_time(value, at=at)
    earlier = for_lab.records(lab_id=lab_id).filter(lab_reference=correction.corrects).first()
    tag = body.cylinder.tag
    if earlier and tag and not at_the_lab.bears(earlier.cylinder, tag):
        raise Refused(
            "other_cylinder",
            f"{earlier.lab_reference} is a record of a cylinder that does not bear this tag.",
        )
    cylinder = earlier.cylinder if earlier else _named(lab_id, body)
    receipt = amendment.correct_record(
        lab_id=lab_id,
        cylinder_id=cylinder.pk,
        correction=correction,
        body=body,
        body_text=canonical(value),
        on=timezone.localdate(at),
        at=at,
        by=by,
    )
    return Received(receipt.record, receipt.created)


def canonical(value: object) -> str:
    """The one JSON text of a value: sorted names, no blanks, numbers with the digits as sent.

    >>> canonical({"b": Decimal("1.50"), "a": [True, None, "é"]})
    '{"a":[true,null,"é"],"b":1.50}'
    """
    try:
        return _text(value)
    except TypeError:  # a Decimal is in it, and the library would write that as a float
        return _exact(value)


def _exact(value: object) -> str:
    match value:
        case dict():
            inside = (f"{_text(name)}:{_exact(inner)}" for name, inner in sorted(value.items()))
            return "{" + ",".join(inside) + "}"
        case list():
            return "[" + ",".join(map(_exact, value)) + "]"
        case Decimal():
            return str(value)
        case _:
            return _text(value)


def as_told(record: TestRecord) -> dict[str, Any]:
    """A record as the lab is told of it: the judgement in the contract's shape, and its state.

    ``verdict`` is the one that counts: where a person has decided, it is no longer ``held``.
    """
    later = getattr(record, "superseded_by", None)
    return {
        **record.answer,
        "verdict": record.verdict,
        "lab_reference": record.lab_reference,
        "state": record.state,
        "tested_on": record.tested_on.isoformat(),
        "received_at": record.received_at.isoformat(),
        "supersedes": record.corrects or None,
        "correction_reason": record.correction_reason or None,
        "superseded_by": later.lab_reference if later else None,
        "daily_check": record.daily_check.lab_reference if record.daily_check else None,
    }


def _again(held: TestRecord, text: str) -> Received:
    return Received(retest.held_before(held, text).record, new=False)


def _read_in_time(value: object, *, at: dt.datetime) -> TestBody:
    body = read(value)
    _refuse_days_to_come(body, at=at)
    return body


def _refuse_days_to_come(body: TestBody, *, at: dt.datetime) -> None:
    on = timezone.localdate(at)
    if body.date > on + _AHEAD:
        says = f"{body.date} is a day to come; here it is {on}. Check the date of the test."
        raise Refused("tested_in_future", says)


def _named(lab_id: int, body: TestBody) -> Cylinder:
    """The cylinder that a body names, by its tag or by its four marks."""
    tag, stamped = _marks(body)
    return at_the_lab.named(lab_id=lab_id, tag=tag, stamped=stamped)


def _marks(body: TestBody) -> tuple[str, Stamped]:
    """The tag (empty where none was sent) and the four marks."""
    marks = Stamped(
        authority=body.cylinder.authority or "",
        specification=body.cylinder.specification or "",
        serial=body.cylinder.serial,
        manufacturer_mark=body.cylinder.manufacturer_mark,
    )
    return body.cylinder.tag or "", marks


_text = json.JSONEncoder(
    ensure_ascii=False, allow_nan=False, sort_keys=True, separators=(",", ":")
).encode
