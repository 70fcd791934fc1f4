"""The chain checked by itself: a file, the standard library, no Django."""

import io
import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from django.core.management import call_command

from cylinders import chain
from tests import makers

ROOT = Path(chain.__file__).resolve().parent.parent
Rows = list[dict[str, object]]


@pytest.fixture
def exported(db: None) -> str:
    makers.take_down(makers.receive())
    makers.receive(makers.make_customer("Ilse Barrow"), serial="B2")
    out = io.StringIO()
    call_command("history", stdout=out)
    return out.getvalue()


def check(path: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    """Run the one file where no package of ours can be found."""
    command = [sys.executable, "-I", str(ROOT / "cylinders" / "chain.py"), str(path), *words]
    return subprocess.run(command, cwd=path.parent, capture_output=True, text=True, check=False)


def test_an_untouched_export_is_found_whole_by_the_one_file_alone(
    exported: str, tmp_path: Path
) -> None:
    path = tmp_path / "history.jsonl"
    path.write_text(exported, encoding="utf-8")
    told = check(path)
    assert (told.returncode, told.stderr) == (0, "")
    assert "2 cylinders, 6 events: nothing altered." in told.stdout
    seal = told.stdout.split()[-1]
    assert check(path, "--seal", seal).returncode == 0
    assert check(path, "--seal", "00").returncode == 1


def test_it_imports_nothing_of_django() -> None:
    code = "import sys, cylinders.chain; sys.exit(any(n.startswith('django') for n in sys.modules))"
    assert subprocess.run([sys.executable, "-c", code], cwd=ROOT, check=False).returncode == 0


def anew(rows: Rows) -> Rows:
    """Somebody with everything in hand writes one chain anew, so that it is whole again."""
    previous = ""
    for row in rows:
        if "text" in row and '"cylinder":' in str(row["text"]):
            content = json.loads(str(row["text"]))
            if content["sequence"] == 1:
                previous = ""
            content["previous"] = previous
            content["by"] = "staff:9"
            row["text"] = chain.canonical(content)
            row["digest"] = previous = chain.digest_of(str(row["text"]))
    heads = {
        json.loads(str(row["text"]))["cylinder"]: row["digest"] for row in rows if "text" in row
    }
    for row in rows:
        if "head" in row:
            row["head"] = heads[row["cylinder"]]
    return rows


def cut(rows: Rows) -> Rows:
    """The last event of the first cylinder is cut off, and its head set back."""
    kept = [row for row in rows if '"sequence":5' not in str(row.get("text"))]
    last = next(row for row in kept if '"sequence":4' in str(row.get("text")))
    head = next(row for row in kept if "head" in row and row["events"] == 5)
    head["events"], head["head"] = 4, last["digest"]
    return kept


@pytest.mark.parametrize("change", [anew, cut])
def test_what_only_a_seal_can_show_is_shown_by_it(
    exported: str, change: Callable[[Rows], Rows]
) -> None:
    events, heads = chain.read(exported.splitlines())
    seal = chain.seal_of(heads)
    lines = [json.dumps(row) for row in change([json.loads(x) for x in exported.splitlines()])]
    events, heads = chain.read(lines)
    assert list(chain.problems(events, heads)) == []
    assert chain.seal_of(heads) != seal


def test_a_broken_file_is_named_by_its_line() -> None:
    with pytest.raises(ValueError, match="line 2"):
        chain.read(['{"cylinder": 1, "events": 0, "head": ""}', "{"])


@pytest.mark.parametrize(
    "text", ["no text of ours", "[1]", "null", '{"cylinder":1,"sequence":1}', '{"cylinder":"1"}']
)
def test_an_event_that_cannot_be_read_is_told_and_the_others_are_read_on(text: str) -> None:
    good = chain.canonical({"cylinder": 7, "sequence": 1, "previous": ""})
    events = [chain.Event(one, chain.digest_of(one)) for one in (text, good)]
    [problem] = chain.problems(events, [chain.Head(7, 1, events[1].digest)])
    assert problem.endswith("its text cannot be read")


def test_the_command_says_the_seal_and_whether_it_is_the_one_that_was_noted(
    exported: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "history.jsonl"
    path.write_text(exported, encoding="utf-8")
    assert chain.main([str(path)]) == 0
    said = capsys.readouterr().out
    assert "nothing altered" in said
    seal = said.strip().rpartition("Seal: ")[2]
    assert chain.main([str(path), "--seal", seal]) == 0
    assert chain.main([str(path), "--seal", "0" * 64]) == 1
    assert "not the one that was noted" in capsys.readouterr().out
