"""Fill, ready, collected; the ways out; corrections, a new owner; and the proper next step."""

from decimal import Decimal

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from api import links
from cylinders.operations import condemnation, correction, filling, handover
from cylinders.rules.quantity import Quantity
from tests.model.ground import BY
from tests.model.intake import NUMBER
from tests.model.undoing import Undoing
from tests.model.world import WORKING, against_fill, first, pick, when

CORRECTIONS = (
    ("requalified", "2019-03", ""),
    ("requalified", "2024-05", ""),
    ("requalified", "2024-13", "bad_value"),
    ("serial", "KX77", ""),
    ("pressure_unit", "bananas", "bad_value"),
    ("service_pressure", "lots", "bad_value"),
    ("colour", "yellow", "unknown_marking"),
)


class Ends(Undoing):
    """The end of a visit, or of a cylinder."""

    @precondition(lambda self: self.world.orders)
    @rule(
        number=NUMBER,
        share=st.sampled_from(("0.21", "0.21", "0.32", "1.5")),
        pressure=st.sampled_from((2000, 3000, 3300)),
    )
    def fill(self, number: int, share: str, pressure: int) -> None:
        """A fill is asked for: allowed, refused with every reason, or out of order."""
        self.ask_for_fill(self.order(number, "fill"), share, pressure)

    def ask_for_fill(self, order: int, share: str = "0.21", pressure: int = 2000) -> None:
        world = self.world
        row, cylinder = world.orders[order], world.cylinder_of(order)
        apart = row["stage"] == "received" and (row["empty"] or world.parts_of(order))
        outcome = self.do(
            first(
                world.may("fill", order),
                when(apart, "in_pieces"),
                when(share == "1.5", "bad_value"),
            ),
            lambda: filling.fill(
                work_order_id=order,
                oxygen_fraction=share,
                pressure=Quantity(Decimal(pressure), "psi"),
                on=world.on,
                at=world.now,
                by=BY,
            ),
        )
        if outcome is None:
            return
        against = against_fill(cylinder, world.on, enriched=share == "0.32", pressure=pressure)
        codes = [reason.code for reason in outcome.reasons]
        assert outcome.allowed == (not against), (against, codes)
        assert outcome.allowed == (outcome.fill is not None) == (not codes)
        if outcome.fill is not None:
            row["stage"] = "filled"
            world.fills[outcome.fill.pk] = {"cylinder": row["cylinder"]}

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER)
    def ready(self, number: int) -> None:
        """Call it ready."""
        self.call_ready(self.order(number, "ready"))

    def call_ready(self, order: int) -> None:
        expected = first(self.world.may("ready", order), self.world.out_of_use(order))
        if self.do(
            expected, lambda: handover.call_ready(work_order_id=order, at=self.world.now, by=BY)
        ):
            self.world.orders[order]["stage"] = "ready"

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER)
    def hand_over(self, number: int) -> None:
        """It leaves, with what is still in its bags where the work was stopped."""
        self.give_out(self.order(number, "hand_over"))

    def give_out(self, order: int) -> None:
        world = self.world
        row, parts = world.orders[order], world.parts_of(order).values()
        bagged = [part for part in parts if part["place"] == "bagged"]
        expected = first(
            world.may("hand_over", order),
            (row["stage"] == "ready" and world.out_of_use(order)) or "",
            when(row["stage"] == "ready" and bagged, "part_unaccounted"),
        )
        if self.do(
            expected,
            lambda: handover.hand_over(work_order_id=order, to_owner=True, at=world.now, by=BY),
        ):
            row["stage"] = "collected"
            for part in bagged:
                part["place"] = "accounted"

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, reason=st.sampled_from(("line corrosion", " ", " ")))
    def reject(self, number: int, reason: str) -> None:
        """Out of use until it is repaired."""
        world = self.world
        order = self.order(number, "reject")
        row, cylinder = world.orders[order], world.cylinder_of(order)
        expected = first(
            world.may("reject", order),
            when(row["stage"] == "at_lab", "at_lab"),
            when(not reason.strip(), "no_reason"),
            when(cylinder["life"] == "condemned", "cylinder_condemned"),
        )
        if self.do(
            expected,
            lambda: condemnation.reject(work_order_id=order, reason=reason, at=world.now, by=BY),
        ):
            row["stage"] = cylinder["life"] = "rejected"

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, marked=st.sampled_from(("X over DOT-3AL3000 by the lab", " ", " ")))
    def condemn(self, number: int, marked: str) -> None:
        """Out of use for ever."""
        world = self.world
        order = self.order(number, "condemn")
        row = world.orders[order]
        expected = first(
            world.may("condemn", order),
            when(row["stage"] == "at_lab", "at_lab"),
            when(not marked.strip(), "no_reason"),
        )
        if self.do(
            expected,
            lambda: condemnation.condemn(
                work_order_id=order, reason="crack", marked=marked, at=world.now, by=BY
            ),
        ):
            row["stage"] = world.cylinder_of(order)["life"] = "condemned"

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, reason=st.sampled_from(("going on holiday", "", "")))
    def withdraw(self, number: int, reason: str) -> None:
        """The owner wants it back as it is."""
        world = self.world
        order = self.order(number, "withdraw")
        expected = first(
            world.may("withdraw", order),
            when(not reason, "no_reason"),
            when(world.orders[order]["stage"] == "at_lab", "at_lab"),
        )
        if self.do(
            expected,
            lambda: handover.withdraw(work_order_id=order, reason=reason, at=world.now, by=BY),
        ):
            world.orders[order]["stage"] = "withdrawn"

    @precondition(lambda self: self.world.cylinders)
    @rule(
        number=NUMBER,
        change=st.sampled_from(CORRECTIONS),
        reason=st.sampled_from(("misread", "misread", "")),
    )
    def correct(self, number: int, change: tuple[str, str, str], reason: str) -> None:
        """A marking was wrong."""
        pk = pick(self.world.cylinders, number)
        row = self.world.cylinders[pk]
        name, becomes, bad = change
        unknown = bad == "unknown_marking"
        expected = first(
            when(unknown, bad),
            when(not reason, "no_reason"),
            when(row.get(name) == becomes, "nothing_changes"),
            bad,
        )
        if self.do(
            expected,
            lambda: correction.correct_marking(
                cylinder_id=pk,
                field=name,
                becomes=becomes,
                reason=reason,
                at=self.world.now,
                by=BY,
            ),
        ):
            row[name] = becomes

    @precondition(lambda self: self.world.cylinders)
    @rule(number=NUMBER, owner=NUMBER)
    def change_owner(self, number: int, owner: int) -> None:
        """It is sold; the old owner's links end with it."""
        world = self.world
        pk, becomes = pick(world.cylinders, number), pick([*world.owners, 0], owner)
        row = world.cylinders[pk]
        expected = first(
            when(becomes not in world.owners, "unknown_customer"),
            when(becomes == row["owner"], "same_owner"),
        )
        if self.do(
            expected,
            lambda: links.change_owner(cylinder_id=pk, owner_id=becomes, at=world.now, by=BY),
        ):
            row["owner"] = becomes
            for link in world.links.values():
                link["revoked"] = link["revoked"] or link["cylinder"] == pk

    def first_arrivals(self, far: tuple[int, ...]) -> None:
        super().first_arrivals(far)
        for order, steps in zip(list(self.world.orders), far, strict=True):
            self._go_on(order, steps)

    @precondition(lambda self: self.world.orders)
    @rule(steps=st.integers(1, 4))
    def all_go_on(self, steps: int) -> None:
        """The next steps of every visit."""
        for order in list(self.world.orders):
            self._go_on(order, steps)

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, steps=st.integers(1, 6))
    def go_on(self, number: int, steps: int) -> None:
        """The next steps of a visit as they should be; so that drawn mistakes meet every stage."""
        self._go_on(self.order(number), steps)

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, steps=st.integers(4, 16))
    def go_far(self, number: int, steps: int) -> None:
        """The same, further."""
        self._go_on(self.order(number), steps)

    def _go_on(self, order: int, steps: int) -> None:
        for _ in range(steps):
            if self.world.orders[order]["stage"] not in WORKING or not self._next(order):
                return

    def _next(self, order: int) -> bool:
        """One proper step; whether there was one."""
        row = self.world.orders[order]
        stage, tested = row["stage"], "requalification" in row["services"]
        if self.world.out_of_use(order):
            return False
        steps = {
            "received": self._down,
            "torn_down": self._out if tested else self.look,
            "at_lab": self._found,
            "back": self._compared if tested else self.look,
            "inspected": self._together,
            "reassembled": self.call_ready,
            "filled": self.call_ready,
            "ready": self.give_out,
        }
        before = len(self.world.records), dict(row), self._places(order)
        steps[stage](order)
        return before != (len(self.world.records), dict(row), self._places(order))

    def _places(self, order: int) -> list[str]:
        return [part["place"] for part in self.world.parts_of(order).values()]

    def _down(self, order: int) -> None:
        if not self.world.orders[order]["empty"]:
            self.empty(order)
        elif not self._places(order):
            self.take_off(order, "valve")
            self.take_off(order, "boot")
        else:
            self.close_teardown(order)

    def _out(self, order: int) -> None:
        if self.world.orders[order]["packed"]:
            self.send_off(self.world.orders[order]["packed"])
        else:
            self.pack_for(order, next(iter(self.world.labs)))

    def _found(self, order: int) -> None:
        mine = [row for row in self.world.records.values() if row["order"] == order]
        if mine:
            self.take_home(order)
        else:
            self.report(order, self.world.orders[order]["sent_to"])

    def _compared(self, order: int) -> None:
        if self.world.orders[order]["stamp"]:
            self.look(order)
        else:
            self.compare(order)

    def _together(self, order: int) -> None:
        parts = self.world.parts_of(order)
        bagged = [pk for pk, row in parts.items() if row["place"] == "bagged"]
        if not bagged:
            self.close_reassembly(order)
        elif self._match(order, bagged[0], "live") == "match":
            self.offer(order, bagged[0])
        else:
            self.answer_for(order, bagged[0])
