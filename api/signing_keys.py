"""The keys that sign certificates: Ed25519, made on first use, kept in files of mode 0600.

The newest signs; the older ones stay, so that what they signed can still be checked. Each is named
by its thumbprint (RFC 7638), so two processes that make the first key at one moment make two keys
and no confusion. The private parts never leave the folder, and are in no database and no backup of
one: keep a copy of ``var/keys`` where the shop keeps its other keys.
"""

import datetime as dt
import json
import os
from pathlib import Path
from typing import Any

from django.conf import settings
from joserfc.jwk import OKPKey

_MODE = 0o600
_FOLDER_MODE = 0o700
_KID_LENGTH = 12


def folder() -> Path:
    """Where the keys are."""
    return Path(settings.VAR_DIR) / "keys"


def current(*, at: dt.datetime) -> OKPKey:
    """The key that signs now; made at ``at`` when there is none."""
    paths = _paths()
    return _read(paths[-1]) if paths else rotate(at=at)


def rotate(*, at: dt.datetime) -> OKPKey:
    """Make a new key that signs from now on."""
    key = OKPKey.generate_key("Ed25519", {"use": "sig", "alg": "Ed25519"})
    kid = key.thumbprint()[:_KID_LENGTH]
    content = json.dumps(key.as_dict(private=True) | {"kid": kid})
    folder().mkdir(mode=_FOLDER_MODE, parents=True, exist_ok=True)
    name = f"{at.astimezone(dt.UTC):%Y%m%dT%H%M%S%f}-{kid}.jwk"
    unfinished = folder() / f".{name}.{os.getpid()}"
    handle = os.open(unfinished, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _MODE)
    with os.fdopen(handle, "w", encoding="ascii") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    unfinished.rename(folder() / name)
    return _read(folder() / name)


def public() -> dict[str, list[dict[str, Any]]]:
    """Every public key as a key set (RFC 7517), oldest first."""
    keys = [_read(path) for path in _paths()]
    return {"keys": [dict(key.as_dict(private=False)) for key in keys]}


def find(kid: str) -> OKPKey | None:
    """The key of that name, or None."""
    return next((key for key in map(_read, _paths()) if key.kid == kid), None)


def _paths() -> list[Path]:
    return sorted(folder().glob("*.jwk"))


def _read(path: Path) -> OKPKey:
    return OKPKey.import_key(json.loads(path.read_text(encoding="ascii")))
