"""Tags: minted in runs or one by one, bound, replaced, retired, scanned."""

from django.conf import settings
from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from cylinders.models import Cylinder, Part, WorkOrder
from labels.models import Tag
from labels.operations import binding, runs
from labels.operations.binding import Thing
from labels.scanning import Named, identify
from tests.model.ends import Ends
from tests.model.ground import BY
from tests.model.intake import NUMBER
from tests.model.world import first, pick, when

#: kind of tag, cylinder, part, visit: what a code stands for, for ever
Stands = tuple[str, int, int | None, int | None]
_MOST_LABELS = 4
_SHOWN = {"minted": "blank", "live": "live", "retired": "retired", "spoiled": "spoiled"}


class PrinterJammed(Exception):
    """The printer took no further label."""


class Tags(Ends):
    """Codes and what they hang on."""

    def thing(self, number: int) -> Stands:
        """Something that a tag can stand for."""
        world = self.world
        things: list[Stands] = [("cylinder", pk, None, None) for pk in world.cylinders]
        for order, row in world.orders.items():
            things += [(kind, row["cylinder"], None, order) for kind in ("teardown", "kit")]
        for part, row in world.parts.items():
            things.append(("bag", row["cylinder"], part, row["order"]))
        chosen: Stands = pick(things, number)
        return chosen

    def live(self, stands: Stands) -> str | None:
        """The live code of a thing, by the model."""
        found = (
            code
            for code, row in self.world.tags.items()
            if row["state"] == "live" and row["stands"] == stands
        )
        return next(found, None)

    @precondition(lambda self: self.world.cylinders)
    @rule(number=st.integers(0, 40))
    def issue(self, number: int) -> None:
        """Print the tag of a thing; a second tap prints the same."""
        stands = self.thing(number)
        there = self.live(stands)
        tag = self.do(
            "",
            lambda: binding.issue(
                thing=as_thing(stands), host=settings.TAG_HOST, at=self.world.now, by=BY
            ),
        )
        assert tag is not None
        if there:
            assert tag.code == there
        else:
            self._new_code(tag.code)
            self.world.tags[tag.code] = _live(stands)

    @precondition(lambda self: self.world.tags and self.world.cylinders)
    @rule(code=NUMBER, number=st.integers(0, 40))
    def bind(self, code: int, number: int) -> None:
        """A label of a run is hung on something; a used one never is."""
        tags, stands = self.world.tags, self.thing(number)
        blank = [name for name, row in tags.items() if row["state"] == "minted"]
        chosen = pick([*blank * 2, *tags, "0000000000000"], code)
        row = tags.get(chosen, {"state": "", "printed": ""})
        bound = self.do(
            first(
                when(chosen not in tags, "unknown_code"),
                when(row["state"] != "minted", "code_used"),
                when(row["printed"] == "reserved", "never_sent"),
                when(self.live(stands), "has_tag"),
            ),
            lambda: binding.bind(code=chosen, thing=as_thing(stands), at=self.world.now, by=BY),
        )
        if bound is not None:
            row |= {"state": "live", "stands": stands}

    @precondition(lambda self: self.world.tags)
    @rule(code=NUMBER, reason=st.sampled_from(("torn", "torn", " ")))
    def replace(self, code: int, reason: str) -> None:
        """A torn tag gets a successor."""
        chosen = self._tag(code)
        row = self.world.tags[chosen]
        new = self.do(
            self._not_live(chosen, reason),
            lambda: binding.replace(
                code=chosen, host=settings.TAG_HOST, reason=reason, at=self.world.now, by=BY
            ),
        )
        if new is not None:
            self._new_code(new.code)
            row |= {"state": "retired", "successor": new.code}
            self.world.tags[new.code] = _live(row["stands"])

    @precondition(lambda self: self.world.tags)
    @rule(code=NUMBER, reason=st.sampled_from(("lost at sea", " ")))
    def retire(self, code: int, reason: str) -> None:
        """A lost tag, without a successor."""
        chosen = self._tag(code)
        if self.do(
            self._not_live(chosen, reason),
            lambda: binding.retire(code=chosen, reason=reason, at=self.world.now, by=BY),
        ):
            self.world.tags[chosen]["state"] = "retired"

    @precondition(lambda self: self.world.tags)
    @rule(code=NUMBER)
    def scan(self, code: int) -> None:
        """Somebody scans a tag: the service names the thing, a stranger learns no person."""
        chosen = self._tag(code)
        row = self.world.tags[chosen]
        named = identify(chosen, hosts=[settings.TAG_HOST])
        assert isinstance(named, Named)
        assert named.state == _SHOWN[row["state"]]
        assert _stands(named.tag) == row["stands"]
        last = row["successor"]
        while last and self.world.tags[last]["successor"]:
            last = self.world.tags[last]["successor"]
        assert (named.successor.code if named.successor else None) == last
        self.seen_by_a_stranger(chosen)

    def seen_by_a_stranger(self, code: str) -> None:
        """Fetch the public page; the invariants' canaries must not be in it."""

    def _tag(self, number: int) -> str:
        live = [code for code, row in self.world.tags.items() if row["state"] == "live"]
        return str(pick([*live, *live, *self.world.tags], number))

    def _not_live(self, code: str, reason: str) -> str:
        row = self.world.tags[code]
        return first(
            when(row["state"] != "live", "not_live"), when(not reason.strip(), "no_reason")
        )

    def _new_code(self, code: str) -> None:
        assert code not in self.world.tags, "a code was given twice"

    @rule(count=st.integers(1, _MOST_LABELS), key=st.integers(0, 3))
    def print_run(self, count: int, key: int) -> None:
        """A run of labels is asked for, or asked for again by the same form."""
        old = next((row for row in self.world.runs.values() if row["key"] == key), None)
        run = self.do(
            when(old and old["count"] != count, "key_used"),
            lambda: runs.start(
                key=f"form-{key}",
                count=count,
                host=settings.TAG_HOST,
                printer="roll",
                at=self.world.now,
                by=BY,
            ),
        )
        if run is None or old:
            assert run is None or run.pk in self.world.runs
            return
        codes = list(run.tags.order_by("place").values_list("code", flat=True))
        assert len(codes) == count
        self.world.runs[run.pk] = {"key": key, "count": count, "codes": codes, "confirmed": None}
        for code in codes:
            self._new_code(code)
            self.world.tags[code] = _blank()

    @precondition(lambda self: self.world.runs)
    @rule(number=NUMBER, jam_at=st.integers(0, _MOST_LABELS + 1))
    def send_labels(self, number: int, jam_at: int) -> None:
        """Labels go to the printer, which jams at one of them; none goes twice."""
        run = pick(self.world.runs, number)
        row, tags = self.world.runs[run], self.world.tags
        waiting = [code for code in row["codes"] if tags[code]["printed"] == "reserved"]
        taken: list[str] = []

        def to_printer(tag: Tag) -> None:
            taken.append(tag.code)
            if len(taken) > jam_at:
                raise PrinterJammed

        try:
            assert runs.send(run_id=run, to_printer=to_printer) == len(taken)
        except PrinterJammed:
            assert len(taken) == jam_at + 1
        else:
            assert taken == ([] if row["confirmed"] is not None else waiting)
        assert taken == waiting[: len(taken)]
        for code in taken:
            tags[code]["printed"] = "sent"

    @precondition(lambda self: self.world.runs)
    @rule(number=NUMBER, last_good=st.integers(-1, _MOST_LABELS + 1))
    def confirm_labels(self, number: int, last_good: int) -> None:
        """Somebody has looked: so many are good, the rest is spoiled."""
        run = pick(self.world.runs, number)
        row, tags = self.world.runs[run], self.world.tags
        known = row["confirmed"] is not None
        good, rest = row["codes"][: max(last_good, 0)], row["codes"][max(last_good, 0) :]
        expected = first(
            when(known and row["confirmed"] != last_good, "run_confirmed"),
            when(not known and not 0 <= last_good <= row["count"], "no_such_label"),
            when(
                not known and any(tags[code]["printed"] == "reserved" for code in good),
                "never_sent",
            ),
            when(
                not known and any(tags[code]["state"] != "minted" for code in rest),
                "label_in_use",
            ),
        )
        done = self.do(
            expected,
            lambda: runs.confirm(run_id=run, last_good=last_good, at=self.world.now),
        )
        if done is not None and not known:
            row["confirmed"] = last_good
            for code in good:
                tags[code]["printed"] = "confirmed"
            for code in rest:
                tags[code] |= {"printed": "spoiled", "state": "spoiled"}


def as_thing(stands: Stands) -> Thing:
    """The thing as an operation wants it."""
    kind, cylinder, part, order = stands
    if kind == "cylinder":
        return Thing.cylinder(Cylinder.objects.get(pk=cylinder))
    if kind == "bag":
        return Thing.bag(Part.objects.get(pk=part or 0))
    visit = WorkOrder.objects.get(pk=order or 0)
    return Thing.teardown(visit) if kind == "teardown" else Thing.kit(visit)


def _stands(tag: Tag) -> Stands | None:
    if tag.cylinder_id is None:
        return None
    return tag.kind, tag.cylinder_id, tag.part_id, tag.work_order_id


def _live(stands: Stands) -> dict[str, object]:
    return {"state": "live", "stands": stands, "successor": None, "printed": ""}


def _blank() -> dict[str, object]:
    return {"state": "minted", "stands": None, "successor": None, "printed": "reserved"}
