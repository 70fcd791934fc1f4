"""To the lab and back; what the lab found; the new stamp."""

import datetime as dt
import json
from typing import Any

from hypothesis import strategies as st
from hypothesis.stateful import precondition, rule

from cylinders.facts import Actor
from cylinders.models import TestRecord
from cylinders.operations import consignment, retest, stamp
from cylinders.rules import judgement
from tests import makers
from tests.model.ground import BY
from tests.model.intake import NUMBER, Intake
from tests.model.world import Row, first, month_of, pick, when

#: What a record says; the numbers decide, whatever the lab makes of them.
FINDINGS = ("good", "good", "over", "failed", "other_month", "other_serial")
_WORSE = ("passed", "invalid", "held", "rejected", "condemned")


class AtTheLab(Intake):
    """Runs, records, stamps."""

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, lab=NUMBER)
    def pack(self, number: int, lab: int) -> None:
        """Into the run that is being packed for a lab; lab 0 is none."""
        known = [*self.world.labs, *self.world.labs, 0]
        self.pack_for(self.order(number, "pack"), pick(known, lab))

    def pack_for(self, order: int, lab: int) -> None:
        world = self.world
        row = world.orders[order]
        expected = first(
            world.may("pack", order),
            world.out_of_use(order),
            when(lab not in world.labs, "unknown_lab"),
            when(row["packed"], "already_packed"),
        )
        line = self.do(
            expected,
            lambda: consignment.pack(work_order_id=order, lab_id=lab, at=world.now, by=BY),
        )
        if line is not None:
            row["packed"] = line.consignment_id
            run = world.consignments.setdefault(line.consignment_id, {"lab": lab, "sent": False})
            assert run == {"lab": lab, "sent": False}, "one run is packed for a lab at a time"

    @precondition(lambda self: self.world.consignments)
    @rule(number=NUMBER, carrier=st.sampled_from(("van 2", "van 2", "")))
    def send(self, number: int, carrier: str) -> None:
        """Hand a run to its carrier."""
        self.send_off(pick(self.world.consignments, number), carrier)

    def send_off(self, run: int, carrier: str = "van 2") -> None:
        world = self.world
        row = world.consignments[run]
        packed = [order for order, row in world.orders.items() if row["packed"] == run]
        going = [order for order in packed if world.orders[order]["stage"] == "torn_down"]
        expected = first(
            when(row["sent"], "nothing_to_send"),
            when(not carrier, "no_carrier"),
            when(world.labs[row["lab"]]["until"] < world.on, "rin_expired"),
            when(not going, "empty_consignment"),
        )
        if self.do(
            expected,
            lambda: consignment.send(
                consignment_id=run, carrier=carrier, on=world.on, at=world.now, by=BY
            ),
        ):
            row["sent"] = True
            for order in packed:
                world.orders[order]["packed"] = None
            for order in going:
                world.orders[order].update(stage="at_lab", sent_to=row["lab"])

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER)
    def take_back(self, number: int) -> None:
        """Scan a cylinder home."""
        self.take_home(self.order(number, "take_back"))

    def take_home(self, order: int) -> None:
        if self.do(
            self.world.may("take_back", order),
            lambda: consignment.take_back(work_order_id=order, at=self.world.now, by=BY),
        ):
            self.world.orders[order]["stage"] = "back"

    @precondition(lambda self: self.world.orders)
    @rule(
        number=NUMBER,
        findings=st.lists(st.sampled_from(FINDINGS), min_size=1, max_size=3),
        lab=st.sampled_from((0, 0, 0, 1)),
    )
    def record(self, number: int, findings: list[str], lab: int) -> None:
        """A lab tells what it found; now and then it is the wrong lab, or it never had it."""
        order = self.order(number, "report")
        sent_to = self.world.orders[order]["sent_to"] or next(iter(self.world.labs))
        others = [sent_to, *(pk for pk in self.world.labs if pk != sent_to)]
        for finding in findings:
            self.report(order, others[lab], finding)

    def report(self, order: int, lab: int, finding: str = "good") -> None:
        world = self.world
        row = world.orders[order]
        reference = f"NG-{world.next_number()}"
        body = self._body(order, lab, reference, finding)
        there = row["stage"] != "collected" and row["sent_to"] == lab
        receipt = self._post(lab, row["cylinder"], body, when(not there, "not_at_lab"))
        if receipt is None:
            return
        assert receipt.created
        record = receipt.record
        world.records[record.pk] = {
            "lab": lab,
            "reference": reference,
            "body": body,
            "cylinder": row["cylinder"],
            "order": order,
            "finding": finding,
            "state": "held" if record.verdict == "held" else "attached",
            "stamp": body["stamp"],
            "verdict": record.verdict,
        }
        self._judged_rightly(record, finding)
        if record.verdict != "held":
            self._counts(record)

    @precondition(lambda self: self.world.records)
    @rule(number=NUMBER, change=st.sampled_from(("", "text", "cylinder")))
    def record_again(self, number: int, change: str) -> None:
        """The same record again is the same; the same reference for anything else is refused."""
        world = self.world
        pk = pick(world.records, number)
        row = world.records[pk]
        cylinder, body = row["cylinder"], row["body"]
        if change == "text":
            body = body | {"hold_seconds": 33}
        if change == "cylinder":
            cylinder = pick(world.cylinders, number + 1)
        same = cylinder == row["cylinder"] and body == row["body"]
        receipt = self._post(row["lab"], cylinder, body, when(not same, "reference_used"))
        if receipt is not None:
            assert (receipt.created, receipt.record.pk) == (False, pk)

    @precondition(lambda self: self.world.records)
    @rule(number=NUMBER, attach=st.booleans(), reason=st.sampled_from(("seen", "seen", " ")))
    def decide(self, *, number: int, attach: bool, reason: str) -> None:
        """A person decides on a record that was held; on any other there is nothing to decide."""
        held = [pk for pk, row in self.world.records.items() if row["state"] == "held"]
        pk = pick(held * 3 + [*self.world.records], number)
        row = self.world.records[pk]
        condemned = self.world.cylinders[row["cylinder"]]["life"] == "condemned"
        record = self.do(
            first(
                when(row["state"] != "held", "not_held"),
                when(not reason.strip(), "no_reason"),
                when(attach and condemned, "cylinder_condemned"),
            ),
            lambda: retest.decide_held(
                record_id=pk, attach=attach, reason=reason, at=self.world.now, by=BY
            ),
        )
        if record is None:
            return
        row["state"] = "attached" if attach else "dismissed"
        if attach:
            row["verdict"] = record.verdict
            assert record.verdict != "held"
            self._judged_rightly(record, row["finding"])
            self._counts(record)

    @precondition(lambda self: self.world.orders)
    @rule(number=NUMBER, typed=st.sampled_from(("right", "right", "month", "scratches")))
    def compare_stamp(self, number: int, typed: str) -> None:
        """The new stamp against the record."""
        self.compare(self.order(number, "compare"), typed)

    def compare(self, order: int, typed: str = "right") -> None:
        world = self.world
        passed = [
            row
            for row in world.records.values()
            if (row["order"], row["state"], row["verdict"]) == (order, "attached", "passed")
        ]
        wanted = passed[-1] if passed else None
        text = self._as_stamped(wanted, typed)
        done = self.do(
            first(
                world.may("compare", order),
                when(wanted is None, "no_record"),
                when(typed == "scratches", "stamp_not_read"),
            ),
            lambda: stamp.compare_stamp(
                work_order_id=order, typed=text, on=world.on, at=world.now, by=BY
            ),
        )
        if done is not None:
            assert done.agrees == (typed == "right"), done.differences
            world.orders[order]["stamp"] = typed == "right"

    def _as_stamped(self, row: Row | None, typed: str) -> str:
        if row is None or typed == "scratches":
            return "scratches"
        mark, rin = row["stamp"], row["body"]["rin"]
        month = mark["month"] if typed == "right" else (mark["month"] + 6) % 12 + 1
        year = mark["year"] if typed == "right" else mark["year"] - 1
        return f"{month} {rin[:2]}/{rin[2:]} {year % 100:02d}"

    def _body(self, order: int, lab: int, reference: str, finding: str) -> dict[str, Any]:
        day = self.world.on
        cylinder = self.world.cylinder_of(order)
        body = makers.record_body(
            lab_reference=reference,
            date=day.isoformat(),
            rin=self.world.labs[lab]["rin"],
            stamp={"month": day.month, "year": day.year, "symbol": None},
        )
        body["cylinder"]["serial"] = cylinder["serial"]
        body["calibration"]["date"] = day.isoformat()
        if finding == "over":
            body["permanent_expansion"] = {"value": "7.1", "unit": "cc"}
            body["elastic_expansion"] = None
        if finding == "failed":
            body["visual"]["external"] = "fail"
            body |= {"disposition": "rejected", "reason": "dent", "stamp": None}
        if finding == "other_month":
            before = day.replace(day=1) - dt.timedelta(days=1)
            body["stamp"] = {"month": before.month, "year": before.year, "symbol": None}
        if finding == "other_serial":
            body["cylinder"]["serial"] = "ZZ999"
        return body

    def _post(
        self, lab: int, cylinder: int, body: dict[str, Any], expected: str
    ) -> retest.Receipt | None:
        text = json.dumps(body)
        return self.do(
            expected,
            lambda: retest.receive_record(
                lab_id=lab,
                cylinder_id=cylinder,
                body=judgement.parse(judgement.loads(text)),
                body_text=text,
                on=self.world.on,
                at=self.world.now,
                by=Actor("lab", str(lab)),
            ),
        )

    def _judged_rightly(self, record: TestRecord, finding: str) -> None:
        """What the numbers say at the least; what else is known may only make it worse."""
        at_least = {"over": "condemned", "failed": "rejected", "other_month": "held"}.get(
            finding, "held" if finding == "other_serial" else "passed"
        )
        if record.state == "attached" and at_least == "held":
            at_least = "passed"  # a person has decided on what only asked for one
        assert _WORSE.index(record.verdict) >= _WORSE.index(at_least), record.answer

    def _counts(self, record: TestRecord) -> None:
        """What an attached record changes: never a condemned cylinder into anything else."""
        cylinder = self.world.cylinders[record.cylinder_id]
        if record.verdict == "passed":
            mark = self.world.records[record.pk]["stamp"]
            cylinder["requalified"] = month_of(dt.date(mark["year"], mark["month"], 1))
        elif record.verdict in ("rejected", "condemned") and cylinder["life"] != "condemned":
            cylinder["life"] = record.verdict
