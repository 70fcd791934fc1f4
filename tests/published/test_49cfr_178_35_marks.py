"""49 CFR 178.35(f), 2019-10-01 edition: marks of manufacture, and 178.65(i), 178.71(q), (r)."""

import datetime as dt

from cylinders.rules.markings import read
from cylinders.rules.month import Month
from cylinders.rules.quantity import bar, psi

DAY = dt.date(2026, 11, 25)


def test_178_35_f_1_the_example_of_the_regulation() -> None:
    """DOT-3A1800 over 1234 over XY over AB 5-95, (f)(1)(i) to (iv)."""
    mark = read("DOT-3A1800\n1234\nXY\nAB 5-95", on=DAY).original
    assert mark is not None
    assert (mark.authority, mark.spec, mark.service_pressure) == ("DOT", "3A", psi(1800))
    assert (mark.serial, mark.manufacturer_mark) == ("1234", "XY")
    assert (mark.inspector_mark, mark.test_date) == ("AB", Month(1995, 5))


def test_178_35_f_1_i_dot_stands_first() -> None:
    assert [one.code for one in read("3AL3000", on=DAY).warnings] == ["no_authority"]


def test_178_65_i_3_the_example_of_the_regulation() -> None:
    """DOT-39 NRC 250/500 M1001."""
    mark = read("DOT-39 NRC 250/500 M1001", on=DAY).original
    assert mark is not None
    assert (mark.service_pressure, mark.test_pressure) == (psi(250), psi(500))
    assert (mark.manufacturer_mark, mark.refillable) == ("M1001", False)


def test_178_71_q_2_acetylene_names_two_standards() -> None:
    mark = read("ISO 3807-2/ISO 9809-1", on=DAY).un
    assert mark is not None
    assert mark.standards == ("ISO 3807-2", "ISO 9809-1")


def test_178_71_q_5_year_and_month_with_a_slash() -> None:
    (mark,) = read("2006/04", on=DAY).marks
    assert getattr(mark, "date", None) == Month(2006, 4)


def test_178_71_r_the_three_groups_may_stand_in_any_order() -> None:
    groups = [
        "25E USA 123456 H",
        "PH300BAR 14.2KG 5.2MM PW200BAR 12.0L",
        "UN ISO 9809-1 USA/M9999 AB 2021/06",
    ]
    down = read("\n".join(groups), on=DAY)
    up = read("\n".join(reversed(groups)), on=DAY)
    assert down.marks == up.marks
    assert down.un is not None
    assert (down.un.test_pressure, down.un.working_pressure) == (bar(300), bar(200))


def test_178_71_h_alloy_6351_is_barred_from_un_cylinders() -> None:
    codes = [one.code for one in read("UN ISO 7866 AA6351", on=DAY).warnings]
    assert codes == ["alloy_barred"]


def test_173_302b_b_working_pressure_is_at_most_two_thirds_of_test_pressure() -> None:
    assert read("UN PH300BAR PW200BAR", on=DAY).warnings == ()
    codes = [one.code for one in read("UN PH300BAR PW201BAR", on=DAY).warnings]
    assert codes == ["working_over_two_thirds"]
