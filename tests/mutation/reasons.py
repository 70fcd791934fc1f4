"""Mutants that no test can notice, each with its reason: they mean the same as the rule."""

_ENDS_FIRST = "a reading exactly at a point was answered before this line"
_ONE_PER_CENT = "the figure is 1, and times 1 is over 1"
_FINER = "only for a total that was read to a ten-thousandth of a cc or finer, which none is"

REASONS: dict[str, dict[str, str]] = {
    "calibration": {
        "_between: low < at < high -> low <= at < high": _ENDS_FIRST,
        "_between: low < at < high -> low < at <= high": _ENDS_FIRST,
        "_certificate: min(ratios) * Fraction(row.value) -> min(ratios) / Fraction(row.value)": (
            _ONE_PER_CENT
        ),
    },
    "gauge": {
        "lowest_usable: Fraction(gauge.accuracy_percent) / "
        "Fraction(figure(Name.SYSTEM_ACCURACY, on=on).value) -> "
        "Fraction(gauge.accuracy_percent) * "
        "Fraction(figure(Name.SYSTEM_ACCURACY, on=on).value)": _ONE_PER_CENT,
        "widest_increment: 6 -> 7": _FINER,
        "widest_increment: 6 -> 5": _FINER,
        "widest_increment: ROUND_FLOOR -> ROUND_CEILING": _FINER,
        "_short: '.' -> '.X'": "a figure never ends in an X, so stripping one changes nothing",
    },
    "proof_pressure": {
        "_within: return False -> return None": "both mean no where a truth is asked for",
        "required_pressure: spec.test is PressureRule.FACTOR and exact is not None -> "
        "spec.test is PressureRule.FACTOR": "a factor always gives a pressure; the type asks",
        "_plain: '.' -> '.X' #2": "a figure never ends in an X, so stripping one changes nothing",
    },
}
