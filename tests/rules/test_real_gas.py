from decimal import Decimal

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from iapws.humidAir import Air  # type: ignore[import-untyped] # the package has no types

from cylinders.rules.quantity import Quantity, QuantityError, bar, cc, psi
from cylinders.rules.real_gas import (
    _density,
    _pressure_pa,
    air_mass_kg,
    compressibility,
    fahrenheit,
    free_air_litres,
    settled,
)
from cylinders.rules.verdict import Certainty

ROOM = fahrenheit(70)


def celsius(value: int) -> Quantity:
    return Quantity(Decimal(value), "C")


@pytest.mark.parametrize("kelvin", [233.15, 273.15, 293.15, 343.15])
@pytest.mark.parametrize("density", [50.0, 2000.0, 9000.0, 20000.0])
def test_the_equation_agrees_with_a_second_implementation(kelvin: float, density: float) -> None:
    other = Air(T=kelvin, rho=density * Air.M / 1000).P * 1e6
    assert _pressure_pa(density, kelvin) == pytest.approx(other, rel=1e-9)


def test_the_sentence_calls_it_an_estimate_and_names_the_data() -> None:
    estimate = settled(psi(3000), at=fahrenheit(100), to=ROOM)
    assert estimate.says == (
        "Estimate: 3000 psi at 100 F is about 2776 psi at 70 F (real-gas data for air)."
    )
    assert estimate.cites.certainty is Certainty.SECOND_HAND


def test_it_rounds_up_when_it_warms_and_down_when_it_cools() -> None:
    assert settled(bar(200), at=celsius(20), to=celsius(20)).pressure == bar(200)
    assert settled(bar(200), at=celsius(20), to=celsius(21)).pressure == bar(201)
    assert settled(bar(200), at=celsius(20), to=celsius(19)).pressure == bar(199)


@given(st.integers(1, 400), st.integers(-40, 69))
@settings(max_examples=100)
def test_warmer_is_never_less(pressure: int, temperature: int) -> None:
    fill = bar(pressure)
    warm = settled(fill, at=celsius(15), to=celsius(temperature + 1)).pressure
    cool = settled(fill, at=celsius(15), to=celsius(temperature)).pressure
    assert warm >= cool


@given(st.integers(1, 700), st.integers(-40, 70))
@settings(max_examples=100)
def test_the_density_gives_the_pressure_back(pressure: int, temperature: int) -> None:
    density = _density(bar(pressure), celsius(temperature))
    back = _pressure_pa(density, temperature + 273.15)
    assert back == pytest.approx(pressure * 1e5 + 101325, rel=1e-9)


@pytest.mark.parametrize("temperature", [celsius(-41), celsius(71), fahrenheit(159), bar(20)])
def test_outside_the_range_of_a_shop_nothing_is_estimated(temperature: Quantity) -> None:
    with pytest.raises(QuantityError, match="nothing is estimated there"):
        settled(psi(3000), at=ROOM, to=temperature)


@pytest.mark.parametrize("pressure", [bar(0), bar(-1), bar("700.1"), cc(100)])
def test_what_is_no_gauge_pressure_of_a_cylinder_is_refused(pressure: Quantity) -> None:
    with pytest.raises(QuantityError, match="is not a pressure up to 700 bar"):
        settled(pressure, at=ROOM, to=ROOM)


@pytest.mark.parametrize("temperature", [celsius(-40), celsius(70)])
def test_the_ends_of_the_range_are_inside(temperature: Quantity) -> None:
    assert settled(bar(700), at=temperature, to=temperature).pressure == bar(700)


def test_volume_mass_and_compressibility_are_decimals() -> None:
    capacity = Quantity(Decimal("11.1"), "L")
    assert free_air_litres(water_capacity=capacity, gauge=bar(207), at=celsius(20)) == (
        Decimal("2209.3")
    )
    assert air_mass_kg(water_capacity=capacity, gauge=bar(207), at=celsius(20)) == Decimal("2.661")
    assert compressibility(absolute=bar(200), at=celsius(20)) == Decimal("1.026")
