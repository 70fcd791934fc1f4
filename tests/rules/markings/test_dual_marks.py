"""Two specifications on one cylinder: in either order, however they are joined."""

import pytest

from cylinders.rules.markings import Dual, OriginalMark, Reading
from tests.rules.markings.reading_of import reading_of, warned

TC, DOT = "TC-3ALM207", "DOT-3AL3000"


def specifications(reading: Reading) -> list[tuple[str | None, str]]:
    return [(m.authority, m.spec) for m in reading.marks if isinstance(m, OriginalMark)]


@pytest.mark.parametrize("by", [" / ", "/", " ", "\n", " - ", "-", "  ", "\r\n"])
@pytest.mark.parametrize("order", [(TC, DOT), (DOT, TC)])
def test_two_marks_are_one_dual_mark_however_joined(by: str, order: tuple[str, str]) -> None:
    reading = reading_of(by.join(order) + "\nZ12345")
    expected = [(text[: text.index("-")], "3ALM" if "M" in text else "3AL") for text in order]
    assert specifications(reading) == expected
    assert reading.dual == Dual(consistent=True, difference_percent="0.08")
    assert all(m.serial == "Z12345" for m in reading.marks if isinstance(m, OriginalMark))


@pytest.mark.parametrize(
    "text", ["CTC/DOT 3AL 3000", "CTC-DOT-3AL3000", "CTC DOT 3AL3000", "CTC/DOT\n3AL\n3000"]
)
def test_two_authorities_before_one_specification_are_two_marks(text: str) -> None:
    reading = reading_of(text)
    assert specifications(reading) == [("CTC", "3AL"), ("DOT", "3AL")]
    assert reading.dual == Dual(consistent=True, difference_percent="0.00")


def test_a_specification_joined_by_a_slash_needs_no_authority_to_be_seen() -> None:
    reading = reading_of("TC-3ALM207/3AL3000")
    assert specifications(reading) == [("TC", "3ALM"), (None, "3AL")]
    assert "no_authority" in warned(reading)


def test_different_constructions_are_inconsistent() -> None:
    reading = reading_of("TC-3AAM207 / DOT-3AL3000")
    assert reading.dual == Dual(consistent=False, difference_percent="0.08")
    assert "dual_specifications_differ" in warned(reading)


def test_different_pressures_are_inconsistent() -> None:
    reading = reading_of("TC-3ALM207 / DOT-3AL2250")
    assert reading.dual == Dual(consistent=False, difference_percent="33.43")
    assert "dual_pressures_differ" in warned(reading)


def test_one_per_cent_is_the_edge_of_agreement() -> None:
    assert reading_of("DOT-3AL3000 CTC-3AL3030").dual == Dual(
        consistent=True, difference_percent="1.00"
    )
    assert reading_of("DOT-3AL3000 CTC-3AL3031").dual == Dual(
        consistent=False, difference_percent="1.03"
    )


def test_a_missing_pressure_leaves_agreement_open() -> None:
    assert reading_of("TC-3ALM207 / DOT-3AL").dual == Dual(consistent=None, difference_percent=None)
    unlike = reading_of("TC-3AAM / DOT-3AL3000").dual
    assert unlike == Dual(consistent=False, difference_percent=None)


def test_a_permit_beside_a_specification_is_compared_by_pressure_alone() -> None:
    dual = reading_of("DOT-SP99999-3000 / TC-3AAM207").dual
    assert dual == Dual(consistent=True, difference_percent="0.08")


def test_the_same_mark_twice_is_no_dual_mark() -> None:
    reading = reading_of("DOT-3AL3000\nDOT-3AL3000")
    assert reading.dual is None
    assert "mark_repeated" in warned(reading)
