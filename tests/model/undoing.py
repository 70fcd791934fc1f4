"""A scan too many is undone."""

from hypothesis.stateful import precondition, rule

from cylinders.operations import undoing
from tests.model.assembly import Assembly
from tests.model.ground import BY
from tests.model.intake import NUMBER
from tests.model.world import first, pick, when


class Undoing(Assembly):
    """One step back, by an event of its own."""

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER)
    def unpack(self, number: int) -> None:
        """Out of the run that is being packed."""
        order = self.order(number, "unpack")
        row = self.world.orders[order]
        if self.do(
            first(self.world.may("unpack", order), when(not row["packed"], "not_packed")),
            lambda: undoing.unpack(work_order_id=order, at=self.world.now, by=BY),
        ):
            row["packed"] = None

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER)
    def undo_return(self, number: int) -> None:
        """It is still at the lab after all."""
        order = self.order(number, "undo_return")
        row = self.world.orders[order]
        expected = first(
            self.world.may("undo_return", order), when(row["stamp"] is not None, "stamp_compared")
        )
        if self.do(
            expected,
            lambda: undoing.undo_return(work_order_id=order, at=self.world.now, by=BY),
        ):
            row["stage"] = "at_lab"

    @precondition(lambda self: self.world.parts)
    @rule(number=NUMBER)
    def unfit(self, number: int) -> None:
        """A part comes off again."""
        part = pick(self.world.parts, number)
        row = self.world.parts[part]
        order = row["order"]
        if self.do(
            first(self.world.may("unfit", order), when(row["place"] != "fitted", "not_fitted")),
            lambda: undoing.unfit_part(work_order_id=order, part_id=part, at=self.world.now, by=BY),
        ):
            row["place"] = "bagged"
