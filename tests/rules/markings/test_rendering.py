"""Marks written the way they are stamped."""

from decimal import Decimal

import pytest

from cylinders.rules.markings import (
    CondemnedMark,
    DateMark,
    LifeMark,
    ManufacturerMark,
    Mark,
    MegcMark,
    OriginalMark,
    RepairMark,
    RequalificationMark,
    ThreadMark,
    UnMark,
    render,
)
from cylinders.rules.month import Month
from cylinders.rules.quantity import bar, psi
from tests.rules.markings.reading_of import reading_of

MAY = Month(2021, 5)
MARKS: list[tuple[Mark, str]] = [
    (OriginalMark("DOT", "3AL", psi(3000)), "DOT-3AL3000"),
    (OriginalMark(None, "3AL", psi(3000)), "3AL3000"),
    (OriginalMark("DOT", "3AL"), "DOT-3AL"),
    (OriginalMark("TC", "3AAM", bar(184), plus_after_pressure=True), "TC-3AAM184+"),
    (OriginalMark("DOT", "4B240ET", psi(240)), "DOT-4B240ET"),
    (OriginalMark("DOT", "4AA480", psi(480)), "DOT-4AA480"),
    (OriginalMark("DOT", "3A480X", psi(480)), "DOT-3A480X"),
    (OriginalMark("DOT", "3E", psi(1800)), "DOT-3E1800"),
    (
        OriginalMark("DOT", "39", psi(250), test_pressure=psi(500), not_refillable=True),
        "DOT-39 NRC 250/500",
    ),
    (OriginalMark("DOT", "39", not_refillable=True), "DOT-39 NRC"),
    (
        OriginalMark(
            "DOT", "SPECIAL_PERMIT", psi(3442), permit="99999", permit_style="special permit"
        ),
        "DOT-SP99999-3442",
    ),
    (
        OriginalMark("DOT", "SPECIAL_PERMIT", permit="99999", permit_style="exemption (older)"),
        "DOT-E99999",
    ),
    (
        OriginalMark(
            "DOT",
            "3AL",
            psi(3000),
            serial="Z1234",
            manufacturer_mark="M9999",
            test_date=Month(2008, 7),
            ree_cc=Decimal("62.5"),
            alloy="6061",
            thread="3/4-14 NPSM",
        ),
        "DOT-3AL3000 REE 62.5\nZ1234\nM9999\n7-08\nALLOY 6061\n3/4-14 NPSM",
    ),
    (RequalificationMark(MAY, "A123"), "5 A1/32 21"),
    (RequalificationMark(MAY, "A123", "star"), "5 A1/32 21\u2605"),
    (RequalificationMark(MAY, "A123", "star/+"), "5 A1/32 21\u2605+"),
    (RequalificationMark(MAY, "A123", "VE"), "5 A1/32 21 VE"),
    (RequalificationMark(MAY, "A123", "AE/UE"), "5 A1/32 21 AE/UE"),
    (RequalificationMark(MAY, None), "5 ??/?? 21"),
    (MegcMark(MAY, "AE/UE"), "2021-05 AE/UE"),
    (CondemnedMark(), "CONDEMNED"),
    (CondemnedMark(crossed_out=True), "XXXXXXX"),
    (RepairMark("RETHREAD"), "RETHREAD"),
    (LifeMark("FINAL", Month(2035, 3)), "FINAL 2035/03"),
    (ManufacturerMark("M9999"), "M9999"),
    (ThreadMark("M25x2"), "M25x2"),
    (DateMark(Month(2013, 7), "YY/M"), "13/7"),
    (DateMark(Month(2024, 3), "YY/MM", symbol="F"), "24/03 F"),
    (DateMark(MAY, "MM-YYYY"), "05-2021"),
    (DateMark(MAY, "YYYY/MM", role="UN initial inspection"), "2021/05"),
    (DateMark(Month(1995, 5), "M-YY", role="original test", inspector_mark="AB"), "AB 5-95"),
    (DateMark(Month(2008, 7), "MMCYY", role="original test", letter="C"), "07C08"),
    (UnMark(un=True), "UN"),
    (
        UnMark(
            standards=("ISO 11119-2",),
            un=True,
            final_date=Month(2041, 3),
            service_date=Month(2036, 3),
            underwater=True,
        ),
        "UW FINAL 2041/03 SERVICE 2036/03\nUN ISO 11119-2",
    ),
]


@pytest.mark.parametrize(("mark", "text"), MARKS, ids=[text for _, text in MARKS])
def test_a_mark_is_written_as_it_is_stamped_and_read_back(mark: Mark, text: str) -> None:
    assert render(mark) == text
    assert reading_of(text).marks == (mark,)


def test_a_date_of_open_order_has_no_one_spelling() -> None:
    with pytest.raises(ValueError, match="the order of this date is open: 2005-03"):
        render(DateMark(None, "", candidates=("2005-03 (US month-year)",)))
