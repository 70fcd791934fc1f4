"""The table of promises with what came of their tests in one run."""

from collections.abc import Iterator, Mapping

from tests.promises.security import LISTS, Control
from tests.promises.table import TABLE, Promise


def lines(outcomes: Mapping[str, str]) -> Iterator[str]:
    """A line for each promise; ``outcomes`` gives what came of each test by its node id."""
    for row in TABLE:
        yield f"{row.mark:4}{row.says}: {row.wanted} -> {reached(row, outcomes)}"
        if row.remark:
            yield f"    {row.remark}"


def controls() -> Iterator[str]:
    """A line for each row of the public lists: how many tests show it, and what is not done."""
    for name, rows in LISTS.items():
        yield name
        for row in rows:
            yield f"    {row.mark:18}{row.says}: {len(row.tests) or 'no'} tests or files of tests"
            if row.reason:
                yield f"{'':22}{row.reason}"


def is_promised(node: str) -> bool:
    """Whether a promise names this test, so that the table needs what comes of it."""
    return any(_shows(row, node) for row in TABLE)


def _shows(row: Promise | Control, node: str) -> bool:
    return node.removeprefix("tests/").startswith(row.tests)


def reached(row: Promise | Control, outcomes: Mapping[str, str]) -> str:
    """What the tests of a promise came to: all passed, some failed, or not run."""
    found = [outcome for node, outcome in outcomes.items() if _shows(row, node)]
    bad = sum(outcome not in ("passed", "skipped") for outcome in found)
    passed = found.count("passed")
    if bad:
        return f"NOT MET, {bad} of {len(found)} tests failed"
    return f"met, {passed} tests passed" if passed else "not run here"
