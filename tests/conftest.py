"""What every test gets: no way out of this machine, and real servers for those that ask."""

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

import pytest

from api import collector, posted_records
from tests import append_only, servers, settings
from tests.promises.told import controls, is_promised
from tests.promises.told import lines as promises


@pytest.fixture
def valkey() -> Iterator[servers.Server]:
    """An empty Valkey on this machine: what one service notes in it holds back another."""
    yield from _started(servers.valkey)


@pytest.fixture(scope="session")
def postgresql() -> Iterator[servers.Server]:
    """A PostgreSQL beside the database of the run: for moves, backups and faults."""
    yield from _started(servers.postgresql)


def _started(start: servers.Start) -> Iterator[servers.Server]:
    try:
        server = start()
    except servers.NoServer as missing:
        if servers.required():
            raise
        pytest.skip(str(missing))
    yield server
    server.stop()


@pytest.fixture(autouse=True)
def nothing_remembered() -> None:
    """No test finds a judgement that another one made."""
    posted_records.forget()


@pytest.fixture(autouse=True)
def append_only_tables(request: pytest.FixtureRequest) -> Iterator[None]:
    """Keep the history's triggers in force in a transactional test, and let it be cleared away."""
    marker = request.node.get_closest_marker("django_db")
    if not (marker and marker.kwargs.get("transaction") and settings.TEST_ENGINE == "sqlite"):
        yield
        return
    request.getfixturevalue("transactional_db")
    if not append_only.are_set():
        append_only.set_again()
    yield
    append_only.lift()


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """On PostgreSQL read only the files that mark something for both engines: one in five.

    A file that was named on the command line is read whatever it holds.
    """
    named = any(not Path(word.partition("::")[0]).is_dir() for word in config.args)
    if settings.TEST_ENGINE != "postgresql" or named or not collection_path.is_file():
        return None
    return None if b"both_engines" in collection_path.read_bytes() else True


def pytest_collection_finish() -> None:
    """Six thousand tests stand until the end of the run: the collector need not look at them."""
    collector.settle_down()


def pytest_report_header() -> str:
    """Say which engine this run is about."""
    return f"engine: {settings.TEST_ENGINE} {settings.NO_SERVER}".rstrip()


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add `--long` (the long runs, and what the table of promises names) and `--every-case`."""
    parser.addoption("--long", action="store_true", help="run what is long or promised")
    parser.addoption("--every-case", action="store_true", help="sampled tests in full number")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Keep long runs apart; on PostgreSQL keep only what must hold on both engines.

    Where a PostgreSQL was asked for and there is none, those are skipped.
    """
    long = bool(config.getoption("--long"))
    left_out = set() if long or config.getoption("--every-case") else beyond_the_sample(items)
    apart = [item for item in items if item in left_out or not _chosen(item, long=long)]
    config.hook.pytest_deselected(items=apart)
    items[:] = [item for item in items if item not in set(apart)]
    if settings.TEST_ENGINE != "postgresql":
        return
    both = [item for item in items if item.get_closest_marker("both_engines")]
    config.hook.pytest_deselected(items=[item for item in items if item not in both])
    items[:] = both
    if settings.NO_SERVER:
        for item in items:
            item.add_marker(pytest.mark.skip(reason=settings.NO_SERVER))


def _chosen(item: pytest.Item, *, long: bool) -> bool:
    """Whether a test is for this kind of run; sampled and promised ones are for both."""
    if long and (item.get_closest_marker("sampled") or is_promised(item.nodeid)):
        return True
    return bool(item.get_closest_marker("long")) is long


def beyond_the_sample(items: list[pytest.Item]) -> set[pytest.Item]:
    """The cases of sampled tests that wait for the long run: all but the first of every ``of``.

    By the order of their names, so that every process of a run, in any order, keeps the same ones.
    Of those that are taken ``in_turns`` PostgreSQL keeps the second of every ``of``.
    """
    cases: dict[str, list[pytest.Item]] = defaultdict(list)
    for item in items:
        if item.get_closest_marker("sampled"):
            cases[item.nodeid.partition("[")[0]].append(item)
    left_out: set[pytest.Item] = set()
    for found in cases.values():
        marker = found[0].get_closest_marker("sampled")
        assert marker
        found.sort(key=lambda item: item.nodeid)
        second = marker.kwargs.get("in_turns", False) and settings.TEST_ENGINE == "postgresql"
        kept = set(found[int(second) :: marker.kwargs["of"]])
        left_out |= {item for item in found if item not in kept}
    return left_out


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """After the long run: each promise, the figure that is wanted, and what came of its tests."""
    if not terminalreporter.config.getoption("--long"):
        return
    outcomes: dict[str, str] = {}
    for outcome in ("passed", "skipped", "failed", "error"):
        for report in terminalreporter.stats.get(outcome, ()):
            outcomes[report.nodeid] = outcome
    terminalreporter.section("promises")
    for line in promises(outcomes):
        terminalreporter.write_line(line)
    terminalreporter.section("public lists")
    for line in controls():
        terminalreporter.write_line(line)
