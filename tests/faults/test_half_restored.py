"""A restore that fails half-way leaves no shop; the next one takes the list in its place."""

import json
import subprocess
import zipfile
from pathlib import Path

import pytest

from tests.faults.live import Live
from tests.faults.test_two_at_once import select


def with_other_counts(archive: Path, other: Path) -> None:
    """The same archive, whose manifest says one event more than there is."""
    with zipfile.ZipFile(archive) as old, zipfile.ZipFile(other, "w") as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "manifest.json":
                manifest = json.loads(content)
                manifest["counted"]["events"] += 1
                content = json.dumps(manifest).encode()
            new.writestr(name, content)


def refused(live: Live, *words: str) -> str:
    with pytest.raises(subprocess.CalledProcessError) as failed:
        live.run("django", *words)
    return str(failed.value.stderr)


@pytest.mark.long
def test_a_place_where_a_restore_failed_serves_nothing_until_it_is_done_again(
    tmp_path: Path,
) -> None:
    live = Live(tmp_path, f"sqlite:///{tmp_path}/service.sqlite3")
    live.run("tests.faults.volume", "2", "3")
    good, wrong = tmp_path / "good.zip", tmp_path / "wrong.zip"
    live.run("django", "backup", str(good), "--with-secret-key")
    live.run("tests.faults.since_then")
    with_other_counts(good, wrong)
    folder = tmp_path / "new"
    folder.mkdir()
    new = Live(folder, f"sqlite:///{folder}/service.sqlite3")
    assert "events differ" in refused(new, "restore", str(wrong))
    for words in (["sweep"], ["serve", "--port", "1"], ["arm"]):
        assert "did not end well" in refused(new, *words)
    assert "is not empty" in refused(new, "restore", str(good))

    for path in (folder / "restore-unfinished", *folder.glob("service.sqlite3*")):
        path.unlink()
    for path in (folder / "keys").glob("*"):
        path.unlink()
    (folder / "since.json").write_text((live.folder / "since.json").read_text())
    said = json.loads(new.run("django", "restore", str(good), "--json"))
    assert said["problems"] == []
    assert said["again"]["erased"] == 1, "the list that lay in the place was taken"
    assert (folder / "secret_key").read_text() == (live.folder / "secret_key").read_text()
    assert select(new, "SELECT count(*) FROM django_session") == [(0,)]
    assert "paused" in new.run("django", "sweep")
