"""A result whose tag is right and whose marks are another cylinder's waits for a person, always.

These are all the marks that a record names and the service knows; a tare is in no record of
49 CFR 180.215, and a test pressure that is not this cylinder's makes the test itself invalid.
"""

from itertools import chain, combinations
from typing import Any

import pytest
from django.db import transaction

from api import posted_records
from cylinders.facts import Actor
from cylinders.models import Cylinder, RecordState
from tests import makers
from tests.api.v1.lab import body, make_lab_client, order_at, tag_of

pytestmark = pytest.mark.django_db

#: each mark of the cylinder, and two others that it does not bear
OTHERS: dict[str, tuple[Any, Any]] = {
    "serial": ("KX40418", "KX40471"),
    "manufacturer_mark": ("M8888", "M9998"),
    "specification": ("3AA", "3HT"),
    "service_pressure": ({"value": "3300", "unit": "psi"}, {"value": "232", "unit": "bar"}),
    "alloy": ("6351-T6", "4130"),
    "first_test": ("2008-07", "1998-06"),
    "permit": ("DOT-SP 99999", "E99998"),
}


def mismatches() -> list[dict[str, Any]]:
    """Every set of marks that differ, each with its first and with its second other value."""
    sets = chain.from_iterable(combinations(OTHERS, size) for size in range(1, len(OTHERS) + 1))
    return [{name: OTHERS[name][which] for name in names} for names in sets for which in (0, 1)]


def test_two_hundred_mismatches_attach_nothing() -> None:
    makers.technician_one()
    lab = make_lab_client()
    order = order_at(lab.lab)
    code = tag_of(order).code
    before = Cylinder.objects.values().get()
    tried = mismatches()
    assert len(tried) > 200
    for marks in tried:
        sent = body()
        sent["cylinder"] |= marks | {"tag": code}
        with transaction.atomic():
            came = posted_records.receive(
                lab_id=lab.lab.pk, value=sent, at=makers.NOON, by=Actor("lab", "1")
            )
            assert came.record.state == RecordState.HELD, marks
            kept = Cylinder.objects.values().get()
            assert {**kept, "head": "", "events_held": 0} == {
                **before,
                "head": "",
                "events_held": 0,
            }
            transaction.set_rollback(True)
