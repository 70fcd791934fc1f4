"""A lab's CSV as sheets and hands spoil it: each kind by its number, and what came of it.

A file is refused whole where it cannot be read as agreed; else each line has its verdict, and what
is not exactly as agreed is refused by name, never mended. ``pytest -s`` prints what each got.
"""

from collections.abc import Iterator
from typing import Any

import pytest
import time_machine
from django.core.cache import cache

from cylinders.models import TestRecord
from tests import makers
from tests.api.v1.lab import LabClient, make_lab_client
from tests.api.v1.test_batches import MAPPING, cylinders_at, post, save, verdicts
from tests.bad_inputs.elsewhere import missing

pytestmark = pytest.mark.django_db(transaction=True)

HEAD = "Lfd;Datum;Ser. Nr.;Hersteller;Druck;Zeit;TE;PE;Prüfer"
GOOD = "{ref};20.11.2026;ZZ0;M9999;345;32;70,0;0,9;Müller"
#: the places of the cells in a line
PLACES = {"ref": 0, "day": 1, "serial": 2, "bar": 4, "seconds": 5, "te": 6, "pe": 7, "who": 8}
KINDS = set(range(1, 43))
ELSEWHERE = {
    14: "tests/api/v1/test_batches.py::test_a_file_beyond_the_limit_is_not_read",
    39: "tests/api/v1/test_batches.py::test_the_same_content_is_the_same_batch",
    40: "tests/faults/test_lab_file_killed.py",
}
#: no surface of ours reads these, so there is nothing to spoil
NOT_READ = {
    35: "owners and their addresses are typed on the bench's page and never read from a file",
    36: "telephone numbers too; a lab's record has none",
    37: "consent is one box that the owner or the counter ticks",
    42: "what is exported is a daily log or a recall, for reading; neither is read in again",
}


def with_cell(name: str, value: str, ref: str = "A-1") -> str:
    cells = GOOD.format(ref=ref).split(";")
    cells[PLACES[name]] = value
    return ";".join(cells)


def sheet(*lines: str, head: str = HEAD, end: str = "\r\n") -> bytes:
    return (end.join((head, *lines)) + end).encode("windows-1252")


def cell(name: str, *values: str) -> Iterator[bytes]:
    yield from (sheet(with_cell(name, value)) for value in values)


def files() -> Iterator[tuple[int, bytes, str]]:  # noqa: PLR0915 - a table
    """Number of the kind, file, and what becomes of it: a code for all, or of each of its lines."""
    good = GOOD.format(ref="A-1")
    yield 1, b"", "empty_batch"
    yield 2, sheet(), "empty_batch"
    yield 3, sheet(head=good), "column_missing"
    for other in ",\t|":
        yield 4, sheet(good, head=HEAD).replace(b";", other.encode()), "column_missing"
    yield 5, b"sep=;\r\n" + sheet(good), "column_missing"
    yield 6, b"\xef\xbb\xbf" + sheet(good), "column_missing"
    yield 6, sheet(good).decode("windows-1252").encode("utf-16-le"), "malformed_file"
    yield 6, sheet(good).decode("windows-1252").encode("utf-8"), "column_missing"
    yield 7, sheet(good, with_cell("serial", "ZZ1", "A-2"), end="\n"), "stored stored"
    yield 7, sheet(good, with_cell("serial", "ZZ1", "A-2"), end="\r"), "stored stored"
    yield 8, sheet(good, with_cell("who", '"never closed', "A-2")), "malformed_file"
    yield 9, sheet(with_cell("who", '"M ""the hand"" M"')), "stored"
    yield 9, sheet(with_cell("who", 'M "the hand"')), "stored"
    yield 9, sheet(with_cell("who", '"M \\"the hand\\" M"')), "malformed_file"
    yield 10, sheet(with_cell("who", '"two\r\nlines"')), "refused"
    yield 11, sheet(with_cell("who", '"Müller; Sohn"')), "stored"
    yield 11, sheet(with_cell("who", "Müller; Sohn")), "refused"
    yield 12, sheet(good.rpartition(";")[0], head=HEAD.rpartition(";")[0]), "column_missing"
    yield 12, sheet(f"{good};x", head=f"{HEAD};Bemerkung"), "stored"
    yield 12, sheet(f"{good};Huber", head=f"{HEAD};Prüfer"), "column_twice"
    turned = ";".join(reversed(good.split(";")))
    yield 12, sheet(turned, head=";".join(reversed(HEAD.split(";")))), "stored"
    yield 12, sheet(good, head=HEAD.upper()), "column_missing"
    yield 12, sheet(good, head=HEAD.replace(";", " ; ")), "stored"
    yield 13, sheet(good, head=HEAD.replace("Prüfer", "operator")), "column_missing"
    yield 15, sheet(with_cell("who", "M" * 1_000_000)), "malformed_file"
    yield 16, sheet(good + ";" * 50_000, head=HEAD + ";" * 50_000), "stored"
    yield 17, sheet(with_cell("who", "M\x00")), "malformed_file"
    yield 18, sheet("", ";;;;;;;;", good), "stored"
    yield 18, sheet(good, "Summe;;;;;;70,0;0,9;"), "stored refused"
    yield from ((18, one, "refused") for one in cell("te", "—", "-", "n/a"))
    yield 19, sheet(good, with_cell("ref", "A-2")), "stored stored"
    yield 19, sheet(good, good), "stored already_held"
    yield from ((20, one, "waiting") for one in cell("serial", "0", "00ZZ0"))
    yield from ((21, one, "waiting") for one in cell("serial", "1,00E+23", "1E23456"))
    yield from ((22, one, "refused") for one in cell("day", "12-Mar", "45231", "2026-11-20 0:00"))
    yield from ((22, one, "refused") for one in cell("day", "11/20/2026", "20.11.26", "31.11.2026"))
    yield from ((23, one, "refused") for one in cell("te", "1.070,0", "70 ,0", "7 0,0", "70,0,0"))
    yield 23, sheet(with_cell("te", "70.0")), "refused"
    yield from ((24, one, "refused") for one in cell("te", "€ 70,0", "70,0 cc", "70,0 €"))
    signs = {25: "=1+1", 26: "+1", 27: "-1+cmd", 28: "@SUM(A1)", 30: "\uff1d1", 31: " =1"}
    for number, text in signs.items():  # a sign before a number is part of it
        raw = (HEAD + "\r\n" + with_cell("te", text) + "\r\n").encode("windows-1252", "replace")
        yield number, raw, "stored" if number == 26 else "refused"
    yield 29, sheet(with_cell("te", '"\t=1"')), "refused"
    yield 32, sheet(with_cell("te", '"=1";=1')), "refused"
    yield 33, sheet(with_cell("te", '"=HYPERLINK(""http://evil.test"")"')), "refused"
    yield 34, sheet(with_cell("who", "<img src=x> {{7*7}} ${7*7}")), "stored"
    yield 38, b"PK\x03\x04" + bytes(60), "malformed_file"
    yield 38, b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(60), "malformed_file"
    yield 41, sheet(with_cell("serial", "ZZ90000")), "waiting"  # it is at the shop


@pytest.fixture
def lab() -> Iterator[LabClient]:
    """A lab with two cylinders in its hands and a saved mapping."""
    with time_machine.travel(makers.NOON, tick=True):
        makers.technician_one()
        client = make_lab_client()
        cylinders_at(client, ("ZZ0", "ZZ1"))
        makers.receive(serial="ZZ90000")
        assert save(client, MAPPING).status == 200
        yield client


def came(lab: LabClient, raw: bytes) -> str:
    """What became of a file: one code for all of it, or the outcomes of its lines in a row."""
    answer: Any = post(lab, raw, "?mapping=old-bench&dry_run=true", "text/csv")
    if answer.status != 202:
        assert (answer.status, answer.code) == (409, "unreadable_file"), answer.raw[:300]
        return str(answer.json["errors"][0]["code"])
    told = verdicts(lab, answer)
    return " ".join(item["outcome"] for _line, item in sorted(told.items()))


def test_every_kind_of_spoilt_sheet_gets_what_it_should(lab: LabClient) -> None:
    tried: list[str] = []
    wrong: list[str] = []
    for number, raw, expected in files():
        cache.clear()
        got = came(lab, raw)
        tried.append(f"{number}: {got}")
        if got != expected:
            wrong.append(f"{number} {raw[:160]!r}: {got}, not {expected}")
    print(f"{len(tried)} sheets tried: {'; '.join(tried)}")  # noqa: T201 - the report
    assert wrong == []
    assert not TestRecord.objects.exists()


def test_every_kind_is_tried_or_told_where_it_is_or_why_not() -> None:
    tried = {number for number, _, _ in files()}
    assert tried | ELSEWHERE.keys() | NOT_READ.keys() == KINDS
    assert missing(ELSEWHERE.values()) == []
