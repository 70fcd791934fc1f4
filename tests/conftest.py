"""What every test gets: no way out of this machine, and real servers for those that ask."""

from collections.abc import Iterator

import pytest

from tests import servers, settings


@pytest.fixture(scope="session")
def valkey() -> Iterator[servers.Server]:
    """A Valkey on a port of this machine, empty at the start of the run."""
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


def pytest_report_header() -> str:
    """Say which engine this run is about."""
    return f"engine: {settings.TEST_ENGINE} {settings.NO_SERVER}".rstrip()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """On PostgreSQL keep only what must hold on both engines; skip it where there is no server."""
    if settings.TEST_ENGINE != "postgresql":
        return
    both = [item for item in items if item.get_closest_marker("both_engines")]
    config.hook.pytest_deselected(items=[item for item in items if item not in both])
    items[:] = both
    if settings.NO_SERVER:
        for item in items:
            item.add_marker(pytest.mark.skip(reason=settings.NO_SERVER))
