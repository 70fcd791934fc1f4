"""Mutants that no test can notice, each with its reason: they mean the same as the rule."""

REASONS: dict[str, dict[str, str]] = {
    "water_jacket": {},
    "intervals": {},
    "threads": {},
}
