"""Seamless specifications (3-series), 49 CFR part 178 subpart C and 180.209(a) Table 1.

Edition read: 2019-10-01. The ten-year option of paragraph (e) that the 2019 table still prints for
3AL, 3AX, 3AAX and 3B is left out: the text of (e) does not name them and the table of late 2020
drops it, so the shorter period stands.
"""

from decimal import Decimal
from fractions import Fraction

from cylinders.rules.quantity import psi
from cylinders.rules.specifications.row import (
    Interval,
    IntervalRow,
    Material,
    PressureRule,
    Specification,
    cfr,
)
from cylinders.rules.verdict import Certainty

FIVE_THIRDS = Fraction(5, 3)
_TWO = Fraction(2)
_TABLE = cfr("180.209(a) Table 1")
_OPENING_2020 = cfr("180.209(a) Table 1", Certainty.READ, "about 2020-12")

_FIVE = IntervalRow(Interval.GENERAL, 5, _TABLE)
_STAR = IntervalRow(Interval.STAR, 10, cfr("180.209(b)"), method="volumetric")
_GAS_F = IntervalRow(Interval.LISTED_GAS, 10, cfr("180.209(f)"))
_GAS_H = IntervalRow(Interval.LISTED_GAS, 10, cfr("180.209(h)"))
_VISUAL_G = IntervalRow(Interval.EXTERNAL_VISUAL, 5, cfr("180.209(g)"), method="visual")
_FIRE = IntervalRow(Interval.FIRE_EXTINGUISHER, 12, cfr("180.209(j)"), method="volumetric")

SEAMLESS: tuple[Specification, ...] = (
    Specification(
        code="3",
        title="old seamless steel, existing cylinders only",
        cites=_TABLE,
        test=PressureRule.FIXED,
        fixed_test=psi(3000),
        test_says="3000 psi for every cylinder",
        material=Material.STEEL,
        service_fixed=Decimal(1800),
        intervals=(_FIVE,),
        notes=("stamped without a pressure: 1800 psi (173.301a(b), second-hand)",),
    ),
    Specification(
        code="3A",
        title="seamless carbon steel",
        cites=cfr("178.36"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure, except where 180.209(g) is used",
        material=Material.STEEL,
        service_min=Decimal(150),
        plus_allowed=True,
        star_allowed=True,
        intervals=(_FIVE, _STAR, _GAS_F, _GAS_H, _VISUAL_G, _FIRE),
        notes=("under water: five years only",),
    ),
    Specification(
        code="3AX",
        title="large seamless carbon steel",
        cites=cfr("178.36"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure",
        material=Material.STEEL,
        service_min=Decimal(500),
        plus_allowed=True,
        intervals=(_FIVE,),
        notes=("water capacity of 1000 lb or more",),
    ),
    Specification(
        code="3AA",
        title="seamless alloy steel",
        cites=cfr("178.37"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure, except where 180.209(g) is used",
        material=Material.STEEL,
        service_min=Decimal(150),
        plus_allowed=True,
        star_allowed=True,
        intervals=(_FIVE, _STAR, _GAS_F, _GAS_H, _VISUAL_G, _FIRE),
        notes=("under water: five years only",),
    ),
    Specification(
        code="3AAX",
        title="large seamless alloy steel",
        cites=cfr("178.37"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure",
        material=Material.STEEL,
        service_min=Decimal(500),
        plus_allowed=True,
        intervals=(_FIVE,),
        notes=("water capacity of 1000 lb or more",),
    ),
    Specification(
        code="3A480X",
        title="old seamless carbon steel, 480 psi",
        cites=cfr("180.209(g), (h)"),
        test=PressureRule.OTHER,
        test_says="no figure in Table 1; see 180.209(g) and (h)",
        material=Material.STEEL,
        service_fixed=Decimal(480),
        intervals=(
            IntervalRow(Interval.GENERAL, 5, cfr("180.209(g), (h)")),
            _GAS_H,
            _VISUAL_G,
        ),
        notes=("not in Table 1; named only in (g) and (h)",),
    ),
    Specification(
        code="3AL",
        title="seamless aluminium alloy",
        cites=cfr("178.46"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure; never under 450 psi or, below 500 psi, twice",
        test_cites=cfr("180.209(a) Table 1; 178.46"),
        material=Material.ALUMINIUM,
        service_min=Decimal(150),
        intervals=(IntervalRow(Interval.GENERAL, 5, _OPENING_2020), _FIRE),
        notes=("alloy 6351-T6 in scuba: eddy current with each five-year test, 180.209(m)",),
    ),
    Specification(
        code="3B",
        title="seamless steel, low pressure",
        cites=cfr("178.38"),
        test=PressureRule.FACTOR,
        factor=_TWO,
        test_says="twice the service pressure, except where 180.209(g) is used",
        material=Material.STEEL,
        service_min=Decimal(150),
        service_max=Decimal(500),
        intervals=(_FIVE, _GAS_F, _VISUAL_G),
    ),
    Specification(
        code="3BN",
        title="seamless nickel",
        cites=cfr("178.39"),
        test=PressureRule.FACTOR,
        factor=_TWO,
        test_says="twice the service pressure",
        material=Material.NICKEL,
        service_min=Decimal(150),
        service_max=Decimal(500),
        intervals=(_FIVE, _GAS_F),
    ),
    Specification(
        code="3E",
        title="small seamless steel, at most 2 in across and under 2 ft long",
        cites=cfr("178.42"),
        test=PressureRule.NOT_REQUIRED,
        test_says="no pressure test is required",
        material=Material.STEEL,
        service_fixed=Decimal(1800),
        permanent_limit_percent=None,
        notes=("no serial number and no inspector's mark required",),
    ),
    Specification(
        code="3HT",
        title="seamless alloy steel, aircraft",
        cites=cfr("178.44"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure",
        material=Material.STEEL,
        service_min=Decimal(900),
        life_years=24,
        life_fills=4380,
        life_cites=cfr("180.205(i)(1)(v)"),
        ree_condemns=True,
        intervals=(IntervalRow(Interval.GENERAL, 3, cfr("180.209(a) Table 1; 180.209(k)")),),
        notes=("elastic expansion over the stamped REE condemns; so does a dent or a bulge",),
    ),
    Specification(
        code="3T",
        title="large seamless steel",
        cites=cfr("178.45"),
        test=PressureRule.FACTOR,
        factor=FIVE_THIRDS,
        test_says="5/3 of the service pressure",
        material=Material.STEEL,
        service_min=Decimal(1800),
        plus_allowed=True,
        intervals=(_FIVE,),
        notes=("water capacity of 1000 lb or more",),
    ),
)
