"""Drop-off and teardown."""

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from cylinders.models import WorkOrder
from cylinders.operations import intake, teardown
from tests import makers
from tests.model.ground import BY, Ground
from tests.model.world import IN_THE_NECK, NECK, first, pick, when

NUMBER = st.integers(0, 11)
#: Enough to meet one another in; more only makes each step slower.
MOST_CYLINDERS = 3
SERVICES = (
    ("requalification", "visual", "fill"),
    ("requalification",),
    ("visual", "fill"),
    ("fill",),
)


class Intake(Ground):
    """A cylinder comes in and is taken down."""

    def order(self, number: int, step: str = "") -> int:
        """One of the visits: mostly one at which ``step`` may happen, the latest that has ended."""
        orders = self.world.orders
        still = [pk for pk, row in orders.items() if row["stage"] != "collected"]
        ended = [pk for pk, row in orders.items() if row["stage"] == "collected"]
        right = [pk for pk in still if step and not self.world.may(step, pk)]
        return int(pick(right * 4 + still + ended[-1:], number))

    def first_arrivals(self, far: tuple[int, ...]) -> None:  # noqa: ARG002 - for the last rules
        """Two cylinders that can go all the way, one of them for enriched gas."""
        everything, *_ = SERVICES
        self.arrive(0, everything, gas="air", clean=None, visual="2025-11", marked=False)
        self.arrive(1, everything, gas="nitrox", clean=True, visual="2026-10", marked=False)

    @precondition(lambda self: len(self.world.cylinders) < MOST_CYLINDERS)
    @rule(
        owner=NUMBER,
        services=st.sampled_from((*SERVICES, ("polishing",))),
        gas=st.sampled_from(("air", "nitrox")),
        clean=st.sampled_from((None, True)),
        visual=st.sampled_from(("2025-11", "2026-10", "")),
        marked=st.sampled_from((False, False, False, True)),
    )
    def receive_new(
        self,
        *,
        owner: int,
        services: tuple[str, ...],
        gas: str,
        clean: bool | None,
        visual: str,
        marked: bool,
    ) -> None:
        """A cylinder that the service has not met, now and then with condemning marks."""
        self.arrive(owner, services, gas=gas, clean=clean, visual=visual, marked=marked)

    def arrive(
        self,
        owner: int,
        services: tuple[str, ...],
        *,
        gas: str,
        clean: bool | None,
        visual: str,
        marked: bool,
    ) -> None:
        world = self.world
        serial = f"KX{world.next_number()}0417"
        newcomer = intake.Newcomer(
            makers.make_markings(serial=serial),
            last_visual=visual,
            last_oxygen_clean="2026-10" if clean else "",
            oxygen_clean=clean,
            use_gas=gas,
            condemned_by_marks=marked,
        )
        whose = pick(world.owners, owner)
        order = self.do(
            when("polishing" in services, "unknown_service"),
            lambda: intake.receive_new(
                newcomer=newcomer,
                owner_id=whose,
                arrival=intake.Arrival(services=services),
                at=world.now,
                by=BY,
            ),
        )
        if order is None:
            return
        world.cylinders[order.cylinder_id] = {
            "owner": whose,
            "life": "condemned" if marked else "in_service",
            "serial": serial,
            "requalified": "2021-11",
            "last_visual": visual,
            "last_oxygen_clean": "2026-10" if clean else "",
            "oxygen_clean": clean,
            "use_gas": gas,
        }
        self._opened(order, services)

    @precondition(lambda self: self.world.cylinders)
    @rule(number=NUMBER, services=st.sampled_from(SERVICES))
    def receive_again(self, number: int, services: tuple[str, ...]) -> None:
        """A known cylinder comes again, or is said to while it is still here."""
        world = self.world
        home = [pk for pk in world.cylinders if not world.open_order(pk)]
        cylinder = pick([*home * 3, *world.cylinders], number)
        order = self.do(
            when(world.open_order(cylinder), "visit_open"),
            lambda: intake.receive_again(
                cylinder_id=cylinder,
                arrival=intake.Arrival(services=services),
                at=world.now,
                by=BY,
            ),
        )
        if order is not None:
            self._opened(order, services)

    def _opened(self, order: WorkOrder, services: tuple[str, ...]) -> None:
        condemned = self.world.cylinders[order.cylinder_id]["life"] == "condemned"
        self.world.orders[order.pk] = {
            "cylinder": order.cylinder_id,
            "customer": order.customer_id,
            "stage": "condemned" if condemned else "received",
            "services": services,
            "empty": False,
            "stamp": None,
            "packed": None,
            "sent_to": None,
        }

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, how=st.sampled_from(("valve open, no hiss", " ")))
    def prove_empty(self, number: int, how: str = "valve open, no hiss") -> None:
        """Drained, and how that was seen."""
        order = self.order(number, "prove_empty")
        self.empty(order, how)

    def empty(self, order: int, how: str = "valve open, no hiss") -> None:
        row = self.world.orders[order]
        expected = first(
            self.world.may("prove_empty", order),
            when(not how.strip(), "how_empty"),
            when(row["empty"], "already_empty"),
        )
        if self.do(
            expected,
            lambda: teardown.prove_empty(work_order_id=order, how=how, at=self.world.now, by=BY),
        ):
            row["empty"] = True

    @precondition(lambda self: self.world.orders)
    @rule(
        number=NUMBER,
        kind=st.sampled_from(("valve", "boot", "boot", "other", "manifold", "horn")),
        thread=st.sampled_from((NECK, NECK, "M25 x 2", "")),
        clean=st.booleans(),
        twin=st.sampled_from((None, None, 0, 1)),
    )
    def remove_part(
        self, *, number: int, kind: str, thread: str, clean: bool, twin: int | None
    ) -> None:
        """A part comes off; a manifold may belong to two cylinders."""
        shared = None
        if kind == "manifold" and twin is not None:
            shared = pick(self.world.cylinders, twin)
        self.take_off(
            self.order(number, "remove_part"), kind, thread=thread, clean=clean, shared=shared
        )

    def take_off(
        self,
        order: int,
        kind: str,
        *,
        thread: str = NECK,
        clean: bool = True,
        shared: int | None = None,
    ) -> None:
        row = self.world.orders[order]
        in_the_neck = kind in IN_THE_NECK
        expected = first(
            self.world.may("remove_part", order),
            when(kind == "horn", "unknown_part_kind"),
            when(kind == "other", "part_without_name"),
            when(in_the_neck and not row["empty"], "not_proven_empty"),
            when(in_the_neck and not thread, "thread_missing"),
            when(shared == row["cylinder"], "own_twin"),
        )
        removal = teardown.Removal(kind=kind, thread=thread, oxygen_clean=clean, shared_with=shared)
        part = self.do(
            expected,
            lambda: teardown.remove_part(
                work_order_id=order, removal=removal, at=self.world.now, by=BY
            ),
        )
        if part is not None:
            self.world.parts[part.pk] = {
                "order": order,
                "cylinder": row["cylinder"],
                "shared": shared,
                "kind": kind,
                "thread": thread,
                "clean": clean,
                "place": "bagged",
            }

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, outside=st.sampled_from(("sound", "sound", "dent")), plug=st.booleans())
    def finish_teardown(self, *, number: int, outside: str, plug: bool) -> None:
        """Close the teardown, or try to."""
        self.close_teardown(self.order(number, "finish_teardown"), outside, plug=plug)

    def close_teardown(self, order: int, outside: str = "sound", *, plug: bool = True) -> None:
        row = self.world.orders[order]
        kinds = {part["kind"] for part in self.world.parts_of(order).values()}
        expected = first(
            self.world.may("finish_teardown", order),
            when(not row["empty"], "not_proven_empty"),
            when(outside != "sound", "outside_not_sound"),
            when(not plug, "no_travel_plug"),
            when(not kinds & IN_THE_NECK, "no_valve"),
        )
        if self.do(
            expected,
            lambda: teardown.finish(
                work_order_id=order,
                outside=outside,
                travel_plug=plug,
                at=self.world.now,
                by=BY,
            ),
        ):
            row["stage"] = "torn_down"
