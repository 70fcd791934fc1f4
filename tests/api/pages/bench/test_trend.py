import datetime as dt
import json
from decimal import Decimal

from api.pages.bench.trend import Trend, trend_of
from cylinders.models import RecordState, TestRecord


def _record(
    year: int, percent: str | None, *, pressure: str = "5000", method: str = "water_jacket"
) -> TestRecord:
    body = {"method": method, "test_pressure": {"value": pressure, "unit": "psi"}}
    return TestRecord(
        pk=year,
        tested_on=dt.date(year, 6, 1),
        body=json.dumps(body),
        answer={"percent_permanent": percent},
        verdict="passed",
        state=RecordState.ATTACHED,
    )


def _trend(*records: TestRecord) -> Trend:
    trend = trend_of(records)
    assert trend is not None
    return trend


def test_one_test_is_no_trend() -> None:
    assert trend_of([]) is None
    assert trend_of([_record(2021, "3.1")]) is None


def test_tests_stand_in_the_order_of_their_days_and_higher_is_more() -> None:
    trend = _trend(_record(2026, "6.0"), _record(2016, "2.0"), _record(2021, "4.0"))
    assert [point.percent for point in trend.points] == ["2.0", "4.0", "6.0"]
    assert trend.points[0].x < trend.points[1].x < trend.points[2].x
    assert trend.points[0].y > trend.points[1].y > trend.points[2].y


def test_a_share_over_the_limit_is_drawn_above_it() -> None:
    # 49 CFR 180.205(i)(1)(iv), 2019-10-01 edition: 10 % of the total expansion.
    trend = _trend(_record(2021, "10"), _record(2026, "10.1"))
    assert trend.points[0].y == trend.limit_y
    assert trend.points[1].y < trend.limit_y
    assert _trend(_record(2021, "2"), _record(2026, "40")).points[1].y >= 0


def test_other_pressures_and_methods_are_not_joined() -> None:
    trend = _trend(
        _record(2011, "2"),
        _record(2016, "2", pressure="4000"),
        _record(2021, "2", pressure="4000"),
        _record(2026, "2", pressure="4000", method="direct_expansion"),
    )
    assert [(one.tested_on[:4], two.tested_on[:4]) for one, two in trend.lines] == [
        ("2016", "2021"),
    ]


def test_what_has_no_share_or_does_not_count_is_left_out() -> None:
    held = _record(2024, "9")
    held.state = RecordState.HELD
    trend = _trend(_record(2021, "2"), _record(2023, None), held, _record(2026, "3"))
    assert [Decimal(point.percent) for point in trend.points] == [2, 3]
