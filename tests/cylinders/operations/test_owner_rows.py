"""The owner adds a permit's or a country's figures without code, and the rules follow them."""

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest

from cylinders.facts import Actor
from cylinders.models import OwnerRow
from cylinders.operations import owner_rows
from cylinders.operations.owner_rows import Figures
from cylinders.queries.due import duties_of, fill_verdict
from cylinders.queries.owner_rows import extra_rows
from cylinders.rules.duty import DutyKind, State
from cylinders.rules.refusal import Refused
from tests import makers

pytestmark = pytest.mark.django_db

ON, AT = makers.TODAY, makers.NOON


def add(**changes: Any) -> OwnerRow:
    row: dict[str, Any] = {
        "subject": "permit",
        "name": "99999",
        "figures": Figures(requalification_months=36, test_factor="3/2", limit_percent="5"),
        "since": dt.date(2026, 1, 1),
        "cites": "DOT-SP 99999, paragraph 7",
        "reason": "first cylinder of this permit came in",
        "at": AT,
        "by": Actor("staff", str(makers.technician_one().pk)),
    }
    return owner_rows.add_row(**(row | changes))


def test_a_permit_is_unknown_until_its_row_is_entered_and_then_followed() -> None:
    order = makers.receive(specification="SPECIAL_PERMIT", permit="99999", requalified="2024-11")
    cylinder = makers.cylinder_of(order)

    def state() -> State:
        duties = duties_of(cylinder, on=ON)
        return next(duty.state for duty in duties if duty.kind is DutyKind.REQUALIFICATION)

    assert state() is State.UNKNOWN
    assert not fill_verdict(cylinder, on=ON).allowed
    add()
    assert state() is State.IN_DATE
    later = AT + dt.timedelta(minutes=5)
    add(figures=Figures(requalification_months=12), reason="the permit was renewed", at=later)
    assert state() is State.OVERDUE


def test_a_change_is_a_newer_row_and_the_older_one_stays() -> None:
    add()
    add(figures=Figures(limit_percent="10"), since=dt.date(2026, 6, 1))
    extra = extra_rows()
    before = extra.permit("99999", on=dt.date(2026, 5, 31))
    after = extra.permit("99999", on=dt.date(2026, 6, 1))
    assert before is not None
    assert after is not None
    assert (before.limit_percent, before.test_factor) == (Decimal(5), Fraction(3, 2))
    assert after.limit_percent == Decimal(10)
    assert "entered by the shop on 2026-11-25" in str(after.cites)
    assert OwnerRow.objects.count() == 2


def test_a_country_without_a_row_gets_one() -> None:
    assert extra_rows().country("FR", on=ON) is None
    add(subject="country", name="FR", figures=Figures(visual_months=12), cites="national order")
    row = extra_rows().country("FR", on=ON)
    assert row is not None
    assert (row.visual_months, row.requalification_months) == (12, None)


@pytest.mark.parametrize(
    ("changes", "code"),
    [
        ({"subject": "planet"}, "unknown_subject"),
        ({"name": "SP 99999"}, "bad_name"),
        ({"subject": "country", "name": "France"}, "bad_name"),
        ({"cites": " "}, "no_source"),
        ({"reason": ""}, "no_source"),
        ({"figures": Figures()}, "no_figure"),
        ({"figures": Figures(requalification_months=0)}, "bad_months"),
        ({"figures": Figures(life_months=481)}, "bad_months"),
        ({"figures": Figures(test_factor="1.5")}, "bad_factor"),
        ({"figures": Figures(test_factor="3/5")}, "bad_factor"),
        ({"figures": Figures(limit_percent="ten")}, "bad_limit"),
        ({"figures": Figures(limit_percent="0")}, "bad_limit"),
        ({"figures": Figures(limit_percent="100.1")}, "bad_limit"),
        ({"by": Actor("lab", "1")}, "not_staff"),
    ],
)
def test_a_row_that_could_mislead_is_refused(changes: dict[str, Any], code: str) -> None:
    with pytest.raises(Refused) as refusal:
        add(**changes)
    assert refusal.value.code == code
    assert not OwnerRow.objects.exists()
