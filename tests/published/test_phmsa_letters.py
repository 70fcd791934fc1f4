"""Interpretation letters of the agency on 49 CFR 180.205 and 180.215, by their numbers.

13-0131 (2013-09-24) and 15-0055 (2015-11-25): a gauge at 0.5 % of full scale, and 1.0 % of the test
pressure. 07-0077 (2009-07-07): no permanent expansion of a calibrated cylinder. 25-0004 (2025-06):
exactly 90 % counts as a system check. 21-0100 (2022-01-19): a proof test records no expansions.
13-0042: for a plus every condition must be met. 07-0002 (2007-02-15): the 1 % concerns the device.
"""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules import gauge
from cylinders.rules.calibration import Calibration, Observed, Point, judge
from cylinders.rules.gauge import Gauge
from cylinders.rules.judgement import parse
from cylinders.rules.proof_pressure import system_check
from cylinders.rules.quantity import cc, psi
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.verdict import Outcome
from cylinders.rules.wall_stress import Stretch, plus
from cylinders.rules.water_jacket import Expansion, elastic
from tests.rules.judgement.records import record

COVERS = [
    "gauge_lowest_usable_test_pressure",
    "gauge_lowest_usable_test_pressure_10000",
    "gauge_lowest_usable_test_pressure_6000_0.25",
]
DAY = dt.date(2026, 11, 20)


@pytest.mark.parametrize(
    ("full_scale", "accuracy", "lowest"),
    [(1100, "0.5", 550), (10_000, "0.5", 5000), (6000, "0.25", 1500)],
)
def test_13_0131_a_gauge_is_not_used_below_a_part_of_its_scale(
    full_scale: int, accuracy: str, lowest: int
) -> None:
    device = Gauge(psi(full_scale), Decimal(accuracy))
    assert gauge.lowest_usable(device, on=DAY) == psi(lowest)
    at = gauge.judge(device, test_pressure=psi(lowest), on=DAY)
    below = gauge.judge(device, test_pressure=psi(lowest - 1), on=DAY)
    assert (at.outcome, below.outcome) == (Outcome.OK, Outcome.FAIL)


def test_15_0055_a_gauge_of_0_6_per_cent_is_refused() -> None:
    device = Gauge(psi(6000), Decimal("0.6"))
    finding = gauge.judge(device, test_pressure=psi(5000), on=DAY)
    assert finding.outcome is Outcome.FAIL
    assert "15-0055" in str(finding.cites)


@pytest.mark.parametrize(("test_pressure", "outcome"), [(5000, Outcome.OK), (3750, Outcome.FAIL)])
def test_a_dial_of_100_psi_divisions_is_read_to_50(test_pressure: int, outcome: Outcome) -> None:
    device = Gauge(psi(6000), Decimal("0.5"), psi(100), analogue=True)
    assert gauge.judge(device, test_pressure=psi(test_pressure), on=DAY).outcome is outcome


@pytest.mark.parametrize("left", ["0.1", "0.01"])
def test_07_0077_no_permanent_expansion_of_a_calibrated_cylinder(left: str) -> None:
    points = (Point(psi(5000), cc("63.4")),)
    seen = Observed(psi(5000), cc("63.4"), cc(left))
    check = Calibration("CAL", DAY, points, seen)
    (finding,) = judge(check, tested=DAY, test_pressure=psi(5000))
    assert finding.outcome is Outcome.FAIL
    assert "07-0077" in str(finding.cites)


def test_25_0004_ninety_per_cent_exactly_is_accepted() -> None:
    """A 3AA of 1800 psi: 2700 of 3000 psi."""
    assert system_check(psi(2700), psi(3000), on=DAY).outcome is Outcome.OK


def test_21_0100_a_proof_test_needs_no_expansions() -> None:
    body = record(
        {"/method": "proof_pressure", "/total_expansion": None, "/permanent_expansion": None}
    )
    assert parse(body).total_expansion is None


def test_13_0042_above_the_elastic_limit_is_no_plus_but_not_condemned_by_that() -> None:
    over = Stretch(Fraction("66.4"), cc(12541), psi(4000), cc("66.3"))
    steel = SPECIFICATIONS["3AA"]
    assert plus(steel, over, water_jacket=True, before_1920=False).outcome is Outcome.FAIL
    read = Expansion(cc("66.7"), cc("0.3"))
    assert elastic(read, cc("66.3"), ree_condemns=steel.ree_condemns).outcome is Outcome.CAUTION


def test_07_0002_the_step_of_the_device_is_held_against_total_expansion() -> None:
    assert gauge.widest_increment(cc("56.3"), on=DAY) == cc("0.563")
