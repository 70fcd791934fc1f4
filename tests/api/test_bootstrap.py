"""manage.py makes its own environment: once, only its own, and with a sentence when it cannot."""

import ast
import os
import subprocess
import sys
from pathlib import Path

import pytest

from api import bootstrap

ROOT = Path(__file__).resolve().parents[2]
BASE_PYTHON = Path(sys.base_prefix) / "bin" / "python3"
DRIVER = """
import sys
from importlib.util import module_from_spec, spec_from_file_location
spec = spec_from_file_location("bootstrap", sys.argv.pop(1))
bootstrap = module_from_spec(spec)
spec.loader.exec_module(bootstrap)
root = sys.argv.pop(1)
bootstrap.ensure(sys.argv, root)
print(sys.prefix)
"""
OLD = """
import runpy, sys
sys.version_info = (3, 8, 10, "final", 0)
runpy.run_path("manage.py", run_name="__main__")
"""


@pytest.fixture
def root(tmp_path: Path) -> Path:
    """A project folder whose pins ask for nothing, so that no index is needed."""
    (tmp_path / ".pins").mkdir()
    for name in ("run", "test"):
        (tmp_path / ".pins" / f"{name}.txt").write_text("# nothing\n", encoding="ascii")
    (tmp_path / "drive.py").write_text(DRIVER, encoding="ascii")
    return tmp_path


def command(root: Path, *words: str) -> list[str]:
    """Return the words that start the bootstrap as manage.py does, outside any environment."""
    return [str(BASE_PYTHON), str(root / "drive.py"), bootstrap.__file__, str(root), *words]


def drive(root: Path, *words: str, **env: str) -> "subprocess.CompletedProcess[str]":
    known = {"PATH": os.defpath, "HOME": str(root), **env}
    return subprocess.run(
        command(root, *words), env=known, capture_output=True, text=True, check=False
    )


def ours(root: Path, *, stamps: dict[str, str]) -> Path:
    """Make what looks like an environment of ours with these stamps."""
    venv = root / ".venv"
    venv.mkdir()
    (venv / bootstrap.MARKER).write_text("3.11", encoding="ascii")
    for name, stamp in stamps.items():
        (venv / f"stamp-{name}").write_text(stamp, encoding="ascii")
    return venv


def test_an_old_python_is_told_so_in_one_sentence() -> None:
    ran = subprocess.run(
        [sys.executable, "-c", OLD], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert ran.returncode == 2
    assert "needs Python 3.11 or newer" in ran.stderr
    assert "is Python 3.8" in ran.stderr
    assert "Traceback" not in ran.stderr


def test_manage_py_has_no_syntax_that_an_old_python_cannot_read() -> None:
    tree = ast.parse((ROOT / "manage.py").read_text(encoding="ascii"))
    newer = (
        *(ast.JoinedStr, ast.AnnAssign, ast.NamedExpr, ast.Match, ast.AsyncFunctionDef),
        *(ast.YieldFrom, ast.Nonlocal, ast.Starred),
    )
    assert [ast.dump(node) for node in ast.walk(tree) if isinstance(node, newer)] == []
    functions = [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]
    assert len(functions) == 2
    assert not any(function.returns or function.args.kwonlyargs for function in functions)
    assert not any(argument.annotation for each in functions for argument in each.args.args)


@pytest.mark.parametrize(
    ("words", "chosen"),
    [
        (["manage.py"], "run"),
        (["manage.py", "serve", "test"], "run"),
        (["manage.py", "test", "-k", "x"], "test"),
        (["manage.py", "bench", "--json"], "test"),
        (["manage.py", "test_something"], "run"),
    ],
)
def test_only_tests_and_benchmarks_need_the_test_set(words: list[str], chosen: str) -> None:
    assert bootstrap.pin_set(words) == chosen


@pytest.mark.parametrize(
    ("word", "off"), [("", False), ("0", False), ("no", False), ("1", True), ("yes", True)]
)
def test_the_off_switch(word: str, off: bool) -> None:  # noqa: FBT001 - a column of the table
    assert bootstrap.is_off(word) is off


def test_a_stamp_is_fresh_until_pins_or_python_change(root: Path) -> None:
    venv = root / ".venv"
    ours(root, stamps={"run": bootstrap.stamp_of(venv, "run", "3.11.2")})
    assert bootstrap.is_fresh(venv, "run", "3.11.2")
    assert not bootstrap.is_fresh(venv, "run", "3.11.3")
    assert not bootstrap.is_fresh(venv, "test", "3.11.2")
    (root / ".pins" / "run.txt").write_text("segno==1.6.6\n", encoding="ascii")
    assert not bootstrap.is_fresh(venv, "run", "3.11.2")


def test_a_fresh_stamp_without_the_marker_counts_for_nothing(root: Path) -> None:
    venv = root / ".venv"
    ours(root, stamps={"run": bootstrap.stamp_of(venv, "run", "3.11.2")})
    (venv / bootstrap.MARKER).unlink()
    assert not bootstrap.is_fresh(venv, "run", "3.11.2")
    assert not bootstrap.is_ours(venv, str(venv))


def test_an_interpreter_outside_any_environment_counts_as_broken(tmp_path: Path) -> None:
    assert bootstrap.version_of(Path(sys.executable)) is not None
    assert bootstrap.version_of(BASE_PYTHON) is None
    assert bootstrap.version_of(tmp_path / "python") is None


def test_the_off_switch_leaves_everything_alone(root: Path) -> None:
    ran = drive(root, "check", CYLINDERS_NO_BOOTSTRAP="1")
    assert ran.returncode == 0
    assert Path(ran.stdout.strip()) == Path(sys.base_prefix)
    assert not (root / ".venv").exists()


def test_an_environment_of_someone_else_is_left_alone(root: Path) -> None:
    (root / ".venv").mkdir()
    (root / ".venv" / "precious").write_text("mine", encoding="ascii")
    ran = drive(root, "check")
    assert ran.returncode == 2
    assert "manage.py did not make it" in ran.stderr
    assert (root / ".venv" / "precious").read_text(encoding="ascii") == "mine"


@pytest.mark.parametrize("missing", ["venv", "ensurepip"])
def test_a_python_without_venv_is_told_what_to_install(
    missing: str, root: Path, monkeypatch: pytest.MonkeyPatch, capfd: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(sys, "prefix", sys.base_prefix)
    monkeypatch.delenv(bootstrap.OFF_SWITCH, raising=False)
    monkeypatch.setattr(bootstrap, "find_spec", lambda name: None if name == missing else name)
    with pytest.raises(SystemExit) as ended:
        bootstrap.ensure(["manage.py", "check"], root)
    assert ended.value.code == 2
    said = capfd.readouterr().err
    assert f"its module {missing} is missing" in said
    assert "apt install python3-venv" in said
    assert not (root / ".venv").exists()


@pytest.mark.long
def test_two_commands_at_once_make_one_environment(root: Path) -> None:
    env = {"PATH": os.defpath, "HOME": str(root)}
    pair = [
        subprocess.Popen(
            command(root, "check"),
            env=env,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(2)
    ]
    said = [process.communicate(timeout=120) for process in pair]
    assert [process.returncode for process in pair] == [0, 0], said
    assert {Path(out.strip()) for out, _ in said} == {root / ".venv"}
    everything = "".join(err for _, err in said)
    assert everything.count("Making ") == 1
    assert everything.count("Installing ") == 1

    again = drive(root, "check")  # nothing is left to do, so nothing is said
    assert (again.returncode, again.stderr) == (0, "")

    more = drive(root, "test")  # the test set is brought in when it is first asked for
    assert more.stderr.count("Installing ") == 1
    assert Path(more.stdout.strip()) == root / ".venv"

    (root / ".venv" / "pyvenv.cfg").unlink()  # broken: made again, since the marker says ours
    mended = drive(root, "check")
    assert "Making " in mended.stderr
    assert Path(mended.stdout.strip()) == root / ".venv"


def test_the_first_start_says_how_far_it_has_come(capsys: pytest.CaptureFixture[str]) -> None:
    lines = [f"Collecting package-{number}==1\n" for number in range(25)]
    told = bootstrap._progress([*lines, "Installing collected packages: a, b\n"], 25)
    said = capsys.readouterr().err.splitlines()
    assert [line.split()[0] for line in said] == ["10", "20", "25"]
    assert "unpacking" in said[-1]
    assert len(told) == 26


@pytest.mark.parametrize("name", ["run", "test"])
@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_each_package_is_in_one_share_with_all_its_hashes(name: str, count: int) -> None:
    pins = (ROOT / ".pins" / f"{name}.txt").read_text(encoding="ascii")
    shares = bootstrap._shares(pins, count)
    assert len(shares) == count
    assert sorted(line for share in shares for line in share.splitlines()) == sorted(
        pins.splitlines()
    )
    for share in shares:
        assert share.endswith("\n")
        packages = [line for line in share.splitlines() if not line.startswith(" ")]
        assert all("==" in line and line.endswith("\\") for line in packages)
        assert not share.rstrip().endswith("\\")


def test_fewer_packages_than_cores_leave_no_share_empty() -> None:
    assert bootstrap._shares("# nothing\n", 4) == ["# nothing\n"]
    assert bootstrap._shares("a==1 \\\n  --hash=x\nb==2\n", 4) == [
        "a==1 \\\n  --hash=x\n",
        "b==2\n",
    ]


def test_what_pip_said_is_shown_when_it_failed(root: Path) -> None:
    pins = root / ".pins" / "run.txt"
    pins.write_text("no-such-file @ file:///nowhere/no_such_file-1.whl\n", encoding="ascii")
    ran = drive(root, "check")
    assert ran.returncode == 2
    assert "no_such_file" in ran.stderr
    assert "pip says why above" in ran.stderr
    assert ran.stdout == ""
