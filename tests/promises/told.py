"""The table of promises with what came of their tests in one run."""

from collections.abc import Iterator, Mapping

from tests.promises.table import TABLE, Promise


def lines(outcomes: Mapping[str, str]) -> Iterator[str]:
    """A line for each promise; ``outcomes`` gives what came of each test by its node id."""
    for row in TABLE:
        yield f"{row.mark:4}{row.says}: {row.wanted} -> {reached(row, outcomes)}"
        if row.remark:
            yield f"    {row.remark}"


def reached(row: Promise, outcomes: Mapping[str, str]) -> str:
    """What the tests of a promise came to: all passed, some failed, or not run."""
    found = [
        outcome
        for node, outcome in outcomes.items()
        if any(node.removeprefix("tests/").startswith(name) for name in row.tests)
    ]
    bad = sum(outcome not in ("passed", "skipped") for outcome in found)
    passed = found.count("passed")
    if bad:
        return f"NOT MET, {bad} of {len(found)} tests failed"
    return f"met, {passed} tests passed" if passed else "not run here"
