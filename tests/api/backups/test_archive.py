"""An archive that was touched, cut or made by somebody else is not believed."""

import hashlib
import io
import json
import zipfile
from pathlib import Path

import pytest

from api.backups import archive
from cylinders.rules.refusal import Refused


@pytest.fixture
def good(tmp_path: Path) -> Path:
    target = tmp_path / "copy.zip"
    with archive.writing(target, {"engine": "sqlite"}) as writer:
        writer.add("database.sqlite3", io.BytesIO(bytes(range(256)) * 40))
        writer.add("files/ab/cd", io.BytesIO(b"a photo"))
    return target


def refused(path: Path) -> str:
    with pytest.raises(Refused) as refusal, archive.reading(path):
        pass
    return refusal.value.code


def test_what_was_written_is_read(good: Path, tmp_path: Path) -> None:
    with archive.reading(good) as opened:
        assert opened.names("files") == ["ab/cd"]
        opened.extract("files/ab/cd", tmp_path / "out")
    assert (tmp_path / "out").read_bytes() == b"a photo"
    for private in (good, tmp_path / "out"):
        assert private.stat().st_mode & 0o777 == 0o600


def test_nothing_stands_under_its_name_before_it_is_whole(tmp_path: Path) -> None:
    target = tmp_path / "copy.zip"
    with pytest.raises(OSError, match="full"), archive.writing(target, {}):
        assert not target.exists()
        raise OSError("the disk is full")
    assert list(tmp_path.iterdir()) == []


def test_a_byte_that_was_changed_anywhere_is_found(good: Path) -> None:
    content = good.read_bytes()
    for place in range(len(content)):
        good.write_bytes(content[:place] + bytes([content[place] ^ 0x55]) + content[place + 1 :])
        try:
            with archive.reading(good) as opened:
                same = {name: opened.open(name).read() for name in opened.manifest["members"]}
        except Refused:
            continue
        assert hashlib.sha256(same["files/ab/cd"]).hexdigest() == _digest(content, "files/ab/cd")
        assert hashlib.sha256(same["database.sqlite3"]).hexdigest() == _digest(
            content, "database.sqlite3"
        )


def _digest(content: bytes, name: str) -> str:
    with zipfile.ZipFile(io.BytesIO(content)) as zipped:
        return hashlib.sha256(zipped.read(name)).hexdigest()


@pytest.mark.parametrize("length", [0, 1, 50, 500])
def test_a_cut_archive_is_refused(good: Path, length: int) -> None:
    good.write_bytes(good.read_bytes()[:length])
    assert refused(good) == "not_an_archive"


def test_a_member_that_leads_outside_is_refused(tmp_path: Path) -> None:
    for name in ("../../evil", "/etc/evil", "files/../../evil", "files\\..\\evil"):
        path = tmp_path / "evil.zip"
        digest = hashlib.sha256(b"x").hexdigest()
        with zipfile.ZipFile(path, "w") as zipped:
            zipped.writestr(zipfile.ZipInfo(name), b"x")
            zipped.writestr(archive.MANIFEST, json.dumps({"v": 1, "members": {name: digest}}))
        assert refused(path) == "damaged"


def test_other_members_than_named_or_another_version_are_refused(tmp_path: Path) -> None:
    for manifest in ({"v": 1, "members": {"a": "0" * 64}}, {"v": 2, "members": {}}, {"v": 1}):
        path = tmp_path / "odd.zip"
        with zipfile.ZipFile(path, "w") as zipped:
            zipped.writestr(archive.MANIFEST, json.dumps(manifest))
        assert refused(path) in {"damaged", "newer", "not_an_archive"}
