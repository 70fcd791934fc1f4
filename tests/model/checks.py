"""The nine invariants, held after each step."""

import json
from collections import Counter
from functools import lru_cache
from typing import Any

from django.db import connection
from hypothesis.stateful import invariant

from cylinders.models import Cylinder, Part, TestRecord, WorkOrder
from cylinders.queries.verification import verify
from labels.models import Tag, TagState
from labels.scanning import tag_problems
from tests.model.ground import OWNERS, everything
from tests.model.people import People

#: Words that must stand in no event and on no page that a stranger sees.
CANARIES = tuple(
    word for name, email, phone in OWNERS for word in (*name.split(), email, phone) if word
)
#: What may be told of a condemned cylinder: that it is here, and how it ended. Never "ready".
_NEWS_OF_THE_END = {"received", "rejected", "condemned", "still_here"}


class Checks(People):
    """What is stored, against the model and against itself."""

    #: every row as it was when the histories last verified
    verified: object = None

    @invariant()
    def each_part_is_in_one_place(self) -> None:
        """I1: by the row, and by how often the history put it somewhere."""
        stored = dict(Part.objects.values_list("pk", "whereabouts"))
        assert stored == {pk: row["place"] for pk, row in self.world.parts.items()}
        settled: Counter[tuple[int, str]] = Counter()
        for event in events():
            facts, kind = event["facts"], event["kind"]
            home = event["cylinder"]
            if kind == "part:reassembly:fitted" and self._home_of(facts["part"]) == home:
                settled[facts["part"], "fitted"] += 1
            if kind == "part:reassembly:unfitted" and self._home_of(facts["part"]) == home:
                settled[facts["part"], "fitted"] -= 1
            if kind == "part:reassembly:accounted":
                settled[facts["part"], "accounted"] += 1
            for part in facts.get("returned_parts", ()):
                settled[part, "accounted"] += 1
        assert settled == Counter((pk, place) for pk, place in stored.items() if place != "bagged")

    def _home_of(self, part: int) -> int:
        return int(self.world.parts[part]["cylinder"])

    @invariant()
    def each_tag_stands_for_one_thing(self) -> None:
        """I2: by the model; one live tag for a thing, and a code for one thing for ever."""
        stored = {
            tag.code: (
                tag.state,
                (tag.kind, tag.cylinder_id, tag.part_id, tag.work_order_id)
                if tag.cylinder_id
                else None,
                tag.printed,
            )
            for tag in Tag.objects.all()
        }
        told = self.world.tags.items()
        assert stored == {code: (row["state"], row["stands"], row["printed"]) for code, row in told}
        live = Counter(stands for state, stands, _ in stored.values() if state == TagState.LIVE)
        assert all(count == 1 for count in live.values()), live

    @invariant()
    def the_histories_verify(self) -> None:
        """I3: no gap, no broken chain, no row that no event explains; where a row has changed."""
        now = everything()
        if now == self.verified:
            return
        self.verified = now
        assert verify().problems == ()
        assert list(tag_problems()) == []

    @invariant()
    def stage_and_life_are_the_models(self) -> None:
        """I4."""
        stages = dict(WorkOrder.objects.values_list("pk", "stage"))
        assert stages == {pk: row["stage"] for pk, row in self.world.orders.items()}
        columns = next(iter(self.world.cylinders.values()), {"life": ""}).keys() - {"owner"}
        for cylinder in Cylinder.objects.all():
            row = self.world.cylinders[cylinder.pk]
            assert {name: getattr(cylinder, name) for name in columns & row.keys()} == {
                name: row[name] for name in columns & row.keys()
            }
            assert cylinder.owner_id == row["owner"]
        assert Cylinder.objects.count() == len(self.world.cylinders)

    @invariant()
    def mail_is_planned_and_goes_once(self) -> None:
        """I5."""
        self.mail_adds_up()

    @invariant()
    def records_are_those_accepted(self) -> None:
        """I6: each once, with the text that was sent."""
        stored = {
            record.pk: (record.lab_id, record.lab_reference, record.state, json.loads(record.body))
            for record in TestRecord.objects.all()
        }
        assert stored == {
            pk: (row["lab"], row["reference"], row["state"], row["body"])
            for pk, row in self.world.records.items()
        }
        names = [(lab, reference) for lab, reference, _, _ in stored.values()]
        assert len(names) == len(set(names))

    @invariant()
    def no_person_stands_in_the_history(self) -> None:
        """I7, first half."""
        for text in texts():
            assert not any(word in text for word in CANARIES), text

    def seen_by_a_stranger(self, code: str) -> None:
        """I7, second half: whatever the tag is, its public page names nobody."""
        answer = self.client.get(f"/t/{code}")
        assert answer.status_code in (200, 302, 404, 410), answer.status_code
        page = answer.content.decode()
        assert not any(word in page for word in CANARIES), code

    @invariant()
    def the_condemned_stay_condemned(self) -> None:
        """I8: no fill, no reminder and no better standing after it."""
        condemned: set[int] = set()
        for event in events():
            facts, kind, cylinder = event["facts"], event["kind"], event["cylinder"]
            if cylinder in condemned:
                assert kind != "fill:gas:filled"
                if kind == "notice:reminder:sent":
                    assert facts["duty"] in _NEWS_OF_THE_END
            ends = (facts.get("result"), facts.get("verdict"), facts.get("condemned_by_marks"))
            held = kind == "retest:record:held"
            if kind == "cylinder:condemnation:condemned" or (
                not held and ("condemned" in ends or ends[2])
            ):
                condemned.add(cylinder)
        lives = dict(Cylinder.objects.filter(pk__in=condemned).values_list("pk", "life"))
        assert set(lives.values()) <= {"condemned"}


def texts() -> list[str]:
    """The hashed text of every event, in the order in which they were written."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT canonical FROM cylinders_serviceevent ORDER BY id")
        return [text for (text,) in cursor.fetchall()]


def events() -> list[dict[str, Any]]:
    """Every event as it was hashed; nobody may change one."""
    return [_read(text) for text in texts()]


@lru_cache(10_000)
def _read(text: str) -> dict[str, Any]:
    read: dict[str, Any] = json.loads(text)
    return read
