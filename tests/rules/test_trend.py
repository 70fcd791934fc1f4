"""The trend over successive tests: a table, and a plot that says no more than it."""

import datetime as dt
import xml.etree.ElementTree as ET
from decimal import Decimal

from cylinders.rules.quantity import Quantity, cc
from cylinders.rules.trend import HEIGHT, WIDTH, Test, svg, table
from cylinders.rules.water_jacket import Expansion

SVG = "{http://www.w3.org/2000/svg}"


def seen_on(day: str, total: str, permanent: str, limit: str | None = "10") -> Test:
    read = Expansion(cc(total), cc(permanent))
    return Test(dt.date.fromisoformat(day), read, Decimal(limit) if limit else None)


FOUR = (
    seen_on("2021-11-03", "72.0", "2.9"),
    seen_on("2008-06-10", "69.9", "0.4"),
    seen_on("2014-01-20", "70.3", "1.0"),
    seen_on("2026-11-20", "74.0", "7.5"),
)


def drawn(tests: tuple[Test, ...]) -> ET.Element:
    return ET.fromstring(svg(tests))  # noqa: S314 - as above


def test_the_table_is_in_order_of_time_and_rounded_up() -> None:
    rows = table(FOUR)
    assert [row.date.year for row in rows] == [2008, 2014, 2021, 2026]
    assert [row.percent for row in rows] == ["0.6", "1.5", "4.1", "10.2"]
    assert [row.above for row in rows] == [False, False, False, True]
    assert (rows[0].total, rows[0].permanent, rows[0].elastic, rows[0].limit) == (
        "69.9",
        "0.4",
        "69.5",
        "10",
    )


def test_readings_that_cannot_be_are_left_out_of_both() -> None:
    wrong = seen_on("2016-01-01", "5.0", "6.0")
    assert table((*FOUR, wrong)) == table(FOUR)
    assert svg((*FOUR, wrong)) == svg(FOUR)


def test_another_unit_is_shown_in_cc() -> None:
    cubic_inches = Quantity(Decimal(4), "in3")
    row = table((Test(dt.date(2026, 1, 1), Expansion(cubic_inches, cc("1")), None),))[0]
    assert (row.total, row.elastic, row.limit, row.above) == ("65.6", "64.6", "not known", False)


def test_one_test_draws_nothing() -> None:
    assert svg(FOUR[:1]) == ""
    assert svg(()) == ""


def test_the_plot_is_well_formed_hidden_from_readers_and_inside_its_frame() -> None:
    root = drawn(FOUR)
    assert root.get("aria-hidden") == "true"
    dots = root.findall(".//circle")
    assert len(dots) == 2 * len(FOUR)
    for dot in dots:
        assert 0 <= float(dot.get("cx", "-1")) <= WIDTH
        assert 0 <= float(dot.get("cy", "-1")) <= HEIGHT


def test_the_limit_is_drawn_where_it_belongs_and_named() -> None:
    root = drawn(FOUR)
    (line,) = root.findall("line")
    last = root.findall("polyline")[0].get("points", "").split()[-1]
    assert float(line.get("y1", "0")) > float(last.split(",")[1])  # below: the test is above it
    assert "limit 10 %" in [text.text for text in root.findall("text")]


def test_without_a_known_limit_none_is_drawn() -> None:
    assert drawn((FOUR[0], seen_on("2026-11-20", "74.0", "1.0", None))).findall("line") == []


def test_two_tests_of_one_day_without_any_set_are_drawn() -> None:
    same = (seen_on("2026-11-20", "70.0", "0", None), seen_on("2026-11-20", "70.0", "0", None))
    assert len(drawn(same).findall(".//circle")) == 4


def test_the_scale_shows_the_highest_figure_as_the_table_does() -> None:
    texts = [text.text for text in drawn(FOUR).findall("text")]
    assert "10.2" in texts
    assert "69.5" in texts
