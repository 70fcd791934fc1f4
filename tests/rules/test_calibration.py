"""The daily check with a calibrated cylinder."""

import datetime as dt
from dataclasses import replace

import pytest

from cylinders.rules.calibration import (
    Calibration,
    Observed,
    Point,
    certified_expansion,
    certified_pressure,
    judge,
)
from cylinders.rules.quantity import Quantity, bar, cc, psi
from cylinders.rules.verdict import Outcome

DAY = dt.date(2026, 11, 20)
POINTS = tuple(
    Point(psi(pressure), cc(expansion))
    for pressure, expansion in ((3000, "37.9"), (4000, "50.6"), (5000, "63.4"))
)


def seen(pressure: Quantity, expansion: str, permanent: str = "0") -> Calibration:
    return Calibration("CAL-7", DAY, POINTS, Observed(pressure, cc(expansion), cc(permanent)))


def outcomes(check: Calibration | None, test_pressure: Quantity) -> list[Outcome]:
    found = judge(check, tested=DAY, test_pressure=test_pressure)
    assert {finding.code for finding in found} == {"calibration"}
    return [finding.outcome for finding in found]


def test_no_check_sent_is_unknown() -> None:
    assert outcomes(None, psi(5000)) == [Outcome.UNKNOWN]


def test_the_line_between_two_points_and_nothing_beyond() -> None:
    assert certified_expansion(POINTS, psi(4250)) == cc("53.8").base
    assert certified_expansion(tuple(reversed(POINTS)), psi(4250)) == cc("53.8").base
    assert certified_expansion(POINTS, psi(5000)) == cc("63.4").base
    assert certified_expansion(POINTS, psi(5001)) is None
    assert certified_expansion(POINTS, psi(2999)) is None
    assert certified_pressure(POINTS, cc("53.8")) == psi(4250).base


@pytest.mark.parametrize(
    ("pressure", "expansion", "outcome"),
    [
        (psi(5000), "63.4", Outcome.OK),
        (psi(5000), "64.034", Outcome.OK),
        (psi(5000), "64.035", Outcome.FAIL),
        (psi(5000), "62.8", Outcome.OK),
        (psi(5000), "62.7", Outcome.FAIL),
        (psi(5010), "63.4", Outcome.OK),
        (psi(5060), "63.4", Outcome.FAIL),
        (psi(5010), "63.5", Outcome.UNKNOWN),
        (bar("344.737"), "63.4", Outcome.OK),
    ],
)
def test_within_one_per_cent_of_the_certificate(
    pressure: Quantity, expansion: str, outcome: Outcome
) -> None:
    assert outcomes(seen(pressure, expansion), psi(5000)) == [outcome]


def test_a_calibrated_cylinder_has_no_permanent_expansion_at_all() -> None:
    assert outcomes(seen(psi(5000), "63.4", "0.1"), psi(5000)) == [Outcome.FAIL]
    assert outcomes(seen(psi(5000), "63.4", "-0.1"), psi(5000)) == [Outcome.FAIL]


def test_the_check_is_of_the_day_of_the_test() -> None:
    yesterday = replace(seen(psi(5000), "63.4"), date=DAY - dt.timedelta(days=1))
    assert outcomes(yesterday, psi(5000)) == [Outcome.FAIL]


@pytest.mark.parametrize(
    ("checked", "tested", "outcome"),
    [
        (psi(4500), psi(5000), Outcome.OK),
        (psi(4499), psi(5000), Outcome.FAIL),
        (psi(3500), psi(3000), Outcome.OK),
        (psi(3001), psi(2999), Outcome.OK),
        (psi(3000), psi(2727), Outcome.FAIL),
        (psi(3000), psi(2728), Outcome.OK),
    ],
)
def test_the_check_is_made_near_the_test_pressure(
    checked: Quantity, tested: Quantity, outcome: Outcome
) -> None:
    expansion = certified_expansion(POINTS, checked)
    assert expansion is not None
    near = f"{float(expansion):.2f}"
    assert outcomes(seen(checked, near), tested) == [outcome]


def test_a_certificate_that_does_not_hang_together_is_a_caution() -> None:
    mistyped = (Point(psi(3000), cc("37.9")), Point(psi(5000), cc("66.4")))
    check = replace(seen(psi(5000), "66.4"), points=mistyped)
    assert outcomes(check, psi(5000)) == [Outcome.CAUTION]


@pytest.mark.parametrize(
    "extra",
    [Point(psi(3000), cc("38.0")), Point(psi(0), cc("1")), Point(psi(1000), cc("0"))],
)
def test_a_certificate_that_cannot_be_fails(extra: Point) -> None:
    check = replace(seen(psi(5000), "63.4"), points=(*POINTS, extra))
    assert outcomes(check, psi(5000)) == [Outcome.FAIL]
    nothing = replace(check, points=(Point(psi(5000), cc("0")),))
    assert outcomes(nothing, psi(5000)) == [Outcome.FAIL]


def test_every_fault_is_told() -> None:
    check = replace(seen(psi(4000), "63.4", "0.2"), date=dt.date(2026, 11, 1))
    assert len(judge(check, tested=DAY, test_pressure=psi(5000))) == 4


def says(check: Calibration) -> str:
    return judge(check, tested=DAY, test_pressure=psi(5000))[0].says


def test_the_deviation_is_told_rounded_up_whichever_way_it_lies() -> None:
    assert says(seen(psi(5000), "64.1")) == (
        "64.1 cc is 1.11 % away from the certificate; 1.0 % is allowed."
    )
    assert says(seen(psi(5000), "62.7")) == (
        "62.7 cc is 1.11 % away from the certificate; 1.0 % is allowed."
    )
    assert says(seen(psi(5060), "63.4")) == (
        "5060 psi is 1.20 % away from the certificate; 1.0 % is allowed."
    )


@pytest.mark.parametrize(
    ("expansion", "outcome"), [("50.5", Outcome.OK), ("50.501", Outcome.CAUTION)]
)
def test_the_spread_of_a_certificate_is_held_against_its_smallest_ratio(
    expansion: str, outcome: Outcome
) -> None:
    """30 cc at 3000 psi and 50 at 5000 would be one ratio; 1 % more is just allowed."""
    points = (Point(psi(3000), cc("30")), Point(psi(5000), cc(expansion)))
    assert outcomes(replace(seen(psi(5000), expansion), points=points), psi(5000)) == [outcome]


def test_a_small_certificate_is_no_wrong_one() -> None:
    points = (Point(psi("0.5"), cc("0.5")),)
    small = Calibration("CAL", DAY, points, Observed(psi("0.5"), cc("0.5"), cc("0")))
    assert outcomes(small, psi("0.5")) == [Outcome.OK]


def test_each_fault_names_its_clause() -> None:
    def clause(check: Calibration | None) -> str:
        return str(judge(check, tested=DAY, test_pressure=psi(5000))[0].cites)

    daily = "49 CFR 180.205(g)(3) (2019-10-01)"
    assert clause(None) == daily
    assert clause(seen(psi(5000), "63.4")) == daily
    assert clause(seen(psi(5000), "63.4", "1")) == (
        "49 CFR 180.205(g)(4); PHMSA letter 07-0077 (2019-10-01)"
    )
    assert clause(seen(psi(5010), "63.5")) == (
        "interpolation between certificate points, own reading of 49 CFR 180.205(g)(4) "
        "(2019-10-01) [common practice]"
    )


def test_how_near_is_told() -> None:
    far = says(seen(psi(4000), "50.6"))
    assert far == "The check was made at 4000 psi, the test at 5000 psi: it must be within 500 psi."
    low = seen(psi(3000), "37.9")
    found = judge(low, tested=DAY, test_pressure=psi(2700))[0].says
    assert found.endswith("it must be within 10 %.")


def test_a_mistyped_certificate_does_not_hide_an_apparatus_that_is_out() -> None:
    mistyped = (Point(psi(3000), cc("37.9")), Point(psi(5000), cc("66.4")))
    check = replace(seen(psi(5000), "70.0"), points=mistyped)
    assert outcomes(check, psi(5000)) == [Outcome.CAUTION, Outcome.FAIL]


def test_a_point_of_less_than_a_pascal_is_still_above_zero() -> None:
    points = (Point(psi("0.0001"), cc("0.5")),)
    small = Calibration("CAL", DAY, points, Observed(psi("0.0001"), cc("0.5"), cc("0")))
    assert outcomes(small, psi("0.0001")) == [Outcome.OK]
