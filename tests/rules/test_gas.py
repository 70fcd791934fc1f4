from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.gas import (
    DepthUnit,
    MixError,
    common_practice_wants_clean,
    equivalent_air_depth,
    hot_limit,
    is_enriched,
    mod,
    partial_pressure,
)
from cylinders.rules.quantity import Quantity, bar, psi

SHARES = st.decimals("0.01", "1", places=3)


@pytest.mark.parametrize(
    ("unit", "says"),
    [
        (DepthUnit.FSW, "MOD 95 fsw at pO2 1.4 ata, 36 % O2"),
        (DepthUnit.MSW, "MOD 28 msw at pO2 1.4 bar, 36 % O2"),
        (DepthUnit.MSW_ATA, "MOD 29 msw at pO2 1.4 ata, 36 % O2"),
    ],
)
def test_the_line_to_print_names_unit_pressure_and_mix(unit: DepthUnit, says: str) -> None:
    assert mod(fo2=Decimal("0.36"), unit=unit).says == says


def test_a_metre_of_sea_water_per_atmosphere_is_exact() -> None:
    depth = mod(fo2=Decimal("0.5"), po2=Decimal(1), unit=DepthUnit.MSW_ATA)
    assert depth.exact == Fraction(101325, 10000)


def test_without_an_analyser_s_error_none_is_said() -> None:
    assert equivalent_air_depth(fo2=Decimal("0.36"), depth=Decimal(25)).says == (
        "EAD 14 fsw at 25 fsw, 36 % O2"
    )


def test_the_analyser_s_error_is_added_and_said() -> None:
    depth = mod(fo2=Decimal("0.320"), analyser_tolerance=Decimal("0.01"))
    assert depth.says == "MOD 107 fsw at pO2 1.4 ata, 32 % + 1 % O2"
    assert depth.exact == (Fraction("1.4") / Fraction("0.33") - 1) * 33


def test_no_mix_is_richer_than_oxygen() -> None:
    pure = mod(fo2=Decimal(1), po2=Decimal("1.6"))
    assert mod(fo2=Decimal(1), po2=Decimal("1.6"), analyser_tolerance=Decimal("0.02")).exact == (
        pure.exact
    )


@given(SHARES, SHARES, st.sampled_from(DepthUnit))
@settings(max_examples=200)
def test_a_richer_mix_never_goes_deeper(one: Decimal, other: Decimal, unit: DepthUnit) -> None:
    lean, rich = sorted((one, other))
    shallow = mod(fo2=rich, po2=Decimal("1.6"), unit=unit)
    assert shallow.depth <= mod(fo2=lean, po2=Decimal("1.6"), unit=unit).depth
    assert shallow.depth <= shallow.exact < shallow.depth + 1


@given(SHARES, st.decimals("0", "0.05", places=3))
@settings(max_examples=200)
def test_an_analyser_s_error_never_makes_a_dive_deeper(fo2: Decimal, error: Decimal) -> None:
    bold = mod(fo2=fo2, po2=Decimal("1.6"))
    assert mod(fo2=fo2, po2=Decimal("1.6"), analyser_tolerance=error).depth <= bold.depth


@pytest.mark.parametrize(
    ("fo2", "po2", "error", "words"),
    [
        ("0", "1.4", "0", "oxygen share 0 is not possible"),
        ("1.01", "1.4", "0", "oxygen share 1.01 is not possible"),
        ("32", "1.4", "0", "oxygen share 32 is not possible"),
        ("-0.1", "1.4", "0", "oxygen share"),
        ("NaN", "1.4", "0", "oxygen share NaN is not possible"),
        ("0.32", "1.61", "0", r"^pO2 1.61 is not possible: use up to 1.6\.$"),
        ("0.32", "0", "0", "pO2 0 is not possible"),
        ("0.32", "NaN", "0", "pO2 NaN is not possible"),
        ("0.32", "1.4", "NaN", "analyser tolerance NaN is not possible"),
        ("0.32", "1.4", "-0.01", "analyser tolerance -0.01 is not possible"),
        ("0.32", "1.4", "1", "analyser tolerance 1 is not possible"),
        ("0.5", "0.4", "0", r"^50 % O2 is over pO2 0.4 ata at the surface\.$"),
        ("0.5", "0.499", "0", "50 % O2 is over pO2 0.499 ata at the surface"),
    ],
)
def test_what_cannot_be_is_refused_in_words(fo2: str, po2: str, error: str, words: str) -> None:
    with pytest.raises(MixError, match=words):
        mod(fo2=Decimal(fo2), po2=Decimal(po2), analyser_tolerance=Decimal(error))


def test_a_mix_at_its_limit_at_the_surface_has_a_depth_of_nought() -> None:
    assert mod(fo2=Decimal("0.5"), po2=Decimal("0.5")).depth == 0


def test_an_equivalent_depth_is_rounded_up_and_takes_the_error_off_the_oxygen() -> None:
    exact = equivalent_air_depth(fo2=Decimal("0.32"), depth=Decimal(33), unit=DepthUnit.MSW)
    assert exact.depth == 28
    assert float(exact.exact) == pytest.approx(27.0127, abs=1e-4)
    careful = equivalent_air_depth(
        fo2=Decimal("0.32"),
        depth=Decimal(33),
        unit=DepthUnit.MSW,
        analyser_tolerance=Decimal("0.01"),
    )
    assert careful.exact > exact.exact
    assert careful.says == "EAD 28 msw at 33 msw, 32 % - 1 % O2"


def test_an_equivalent_depth_is_never_above_the_surface() -> None:
    assert equivalent_air_depth(fo2=Decimal(1), depth=Decimal(6)).depth == 0


def test_an_error_larger_than_the_oxygen_leaves_none() -> None:
    none = equivalent_air_depth(
        fo2=Decimal("0.01"), depth=Decimal(0), analyser_tolerance=Decimal("0.5")
    )
    assert none.exact == Fraction(33) / Fraction(79, 100) - 33


@pytest.mark.parametrize("depth", ["-1", "NaN", "Infinity"])
def test_a_depth_that_cannot_be_is_refused(depth: str) -> None:
    with pytest.raises(MixError, match=f"depth {depth} is not possible"):
        equivalent_air_depth(fo2=Decimal("0.32"), depth=Decimal(depth))


@given(SHARES, st.decimals("0", "100", places=1), st.sampled_from(DepthUnit))
@settings(max_examples=200)
def test_an_equivalent_depth_is_never_shallower_than_the_exact_one(
    fo2: Decimal, depth: Decimal, unit: DepthUnit
) -> None:
    found = equivalent_air_depth(fo2=fo2, depth=depth, unit=unit)
    assert found.depth >= found.exact


@pytest.mark.parametrize(
    ("fo2", "enriched", "clean"),
    [
        ("0.21", False, False),
        ("0.235", False, False),
        ("0.2351", True, False),
        ("0.40", True, False),
        ("0.4001", True, True),
        ("1", True, True),
    ],
)
def test_the_oxygen_limits_are_above_and_not_at_the_figure(
    fo2: str,
    enriched: bool,  # noqa: FBT001 - a table row
    clean: bool,  # noqa: FBT001 - a table row
) -> None:
    assert is_enriched(Decimal(fo2)) is enriched
    assert common_practice_wants_clean(Decimal(fo2)) is clean


@pytest.mark.parametrize(
    ("settled", "hot"),
    [(psi(3000), "3750.00 psi"), (psi(2475), "3093.75 psi"), (bar(207), "258.75 bar")],
)
def test_a_hot_cylinder_may_show_five_quarters(settled: Quantity, hot: str) -> None:
    assert str(hot_limit(settled)) == hot


def test_a_partial_pressure_is_exact() -> None:
    share = partial_pressure(share=Decimal("0.32"), depth=Decimal(40), unit=DepthUnit.MSW)
    assert share == Fraction(8, 5)
