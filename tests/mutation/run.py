"""Run the tests of a rule against one mutant, in a child process that is forked for it.

The child imports the mutated source under the module's own name; the files stay as they are. What
the parent has imported (pytest, hypothesis) need not be imported again, so a mutant takes less than
a second.
"""

import importlib.abc
import importlib.machinery
import importlib.util
import os
import signal
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from types import ModuleType

import hypothesis  # noqa: F401 - imported once here, so that no child has to
import pytest

LONGEST_SECONDS = 60
ROOT = Path(__file__).resolve().parents[2]
_PAUSE = 0.02
_CONFIG = Path(__file__).with_name("bare.ini")
_KILLED, _SURVIVED = 1, 0
#: what may hold names of the module that is changed
_LOADED_ANEW = ("cylinders", "tests.rules", "tests.published")


class _Mutated(importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Gives one module from a text instead of its file."""

    def __init__(self, module: str, source: str) -> None:
        self._module = module
        self._source = source

    def find_spec(
        self,
        fullname: str,
        path: Sequence[str] | None,  # noqa: ARG002 - the import system passes it
        target: ModuleType | None = None,  # noqa: ARG002 - and this
    ) -> importlib.machinery.ModuleSpec | None:
        if fullname != self._module:
            return None
        return importlib.util.spec_from_loader(fullname, self)

    def exec_module(self, module: ModuleType) -> None:
        exec(compile(self._source, self._module, "exec"), module.__dict__)  # noqa: S102 - its purpose


def survives(module: str, source: str, tests: Sequence[str]) -> bool:
    """Whether every test passes although the module is changed; a hang counts as noticed."""
    child = os.fork()
    if child == 0:
        os._exit(_tested(module, source, tests))
    ends = time.monotonic() + LONGEST_SECONDS
    while time.monotonic() < ends:
        ended, status = os.waitpid(child, os.WNOHANG)
        if ended:
            return os.waitstatus_to_exitcode(status) == _SURVIVED
        time.sleep(_PAUSE)
    os.kill(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return False


def _tested(module: str, source: str, tests: Sequence[str]) -> int:
    os.environ["PYTEST_DISABLE_PLUGIN_AUTOLOAD"] = "1"
    os.chdir(ROOT)
    silent = os.open(os.devnull, os.O_WRONLY)
    os.dup2(silent, 1)
    os.dup2(silent, 2)
    for name in [name for name in sys.modules if name.startswith(_LOADED_ANEW)]:
        del sys.modules[name]
    sys.meta_path.insert(0, _Mutated(module, source))
    arguments = ["-x", "-q", "-c", str(_CONFIG), "--rootdir", ".", "--noconftest", *tests]
    try:
        status = pytest.main(arguments)
    except BaseException:  # noqa: BLE001 - whatever a mutant does, it was noticed
        return _KILLED
    return _SURVIVED if status == pytest.ExitCode.OK else _KILLED
