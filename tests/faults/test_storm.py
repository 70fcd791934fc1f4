"""No reminder is lost and none is told twice, whatever dies, at full size and at a small one."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests import servers
from tests.faults.storm import Broker, Folder, Outcome, Valkey, storm

QUARTER_OF_AN_HOUR = 15 * 60


@pytest.fixture(params=["files", "valkey"])
def broker(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Broker]:
    if request.param == "files":
        yield Folder(tmp_path / "queue")
        return
    try:
        server = servers.valkey()
    except servers.NoServer as missing:
        if servers.required():
            raise
        pytest.skip(str(missing))
    yield Valkey(server)
    server.stop()


def check(outcome: Outcome) -> None:
    assert outcome.lost == 0
    assert outcome.told_twice == 0
    assert outcome.seconds < QUARTER_OF_AN_HOUR
    # What came twice came under one Message-ID, and the history says that it may have.
    assert outcome.folded <= outcome.unsure <= sum(outcome.kills.values())


@pytest.mark.long
def test_two_thousand_owners_are_told_once_through_two_hundred_kills(
    broker: Broker, tmp_path: Path
) -> None:
    outcome = storm(tmp_path, broker, owners=2_000, kills=200, every=3.0, pause=0.5, seed=1)
    print(f"\n{broker!r}: {outcome}")  # noqa: T201 - the figures of a long run
    assert set(outcome.kills) == {"worker", "child", "broker"}
    check(outcome)
