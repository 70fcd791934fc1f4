"""Depth limits and equivalent air depths as published for nitrogen-oxygen mixes.

The formula (pO2 / FO2 - 1) x 33 fsw on a public page; tables of the kind a national ocean agency
prints, from memory (111 and 95 ft); the US Navy Diving Manual, chapter 10 (68 % nitrogen at 63 fsw
is 2.0 ata); training slides and an encyclopaedia for the equivalent depths in metres.
"""

from decimal import Decimal

import pytest

from cylinders.rules.gas import DepthUnit, equivalent_air_depth, mod, partial_pressure

COVERS = [
    "MOD_0.21_1.4",
    "MOD_0.21_1.6",
    "MOD_0.28_1.6",
    "MOD_0.30_1.6",
    "MOD_0.32_1.4",
    "MOD_0.32_1.6",
    "MOD_0.36_1.4",
    "MOD_0.40_1.6",
    "MOD_0.50_1.6",
    "MOD_1.00_1.4",
    "MOD_EAN32_published",
    "MOD_EAN36_published",
    "MOD_EAN32_analyser_minus1pct",
    "pN2_navy_63fsw",
    "EAD_0.36_25",
    "EAD_0.36_27",
    "EAD_0.32_33",
]


@pytest.mark.parametrize(
    ("fo2", "po2", "fsw", "msw_bar", "msw_ata"),
    [
        ("0.21", "1.4", 187, 56, 57),
        ("0.28", "1.4", 132, 40, 40),
        ("0.30", "1.4", 121, 36, 37),
        ("0.32", "1.4", 111, 33, 34),
        ("0.36", "1.4", 95, 28, 29),
        ("0.40", "1.4", 82, 25, 25),
        ("0.50", "1.4", 59, 18, 18),
        ("1.00", "1.4", 13, 4, 4),
        ("0.21", "1.6", 218, 66, 67),
        ("0.28", "1.6", 155, 47, 47),
        ("0.30", "1.6", 143, 43, 43),
        ("0.32", "1.6", 132, 40, 40),
        ("0.40", "1.6", 99, 30, 30),
        ("0.50", "1.6", 72, 22, 22),
    ],
)
def test_the_depth_limit_is_rounded_down_in_each_unit(
    fo2: str, po2: str, fsw: int, msw_bar: int, msw_ata: int
) -> None:
    mix = {"fo2": Decimal(fo2), "po2": Decimal(po2)}
    assert mod(**mix, unit=DepthUnit.FSW).depth == fsw
    assert mod(**mix, unit=DepthUnit.MSW).depth == msw_bar
    assert mod(**mix, unit=DepthUnit.MSW_ATA).depth == msw_ata


@pytest.mark.parametrize(
    ("fo2", "po2", "fsw", "msw"),
    [
        ("0.21", "1.4", 187.0, 56.6667),
        ("0.32", "1.4", 111.375, 33.75),
        ("0.36", "1.4", 95.3333, 28.8889),
        ("0.50", "1.6", 72.6, 22.0),
    ],
)
def test_the_exact_value_stands_behind_the_rounded_one(
    fo2: str, po2: str, fsw: float, msw: float
) -> None:
    mix = {"fo2": Decimal(fo2), "po2": Decimal(po2)}
    assert float(mod(**mix, unit=DepthUnit.FSW).exact) == pytest.approx(fsw, abs=5e-5)
    assert float(mod(**mix, unit=DepthUnit.MSW).exact) == pytest.approx(msw, abs=5e-5)


def test_binary_floats_would_lose_a_foot() -> None:
    assert int((1.4 / 0.28 - 1) * 33) == 131
    assert int((1.4 / 0.21 - 1) * 33) == 186
    assert mod(fo2=Decimal("0.28")).depth == 132
    assert mod(fo2=Decimal("0.21")).depth == 187


def test_published_limits_of_the_two_standard_mixes() -> None:
    assert mod(fo2=Decimal("0.32")).depth == 111
    assert mod(fo2=Decimal("0.36")).depth == 95


def test_an_analyser_that_may_read_a_point_low_costs_four_feet() -> None:
    assert mod(fo2=Decimal("0.32"), analyser_tolerance=Decimal("0.01")).depth == 107


def test_navy_manual_partial_pressure_of_nitrogen() -> None:
    found = partial_pressure(share=Decimal("0.68"), depth=Decimal(63), unit=DepthUnit.FSW)
    assert float(found) == pytest.approx(2.0, abs=0.03)


def test_navy_manual_equivalent_depth_of_the_same_dive() -> None:
    """49.6 fsw exactly, so the 50 ft line of an air table."""
    found = equivalent_air_depth(fo2=Decimal("0.32"), depth=Decimal(63))
    assert float(found.exact) == pytest.approx(49.6, abs=0.05)
    assert found.depth == 50


@pytest.mark.parametrize(
    ("fo2", "depth", "published", "rounded"),
    [("0.36", 25, 18.3, 19), ("0.36", 27, 20.0, 20), ("0.32", 33, 27.0, 28)],
)
def test_equivalent_air_depths_in_metres(
    fo2: str, depth: int, published: float, rounded: int
) -> None:
    """The published table prints the nearest metre; ours is never shallower than the exact one."""
    found = equivalent_air_depth(fo2=Decimal(fo2), depth=Decimal(depth), unit=DepthUnit.MSW)
    assert float(found.exact) == pytest.approx(published, abs=0.06)
    assert found.depth == rounded
