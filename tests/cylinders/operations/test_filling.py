"""A fill is recorded with its limits, or refused with every reason at once; both are kept."""

from typing import Any

import pytest

from cylinders import history
from cylinders.facts import Actor, Kind
from cylinders.models import Cylinder, WorkOrder
from cylinders.operations import filling, intake, teardown
from cylinders.queries.verification import verify
from cylinders.rules.quantity import Quantity, psi
from tests import makers
from tests.cylinders.operations.test_bench_steps import refused

pytestmark = pytest.mark.django_db

BY = Actor("staff", "1")
AT, ON = makers.NOON, makers.TODAY


def ask(
    order: WorkOrder,
    oxygen: str = "0.21",
    pressure: Quantity | None = None,
    *,
    disc: bool | None = None,
) -> filling.FillOutcome:
    return filling.fill(
        work_order_id=order.pk,
        oxygen_fraction=oxygen,
        pressure=pressure or psi(3000),
        on=ON,
        at=AT,
        by=BY,
        relief_is_disc=disc,
    )


def for_a_fill(**changes: Any) -> WorkOrder:
    return makers.receive(services=("fill",), **changes)


def test_a_cylinder_in_date_is_filled_to_its_marked_pressure() -> None:
    order = for_a_fill()
    outcome = ask(order)
    assert outcome.allowed, outcome.reasons
    order.refresh_from_db()
    assert order.stage == "filled"
    assert outcome.fill is not None
    assert outcome.fill.mod == "MOD 187 fsw at pO2 1.4 ata, 21 % O2"
    assert verify().ok


def test_an_overdue_cylinder_is_refused_and_the_refusal_kept() -> None:
    order = for_a_fill(requalified="2019-03", first_test="2008-06")
    outcome = ask(order)
    assert not outcome.allowed
    assert "requalification_overdue" in [reason.code for reason in outcome.reasons]
    refusal = history.timeline(order.cylinder_id)[-1]
    assert refusal.kind == Kind.FILL_REFUSED
    assert refusal.facts["reasons"] == [reason.code for reason in outcome.reasons]
    order.refresh_from_db()
    assert order.stage == "received"
    assert verify().ok


def test_every_reason_is_given_at_once() -> None:
    order = for_a_fill(requalified="2019-03", first_test="2008-06")
    codes = [reason.code for reason in ask(order, "0.32", psi(3300)).reasons]
    assert len(codes) == len(set(codes)) >= 3, codes


@pytest.mark.parametrize(
    ("oxygen", "pressure"),
    [("1.2", psi(3000)), ("0.0", psi(3000)), ("1e-1", psi(3000)), ("", psi(3000))],
)
def test_figures_that_cannot_be_are_refused_as_such(oxygen: str, pressure: Quantity) -> None:
    order = for_a_fill()
    refused("bad_value", lambda: ask(order, oxygen, pressure))


def test_a_cylinder_in_pieces_is_not_filled() -> None:
    order = makers.receive()
    teardown.prove_empty(work_order_id=order.pk, how="no hiss", at=AT, by=BY)
    refused("in_pieces", lambda: ask(order))


def test_a_condemned_cylinder_never_comes_to_a_fill() -> None:
    order = intake.receive_new(
        newcomer=intake.Newcomer(makers.make_markings(), condemned_by_marks=True),
        owner_id=makers.make_customer().pk,
        arrival=intake.Arrival(services=("fill",)),
        at=AT,
        by=BY,
    )
    refused("step_out_of_order", lambda: ask(order))


def test_a_plus_fill_needs_the_plus_on_the_latest_test() -> None:
    steel: dict[str, Any] = {
        "specification": "3AA",
        "service_pressure": "2400",
        "alloy": "",
        "material": "steel",
    }
    marked = for_a_fill(**steel, requalified_symbol="+")
    plain = for_a_fill(**steel)
    # 49 CFR 173.302a(b): 10 per cent over the mark with the plus, nothing without it.
    assert not ask(marked, pressure=psi(2640)).allowed
    assert not ask(marked, pressure=psi(2640), disc=False).allowed
    assert ask(marked, pressure=psi(2640), disc=True).allowed
    assert not ask(plain, pressure=psi(2640)).allowed
    assert ask(plain, pressure=psi(2400)).allowed


def test_enriched_gas_waits_for_an_oxygen_clean_cylinder() -> None:
    order = for_a_fill()
    assert "oxygen_clean_unknown" in [reason.code for reason in ask(order, "0.32").reasons]
    clean = {"oxygen_clean": True, "last_oxygen_clean": "2026-10"}
    Cylinder.objects.filter(pk=order.cylinder_id).update(**clean)
    assert ask(order, "0.32").allowed
