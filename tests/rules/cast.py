"""Cylinders for the tests of the rules: invented, in date on TODAY unless a test changes them."""

import datetime as dt
from dataclasses import replace
from typing import Any

from cylinders.rules.cylinder_facts import CylinderFacts, Requalification, Service
from cylinders.rules.month import Month
from cylinders.rules.quantity import psi

TODAY = dt.date(2026, 11, 25)


def month(text: str) -> Month:
    """``YYYY-MM``."""
    return Month.parse(text)


def marks(*written: str) -> tuple[Requalification, ...]:
    """Marks such as "2024-05" or "2024-05 +"."""
    pairs = (text.partition(" ") for text in written)
    return tuple(Requalification(month(date), symbol) for date, _, symbol in pairs)


#: A steel 3AA of 2250 psi, tested 2024-05 and looked into 2026-05.
STEEL = CylinderFacts(
    authority="DOT",
    specification="3AA",
    service_pressure=psi(2250),
    material="steel",
    first_test=Month(2009, 5),
    requalifications=marks("2024-05"),
    last_visual=Month(2026, 5),
)
#: An aluminium 3AL of 3000 psi of alloy 6061-T6, tested 2024-05 and looked into 2026-05.
ALUMINIUM = replace(
    STEEL,
    specification="3AL",
    service_pressure=psi(3000),
    material="aluminium",
    alloy="6061-T6",
    first_test=Month(2008, 6),
)


def steel(**changes: Any) -> CylinderFacts:
    """STEEL with some facts changed."""
    return replace(STEEL, **changes)


def aluminium(**changes: Any) -> CylinderFacts:
    """ALUMINIUM with some facts changed."""
    return replace(ALUMINIUM, **changes)


def industrial(specification: str, *written: str, **changes: Any) -> CylinderFacts:
    """A cylinder in industrial service with these marks and nothing else known."""
    facts = CylinderFacts(
        authority="DOT",
        specification=specification,
        service=Service.INDUSTRIAL,
        requalifications=marks(*written),
    )
    return replace(facts, **changes)
