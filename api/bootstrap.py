"""Make ``.venv`` and install the pinned packages, so that one command works on a bare machine.

manage.py loads this module by its path, before anything is installed: only the standard library
may be imported here. What it does, and what it leaves alone:

* nothing where CYLINDERS_NO_BOOTSTRAP is set, or inside a virtual environment of someone else;
* `.venv` is made here only if there is none, and emptied only if the marker says it is ours;
* a stamp (pins and Python version) says what is installed: with a fresh stamp nothing is run;
* two commands at once wait for each other; everything is said on stderr, so `--json` stays clean.
"""

import contextlib
import hashlib
import os
import platform
import queue
import re
import shutil
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterable, Iterator, Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import NoReturn

MARKER = "made-by-manage-py"
OFF_SWITCH = "CYLINDERS_NO_BOOTSTRAP"
_SAID_EACH, _LINES_TOLD = 10, 30  # packages between two lines of progress; of pip, when it failed
_MOST_PIPS = 4  # at once: more would only wait for the disk
NO_VENV = (
    "This Python cannot make a virtual environment: its module {missing} is missing.\n"
    "On Debian or Ubuntu: apt install python3-venv. Then run the same command again."
)
NOT_OURS = (
    "{venv} exists, but manage.py did not make it, so it is left alone.\n"
    "Activate it, or move it away and run the same command again, or set {switch}=1."
)
PIP_FAILED = (
    "The packages could not be installed; pip says why above.\n"
    "The package index must be reachable for this first start. Then run the same command again."
)
OTHER_PYTHON = (
    "{venv} was made for Python {made}, and is now run by Python {now}.\n"
    "Run the same command with python3, outside of it: it is then made again."
)


def ensure(argv: Sequence[str], root: str | Path) -> None:
    """Return inside an environment that has the pinned packages, or replace this process.

    `argv` is the command line with the script's name first; `root` is the folder of manage.py.
    Exits with status 2 and a sentence where that cannot be done.
    """
    venv = Path(root) / ".venv"
    inside = sys.prefix != sys.base_prefix
    if is_off(os.environ.get(OFF_SWITCH, "")) or (inside and not is_ours(venv, sys.prefix)):
        return
    chosen = pin_set(argv)
    version = platform.python_version() if inside else version_of(python_in(venv))
    if version is None or not is_fresh(venv, chosen, version):
        version = _install(venv, chosen, inside=inside)
    if not inside:
        _become(python_in(venv))


def is_off(word: str) -> bool:
    """Say whether the off switch is set: any word but an empty one or a plain no."""
    return word.strip().lower() not in {"", "0", "false", "no", "off"}


def is_ours(venv: Path, prefix: str) -> bool:
    """Say whether `prefix` is the environment `venv` and manage.py made it."""
    return (venv / MARKER).is_file() and os.path.realpath(prefix) == os.path.realpath(venv)


def pin_set(argv: Sequence[str]) -> str:
    """Return the set of pins that a command line needs: "test" holds all of "run" and more."""
    return "test" if argv[1:2] in (["test"], ["bench"]) else "run"


def pins_of(venv: Path, chosen: str) -> Path:
    """Return the file of pins of a set."""
    return venv.parent / ".pins" / f"{chosen}.txt"


def stamp_of(venv: Path, chosen: str, version: str) -> str:
    """Return what a fresh stamp reads: it changes with the pins and with the Python version."""
    return hashlib.sha256(pins_of(venv, chosen).read_bytes() + version.encode()).hexdigest()


def is_fresh(venv: Path, chosen: str, version: str) -> bool:
    """Say whether the set is installed as pinned, by manage.py itself."""
    stamp = venv / f"stamp-{chosen}"
    if not ((venv / MARKER).is_file() and stamp.is_file()):
        return False
    return stamp.read_text(encoding="ascii") == stamp_of(venv, chosen, version)


def python_in(venv: Path) -> Path:
    """Return where a virtual environment keeps its interpreter."""
    return venv / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def version_of(python: Path) -> str | None:
    """Return the version of an environment's interpreter; None where it is missing or broken.

    One that runs outside of an environment is broken too: this process would become it for ever.
    """
    ask = "import platform, sys; assert sys.prefix != sys.base_prefix"
    command = [str(python), "-c", f"{ask}; print(platform.python_version())"]
    try:
        return subprocess.run(command, check=True, capture_output=True, text=True).stdout.strip()
    except (OSError, subprocess.CalledProcessError):
        return None


def minor(version: str) -> str:
    """Return the part of a version that compiled packages depend on: "3.11" of "3.11.2"."""
    return ".".join(version.split(".")[:2])


def _install(venv: Path, chosen: str, *, inside: bool) -> str:
    """Bring the environment up to the pins under a lock, and return its Python version."""
    try:
        with _locked(venv.with_name(".venv.lock")):
            version = version_of(python_in(venv))
            if version and is_fresh(venv, chosen, version):
                return version  # another command did it while this one waited
            version = _make(venv, version, inside=inside)
            _pip(venv, chosen)
            for done in {"run", chosen}:
                stamp = stamp_of(venv, done, version)
                (venv / f"stamp-{done}").write_text(stamp, encoding="ascii")
            return version
    except OSError as problem:
        _stop(f"{venv} could not be made: {problem}")


def _make(venv: Path, version: str | None, *, inside: bool) -> str:
    """Make the environment where it is missing, broken or of another Python; return its version."""
    marker = venv / MARKER
    if venv.exists() and any(venv.iterdir()):
        if not marker.is_file():
            _stop(NOT_OURS.format(venv=venv, switch=OFF_SWITCH))
        made = marker.read_text(encoding="ascii").strip()
        if version and minor(version) == made and _has_pip(venv):
            return version
        if inside:
            _stop(OTHER_PYTHON.format(venv=venv, made=made, now=version))
    for module in ("venv", "ensurepip"):
        if find_spec(module) is None:
            _stop(NO_VENV.format(missing=module))
    _say(f"Making {venv} with Python {platform.python_version()}.")
    venv.mkdir(exist_ok=True)
    marker.write_text(minor(platform.python_version()), encoding="ascii")
    _empty(venv, but=marker)
    if subprocess.run([sys.executable, "-m", "venv", str(venv)], stdout=2, check=False).returncode:
        _stop(NO_VENV.format(missing="ensurepip"))
    return platform.python_version()


def _has_pip(venv: Path) -> bool:
    ask = [str(python_in(venv)), "-m", "pip", "--version"]
    return subprocess.run(ask, check=False, capture_output=True).returncode == 0


def _empty(venv: Path, *, but: Path) -> None:
    """Delete what an environment of ours holds; the marker stays, so that a kill does no harm."""
    for entry in venv.iterdir():
        if entry.is_dir() and not entry.is_symlink():
            shutil.rmtree(entry)
        elif entry != but:
            entry.unlink()


def _pip(venv: Path, chosen: str) -> None:
    """Install one set: the pins are complete and hashed, so nothing is left to be resolved.

    Unpacking keeps one core busy, so each core gets a share of the packages.
    """
    pins = pins_of(venv, chosen).read_text(encoding="ascii")
    count = pins.count("==")
    _say(f"Installing {count} pinned packages into {venv}; this happens once.")
    command = [str(python_in(venv)), "-m", "pip", "install", "--require-hashes", "--no-deps"]
    command += ["--disable-pip-version-check", "--no-input", "--progress-bar", "off", "-r"]
    with tempfile.TemporaryDirectory() as folder:
        pips = []
        for number, share in enumerate(_shares(pins, min(os.cpu_count() or 1, _MOST_PIPS))):
            path = Path(folder) / f"{number}.txt"
            path.write_text(share, encoding="ascii")
            pips.append(subprocess.Popen([*command, str(path)], stdout=subprocess.PIPE, text=True))
        told = _progress(_said_by(pips), count)
        ends = [pip.wait() for pip in pips]
    if any(ends):
        _say("\n".join(told[-_LINES_TOLD:]))
        _stop(PIP_FAILED)


def _shares(pins: str, count: int) -> list[str]:
    """Deal the packages out, each a line with those that go on from it; no share is empty."""
    packages = re.split(r"\n(?=\S)", pins.strip())
    shares = ["\n".join(packages[first::count]) for first in range(count)]
    return [f"{share}\n" for share in shares if share]


def _said_by(pips: Sequence["subprocess.Popen[str]"]) -> Iterator[str]:
    """The lines of all of them as they come; the end of each is heard as None."""
    lines: queue.SimpleQueue[str | None] = queue.SimpleQueue()

    def hear(pip: "subprocess.Popen[str]") -> None:
        for line in pip.stdout or ():
            lines.put(line)
        lines.put(None)

    for pip in pips:
        threading.Thread(target=hear, args=(pip,), daemon=True).start()
    for _ in pips:
        yield from iter(lines.get, None)


def _progress(lines: Iterable[str], count: int) -> list[str]:
    """Say how far pip has come, in place on a terminal, and now and then elsewhere."""
    told, fetched, live = [], 0, sys.stderr.isatty()
    for line in lines:
        told.append(line.rstrip())
        if line.startswith("Collecting "):
            fetched += 1
            if live or fetched % _SAID_EACH == 0:
                _say(f"  {fetched} of {count} fetched", end="\r" if live else "\n")
        elif line.startswith("Installing collected"):
            _say(f"  {fetched} of {count} fetched; unpacking them, half a minute or so")
    return told


@contextlib.contextmanager
def _locked(path: Path) -> Iterator[None]:
    """Hold the lock file; the system lets go of it when the process ends, however it ends."""
    with path.open("a+b") as file:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415 - exists on Windows only

            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl  # noqa: PLC0415 - does not exist on Windows

            try:
                fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except BlockingIOError:
                _say("Another command is installing packages; waiting for it.")
                fcntl.flock(file, fcntl.LOCK_EX)
        yield


def _become(python: Path) -> NoReturn:
    """Go on as the environment's own Python, with the same arguments."""
    command = [str(python), *sys.orig_argv[1:]]
    if os.name == "nt":  # there, exec would hand the prompt back before the command has ended
        raise SystemExit(subprocess.run(command, check=False).returncode)
    os.execv(command[0], command)  # noqa: S606 - our own interpreter, no shell


def _say(sentence: str, end: str = "\n") -> None:
    sys.stderr.write(sentence + end)
    sys.stderr.flush()


def _stop(sentence: str) -> NoReturn:
    _say(sentence)
    raise SystemExit(2)
