"""Every check value that was worked out for the physics of a cylinder is tested, or left out.

A published test names the values that it holds in ``COVERS``; what no test holds stands in
``LEFT_OUT`` with the reason. ``fixtures/cases/physics_checks.txt`` lists all of them.
"""

import importlib
import pkgutil
from pathlib import Path

import tests.published

ALL = Path(__file__).resolve().parents[2] / "fixtures" / "cases" / "physics_checks.txt"

_NO_WALL = "no wall thickness is shown or decided on: the service compares stresses and expansions"
_NO_CATALOGUE = "rated capacity in cubic feet is not shown: the service keeps water capacity"
_BY_EYE = "pit depths and reference rings are the inspector's: the record holds pass or fail"

LEFT_OUT = {
    "tresca_bore": "another stress hypothesis, worked out for comparison; no rule uses it",
    "min_wall_5000_7.25_28000": _NO_WALL,
    "min_wall_3750_6.80_67000": _NO_WALL,
    "min_wall_3750_6.80_70000": _NO_WALL,
    "mean_wall_from_EE": _NO_WALL,
    "corrosion_limit_unknown_wall": _BY_EYE,
    "corrosion_limit_known_wall": _BY_EYE,
    "reference_ring_notch": _BY_EYE,
    **dict.fromkeys(
        (
            "catalogue_ideal_capacity_steel_15",
            "catalogue_ideal_capacity_aluminium_14",
            "catalogue_ideal_capacity_aluminium_50",
            "catalogue_ideal_capacity_steel_45",
            "catalogue_ideal_capacity_steel_42",
            "catalogue_ideal_capacity_steel_53",
            "catalogue_ideal_capacity_steel_71.4",
            "catalogue_ideal_capacity_aluminium_72",
            "catalogue_ideal_capacity_steel_55",
            "catalogue_ideal_capacity_aluminium_80 (a)",
            "catalogue_ideal_capacity_steel_71.2",
            "catalogue_ideal_capacity_aluminium_71.2",
            "catalogue_ideal_capacity_steel_75.8",
            "catalogue_ideal_capacity_steel_94.6",
        ),
        _NO_CATALOGUE,
    ),
}


def covered() -> list[str]:
    names: list[str] = []
    for module in pkgutil.iter_modules(tests.published.__path__):
        loaded = importlib.import_module(f"tests.published.{module.name}")
        names += getattr(loaded, "COVERS", [])
    return names


def test_every_check_value_is_held_by_a_test_or_left_out_with_a_reason() -> None:
    every = ALL.read_text("utf-8").splitlines()
    assert len(every) == len(set(every)) == 170
    held = covered()
    assert sorted([*held, *LEFT_OUT]) == sorted(every)


def test_nothing_is_left_out_without_a_sentence() -> None:
    assert all(len(reason.split()) > 5 for reason in LEFT_OUT.values())
