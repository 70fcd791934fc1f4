"""Inspection, valve service, oxygen cleaning, and every part back onto its own cylinder."""

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from cylinders.operations import fitting, inspection, oxygen, reassembly
from tests.model.ground import BY
from tests.model.intake import NUMBER
from tests.model.lab import AtTheLab
from tests.model.world import IN_THE_NECK, NECK, first, month_of, pick, when


class Assembly(AtTheLab):
    """At the bench again."""

    @precondition(lambda self: self.world.orders)
    @rule(
        number=NUMBER,
        seen=st.sampled_from(("pass", "pass", "fail", "not_done", "perhaps")),
        ending=st.sampled_from(("rejected", "condemned", "")),
        scraped=st.sampled_from((True, True, False)),
    )
    def inspect(self, *, number: int, seen: str, ending: str, scraped: bool) -> None:
        """The shop's own look."""
        self.look(self.order(number, "inspect"), seen, ending=ending, scraped=scraped)

    def look(
        self, order: int, seen: str = "pass", *, ending: str = "", scraped: bool = True
    ) -> None:
        world = self.world
        row, cylinder = world.orders[order], world.cylinder_of(order)
        look = inspection.Look(
            standard="CGA C-6.1",
            internal=seen,
            external="pass",
            threads="pass",
            sticker_removed=scraped,
            ending=ending,
            notes="line corrosion",
        )
        done = self.do(
            first(
                world.may("inspect", order),
                world.out_of_use(order),
                self._not_tested(order),
                when(seen == "perhaps", "bad_value"),
                when(seen == "fail" and not ending, "no_ending"),
                when(seen == "not_done", "not_complete"),
                when(seen == "pass" and not scraped, "old_sticker"),
            ),
            lambda: inspection.record(
                work_order_id=order, look=look, on=world.on, at=world.now, by=BY
            ),
        )
        if done is None:
            return
        if seen == "pass":
            row["stage"], cylinder["last_visual"] = "inspected", month_of(world.on)
        else:
            row["stage"] = cylinder["life"] = ending

    def _not_tested(self, order: int) -> str:
        row = self.world.orders[order]
        if "requalification" not in row["services"]:
            return ""
        passed = any(
            (one["order"], one["state"], one["verdict"]) == (order, "attached", "passed")
            for one in self.world.records.values()
        )
        return first(
            when(row["stage"] == "torn_down", "not_tested"),
            when(not passed, "no_record"),
            when(not row["stamp"], "stamp_not_compared"),
        )

    @precondition(lambda self: self.world.parts)
    @rule(number=NUMBER, oxygen_rings=st.booleans(), rings=st.sampled_from(("viton", "viton", "")))
    def service(self, *, number: int, oxygen_rings: bool, rings: str) -> None:
        """A valve is serviced, with O-rings for oxygen or not."""
        world = self.world
        part = pick(world.parts, number)
        row = world.parts[part]
        order = row["order"]
        done = self.do(
            first(
                world.may("service", order),
                when(row["kind"] not in IN_THE_NECK, "not_a_valve"),
                when(not rings, "no_o_rings"),
                when(row["clean"] and not oxygen_rings, "not_oxygen_compatible"),
            ),
            lambda: reassembly.service_part(
                work_order_id=order,
                part_id=part,
                o_rings=rings,
                lubricant="MCG-111",
                oxygen_compatible=oxygen_rings,
                hand_wheel="fine",
                on=world.on,
                at=world.now,
                by=BY,
            ),
        )
        assert done is None or done.serviced == month_of(world.on)

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, method=st.sampled_from(("ultrasonic, UV lamp", "")))
    def clean(self, number: int, method: str) -> None:
        """Cleaned for oxygen."""
        world = self.world
        order = self.order(number, "clean")
        expected = first(
            world.may("clean", order), world.out_of_use(order), when(not method, "no_method")
        )
        if self.do(
            expected,
            lambda: oxygen.clean(
                work_order_id=order, method=method, on=world.on, at=world.now, by=BY
            ),
        ):
            done = {"oxygen_clean": True, "last_oxygen_clean": month_of(world.on)}
            world.cylinder_of(order).update(done)

    @precondition(lambda self: self.world.cylinders)
    @rule(number=NUMBER, why=st.sampled_from(("oil in the fill line", " ")))
    def break_clean(self, number: int, why: str) -> None:
        """No longer clean."""
        pk = pick(self.world.cylinders, number)
        row = self.world.cylinders[pk]
        expected = first(
            when(not why.strip(), "no_reason"), when(row["oxygen_clean"] is False, "not_clean")
        )
        if self.do(
            expected,
            lambda: oxygen.break_clean(cylinder_id=pk, why=why, at=self.world.now, by=BY),
        ):
            row["oxygen_clean"] = False

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, which=NUMBER, tag=st.sampled_from(("live", "live", "live", "retired")))
    def fit(self, number: int, which: int, tag: str) -> None:
        """A bag is scanned at a cylinder: its own, another's, the same again, or nothing known."""
        order = self.order(number, "fit")
        mine, every = self.world.parts_of(order), self.world.parts
        self.offer(order, pick([*mine, *every, None], which), tag)

    def offer(self, order: int, part: int | None, tag: str = "live") -> None:
        world = self.world
        expected = first(world.may("fit", order), world.out_of_use(order))
        offer = self.do(
            expected,
            lambda: fitting.offer_part(
                work_order_id=order,
                part_id=part,
                scanned="whatever was scanned",
                tag_state=tag,
                at=world.now,
                by=BY,
            ),
        )
        if offer is None:
            return
        verdict = self._match(order, part, tag)
        assert offer.code == verdict, offer
        assert offer.fits == (verdict == "match")
        if verdict == "match":
            world.parts[part]["place"] = "fitted"
        if verdict == "wrong_cylinder":
            assert offer.belongs_to is not None
            assert offer.belongs_to.pk == world.parts[part]["cylinder"]

    def _match(self, order: int, part: int | None, tag: str) -> str:
        if part is None:
            return "unknown"
        row, here = self.world.parts[part], self.world.orders[order]["cylinder"]
        cylinder = self.world.cylinders[here]
        in_the_neck = row["kind"] in IN_THE_NECK
        enriched = cylinder["use_gas"] != "air" or cylinder["oxygen_clean"]
        return first(
            when(tag == "retired" or row["place"] == "accounted", "retired"),
            when(row["place"] == "fitted", "already_fitted"),
            when(here not in (row["cylinder"], row["shared"]), "wrong_cylinder"),
            when(in_the_neck and row["thread"] != NECK, "other_thread"),
            when(in_the_neck and enriched and not row["clean"], "not_oxygen_clean"),
            "match",
        )

    @precondition(lambda self: self.world.parts)
    @rule(
        number=NUMBER,
        how=st.sampled_from(("replaced", "lost", "eaten")),
        note=st.sampled_from(("looked everywhere", "looked everywhere", "")),
        at_home=st.booleans(),
    )
    def account(self, *, number: int, how: str, note: str, at_home: bool) -> None:
        """Somebody answers for a part, at its own visit or at another's."""
        part = pick(self.world.parts, number)
        order = self.world.parts[part]["order"] if at_home else self.order(number)
        self.answer_for(order, part, how, note)

    def answer_for(
        self, order: int, part: int, how: str = "replaced", note: str = "a new one"
    ) -> None:
        row = self.world.parts[part]
        expected = first(
            self.world.may("fit", order),
            when(row["order"] != order, "unknown_part"),
            when(how == "eaten", "unknown_ending"),
            when(not note, "no_reason"),
            when(row["place"] != "bagged", "not_in_its_bag"),
        )
        if self.do(
            expected,
            lambda: reassembly.account_part(
                work_order_id=order,
                part_id=part,
                how=how,
                note=note,
                at=self.world.now,
                by=BY,
            ),
        ):
            row["place"] = "accounted"

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER)
    def finish(self, number: int) -> None:
        """Close the reassembly."""
        self.close_reassembly(self.order(number, "finish"))

    def close_reassembly(self, order: int) -> None:
        places = [row["place"] for row in self.world.parts_of(order).values()]
        expected = first(
            self.world.may("finish", order),
            self.world.out_of_use(order),
            when("bagged" in places, "part_unaccounted"),
        )
        if self.do(
            expected, lambda: reassembly.finish(work_order_id=order, at=self.world.now, by=BY)
        ):
            self.world.orders[order]["stage"] = "reassembled"
