"""The judge command: its words, its JSON and its exit status."""

import io
import json
import subprocess
import sys
from pathlib import Path

import pytest
import time_machine
from django.core.management import CommandError, call_command

from tests.rules.judgement.records import POSTS

ROOT = Path(__file__).resolve().parents[3]
ON = "--on=2026-11-25"


def run(*arguments: str) -> tuple[int, str, list[str]]:
    """Exit status, standard output, lines of standard error."""
    out, err = io.StringIO(), io.StringIO()
    try:
        call_command("judge", *arguments, stdout=out, stderr=err)
    except SystemExit as ended:
        return int(str(ended.code)), out.getvalue(), err.getvalue().splitlines()
    return 0, out.getvalue(), err.getvalue().splitlines()


def test_a_passed_test_ends_with_zero_and_says_when_it_is_next_due() -> None:
    status, out, err = run(str(POSTS / "passed.json"), ON)
    assert (status, err) == (0, [])
    assert out.startswith("PASSED  NG-2026-0417\n")
    assert "next due: 2031-11" in out
    assert "[ok] hold: Held for 32 s; at least 30 s is required. (49 CFR 180.205(g)(5)" in out


@pytest.mark.parametrize("word", ["condemned", "rejected", "held", "invalid"])
def test_any_other_verdict_ends_with_one_and_its_reasons(word: str) -> None:
    path = min(POSTS.glob(f"{word}_*.json"))
    status, out, err = run(str(path), ON)
    assert (status, err) == (1, [])
    first, second, *_ = out.splitlines()
    assert first.startswith(f"{word.upper()}  ")
    assert second.startswith("  ")


def test_json_has_the_published_shape() -> None:
    status, out, _ = run(str(POSTS / "condemned_posted_as_passed.json"), ON, "--json")
    answer = json.loads(out)
    assert status == 1
    assert answer["verdict"] == "condemned"
    assert answer["percent_permanent"] == "10.1"
    assert answer["required_test_pressure"] == {"value": "5000", "unit": "psi"}
    assert {check["code"] for check in answer["checks"]} >= {"hold", "permanent_expansion"}


def test_what_cannot_be_used_ends_with_two_and_one_line_a_problem() -> None:
    status, out, err = run(str(POSTS / "unusable_fields_nobody_asked_for.json"), ON)
    assert (status, out) == (2, "")
    assert [line.partition(":")[0] for line in err] == ["/owner", "/id", "/__proto__"]


@pytest.mark.parametrize("name", ["nowhere.json", ""])
def test_a_file_that_cannot_be_read_ends_with_two(name: str) -> None:
    status, out, err = run(str(POSTS / name), ON)
    assert (status, out) == (2, "")
    assert "cannot be read" in err[0]


@pytest.mark.parametrize(
    "text", ["today", "20261125", "2026-W48-3", "2026-02-30", "9999-12-31", ""]
)
def test_a_day_that_is_none_is_refused(text: str) -> None:
    with pytest.raises(CommandError, match="no day"):
        call_command("judge", str(POSTS / "passed.json"), f"--on={text}")


def test_today_counts_where_no_day_is_given() -> None:
    with time_machine.travel("2026-12-03T12:00:00Z", tick=False):
        status, out, _ = run(str(POSTS / "passed.json"), "--json")
    assert (status, json.loads(out)["on"]) == (0, "2026-12-03")


def test_standard_input_is_read_for_a_dash() -> None:
    post = (POSTS / "passed.json").read_bytes()
    for data, status in ((post, 0), (b"{", 2), (b" " * 70_000, 2)):
        ended = subprocess.run(
            [sys.executable, "manage.py", "judge", "-", ON],
            cwd=ROOT,
            input=data,
            capture_output=True,
            check=False,
        )
        assert ended.returncode == status, ended.stderr
        assert (b"Traceback" in ended.stderr) is False
