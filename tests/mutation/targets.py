"""Which tests hold which rule: the module's own, and the published ones that lean on it."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Target:
    """A module by its dotted name, and the test files to run against each of its mutants."""

    module: str
    tests: tuple[str, ...]


TARGETS = {
    "water_jacket": Target(
        "cylinders.rules.water_jacket",
        (
            "tests/rules/test_water_jacket.py",
            "tests/published/test_cfr_180_205_pressure_test.py",
        ),
    ),
    "proof_pressure": Target(
        "cylinders.rules.proof_pressure",
        (
            "tests/rules/test_proof_pressure.py",
            "tests/published/test_cfr_180_209_test_pressures.py",
        ),
    ),
    "calibration": Target("cylinders.rules.calibration", ("tests/rules/test_calibration.py",)),
    "gauge": Target("cylinders.rules.gauge", ("tests/rules/test_gauge.py",)),
    "repeat": Target("cylinders.rules.repeat", ("tests/rules/test_repeat.py",)),
    "heat": Target("cylinders.rules.heat", ("tests/rules/test_heat.py",)),
    "eddy_current": Target("cylinders.rules.eddy_current", ("tests/rules/test_eddy_current.py",)),
    "plausibility": Target(
        "cylinders.rules.plausibility",
        ("tests/rules/test_plausibility.py", "tests/published/test_thick_wall_theory.py"),
    ),
    "wall_stress": Target(
        "cylinders.rules.wall_stress",
        (
            "tests/rules/test_wall_stress.py",
            "tests/published/test_cfr_173_302a_wall_stress_limits.py",
        ),
    ),
    "intervals": Target(
        "cylinders.rules.intervals",
        (
            "tests/rules/test_intervals.py",
            "tests/published/test_cfr_180_209_intervals.py",
            "tests/published/test_cfr_180_207_un.py",
            "tests/published/test_cfr_180_205_dates.py",
        ),
    ),
    "threads": Target("cylinders.rules.threads", ("tests/rules/test_threads.py",)),
}
