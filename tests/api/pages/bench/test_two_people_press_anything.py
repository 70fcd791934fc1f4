"""Two people press any button of any page, with right and wrong values, old forms among them.

Whatever they do, no answer is a failure of the service, and every row still follows from its
history.
"""

import random
from typing import Any

import pytest

from cylinders.facts import Actor
from cylinders.models import Part, Whereabouts, WorkOrder
from cylinders.queries.verification import verify
from labels.models import Tag
from labels.operations import binding
from labels.operations.binding import Thing
from labels.operations.minting import mint
from labels.scanning import tag_problems
from tests import makers
from tests.api.pages.bench.desk import Desk, Form

PRESSES = 120
SEEDS = [0, *(pytest.param(seed, marks=pytest.mark.long) for seed in range(1, 9))]
PAGES = [
    "teardown/",
    "teardown/?part=valve",
    "teardown/?part=boot",
    "teardown/?part=manifold",
    "pack/",
    "stamp/",
    "inspection/",
    "oxygen/",
    "reassembly/",
    "fill/",
    "handover/",
    "notice/",
    "parts/1/service/",
]
GOOD: dict[str, list[str]] = {
    "drained": ["on"],
    "how": ["valve open", "lost", "replaced"],
    "thread": ["3/4-14 NPSM"],
    "outside": ["sound", "dent"],
    "travel_plug": ["on"],
    "internal": ["pass", "pass", "pass", "fail"],
    "external": ["pass"],
    "threads": ["pass"],
    "sticker_removed": ["on"],
    "ending": ["rejected", "condemned"],
    "percent": ["20.9", "32"],
    "pressure": ["3000", "2000"],
    "unit": ["psi"],
    "to": ["owner", "other"],
    "sure": ["on"],
    "typed": ["11 Z9/99 26"],
}
ODD = ["", "x", "-1", "0", "99999", "<b>", "\u202e", "'; --", "9" * 60, "on"]


class Walk:
    """One seeded walk."""

    def __init__(self, seed: int) -> None:
        self.dice = random.Random(seed)
        self.desks = [Desk("tessa"), Desk("ida")]
        self.old: list[tuple[str, dict[str, Any]]] = []
        self.orders = [makers.receive(serial=f"KX{n}", services=("visual",)) for n in range(3)]
        by = Actor("staff", "1")
        parts = [part for order in self.orders[1:] for part in makers.take_down(order)]
        bags = [Thing.bag(part) for part in parts]
        for thing in [*bags, *(Thing.cylinder(order.cylinder) for order in self.orders[:2])]:
            binding.issue(thing=thing, host="CYL.EXAMPLE", at=makers.NOON, by=by)
        mint(count=6, host="CYL.EXAMPLE", at=makers.NOON)
        makers.make_lab()

    def step(self) -> None:
        """One person opens one page and presses one button, or sends an old form again."""
        desk = self.dice.choice(self.desks)
        if self.old and self.dice.random() < 0.15:
            desk.send(self.dice.choice(self.old))
        else:
            desk.open(self._address())
            self._check(desk)
            forms = [form for form in desk.forms if form.does]
            if not forms:
                return
            filled = self._filled(desk, self.dice.choice(forms))
            self.old.append(filled)
            desk.send(filled)
        self._check(desk)

    def _address(self) -> str:
        kind = self.dice.random()
        order = self.dice.choice(list(WorkOrder.objects.order_by("pk")))
        if kind < 0.5:
            return f"/bench/orders/{order.pk}/"
        if kind < 0.85:
            return f"/bench/orders/{order.pk}/{self.dice.choice(PAGES)}"
        if kind < 0.88:
            return f"/bench/orders/{order.pk}/stop/"
        if kind < 0.94:
            return f"/bench/cylinders/{order.cylinder_id}/"
        others = ["/bench/runs/in/", "/bench/runs/to/1/", "/bench/", "/bench/due/"]
        return self.dice.choice([*others, f"/bench/cylinders/{order.cylinder_id}/receive/"])

    def _filled(self, desk: Desk, form: Form) -> tuple[str, dict[str, Any]]:
        typed: dict[str, Any] = {}
        for one in form.fields:
            if one.name in ("do", "once", "csrfmiddlewaretoken", ""):
                continue
            if one.name == "code":
                typed[one.name] = self._code()
            elif self.dice.random() < 0.85 and one.name in GOOD:
                typed[one.name] = self.dice.choice(GOOD[one.name])
            elif self.dice.random() < 0.15:
                typed[one.name] = self.dice.choice(ODD)
            elif one.kind in ("text", "textarea") and not one.value:
                typed[one.name] = "seen by two"
        path, content = desk.filled(form.does)
        return path, content | typed | {"do": form.does}

    def _code(self) -> str:
        codes = list(Tag.objects.order_by("pk").values_list("code", flat=True))
        return self.dice.choice([*codes, "7K2M9QX4WBTCK", "https://evil.example/x"])

    def _check(self, desk: Desk) -> None:
        assert desk.status in (200, 404, 409, 422), (desk.status, desk.path)


@pytest.mark.django_db
@pytest.mark.parametrize("seed", SEEDS)
def test_no_press_breaks_the_service_or_the_books(seed: int) -> None:
    walk = Walk(seed)
    for _ in range(PRESSES):
        walk.step()
    assert verify().problems == ()
    assert list(tag_problems()) == []
    closed = WorkOrder.objects.filter(stage__in=("reassembled", "filled", "ready", "collected"))
    left = Part.objects.filter(work_order__in=closed, whereabouts=Whereabouts.BAGGED)
    assert not left.exists(), "a visit went on with a part in its bag"
