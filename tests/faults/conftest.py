"""A service of its own for tests that kill one, on each kind of database."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import servers
from tests.cylinders.operations.reminders.cast import post_office
from tests.faults.live import Live


@pytest.fixture(params=["sqlite", pytest.param("postgresql", marks=pytest.mark.long)])
def live(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Live]:
    """Not started yet, with an empty database."""
    database = f"sqlite:///{tmp_path}/service.sqlite3"
    if request.param == "postgresql":
        database = request.getfixturevalue("own_postgresql").url
    service = Live(tmp_path, database)
    yield service
    service.kill()


@pytest.fixture
def own_postgresql() -> Iterator[servers.Server]:
    """A PostgreSQL that keeps what it has confirmed, for one test alone."""
    try:
        server = servers.postgresql(careful=True)
    except servers.NoServer as missing:
        if servers.required():
            raise
        pytest.skip(str(missing))
    yield server
    server.stop()


__all__ = ["live", "own_postgresql", "post_office"]
