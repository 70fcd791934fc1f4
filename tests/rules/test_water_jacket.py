"""Permanent, elastic and total expansion: the limit is exact and the reading is never improved."""

from decimal import Decimal

import pytest

from cylinders.rules.quantity import Quantity, cc
from cylinders.rules.specifications import SPECIFICATIONS
from cylinders.rules.verdict import Citation, Finding, Outcome
from cylinders.rules.water_jacket import (
    Expansion,
    Limit,
    decimals,
    elastic,
    exact_percent,
    exceeds,
    last_digit,
    near_limit,
    permanent,
    possible,
    shown_percent,
)

TEN = Limit(Decimal(10), Citation("49 CFR 180.205(i)(1)(iv)", "2019-10-01"))
TWELVE = Limit(Decimal(12), Citation("49 CFR 180.205(i)(1)(vi)", "2019-10-01"))


def read(total: str, left: str) -> Expansion:
    return Expansion(total=cc(total), permanent=cc(left))


def test_elastic_is_total_less_permanent_with_the_digits_that_were_read() -> None:
    assert str(read("70.4", "1.2").elastic) == "69.2 cc"
    assert str(read("70.4", "1.25").elastic) == "69.15 cc"
    assert str(read("70", "1").elastic) == "69 cc"


def test_elastic_of_two_units_is_shown_rounded_up_and_decided_exactly() -> None:
    both = Expansion(Quantity(Decimal(4), "in3"), cc("1"))
    assert str(both.elastic) == "3.9390 in3"
    assert both.elastic_base == Quantity(Decimal(4), "in3").base - 1
    assert both.elastic.base > both.elastic_base


def test_digits_beyond_the_usual_precision_are_not_lost() -> None:
    long = Expansion(cc("100000000000000000.000000000000000001"), cc("0.000000000000000002"))
    assert str(long.elastic) == "99999999999999999.999999999999999999 cc"


@pytest.mark.parametrize(("text", "places"), [("5", 0), ("5.0", 1), ("5.60", 2)])
def test_decimals_are_those_that_were_written(text: str, places: int) -> None:
    assert decimals(cc(text)) == places


def test_a_number_written_with_a_positive_exponent_has_no_decimals() -> None:
    assert decimals(Quantity(Decimal("5E+1"), "cc")) == 0


@pytest.mark.parametrize(
    ("total", "left", "fits"),
    [
        ("0", "0", "not more than zero"),
        ("-1", "0", "not more than zero"),
        ("5", "-0.1", "below zero"),
        ("5", "5.1", "above the total"),
    ],
)
def test_readings_that_cannot_be(total: str, left: str, fits: str) -> None:
    finding = possible(read(total, left))
    assert (finding.code, finding.outcome) == ("numbers_possible", Outcome.FAIL)
    assert fits in finding.says


def test_readings_that_can_be() -> None:
    for left in ("0", "-0.0", "5"):
        assert possible(read("5", left)).outcome is Outcome.OK
    assert possible(read("0.1", "0.1")) == Finding(
        "numbers_possible",
        Outcome.OK,
        "The readings can be.",
        Citation("49 CFR 180.203", "2019-10-01"),
    )


def test_each_finding_names_the_clause_and_the_edition_that_was_read() -> None:
    reading = read("70.4", "1.2")
    clauses = [
        possible(reading).cites,
        permanent(reading, None).cites,
        elastic(reading, cc("70"), ree_condemns=True).cites,
        elastic(reading, cc("60"), ree_condemns=False).cites,
    ]
    assert [str(clause) for clause in clauses] == [
        "49 CFR 180.203 (2019-10-01)",
        "49 CFR 180.205(i)(1)(vii) (2019-10-01)",
        "49 CFR 180.205(i)(1)(v) (2019-10-01)",
        "49 CFR 173.302a(b); PHMSA letter 13-0042 (2019-10-01)",
    ]


@pytest.mark.parametrize(
    ("stated", "outcome"),
    [
        ("69.2", Outcome.OK),
        ("69.3", Outcome.OK),
        ("69.1", Outcome.OK),
        ("69.31", Outcome.FAIL),
        ("69.09", Outcome.FAIL),
        ("69", Outcome.OK),
        ("70", Outcome.FAIL),
        ("68.7", Outcome.FAIL),
    ],
)
def test_a_stated_elastic_expansion_may_be_rounded_but_not_wrong(
    stated: str, outcome: Outcome
) -> None:
    assert possible(read("70.4", "1.2"), cc(stated)).outcome is outcome


def test_half_of_a_coarse_last_digit_is_allowed_exactly() -> None:
    assert possible(read("69.5", "0"), cc("69")).outcome is Outcome.OK
    assert possible(read("69.6", "0"), cc("69")).outcome is Outcome.FAIL


def test_without_a_limit_nothing_is_decided() -> None:
    finding = permanent(read("70", "0"), None)
    assert (finding.code, finding.outcome) == ("permanent_expansion", Outcome.UNKNOWN)
    assert finding.says.startswith("Permanent expansion is 0.0 % of total, but the limit")


@pytest.mark.parametrize(
    ("left", "limit", "outcome", "word"),
    [
        ("7.0", TEN, Outcome.OK, "within"),
        ("7.1", TEN, Outcome.FAIL, "above"),
        ("7.1", TWELVE, Outcome.OK, "within"),
        ("8.4", TWELVE, Outcome.OK, "within"),
        ("8.5", TWELVE, Outcome.FAIL, "above"),
    ],
)
def test_the_limit_itself_passes(left: str, limit: Limit, outcome: Outcome, word: str) -> None:
    finding = permanent(read("70.0", left), limit)
    assert finding.outcome is outcome
    assert f"{word} the limit of {limit.percent} %" in finding.says
    assert finding.cites is limit.cites
    assert finding.code == "permanent_expansion"


def test_the_percentage_is_exact_and_shown_rounded_up() -> None:
    reading = read("56.3", "0.3")
    assert exact_percent(reading) * 563 == 300
    assert shown_percent(reading) == Decimal("0.6")
    assert exceeds(reading, Decimal("0.5"))
    assert not exceeds(reading, Decimal("0.6"))


@pytest.mark.parametrize(
    ("total", "left", "step", "outcome"),
    [
        ("56.3", "5.6", "0.1", Outcome.CAUTION),
        ("56.3", "5.0", "0.5", Outcome.OK),
        ("70.0", "6.5", "0.5", Outcome.OK),
        ("70.0", "6.6", "0.5", Outcome.CAUTION),
        ("70.0", "7.0", "0.1", Outcome.CAUTION),
        ("70.0", "7.1", "0.1", Outcome.CAUTION),
        ("70.0", "7.2", "0.1", Outcome.OK),
        ("70.0", "6.9", "0.1", Outcome.OK),
        ("69.9", "6.9", "0.1", Outcome.CAUTION),
        ("70.0", "7.11", "0.1", Outcome.OK),
        ("70.0", "7.10", "0.1", Outcome.CAUTION),
        ("70.0", "20.0", "0.1", Outcome.OK),
    ],
)
def test_within_one_increment_of_the_limit_is_a_caution(
    total: str, left: str, step: str, outcome: Outcome
) -> None:
    finding = near_limit(read(total, left), TEN, cc(step))
    assert (finding.code, finding.outcome) == ("near_limit", outcome)


def test_the_caution_names_the_step_and_says_that_a_fail_stays() -> None:
    below = near_limit(read("70.0", "7.0"), TEN, cc("0.1")).says
    assert below == (
        "10.0 % lies within the reading error of 0.1 cc from the limit of 10 %. "
        "Look at the burette with the lab."
    )
    above = near_limit(read("70.0", "7.1"), TEN, cc("0.1")).says
    assert above.endswith("The verdict stays: condemned.")


def test_without_a_stated_increment_the_coarser_last_digit_counts() -> None:
    assert str(last_digit(read("56.3", "5.60"))) == "0.1 cc"
    assert str(last_digit(read("56.30", "5.6"))) == "0.1 cc"
    assert near_limit(read("70", "6"), TEN, None).outcome is Outcome.OK
    assert near_limit(read("69", "6"), TEN, None).outcome is Outcome.CAUTION
    in_inches = Expansion(Quantity(Decimal("4.3"), "in3"), cc("0.3"))
    assert str(last_digit(in_inches)) == "0.1 in3"


@pytest.mark.parametrize(
    ("ree", "code", "outcome"),
    [
        ("69.2", "3HT", Outcome.OK),
        ("69.1", "3HT", Outcome.FAIL),
        ("69.1", "3AA", Outcome.CAUTION),
        ("69.2", "3AA", Outcome.OK),
        (None, "3HT", Outcome.UNKNOWN),
        (None, "3AA", Outcome.OK),
    ],
)
def test_elastic_expansion_against_the_stamped_value(
    ree: str | None, code: str, outcome: Outcome
) -> None:
    stamped = cc(ree) if ree else None
    condemns = SPECIFICATIONS[code].ree_condemns
    finding = elastic(read("70.4", "1.2"), stamped, ree_condemns=condemns)
    assert (finding.code, finding.outcome) == ("elastic_expansion", outcome)


def test_elastic_expansion_says_what_to_do() -> None:
    reading = read("70.4", "1.2")
    assert "Read REE" in elastic(reading, None, ree_condemns=True).says
    assert "Read REE" not in elastic(reading, None, ree_condemns=False).says
    assert elastic(reading, cc("70"), ree_condemns=True).says == (
        "Elastic expansion 69.2 cc is within the stamped 70 cc."
    )
    over = "Elastic expansion 69.2 cc is above the stamped 60 cc."
    assert elastic(reading, cc("60"), ree_condemns=True).says == over
    plain = elastic(reading, cc("60"), ree_condemns=False)
    assert plain.says == f"{over} No plus; by itself this does not condemn."
