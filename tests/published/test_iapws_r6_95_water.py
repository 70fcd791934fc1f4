"""Density of water by IAPWS R6-95, against its table of check values and a second implementation.

Table 7 of the release (first row second-hand, the others from memory); the densities at gauge
pressures were computed with another library (CoolProp 8.0.0, fluid "Water"), atmosphere 101 325 Pa.
"""

from decimal import Decimal
from fractions import Fraction

import pytest
from iapws import IAPWS95  # type: ignore[import-untyped] # the package has no type stubs

from cylinders.rules.direct_expansion import (
    Water,
    density,
    density_ratio,
    internal_expansion,
)
from cylinders.rules.elasticity import ALUMINIUM, internal
from cylinders.rules.quantity import Quantity, bar, cc, psi

COVERS = [
    "iapws95_p_300K_1005.308",
    "iapws95_w_300K_1005.308",
    "iapws95_p_300K_1188.202",
    "water_density_15C_0barg",
    "water_density_15C_200barg",
    "water_density_15C_300barg",
    "water_density_15C_344.738barg",
    "water_density_15C_500barg",
    "water_density_20C_200barg",
    "water_density_20C_344.738barg",
    "water_density_20C_500barg",
    "water_kT_20C_1atm",
    "water_density_25C_0barg",
    "water_density_25C_344.738barg",
    "water_density_25C_500barg",
    "water_kT_25C_1atm",
    "direct_expansion_19C",
    "direct_expansion_20C",
    "direct_expansion_25C",
]
ATMOSPHERE = 101_325.0
CAPACITY = cc(11_100)


@pytest.mark.parametrize(
    ("density_kg", "megapascal", "sound", "heat"),
    [
        (996.556, 0.0992418352, 1501.51914, 4.13018112),
        (1005.308, 20.0022515, 1534.92501, 4.06798347),
        (1188.202, 700.004704, 2443.57992, 3.46135580),
    ],
)
def test_table_7_at_300_kelvin(
    density_kg: float, megapascal: float, sound: float, heat: float
) -> None:
    state = IAPWS95(T=300, rho=density_kg)
    assert megapascal == pytest.approx(state.P, rel=2e-7)
    assert sound == pytest.approx(state.w, rel=2e-7)
    assert heat == pytest.approx(state.cv, rel=2e-7)


@pytest.mark.parametrize(
    ("celsius", "gauge", "expected"),
    [
        (15, 0, 999.103),
        (15, 200, 1008.246),
        (15, 300, 1012.676),
        (15, 344.7379, 1014.628),
        (15, 500, 1021.267),
        (18, 400, 1016.304),
        (20, 0, 998.207),
        (20, 200, 1007.179),
        (20, 344.7379, 1013.445),
        (20, 500, 1019.966),
        (22, 100, 1002.277),
        (25, 0, 997.048),
        (25, 344.7379, 1012.056),
        (25, 500, 1018.481),
    ],
)
def test_density_at_gauge_pressures(celsius: int, gauge: float, expected: float) -> None:
    found = density(celsius + 273.15, gauge * 1e5 + ATMOSPHERE)
    assert found == pytest.approx(expected, abs=0.002)


@pytest.mark.parametrize(("celsius", "expected"), [(20, 45.891), (25, 45.246)])
def test_isothermal_compressibility_per_million_and_bar(celsius: int, expected: float) -> None:
    kelvin, step = celsius + 273.15, 1e4
    low, high = (density(kelvin, ATMOSPHERE + sign * step) for sign in (-1, 1))
    per_bar = (high - low) / (2 * step) * 1e5 / density(kelvin, ATMOSPHERE)
    assert per_bar * 1e6 == pytest.approx(expected, abs=0.002)


@pytest.mark.parametrize(
    ("celsius", "ratio", "pumped", "compressed"),
    [
        (15, 0.0155393, "240.70", 172.49),
        (19, 0.0153148, "238.19", 169.99),
        (20, 0.0152652, "237.64", 169.44),
        (25, 0.0150526, "235.27", 167.08),
    ],
)
def test_what_is_pumped_into_an_aluminium_cylinder_at_5000_psi(
    celsius: int, ratio: float, pumped: str, compressed: float
) -> None:
    """Of 238 cc pumped 71 % is compression; 67.17 cc of internal expansion are left."""
    temperature = Quantity(Decimal(celsius), "C")
    found = density_ratio(temperature, psi(5000))
    assert float(found) - 1 == pytest.approx(ratio, abs=2e-7)
    assert float(CAPACITY.base * (found - 1)) == pytest.approx(compressed, abs=0.01)
    span = internal_expansion(Water(cc(pumped), temperature), CAPACITY, psi(5000))
    assert float(span.low + span.high) / 2 == pytest.approx(67.17, abs=0.05)
    assert span.low < Fraction("67.17") < span.high


def test_the_expansion_left_is_that_of_the_wall() -> None:
    """D 7.25 in, wall 0.55 in, E 10e6 psi, v 0.33."""
    per_volume = internal(psi(5000), ALUMINIUM, Fraction("7.25"), Fraction("6.15"))
    assert float(per_volume * CAPACITY.base) == pytest.approx(67.17, abs=0.01)


def test_the_bound_covers_the_difference_between_the_two_implementations() -> None:
    """The stated part in 10 000 of the ratio is far above what two programs differ by."""
    other = 1013.445 / 998.207
    ours = float(density_ratio(Quantity(Decimal(20), "C"), bar("344.7379")))
    assert abs(ours - other) / ours < 1e-5
