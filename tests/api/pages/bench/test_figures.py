"""An owner enters a permit's figures on a page; nobody else, and nothing half read."""

from typing import Any

from cylinders.models import OwnerRow
from tests.api.pages.bench.desk import Desk

ROW: dict[str, Any] = {
    "subject": "permit",
    "name": "99999",
    "requalification_months": "60",
    "test_factor": "5/3",
    "limit_percent": "5",
    "since": "2026-01-01",
    "cites": "DOT-SP 99999, paragraph 7",
    "reason": "first of its kind came in",
}


def as_owner(desk: Desk) -> Desk:
    desk.user.is_superuser = True
    desk.user.save()
    return desk.open("/bench/figures/")


def test_an_owner_adds_a_row_and_sees_who_entered_what(desk: Desk) -> None:
    as_owner(desk).press("add", **ROW)
    assert "special permit 99999 since 2026-01-01 is entered" in desk.text
    assert "tessa: first of its kind came in" in desk.text
    row = OwnerRow.objects.get()
    assert (row.requalification_months, row.test_factor, row.entered_by) == (60, "5/3", desk.user)


def test_figures_that_cannot_be_are_refused_and_kept_on_the_page(desk: Desk) -> None:
    as_owner(desk).press("add", **ROW | {"test_factor": "1.5"})
    assert desk.status == 409
    assert "as a fraction" in desk.text
    assert 'value="1.5"' in desk.response.content.decode()
    as_owner(desk).press("add", **ROW | {"since": "soon", "requalification_months": "-3"})
    assert desk.status == 422
    assert not OwnerRow.objects.exists()


def test_nobody_but_an_owner_enters_figures(desk: Desk) -> None:
    desk.open("/bench/figures/")
    assert not any(form.does == "add" for form in desk.forms)
    desk.send(("/bench/figures/", ROW | {"do": "add", "once": "x"}))
    assert desk.status == 403
    assert "Only an owner of the shop may do this" in desk.text
    assert not OwnerRow.objects.exists()
