from typing import Any

import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Cylinder, Fill, WorkOrder
from cylinders.operations import owner_rows
from labels.operations import binding
from labels.operations.binding import Thing
from tests import makers
from tests.api.pages.bench.desk import Desk


@pytest.fixture
def counter(desk: Desk) -> WorkOrder:
    """A cylinder that came for a fill alone, with its tag."""
    order = makers.receive(services=("fill",))
    by = Actor("staff", str(desk.user.pk))
    thing = Thing.cylinder(order.cylinder)
    binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=by)
    return order


def _page(order: WorkOrder) -> str:
    return f"/bench/orders/{order.pk}/fill/"


def test_the_limits_are_said_before_the_fill(desk: Desk, counter: WorkOrder) -> None:
    desk.open(_page(counter))
    assert "to at most 3000 psi" in desk.text
    assert "MOD 188 fsw at pO2 1.4 ata, 20.9 % O2" in desk.text


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"percent": "20.9", "pressure": "3000", "unit": "psi"}, "May be filled"),
        ({"percent": "20.9", "pressure": "3001", "unit": "psi"}, "is over the 3000 psi"),
        ({"percent": "20.9", "pressure": "207", "unit": "bar"}, "is over the 3000 psi"),
        ({"percent": "32", "pressure": "3000", "unit": "psi"}, "Not known to be oxygen-clean"),
        ({"percent": "", "pressure": "", "unit": ""}, "plain numbers"),
        ({"percent": "abc", "pressure": "1e3", "unit": "psi"}, "plain numbers"),
        ({"percent": "0", "pressure": "3000", "unit": "psi"}, "plain numbers"),
        ({"percent": "101", "pressure": "3000", "unit": "psi"}, "plain numbers"),
        ({"percent": "20.9", "pressure": "3000", "unit": "mm"}, "plain numbers"),
    ],
)
def test_the_limits_follow_what_is_typed_and_store_nothing(
    desk: Desk, counter: WorkOrder, typed: dict[str, str], says: str
) -> None:
    answer = desk.client.post(f"{_page(counter)}limits/", typed)
    assert answer.status_code == 200
    assert says in answer.content.decode()
    assert not Fill.objects.exists()


def test_a_fill_is_recorded_and_its_label_prints(desk: Desk, counter: WorkOrder) -> None:
    desk.open(_page(counter)).press("fill", percent="20.9", pressure="3000", unit="psi")
    assert "FILLED" in desk.text
    for form, start in (("pdf", b"%PDF"), ("png", b"\x89PNG"), ("svg", b"<svg")):
        answer = desk.client.get(f"{_page(counter)}label.{form}")
        assert answer.content.startswith(start)
    assert Fill.objects.get().oxygen_fraction == "0.209"


def test_a_plus_fill_asks_for_the_relief_of_the_valve(desk: Desk) -> None:
    steel: dict[str, Any] = {
        "specification": "3AA",
        "service_pressure": "2400",
        "alloy": "",
        "material": "steel",
    }
    order = makers.receive(services=("fill",), requalified_symbol="+", **steel)
    typed = {"percent": "20.9", "pressure": "2640", "unit": "psi"}
    for relief in ("", "other"):
        desk.open(_page(order)).press("fill", relief=relief, **typed)
        assert "NO FILL" in desk.text
    desk.open(_page(order)).press("fill", relief="disc", **typed)
    assert "FILLED" in desk.text
    assert Fill.objects.get().pressure == "2640"


def test_a_permit_that_the_owner_entered_counts_on_the_pages(desk: Desk) -> None:
    order = makers.receive(
        services=("fill",), specification="SPECIAL_PERMIT", permit="99999", alloy=""
    )
    page = f"/bench/cylinders/{order.cylinder_id}/"
    before = desk.open(page).text
    owner_rows.add_row(
        subject="permit",
        name="99999",
        figures=owner_rows.Figures(requalification_months=60, test_factor="5/3"),
        since=makers.TODAY,
        cites="DOT-SP 99999",
        reason="first of its kind",
        at=makers.NOON,
        by=Actor("staff", str(desk.user.pk)),
    )
    assert "DOT-SP 99999" not in before
    assert "DOT-SP 99999" in desk.open(page).text


def test_a_refused_fill_tells_every_reason_and_keeps_the_figures(
    desk: Desk, counter: WorkOrder
) -> None:
    Cylinder.objects.update(requalified="2020-01", last_visual="2020-01")
    desk.open(_page(counter)).press("fill", percent="32", pressure="3500", unit="psi")
    assert "NO FILL" in desk.text
    for reason in ("OUT OF DATE", "Not known to be oxygen-clean", "is over the 3000 psi"):
        assert reason in desk.text
    kinds = [entry.kind for entry in history.timeline(counter.cylinder_id)]
    assert kinds.count(Kind.FILL_REFUSED) == 1
    counter.refresh_from_db()
    assert counter.stage == "received"


def test_figures_that_cannot_be_are_named(desk: Desk, counter: WorkOrder) -> None:
    desk.open(_page(counter)).press("fill", percent="32 %", pressure="3000", unit="psi")
    assert desk.status == 422
    assert "Write a plain number, for example 32.5." in desk.text
    assert 'value="32 %"' in desk.response.content.decode()


def test_a_condemned_cylinder_is_never_filled(desk: Desk, counter: WorkOrder) -> None:
    Cylinder.objects.update(life="condemned")
    desk.open(_page(counter)).press("fill", percent="20.9", pressure="100", unit="psi")
    assert "CONDEMNED. Never fill it" in desk.text


def test_ready_then_handed_over_and_reloading_changes_nothing(
    desk: Desk, counter: WorkOrder
) -> None:
    desk.open(_page(counter)).press("fill", percent="20.9", pressure="3000", unit="psi")
    page = f"/bench/orders/{counter.pk}/handover/"
    ready = desk.open(page).filled("ready")
    desk.send(ready)
    desk.send(ready)
    over = desk.open(page).filled("over", to="other")
    desk.send(over)
    desk.send(over)
    kinds = [entry.kind for entry in history.timeline(counter.cylinder_id)]
    assert kinds.count(Kind.READY) == kinds.count(Kind.COLLECTED) == 1
    assert "Handed over to somebody the owner sent." in desk.text


@pytest.mark.parametrize("end", ["reject", "condemn"])
def test_an_end_gives_the_owner_a_written_notice(desk: Desk, counter: WorkOrder, end: str) -> None:
    desk.open(f"/bench/orders/{counter.pk}/stop/")
    more = {"marked": "X over the mark, by the lab", "sure": "on"} if end == "condemn" else {}
    desk.press(end, reason="a dent near the neck", **more)
    assert desk.path.startswith(f"/bench/orders/{counter.pk}/notice/")
    assert "a dent near the neck" in desk.text
    assert "49 CFR 180.205(" in desk.text
    assert "Found by tessa" in desk.text
    desk.open(f"/bench/orders/{counter.pk}/").press("over", to="owner")
    assert "Handed over" in desk.text


def test_a_condemnation_asks_twice(desk: Desk, counter: WorkOrder) -> None:
    desk.open(f"/bench/orders/{counter.pk}/stop/")
    desk.press("condemn", reason="a dent", marked="not yet")
    assert desk.status == 422
    assert "Tick this only if you are sure" in desk.text
    assert Cylinder.objects.get().life == "in_service"


def test_there_is_no_notice_for_a_good_cylinder(desk: Desk, counter: WorkOrder) -> None:
    assert "No notice" in desk.open(f"/bench/orders/{counter.pk}/notice/").text


def test_the_owner_may_take_it_back_unfinished_with_its_bags(
    desk: Desk, counter: WorkOrder
) -> None:
    makers.take_down(counter)
    desk.open(f"/bench/orders/{counter.pk}/stop/").press("withdraw", reason="moving away")
    assert "Still in bags" in desk.text
    desk.press("over", to="owner")
    assert "Handed over to its owner with 2 parts in bags." in desk.text


def test_a_condemned_cylinder_gets_its_tag_and_a_good_one_does_not(
    desk: Desk, counter: WorkOrder
) -> None:
    tag = f"/bench/orders/{counter.pk}/notice/tag.pdf"
    assert desk.client.get(tag).status_code == 404
    desk.open(f"/bench/orders/{counter.pk}/stop/")
    desk.press("condemn", reason="a bulge", marked="not yet", sure="on")
    assert desk.client.get(tag).content.startswith(b"%PDF")


def test_the_label_of_a_visit_beyond_every_number_is_not_there(desk: Desk) -> None:
    for number in ("0", "9" * 20):
        answer = desk.client.get(f"/bench/orders/{number}/fill/label.pdf")
        assert answer.status_code == 404
