"""Which cylinders stand on something that is found to be wrong: an instrument, a person, a lab.

A calibrated cylinder that had drifted, eddy current equipment without its ring, an operator without
training, a lab's number that had run out: every record that names it in a span of days, whatever it
counts for now, so that each owner can be told. Records are kept as they were sent.
"""

import datetime as dt
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from cylinders.models import TestRecord
from cylinders.rules.judgement import loads


@dataclass(frozen=True, slots=True)
class Suspect:
    """What is asked for; each that is given must be named by the record, exactly as written.

    ``calibrated_cylinder`` is its serial, ``equipment`` that of an eddy current examination,
    ``rin`` a lab's identification number.
    """

    calibrated_cylinder: str = ""
    equipment: str = ""
    operator: str = ""
    rin: str = ""

    @property
    def asks(self) -> bool:
        """Whether anything is asked for at all."""
        return any((self.calibrated_cylinder, self.equipment, self.operator, self.rin))


def affected(*, suspect: Suspect, first: dt.date, last: dt.date) -> Iterator[TestRecord]:
    """Every record of a test between two days, both included, that names the suspect.

    By day of the test, then by arrival; with cylinder, owner and lab at hand. Raises ``ValueError``
    where nothing is asked for: a recall of everything is a slip.
    """
    if not suspect.asks:
        raise ValueError("say which calibrated cylinder, equipment, operator or lab's number")
    rows = (
        TestRecord.objects.filter(tested_on__gte=first, tested_on__lte=last)
        .select_related("cylinder__owner", "lab")
        .order_by("tested_on", "pk")
    )
    return (row for row in rows.iterator() if _names(row, suspect))


def _names(record: TestRecord, suspect: Suspect) -> bool:
    body: Any = loads(record.body)
    asked = {
        "calibrated_cylinder": _inside(body, "calibration", "cylinder_serial"),
        "equipment": _inside(body, "eddy_current", "equipment"),
        "operator": body.get("operator"),
        "rin": body.get("rin"),
    }
    return all(getattr(suspect, name) in ("", said) for name, said in asked.items())


def _inside(body: Mapping[str, Any], outer: str, inner: str) -> object:
    return (body.get(outer) or {}).get(inner)
