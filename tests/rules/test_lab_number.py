"""How a lab's number stands: good through its last day, warned of before it."""

import datetime as dt

import pytest

from cylinders.rules.lab_number import standing, warning_due
from cylinders.rules.verdict import Outcome

END = dt.date(2026, 12, 31)


@pytest.mark.parametrize(
    ("left", "outcome"),
    [(61, Outcome.OK), (60, Outcome.CAUTION), (0, Outcome.CAUTION), (-1, Outcome.FAIL)],
)
def test_a_number_is_good_through_its_last_day(left: int, outcome: Outcome) -> None:
    finding = standing("Z999", END, on=END - dt.timedelta(days=left))
    assert finding.outcome is outcome
    assert "Z999" in finding.says
    assert "2026-12-31" in finding.says


@pytest.mark.parametrize(
    ("left", "due"), [(61, None), (60, 60), (31, 60), (30, 30), (7, 7), (0, 7), (-1, -1), (-9, -1)]
)
def test_each_warning_has_its_day(left: int, due: int | None) -> None:
    assert warning_due(END, on=END - dt.timedelta(days=left)) == due
