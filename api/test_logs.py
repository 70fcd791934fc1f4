"""A log of tests in the form in which it was asked for; by command, page and interface alike."""

import datetime as dt
from dataclasses import dataclass

from api.log_paper import paper
from cylinders.models import Cylinder, Lab, TestRecord
from cylinders.queries import test_log
from cylinders.queries.test_log import FIELDS, Row
from cylinders.rules.sheet import as_csv

CSV, PDF = "text/csv", "application/pdf"


@dataclass(frozen=True, slots=True)
class Log:
    """What it is of, the beginning of its file's name, and its rows."""

    title: str
    name: str
    rows: tuple[Row, ...]

    def as_csv(self) -> str:
        """As CSV, with a header."""
        return as_csv(FIELDS, self.rows)

    def as_pdf(self) -> bytes:
        """On sheets of A4."""
        return paper(self.title, self.rows)


def of_day(lab: Lab, day: dt.date) -> Log:
    """All that one lab did on one day."""
    title = f"Daily log of {lab.name}, number {lab.rin}, {day}"
    rows = test_log.of_day(lab_id=lab.pk, day=day)
    return Log(title, f"log-{lab.rin}-{day}", tuple(rows))


def of_cylinder(cylinder: Cylinder) -> Log:
    """All tests of one cylinder."""
    title = f"Tests of {cylinder}, maker {cylinder.manufacturer_mark or 'not known'}"
    return Log(title, f"tests-{cylinder.pk}", tuple(test_log.of_cylinder(cylinder)))


def of_record(record: TestRecord) -> Log:
    """One test."""
    title = f"Test {record.lab_reference} of {record.lab.name}, number {record.lab.rin}"
    name = f"test-{record.lab_reference.replace(':', '-')}"
    return Log(title, name, tuple(test_log.of_record(record)))
