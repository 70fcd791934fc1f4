from pathlib import Path

import pytest

from cylinders.rules import markings
from cylinders.rules.cylinder_facts import CylinderFacts, Gas, Requalification, Service
from cylinders.rules.markings import read
from cylinders.rules.month import Month
from cylinders.rules.stamp_facts import _DOUBTS, doubts, facts_from, not_read
from cylinders.rules.verdict import Outcome
from tests.rules.cast import TODAY, marks, month

PLAIN = "DOT-3AL3000\nZ12345\nM9999 06-08\n"


def facts(text: str, country: str = "US", **added: object) -> CylinderFacts:
    added.setdefault("service", Service.SCUBA)
    return facts_from(read(text, on=TODAY, country=country), **added)  # type: ignore[arg-type] # what is added varies


def test_a_us_stamp_gives_specification_pressure_metal_and_dates() -> None:
    found = facts(PLAIN + "5 A1/32 13\n5 A1/32 18 VE")
    assert (found.authority, found.specification, found.material) == ("DOT", "3AL", "aluminium")
    assert str(found.service_pressure) == "3000 psi"
    assert found.first_test == Month(2008, 6)
    assert found.requalifications == marks("2013-05", "2018-05 VE")
    assert (found.service, found.gas, found.country) == (Service.SCUBA, Gas.AIR, "US")


def test_what_the_asker_adds_is_taken_over() -> None:
    found = facts(PLAIN, alloy="6061-T6", last_visual=month("2026-05"), service=Service.OXYGEN)
    assert (found.alloy, found.last_visual) == ("6061-T6", Month(2026, 5))
    assert (found.service, found.gas) == (Service.OXYGEN, Gas.OXYGEN)


def test_an_alloy_in_the_stamp_is_used_unless_the_asker_gives_one() -> None:
    stamped = "DOT-3AL3000\nZ12345\n6351-T6\nM9999 06-08"
    assert facts(stamped).alloy == "6351"
    assert facts(stamped, alloy="6061-T6").alloy == "6061-T6"


@pytest.mark.parametrize(
    ("country", "authority", "specification"),
    [("US", "DOT", "3AL"), ("GB", "DOT", "3AL"), ("CA", "TC", "3ALM")],
)
def test_of_a_dual_mark_the_country_s_own_counts_with_the_lower_pressure(
    country: str, authority: str, specification: str
) -> None:
    found = facts("TC-3ALM207/DOT-3AL3000\nP12345\n06-08", country)
    assert (found.authority, found.specification) == (authority, specification)
    assert str(found.service_pressure) == "3000 psi"


def test_a_single_canadian_mark_is_taken_in_the_us_too() -> None:
    assert facts("TC-3ALM207\nP12345\n06-08").specification == "3ALM"


def test_a_symbol_after_the_first_test_counts_as_a_mark() -> None:
    found = facts("DOT-3AA2250\n1001\nXY\nAB 5-95+")
    assert found.requalifications == (Requalification(Month(1995, 5), "+"),)
    assert facts("DOT-3AA2250\n1001\nXY\nAB 5-95").requalifications == ()


def test_a_un_stamp_gives_standard_working_pressure_and_life() -> None:
    found = facts("UN ISO 11119-2 USA/M9999 AB 2021/06\nPH300BAR PW200BAR 12.0L SERVICE 2036/06 UW")
    assert (found.authority, found.specification) == ("UN", "ISO 11119-2")
    assert (found.material, found.underwater_mark) == ("composite", True)
    assert str(found.service_pressure) == "200 bar"
    assert (found.first_test, found.life_end) == (Month(2021, 6), Month(2036, 6))


def test_a_metal_un_stamp_is_not_composite_and_its_alloy_is_read() -> None:
    found = facts("UN ISO 7866 USA/M9999 AB 2021/06\nPH300BAR PW200BAR 12.0L AA6061")
    assert found.material is None
    assert found.underwater_mark is False


def test_an_iso_stamp_without_the_un_symbol_is_not_a_un_receptacle() -> None:
    assert facts("ISO 7866 PW232BAR PH348BAR 2021/06", "DE").authority == "ISO"


def test_the_life_of_a_3ht_is_left_to_its_own_rule() -> None:
    found = facts("DOT-3HT1850 REE 62.5\n4321\nXY\nAB 3-12")
    assert (found.life_end, found.first_test) == (None, Month(2012, 3))


def test_a_german_stamp_gives_the_next_date() -> None:
    found = facts("UN ISO 7866 PW232BAR PH348BAR 2021/06\n28/06 F", "DE")
    assert found.stamped_due == Month(2028, 6)
    assert found.requalifications == ()


def test_a_british_date_counts_as_a_test() -> None:
    found = facts("UN ISO 7866 PW232BAR PH348BAR 2015/06\n21/13\n24/06", "GB")
    assert Requalification(Month(2024, 6)) in found.requalifications


def test_a_swiss_cross_is_a_visual_inspection() -> None:
    found = facts("UN ISO 7866 PW232BAR PH348BAR 2015/06\n\u271d 24/06", "CH")
    assert found.last_visual == Month(2024, 6)
    later = facts("UN ISO 7866 PW232BAR\n\u271d 24/06", "CH", last_visual=month("2026-01"))
    assert later.last_visual == Month(2026, 1)


def test_the_alloy_of_a_un_stamp_is_taken_over() -> None:
    assert facts("UN ISO 7866 USA/M9999 AB 2021/06\nPH300BAR PW200BAR AA6061").alloy is not None


def test_a_un_stamp_without_a_working_pressure_has_none() -> None:
    assert facts("UN ISO 7866 USA/M9999 AB 2021/06\nPH300BAR").service_pressure is None


def test_a_permit_s_metal_is_not_known() -> None:
    assert facts("DOT-SP99999-3442\nZ1\n06-20").material is None


def test_of_two_standards_one_composite_is_enough() -> None:
    both = facts("UN ISO 9809-1 ISO 11119-2 USA/M9999 AB 2021/06\nPH300BAR PW200BAR")
    assert both.material == "composite"


def test_the_latest_of_two_next_dates_counts() -> None:
    found = facts("UN ISO 7866 PW232BAR PH348BAR 2021/06\n23/12 F\n28/06 F", "DE")
    assert found.stamped_due == Month(2028, 6)


def test_a_stamped_end_of_life_counts_on_other_specifications() -> None:
    assert facts(PLAIN + "FINAL 2030/06").life_end == Month(2030, 6)


def test_condemned_single_trip_and_permit_are_carried_over() -> None:
    assert facts("XXXXXXX over DOT-3AL3000").condemned
    assert facts("DOT-39 NRC 250/500 M1001").single_trip
    assert facts("DOT-SP99999-3442").permit == "99999"


@pytest.mark.parametrize("text", ["5 A1/32 21", "CONDEMNED", "03-05", ""])
def test_a_stamp_without_a_specification_leaves_it_unknown(text: str) -> None:
    found = facts(text)
    assert (found.authority, found.specification, found.service_pressure) == (None, None, None)
    assert not found.single_trip


def test_a_date_of_open_order_is_not_used() -> None:
    assert facts(PLAIN + "03-05").requalifications == ()


@pytest.mark.parametrize(
    "text",
    [
        "DOT-3AL207\nZ1\n06-08",
        "TC-3ALM207/DOT-3AL2000\nP12345\n06-08",
        "UN ISO 7866 PW300BAR PH300BAR 2021/06",
        "DOT-3AL3000\nZ12345\n06-08\n5 A1/32 07",
    ],
)
def test_a_doubt_about_pressure_specification_or_dates_is_a_reason(text: str) -> None:
    found = doubts(read(text, on=TODAY))
    assert {finding.code for finding in found} == {"stamp_in_doubt"}
    assert {finding.outcome for finding in found} == {Outcome.UNKNOWN}
    assert all(finding.says.endswith(" Read the cylinder again.") for finding in found)


def test_a_pressure_that_cannot_be_is_not_taken_over() -> None:
    assert facts("TC-3ALM3000\nP12345\n06-08").service_pressure is None


def test_every_code_that_means_doubt_is_one_the_reading_can_give() -> None:
    package = Path(markings.__file__).parent
    source = "".join(file.read_text() for file in package.glob("*.py"))
    assert {code for code in _DOUBTS if f'"{code}"' not in source} == set()


@pytest.mark.parametrize("word", ["C0NDEMNED", "CONDEMMED", "condem", "C ONDEMNED"])
def test_a_word_that_may_say_condemned_is_a_doubt(word: str) -> None:
    text = f"{word}\n{PLAIN}5 A1/32 24"
    assert doubts(read(text, on=TODAY)) or facts(text).condemned


def test_a_specification_that_looks_like_another_is_a_doubt() -> None:
    assert doubts(read("D0T-3AL3000\nZ1\n06-08\n5 A1/32 24", on=TODAY))


def test_a_look_alike_in_the_serial_number_is_none() -> None:
    reading = read("DOT-3AL3000\nZO1B2\n06-08\n5 A1/32 24", on=TODAY)
    assert [question.code for question in reading.questions] == ["look_alike"]
    assert doubts(reading) == ()


def test_what_was_not_read_is_a_caution() -> None:
    found = not_read(read(PLAIN + "5 A1/32 24\n@@@", on=TODAY))
    assert [(one.code, one.outcome) for one in found] == [("stamp_not_fully_read", Outcome.CAUTION)]
    assert not_read(read(PLAIN + "5 A1/32 24", on=TODAY)) == ()


def test_a_clean_stamp_leaves_no_doubt() -> None:
    assert doubts(read(PLAIN + "5 A1/32 24", on=TODAY)) == ()
