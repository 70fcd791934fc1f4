"""Heat and drying by metal."""

import datetime as dt
from decimal import Decimal

import pytest

from cylinders.rules.heat import drying, exposure
from cylinders.rules.quantity import Quantity
from cylinders.rules.specifications import Material
from cylinders.rules.verdict import Outcome

DAY = dt.date(2026, 11, 20)


def degrees(value: str, unit: str = "C") -> Quantity:
    return Quantity(Decimal(value), unit)


@pytest.mark.parametrize(
    ("seen", "material", "outcome"),
    [
        (None, Material.ALUMINIUM, Outcome.OK),
        (degrees("71"), Material.ALUMINIUM, Outcome.OK),
        (degrees("264.9", "F"), Material.ALUMINIUM, Outcome.OK),
        (degrees("265", "F"), Material.ALUMINIUM, Outcome.CAUTION),
        (degrees("175.9"), Material.ALUMINIUM, Outcome.CAUTION),
        (degrees("176"), Material.ALUMINIUM, Outcome.FAIL),
        (degrees("350", "F"), Material.ALUMINIUM, Outcome.FAIL),
        (degrees("176"), Material.STEEL, Outcome.OK),
        (degrees("342.9"), Material.NICKEL, Outcome.OK),
        (degrees("343"), Material.NICKEL, Outcome.FAIL),
        (degrees("650", "F"), Material.STEEL, Outcome.FAIL),
        (degrees("175.9"), None, Outcome.CAUTION),
        (degrees("176"), None, Outcome.UNKNOWN),
    ],
)
def test_exposure(seen: Quantity | None, material: Material | None, outcome: Outcome) -> None:
    finding = exposure(seen, material, on=DAY)
    assert (finding.code, finding.outcome) == ("heat", outcome)


@pytest.mark.parametrize(
    ("method", "temperature", "outcome"),
    [
        (None, None, Outcome.UNKNOWN),
        ("air", None, Outcome.OK),
        ("hot water", degrees("160", "F"), Outcome.OK),
        ("oven", degrees("130"), Outcome.CAUTION),
        ("oven", degrees("176"), Outcome.FAIL),
    ],
)
def test_drying(method: str | None, temperature: Quantity | None, outcome: Outcome) -> None:
    finding = drying(method, temperature, Material.ALUMINIUM, on=DAY)
    assert (finding.code, finding.outcome) == ("drying", outcome)


def test_the_words_name_the_metal_or_that_it_is_not_known() -> None:
    known = exposure(degrees("180"), Material.ALUMINIUM, on=DAY)
    assert known.says == (
        "The cylinder was exposed to 180 C; from 176 C aluminium counts as over-heated."
    )
    unknown = exposure(degrees("180"), None, on=DAY)
    assert unknown.says == (
        "The cylinder was exposed to 180 C; from 176 C a metal that is not known counts as "
        "over-heated. Find out the metal."
    )
    assert str(exposure(None, None, on=DAY).cites) == "49 CFR 180.203 and 180.205(d) (2019-10-01)"
