"""What a person may ask of the shop: to be written to or not, and to be forgotten."""

from hypothesis import strategies as st
from hypothesis.stateful import rule

from cylinders.models import Customer
from cylinders.operations import privacy
from tests.model.ground import BY, OWNERS, everything
from tests.model.intake import NUMBER
from tests.model.reach import Reach
from tests.model.world import first, pick, when


class People(Reach):
    """Owners and what they want."""

    @rule(
        number=NUMBER,
        given=st.booleans(),
        wording=st.sampled_from(("Write to me.", "Write to me.", " ")),
    )
    def agree(self, *, number: int, given: bool, wording: str) -> None:
        """An owner agrees to be written to, or takes it back."""
        owner = pick(self.world.owners, number)
        row = self.world.owners[owner]
        has_address = bool(Customer.objects.get(pk=owner).email)
        if self.do(
            first(
                when(row["erased"], "erased"),
                when(not wording.strip(), "no_wording"),
                when(given and not has_address, "no_address"),
            ),
            lambda: privacy.agree(
                customer_id=owner, given=given, wording=wording, at=self.world.now, by=BY
            ),
        ):
            bounced = Customer.objects.get(pk=owner).email_bounced
            row["reachable"] = given and not bounced
            row["declined"] = row["declined"] and not given

    @rule(number=NUMBER, reason=st.sampled_from(("asked by letter", " ")))
    def erase(self, number: int, reason: str) -> None:
        """A person is forgotten: their words stand in no table any more."""
        world = self.world
        owner = pick(world.owners, number)
        row = world.owners[owner]
        here = any(
            order["customer"] == owner and order["stage"] != "collected"
            for order in world.orders.values()
        )
        if not self.do(
            first(
                when(row["erased"], "erased"),
                when(not reason.strip(), "no_reason"),
                when(here, "cylinder_here"),
            ),
            lambda: privacy.erase(customer_id=owner, reason=reason, at=world.now, by=BY),
        ):
            return
        row |= {"erased": True, "reachable": False, "declined": False}
        stored = str(everything())
        name, email, phone = OWNERS[list(world.owners).index(owner)]
        assert not [word for word in (*name.split(), email, phone) if word and word in stored]
