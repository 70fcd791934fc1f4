import io
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from django.core.management import call_command

from cylinders.rules.markings.usable import LONGEST

ROOT = Path(__file__).parents[3]
KNOWN = (
    "write one of US (United States), CA (Canada), GB (United Kingdom), DE (Germany), "
    "CH (Switzerland), NZ (New Zealand)"
)


def run(text: str, **options: Any) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of one call on 2026-11-25."""
    out, err = io.StringIO(), io.StringIO()
    given = {"on": "2026-11-25", **options}
    try:
        call_command("decode", text, stdout=out, stderr=err, **given)
    except SystemExit as left:
        return int(left.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def typing_in(monkeypatch: pytest.MonkeyPatch, data: bytes) -> None:
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data), encoding="utf-8"))


def test_a_stamp_is_answered_as_json_with_nought() -> None:
    code, out, err = run("DOT-3AL3000\nZ12345\nM9999 07C08\n5 A1/32 21", json=True)
    answer = json.loads(out)
    assert (code, err) == (0, "")
    assert (answer["on"], answer["country"]) == ("2026-11-25", "US")
    assert [mark["kind"] for mark in answer["marks"]] == ["original", "requalification"]
    assert answer["marks"][0]["min_test_pressure"] == {"value": "5000", "unit": "psi"}
    assert answer["marks"][1]["rin"] == "A123"


def test_a_condemned_cylinder_answers_with_one() -> None:
    code, out, _ = run("XXXXXXX over DOT-3AL3000", json=True)
    assert code == 1
    assert json.loads(out)["marks"][0]["kind"] == "condemned"
    code, out, _ = run("CONDEMNED")
    assert code == 1
    assert out.startswith("CONDEMNED: no service of any kind\n")


def test_text_that_is_not_understood_is_an_answer() -> None:
    code, out, err = run("gibberish 3000", json=True)
    assert (code, err) == (0, "")
    assert json.loads(out)["unread"] == ["gibberish 3000"]


def test_the_country_decides_what_a_lone_date_stands_for() -> None:
    _, out, _ = run("24/03 F", country="de", json=True)
    answer = json.loads(out)
    assert answer["country"] == "DE"
    assert answer["marks"][0]["role"].startswith("NEXT due")


def test_the_day_decides_what_lies_ahead() -> None:
    _, out, _ = run("12 A1/32 26", json=True)
    assert json.loads(out)["marks"][0]["future"] is True
    _, out, _ = run("12 A1/32 26", on="2026-12-01", json=True)
    assert json.loads(out)["marks"][0]["future"] is False


def test_without_a_day_it_is_today() -> None:
    out = io.StringIO()
    call_command("decode", "5 A1/32 21", json=True, stdout=out)
    assert json.loads(out.getvalue())["marks"][0]["date"] == "2021-05"


def test_standard_input_is_read_with_its_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    typing_in(monkeypatch, "A1\n5 21 \u2605\n32\n".encode())
    code, out, _ = run("-", json=True)
    assert code == 0
    assert json.loads(out)["marks"][0]["symbol"] == "star"


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"\xff\xfe", "standard input is not UTF-8 text: byte 1 is none\n"),
        (b"", "the text is empty; type what is stamped on the cylinder\n"),
        (b"Q" * (4 * LONGEST + 100), f"the text has more than {LONGEST} characters;"),
    ],
)
def test_standard_input_that_cannot_be_used_is_refused(
    monkeypatch: pytest.MonkeyPatch, data: bytes, says: str
) -> None:
    typing_in(monkeypatch, data)
    code, out, err = run("-", json=True)
    assert (code, out) == (2, "")
    assert err.startswith(says)


@pytest.mark.parametrize(
    ("text", "options", "says"),
    [
        ("", {}, ["the text is empty; type what is stamped on the cylinder"]),
        (" \t\u200b ", {}, ["the text is empty; type what is stamped on the cylinder"]),
        ("\0", {}, ["character 1 is a NUL, which no stamp has; remove it"]),
        ("DOT\0", {}, ["character 4 is a NUL, which no stamp has; remove it"]),
        (
            "Q" * (LONGEST + 1),
            {},
            ["the text has more than 600 characters; a stamp has a few hundred"],
        ),
        ("Q", {"on": "25.11.2026"}, ["--on '25.11.2026' is no day; write YYYY-MM-DD"]),
        ("Q", {"on": "2026-02-30"}, ["--on '2026-02-30' is no day; write YYYY-MM-DD"]),
        ("Q", {"country": "ZZ"}, [f"--country 'ZZ' is not known; {KNOWN}"]),
        ("Q", {"country": "USA"}, [f"--country 'USA' is not known; {KNOWN}"]),
        (
            "",
            {"on": "x", "country": ""},
            [
                "the text is empty; type what is stamped on the cylinder",
                "--on 'x' is no day; write YYYY-MM-DD",
                f"--country '' is not known; {KNOWN}",
            ],
        ),
    ],
)
def test_what_cannot_be_used_is_refused_with_a_line_for_each_reason(
    text: str, options: dict[str, str], says: list[str]
) -> None:
    code, out, err = run(text, **options)
    assert (code, out) == (2, "")
    assert err.splitlines() == says


def test_without_json_a_person_reads_the_same() -> None:
    code, out, _ = run("TC-3ALM207 / DOT-3AL3000\n04/05/06\n3 A1/32 2?\nISO 3807-2 RETHREAD")
    assert code == 0
    assert "specification: authority DOT, spec 3AL, service pressure 3000 psi" in out
    assert "dual mark: consistent yes, difference percent 0.08" in out
    assert "warning: The test pressure of 3ALM follows CSA B339" in out
    assert "question: Which day is 04/05/06?" in out
    assert "not read: 3 A1/32 2? (line 3, column 1)" in out
    assert "repair: word RETHREAD" in out


def test_characters_that_steer_a_screen_are_written_out() -> None:
    _, out, _ = run("\x1b[2J\u202e")
    assert "\x1b" not in out
    assert "\\x1b[2J\\u202e" in out


def test_a_dual_mark_that_is_open_says_so() -> None:
    assert "dual mark: nothing more is stamped" in run("TC-3ALM207 / DOT-3AL")[1]


def test_the_command_line_answers_and_leaves_with_the_status() -> None:
    def call(*arguments: str, typed: bytes = b"") -> tuple[int, bytes, bytes]:
        done = subprocess.run(
            [sys.executable, "manage.py", "decode", *arguments],
            cwd=ROOT,
            input=typed,
            capture_output=True,
            check=False,
        )
        return done.returncode, done.stdout, done.stderr

    code, out, err = call("5 A1/32 21", "--json")
    assert (code, json.loads(out)["marks"][0]["rin"], err) == (0, "A123", b"")
    assert call("-", typed=b"CONDEMNED\n")[0] == 1
    code, out, err = call("-", "--json")
    assert (code, out) == (2, b"")
    assert err.count(b"\n") == 1
