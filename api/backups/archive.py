"""The archive: a zip of database, files and keys, and a manifest that names each by its hash."""

import hashlib
import json
import os
import zipfile
import zlib
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import IO, Any

from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

MANIFEST = "manifest.json"
VERSION = 1
_CHUNK = 1 << 20
#: what a damaged archive raises: RuntimeError for bits that ask for a password or another method
_UNREADABLE = (OSError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error)


class Writer:
    """Adds members and notes the hash of each."""

    def __init__(self, zipped: zipfile.ZipFile) -> None:
        self._zip = zipped
        self.members: dict[str, str] = {}

    def add(self, name: str, content: IO[bytes]) -> None:
        """Add what a stream gives, from where it stands."""
        digest = hashlib.sha256()
        with self._zip.open(name, "w", force_zip64=True) as into:
            while chunk := content.read(_CHUNK):
                digest.update(chunk)
                into.write(chunk)
        self.members[name] = digest.hexdigest()


@contextmanager
def writing(target: Path, manifest: dict[str, Any]) -> Iterator[Writer]:
    """Write an archive: all of it, or nothing under its name.

    ``manifest`` may be filled until the end; the hashes of the members are added to it.
    """
    unfinished = target.with_name(f".{target.name}.{os.getpid()}")
    handle = os.open(unfinished, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)  # people, and keys
    try:
        with os.fdopen(handle, "w+b") as file:
            with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED, compresslevel=1) as zipped:
                writer = Writer(zipped)
                yield writer
                whole = {"v": VERSION, **manifest, "members": writer.members}
                zipped.writestr(MANIFEST, json.dumps(whole, indent=1))
            file.flush()
            os.fsync(file.fileno())
        unfinished.rename(target)
    finally:
        unfinished.unlink(missing_ok=True)


@dataclass(frozen=True)
class Opened:
    """An archive whose members are all there and unchanged."""

    zip: zipfile.ZipFile
    manifest: dict[str, Any]

    def names(self, folder: str) -> list[str]:
        """The members below a folder, without its name."""
        start = f"{folder}/"
        inside = (name for name in self.manifest["members"] if name.startswith(start))
        return [name.removeprefix(start) for name in inside]

    def open(self, name: str) -> IO[bytes]:
        """The bytes of a member."""
        return self.zip.open(name)

    def extract(self, name: str, to: Path) -> None:
        """Write a member to a file of mode 0600."""
        to.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(to, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
        with self.open(name) as content, os.fdopen(handle, "wb") as into:
            while chunk := content.read(_CHUNK):
                into.write(chunk)
            into.flush()
            os.fsync(into.fileno())


@contextmanager
def reading(source: Path) -> Iterator[Opened]:
    """Open an archive and hold every member against its hash before anything is believed.

    Raises :class:`Refused`: ``not_an_archive``, or ``damaged`` with the member's name.
    """
    with ExitStack() as stack:
        try:
            zipped = stack.enter_context(zipfile.ZipFile(source))
            opened = Opened(zipped, json.loads(zipped.read(MANIFEST)))
            _must_be_whole(opened)
        except (*_UNREADABLE, KeyError, TypeError, ValueError) as problem:
            says = say("{file} cannot be read: {problem}", file=str(source), problem=str(problem))
            raise Refused("not_an_archive", says) from problem
        yield opened


def _must_be_whole(opened: Opened) -> None:
    if opened.manifest["v"] != VERSION:
        raise Refused("newer", say("The archive was made by a newer version of this service."))
    there = set(opened.zip.namelist()) - {MANIFEST}
    if there != set(opened.manifest["members"]):
        raise Refused("damaged", say("The archive has other members than its manifest names."))
    for name, digest in opened.manifest["members"].items():
        parts = PurePosixPath(name).parts
        if ".." in parts or name.startswith("/") or "\\" in name:
            raise Refused("damaged", say("{name} leads out of the archive.", name=name))
        found = hashlib.sha256()
        try:
            with opened.open(name) as content:
                while chunk := content.read(_CHUNK):
                    found.update(chunk)
        except _UNREADABLE as problem:
            raise Refused("damaged", say("{name} cannot be read.", name=name)) from problem
        if found.hexdigest() != digest:
            raise Refused("damaged", say("{name} is not what was written.", name=name))
