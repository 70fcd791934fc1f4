"""One walk through every address for all processes of a run."""

import pytest

from tests.rights import walk


@pytest.fixture(scope="session", autouse=True)
def one_walk(tmp_path_factory: pytest.TempPathFactory, worker_id: str) -> None:
    """Share it where there are several processes; their folders lie side by side."""
    if worker_id != "master":
        walk.share(tmp_path_factory.getbasetemp().parent / "walk")
