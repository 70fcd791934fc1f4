"""49 CFR 180.203 and 180.205(g), (i): the pressure test, its apparatus and its limits.

Annual edition revised 2019-10-01; the worked readings are arithmetic on its figures.
"""

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import pytest

from cylinders.rules.calibration import Calibration, Observed, Point, certified_expansion, judge
from cylinders.rules.gauge import widest_increment
from cylinders.rules.heat import limit_of
from cylinders.rules.proof_pressure import hold, system_check
from cylinders.rules.quantity import Quantity, cc, psi
from cylinders.rules.repeat import raised
from cylinders.rules.retest_figures import Name, figure
from cylinders.rules.specifications import SPECIFICATIONS, Material
from cylinders.rules.verdict import Citation, Outcome
from cylinders.rules.water_jacket import (
    Expansion,
    Limit,
    elastic,
    exact_percent,
    near_limit,
    permanent,
    shown_percent,
)

COVERS = [
    "permanent_expansion_70.0_7.0",
    "permanent_expansion_70.0_7.1",
    "permanent_expansion_57.0_5.7",
    "permanent_expansion_62.9_6.3",
    "permanent_expansion_5.0_0.5",
    "float_trap_readings",
    "float_trap_count",
    "reading_band_TE56.3_PE5.6_r0.1",
    "reading_band_TE70.0_PE6.5_r0.5",
    "reading_band_TE5.0_PE0.5_r0.1",
    "reading_band_TE5.0_PE0.4_r0.1",
    "reading_band_TE20.0_PE1.0_r0.1",
    "expansion_device_increment_TE56.3",
    "expansion_device_increment_TE5.0",
    "expansion_device_increment_TE150",
    "gauge_reading_increment",
    "gauge_reading_increment_fail",
    "calibration_4250_54.3",
    "calibration_3000_38.2",
    "calibration_3000_38.3",
    "repeat_after_equipment_fault",
    "hold_seconds",
]
DAY = dt.date(2026, 11, 20)
TEN = Limit(Decimal(10), Citation("49 CFR 180.205(i)(1)(iv)", "2019-10-01"))


def read(total: str, left: str) -> Expansion:
    return Expansion(cc(total), cc(left))


@pytest.mark.parametrize(
    ("total", "left", "spring", "exact", "shown", "half_even", "outcome"),
    [
        ("56.3", "0.3", "56.0", "0.532860", "0.6", "0.5", Outcome.OK),
        ("70.0", "7.0", "63.0", "10", "10.0", "10.0", Outcome.OK),
        ("57.0", "5.7", "51.3", "10", "10.0", "10.0", Outcome.OK),
        ("56.9", "5.7", "51.2", "10.017575", "10.1", "10.0", Outcome.FAIL),
        ("62.9", "6.3", "56.6", "10.015898", "10.1", "10.0", Outcome.FAIL),
        ("69.9", "7.0", "62.9", "10.014306", "10.1", "10.0", Outcome.FAIL),
        ("49.8", "5.0", "44.8", "10.040161", "10.1", "10.0", Outcome.FAIL),
        ("70.0", "7.1", "62.9", "10.142857", "10.2", "10.1", Outcome.FAIL),
        ("5.0", "0.5", "4.5", "10", "10.0", "10.0", Outcome.OK),
        ("60.0", "6.0", "54.0", "10", "10.0", "10.0", Outcome.OK),
        ("60.0", "6.1", "53.9", "10.166666", "10.2", "10.2", Outcome.FAIL),
    ],
)
def test_i_1_iv_permanent_above_ten_per_cent_of_total_condemns(
    total: str, left: str, spring: str, exact: str, shown: str, half_even: str, outcome: Outcome
) -> None:
    """Rounding half to even would print "10.0 %" beside a fail; rounding up never does."""
    reading = read(total, left)
    assert str(reading.elastic) == f"{spring} cc"
    assert abs(exact_percent(reading) - Fraction(exact)) < Fraction("1e-6")
    assert str(shown_percent(reading)) == shown
    assert str(round(100 * Decimal(left) / Decimal(total), 1)) == half_even
    assert permanent(reading, TEN).outcome is outcome


def test_i_1_vi_specification_4e_alone_has_twelve_per_cent() -> None:
    limits = {code: spec.permanent_limit_percent for code, spec in SPECIFICATIONS.items()}
    assert limits["4E"] == 12
    others = {limit for code, limit in limits.items() if not code.startswith("4E")}
    assert others == {None, Decimal(10)}
    twelve = Limit(Decimal(12), SPECIFICATIONS["4E"].limit_cites)
    assert permanent(read("60.0", "7.2"), twelve).outcome is Outcome.OK
    assert permanent(read("60.0", "7.3"), twelve).outcome is Outcome.FAIL


def test_i_1_v_only_a_3ht_is_condemned_above_its_rejection_elastic_expansion() -> None:
    condemned = {code for code, spec in SPECIFICATIONS.items() if spec.ree_condemns}
    assert condemned == {"3HT", "3HTM"}
    over = elastic(read("63.1", "0.5"), cc("62.5"), ree_condemns=True)
    assert over.outcome is Outcome.FAIL


def test_readings_in_binary_floats_would_condemn_by_a_rounding() -> None:
    zero, at_pressure, after = 0.1, 3.1, 0.4
    assert (after - zero) / (at_pressure - zero) == 0.10000000000000002
    exact = read("3.0", "0.3")
    assert exact_percent(exact) == 10
    assert permanent(exact, TEN).outcome is Outcome.OK


def test_of_2000_readings_at_the_limit_floats_condemn_69_and_we_none() -> None:
    condemned_by_floats = 0
    for tenths in range(1, 2001):
        total, left = Decimal(tenths) / 10, Decimal(tenths) / 100
        condemned_by_floats += float(left) / float(total) * 100 > 10
        assert permanent(Expansion(cc(total), cc(left)), TEN).outcome is Outcome.OK
    assert condemned_by_floats == 69


@pytest.mark.parametrize(
    ("total", "left", "step", "low", "high", "near"),
    [
        ("56.3", "5.6", "0.1", "9.7691", "10.1243", True),
        ("70.0", "6.5", "0.5", "8.5714", "10.0", False),
        ("5.0", "0.5", "0.1", "8.0", "12.0", True),
        ("5.0", "0.4", "0.1", "6.0", "10.0", False),
        ("20.0", "1.0", "0.1", "4.5", "5.5", False),
        ("56.3", "5.0", "0.5", "7.9929", "9.7691", False),
    ],
)
def test_the_reading_error_only_adds_a_caution(
    total: str,
    left: str,
    step: str,
    low: str,
    high: str,
    near: bool,  # noqa: FBT001 - a table row
) -> None:
    """Three readings good to half a step each with one zero: (PE -+ step) / TE."""
    worst = [100 * (Fraction(left) + sign * Fraction(step)) / Fraction(total) for sign in (-1, 1)]
    for found, expected in zip(worst, (low, high), strict=True):
        assert abs(found - Fraction(expected)) < Fraction("5e-5")
    finding = near_limit(read(total, left), TEN, cc(step))
    assert (finding.outcome is Outcome.CAUTION) == near
    assert permanent(read(total, left), TEN).outcome is Outcome.OK


@pytest.mark.parametrize(
    ("total", "widest"), [("56.3", "0.563"), ("5.0", "0.1"), ("150", "1.5"), ("8.0", "0.1")]
)
def test_g_2_expansion_readable_to_one_per_cent_or_a_tenth(total: str, widest: str) -> None:
    assert widest_increment(cc(total), on=DAY) == cc(widest)


def test_g_5_held_for_thirty_seconds_at_least() -> None:
    assert figure(Name.HOLD, on=DAY).value == 30
    assert hold(Decimal(30), on=DAY).outcome is Outcome.OK
    assert hold(Decimal(29), on=DAY).outcome is Outcome.FAIL


@pytest.mark.parametrize(
    ("pressure", "again"), [(5000, 5100), (900, 990), (800, 880), (1000, 1100)]
)
def test_g_5_a_repeat_at_ten_per_cent_or_100_psi_more(pressure: int, again: int) -> None:
    assert raised(psi(pressure), on=DAY) == psi(again)


def test_g_5_a_system_check_at_ninety_per_cent_at_most() -> None:
    assert system_check(psi(4500), psi(5000), on=DAY).outcome is Outcome.OK
    assert system_check(psi(4501), psi(5000), on=DAY).outcome is Outcome.FAIL


CERTIFICATE = tuple(
    Point(psi(pressure), cc(expansion))
    for pressure, expansion in ((3000, "37.9"), (4000, "50.6"), (5000, "63.4"))
)


def checked(pressure: Quantity, expansion: str, tested: Quantity) -> Outcome:
    seen = Observed(pressure, cc(expansion), cc("0"))
    found = judge(Calibration("CAL", DAY, CERTIFICATE, seen), tested=DAY, test_pressure=tested)
    return found[0].outcome


@pytest.mark.parametrize(
    ("pressure", "expansion", "certified", "deviation", "outcome"),
    [
        (4250, "54.3", "53.8", "0.9294", Outcome.OK),
        (4250, "54.4", "53.8", "1.1152", Outcome.FAIL),
        (3000, "38.2", "37.9", "0.7916", Outcome.OK),
        (3000, "38.3", "37.9", "1.0554", Outcome.FAIL),
        (5000, "62.8", "63.4", "0.9464", Outcome.OK),
        (5000, "62.7", "63.4", "1.1041", Outcome.FAIL),
    ],
)
def test_g_4_a_calibrated_cylinder_within_one_per_cent(
    pressure: int, expansion: str, certified: str, deviation: str, outcome: Outcome
) -> None:
    reference = certified_expansion(CERTIFICATE, psi(pressure))
    assert reference == Fraction(certified)
    off = 100 * abs(Fraction(expansion) - reference) / reference
    assert abs(off - Fraction(deviation)) < Fraction("1e-4")
    assert checked(psi(pressure), expansion, psi(pressure)) is outcome


def test_g_4_or_the_pressure_at_that_expansion() -> None:
    """63.4 cc at a gauge of 5010 psi: the certificate has it at 5000, 0.2 % away."""
    assert checked(psi(5010), "63.4", psi(5000)) is Outcome.OK
    assert checked(psi(5010), "63.5", psi(5000)) is Outcome.UNKNOWN


def test_g_3_i_the_check_is_made_near_the_test_pressure() -> None:
    assert checked(psi(4500), "57.0", psi(5000)) is Outcome.OK
    assert checked(psi(4499), "57.0", psi(5000)) is Outcome.FAIL


def test_203_over_heated_by_metal() -> None:
    assert limit_of(Material.ALUMINIUM, on=DAY).value == 176
    assert limit_of(Material.STEEL, on=DAY).value == 343
    assert limit_of(Material.NICKEL, on=DAY).value == 343
