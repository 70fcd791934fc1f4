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
