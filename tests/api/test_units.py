"""Another unit never misleads to the unsafe side, and what was stamped stands first."""

from decimal import Decimal

from hypothesis import given
from hypothesis import strategies as st

from api import units
from api.units import Units, beside, reading
from api.wording import amount, told
from cylinders.rules.quantity import Quantity, psi
from cylinders.rules.wording import Least, say

BAR, PSI = Units("bar", "cc"), Units("psi", "in3")
pressures = st.builds(
    Quantity,
    st.decimals(min_value=1, max_value=20_000, places=1),
    st.sampled_from(["psi", "bar"]),
)


def shown(text: str) -> Quantity:
    figure, unit = text.split()
    return Quantity(Decimal(figure), unit)


@given(pressures, st.sampled_from([BAR, PSI]))
def test_a_maximum_is_never_shown_higher_and_a_minimum_never_lower(
    stamped: Quantity, read_in: Units
) -> None:
    with reading(read_in):
        most, least = beside(stamped), beside(stamped, least=True)
    if stamped.unit == read_in.pressure:
        assert (most, least) == ("", "")
        return
    assert shown(most) <= stamped <= shown(least)
    assert shown(least).value - shown(most).value <= 1


def test_what_was_stamped_stands_first_and_alone_for_whoever_reads_that_unit() -> None:
    assert amount(psi(3000)) == "3000 psi"
    with reading(BAR):
        assert amount(psi(3000)) == "3000 psi (206 bar)"
        assert amount(Quantity(Decimal("62.5"), "cc")) == "62.5 cc"
    with reading(PSI):
        assert amount(psi(3000)) == "3000 psi"
        assert amount(Quantity(Decimal("62.5"), "cc")) == "62.5 cc (3.81 in3)"


def test_what_a_rule_asks_for_is_rounded_up_and_what_it_allows_down() -> None:
    says = say(
        "{reached} was reached, {required} is required.",
        reached=psi(4999),
        required=Least(psi(5000)),
    )
    assert says == "4999 psi was reached, 5000 psi is required."
    with reading(BAR):
        assert told(says) == "4999 psi (344 bar) was reached, 5000 psi (345 bar) is required."


def test_one_readers_units_do_not_reach_the_next() -> None:
    with reading(BAR):
        assert units.present() == BAR
    assert units.present() == units.AS_STAMPED
