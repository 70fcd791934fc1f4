import io
import json
from typing import Any

import pytest
from django.core.management import call_command

from cylinders.facts import Actor
from cylinders.rules.cylinder_facts import Service
from cylinders.rules.markings.usable import LONGEST
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers

GOOD = "DOT-3AL3000\nZ12345\nM9999 06-08\n11 A1/32 24"
LATE = "DOT-3AL3000\nZ12345\nM9999 06-08\n10 A1/32 21"


def run(**options: Any) -> tuple[int, str, str]:
    """Exit status, standard output and standard error of one call on 2026-11-25."""
    out, err = io.StringIO(), io.StringIO()
    given = {"on": "2026-11-25", **options}
    try:
        call_command("due", stdout=out, stderr=err, **given)
    except SystemExit as left:
        return int(left.code or 0), out.getvalue(), err.getvalue()
    return 0, out.getvalue(), err.getvalue()


def test_a_cylinder_in_date_answers_with_nought() -> None:
    code, out, err = run(stamp=GOOD, last_visual="2026-05", json=True)
    told = json.loads(out)
    assert (code, err) == (0, "")
    assert told["fill"] == {
        "allowed": True,
        "reasons": [],
        "max_pressure": {"value": "3000", "unit": "psi"},
        "notes": [],
    }
    assert told["items"][0]["due"] == "2029-11-30"


def test_a_cylinder_out_of_date_answers_with_one() -> None:
    code, out, _ = run(stamp=LATE, last_visual="2026-05", json=True)
    assert code == 1
    assert [one["code"] for one in json.loads(out)["fill"]["reasons"]] == [
        "requalification_overdue"
    ]


def test_without_json_a_person_reads_the_same() -> None:
    code, out, _ = run(stamp=GOOD, last_visual="2026-05")
    assert code == 0
    assert out.startswith("MAY BE FILLED, at most 3000 psi\n")
    assert "[in_date] Requalification: in date through 2029-11-30." in out
    code, out, _ = run(stamp=LATE + "\n04/05\n@@@", last_visual="2026-05")
    assert code == 1
    assert out.startswith("DO NOT FILL\n  Requalification: OUT OF DATE, ran out on 2026-10-31.")
    assert "may be used until empty" in out
    assert "question: " in out
    assert "not read: '@@@'" in out


def test_what_may_never_be_filled_tells_no_pressure() -> None:
    code, out, _ = run(stamp="DOT-39 NRC 250/500 M1001")
    assert code == 1
    assert out.startswith("DO NOT FILL\n  Single-trip cylinder: refilling it is forbidden.")
    assert "warning: " in out


def test_every_option_that_cannot_be_used_is_named_on_a_line_of_its_own() -> None:
    code, out, err = run(
        stamp="rubbish", on="2026-11", country="USA", service="x", last_visual="2026-13"
    )
    assert (code, out) == (2, "")
    assert err.splitlines() == [
        "--on '2026-11' is no day; write YYYY-MM-DD",
        f"--service 'x' is not known; use one of {', '.join(Service)}",
        "--country 'USA' is no country; write two letters such as US",
        "--last-visual '2026-13' is no month; write YYYY-MM",
        "--stamp: no mark of a cylinder was found in the text",
    ]


@pytest.mark.parametrize(
    "day",
    ["", "20261125", "2026-W48-3", "2026-02-29", "0001-01-01", "9999-12-31", "\u0662026-11-25"],
)
def test_a_day_is_written_in_one_way_and_lies_in_our_times(day: str) -> None:
    code, _, err = run(stamp=GOOD, on=day)
    assert code == 2
    assert "is no day; write YYYY-MM-DD" in err


def test_a_visual_after_the_day_asked_about_is_refused() -> None:
    code, _, err = run(stamp=GOOD, last_visual="2026-12")
    assert (code, err) == (2, "--last-visual 2026-12 lies after 2026-11-25\n")


@pytest.mark.parametrize("country", ["us", "de", "GB"])
def test_a_country_may_be_written_small(country: str) -> None:
    _, out, _ = run(stamp=GOOD, country=country, json=True)
    assert json.loads(out)["country"] == country.upper()


def test_a_country_without_a_row_is_answered_with_no() -> None:
    code, out, _ = run(stamp=GOOD, last_visual="2026-05", country="FR", json=True)
    assert code == 1
    assert "No rule is entered for country 'FR'" in json.loads(out)["items"][0]["says"]


def test_a_dash_reads_standard_input(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(GOOD))
    code, out, _ = run(stamp="-", last_visual="2026-05", json=True)
    assert code == 0
    assert json.loads(out)["text"] == GOOD


def test_more_text_than_any_stamp_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO(GOOD + " " * LONGEST))
    code, _, err = run(stamp="-")
    assert (code, err) == (2, "--stamp: the text is longer than 600 characters\n")


def test_without_a_day_today_is_meant() -> None:
    code, out, _ = run(stamp=GOOD, on=None, json=True)
    assert code in (0, 1)
    assert json.loads(out)["on"] >= "2026-11-25"


def test_the_alloy_and_the_service_are_passed_on() -> None:
    old = "DOT-3AL3000\nZ1\n5-85\n5 A1/32 24"
    assert run(stamp=old, last_visual="2026-05")[0] == 1
    assert run(stamp=old, last_visual="2026-05", alloy="6061-T6")[0] == 0
    _, out, _ = run(stamp=old, service="industrial", json=True)
    assert [one["duty"] for one in json.loads(out)["items"]] == ["requalification"]


@pytest.mark.django_db
def test_without_a_stamp_it_lists_the_shop() -> None:
    order = makers.receive(requalified="2019-03")
    thing = Thing.cylinder(order.cylinder)
    tag = binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=Actor("staff", "1"))
    code, out, err = run(json=True)
    told = json.loads(out)
    assert (code, err, told["on"]) == (0, "", "2026-11-25")
    overdue = next(one for one in told["items"] if one["duty"] == "requalification")
    assert overdue["tag"] == tag.code
    assert (overdue["due"], overdue["state"]) == ("2024-03-31", "overdue")
    assert "180.209" in overdue["cites"]
    assert set(overdue) >= {"cylinder", "tag", "duty", "due", "state", "says", "cites"}
    assert overdue["says"] in run()[1]


@pytest.mark.django_db
def test_the_list_looks_as_far_ahead_as_it_is_told() -> None:
    makers.receive(requalified="2022-02", first_test="2008-06")

    def duties(within: str) -> list[str]:
        items = json.loads(run(json=True, within=within)[1])["items"]
        return [one["duty"] for one in items if one["state"] != "unknown"]

    assert "requalification" not in duties("90")
    assert "requalification" in duties("95")  # 2027-02-28 is 95 days after 2026-11-25


@pytest.mark.django_db
@pytest.mark.parametrize("within", ["-1", "soon", "10000", ""])
def test_a_number_of_days_that_is_none_is_refused(within: str) -> None:
    code, out, err = run(within=within)
    assert (code, out) == (2, "")
    assert "no number of days" in err


@pytest.mark.django_db
def test_an_empty_shop_has_nothing_due() -> None:
    assert run()[1] == "Nothing is due by 2026-11-25.\n"
