"""Bad stamps, bad tag codes and bad addresses at every surface that takes them.

What the rules make of each stands in ``tests/rules/markings`` and ``tests/labels``; here each is
sent to the pages and commands that take it: no 500, nothing stored, nothing run in the reader's
browser, nobody led elsewhere. ``pytest -s`` prints how many were tried and what each list got.
"""

import io
import urllib.parse
from collections import Counter
from collections.abc import Callable, Iterator
from functools import partial
from typing import Any

import pytest
import time_machine
from django.core.cache import cache
from django.core.management import call_command
from django.test import Client

from api.models import FoundMessage
from cylinders import history
from cylinders.models import Cylinder
from labels import codes
from labels.models import Tag
from labels.operations import binding, minting
from tests import makers
from tests.api.pages.status import cast
from tests.api.webhooks.test_addresses import HOSTILE, OWN
from tests.bad_inputs.elsewhere import missing
from tests.faults import worlds
from tests.rules.markings import test_bad_figures, test_bad_text

pytestmark = pytest.mark.django_db
CODE, HOST = "7K2M9QX4WBTCK", "CYL.EXAMPLE"
OK, UNUSABLE = 200, 2
ROWS = (*test_bad_text.ROWS, *test_bad_figures.ROWS)
STAMPS = [(name, text) for name, text, _ in ROWS]
KINDS_OF_STAMPS, KINDS_OF_CODES = set(range(1, 43)), set(range(1, 43))
_OTHER_BAG = (
    "tests/cylinders/operations/test_fitting.py::"
    "test_a_part_of_another_cylinder_is_refused_and_the_right_one_named"
)
#: kinds that are no text of their own: what is tried instead, and where
ELSEWHERE = {
    20: "tests/labels/test_extract.py::test_anything_else_is_refused_by_name_and_shown_harmlessly",
    21: _OTHER_BAG,
    22: "tests/labels/test_scanning.py::test_each_kind_names_what_it_was_printed_for",
    26: "tests/cylinders/operations/test_bench_steps.py",
    27: "tests/api/pages/bench/test_once.py",
    28: "tests/faults/test_two_at_once.py",
    29: "tests/api/pages/bench/test_once.py",
    30: "tests/browser/test_weak_network.py",
    31: "tests/damage/test_gate.py",
    32: "tests/damage/test_gate.py",
    33: "tests/labels/test_reading.py",
    34: "tests/labels/test_reading.py",
    42: "tests/labels/test_scanning.py",
}


def bad_codes() -> Iterator[tuple[int, str]]:
    """Each kind of bad code by its number; the world has a torn tag and an unprinted one."""
    yield from ((1, ""), (1, "  "), (2, CODE[:-1]), (2, f"{CODE}7"), (3, "7" * 4_296))
    yield 4, f"{CODE[:-1]}8"
    yield from (
        (5, f"{CODE[:n]}{'7' if CODE[n] != '7' else '8'}{CODE[n + 1 :]}") for n in range(13)
    )
    yield from ((6, CODE[:n] + CODE[n + 1] + CODE[n] + CODE[n + 2 :]) for n in range(12))
    yield from ((7, CODE.lower()), (7, CODE.title()), (8, CODE.replace("K", "U")), (8, "O0IL1U"))
    yield from (
        (9, "7K2M-9QX4 WBTCK"),
        (9, "7K2M--9QX4"),
        (10, f"{CODE}\r\n"),
        (10, f"]Q3{CODE}\x1d"),
    )
    yield from ((11, f"https://{HOST}/T/{CODE}"), (12, f"http://{HOST}/T/{CODE}"))
    yield from (
        (13, f"https://{HOST}.evil.test/T/{CODE}"),
        (13, f"https://xn--cyl-fka.example/T/{CODE}"),
    )
    yield from (
        (14, f"https://{HOST}@evil.test/T/{CODE}"),
        (15, "//evil.test"),
        (15, "/\\evil.test"),
    )
    yield from (
        (15, "javascript:alert(1)"),
        (15, "data:text/html,<script>1</script>"),
        (15, "intent://x"),
    )
    yield from (
        (16, f"https://{HOST}/T/{CODE}?next=//evil.test"),
        (16, f"{CODE}?next=https://evil.test"),
    )
    yield from (
        (17, "%37K2M9QX4WBTCK"),
        (17, "%2537K2M9QX4WBTCK"),
        (18, "..%2f..%2fadmin"),
        (18, "../../x"),
    )
    yield from ((19, "WIFI:T:WPA;S:boat;P:secret;;"), (19, "BEGIN:VCARD"), (19, "tel:555-0100"))
    yield from ((20, f"{CODE} {codes.new_code()}"), (23, codes.new_code()), (24, codes.new_code()))
    yield 25, Tag.objects.get(state="retired").code
    yield 25, Tag.objects.filter(state="minted").earliest("pk").code
    yield from ((35, "1"), (35, "42"), (36, f"\u0417{CODE[1:]}"), (36, "\uff17K2M9QX4WBTCK"))
    yield from (
        (37, f"{CODE[:5]}\x00{CODE[5:]}"),
        (37, "'\""),
        (37, "<img src=x onerror=alert(1)>"),
    )
    yield from ((38, "%"), (38, "_" * 13), (38, ".*"), (38, "' OR 1=1 --"))
    yield from ((39, f"{number:013}") for number in range(1, 21))
    yield from (
        (40, f"https://demo.example/T/{CODE}"),
        (41, f"V0{CODE[2:]}"),
        (41, f"https://{HOST}/t1/{CODE}"),
    )


@pytest.fixture
def house() -> Iterator[Client]:
    """A shop with a torn tag, an unprinted one and a cylinder; and a member of staff."""
    cache.clear()
    with time_machine.travel(makers.NOON, tick=False):
        cast.open_shop()
        order = makers.receive()
        torn = cast.tag_of(order)
        binding.replace(code=torn.code, host=HOST, reason="torn", at=makers.NOON, by=cast.BY)
        minting.mint(count=1, host=HOST, at=makers.NOON)
        client = Client()
        client.force_login(makers.make_technician())
        yield client


def stored() -> tuple[int, ...]:
    rows = (Cylinder, Tag, FoundMessage)
    return (history.events_held(), *(model.objects.count() for model in rows))


def sound(answer: Any, text: str) -> int:
    """The status of an answer that is none of the things that it must not be."""
    assert answer.status_code < 500, text[:80]
    to = answer.headers.get("Location", "/")
    assert to.startswith("/"), (text[:80], to)
    assert not to.startswith(("//", "/\\")), (text[:80], to)
    page = answer.content.decode()
    for live in ("<script>alert", "<img src=x", 'href="javascript:', 'src="javascript:'):
        assert live not in page, text[:80]
    if "7*7" in text and answer.status_code == OK and to == "/":
        assert "{{7*7}}" in page, "shown as it was sent: no template ran"
    return int(answer.status_code)


def try_all(what: str, texts: list[str], send: Callable[[str], Any]) -> Counter[int]:
    got: Counter[int] = Counter()
    for text in texts:
        cache.clear()
        before = stored()
        got[sound(send(text), text)] += 1
        assert stored() == before, text[:80]
    print(f"{what}: {len(texts)} tried, {dict(sorted(got.items()))}")  # noqa: T201 - the report
    return got


@pytest.fixture(
    params=[3, pytest.param(1, marks=pytest.mark.long)], ids=["every third", "each"], name="apart"
)
def one_in(request: pytest.FixtureRequest) -> int:
    """Every day a third of each list, all of it in the long run."""
    return int(request.param)


def test_every_kind_is_tried_or_told_where_it_is(house: Client) -> None:
    assert {int(name.split()[0]) for name, _ in STAMPS} == KINDS_OF_STAMPS
    assert {number for number, _ in bad_codes()} | ELSEWHERE.keys() == KINDS_OF_CODES
    assert missing(ELSEWHERE.values()) == []


def test_bad_stamps_are_read_live_and_at_intake(house: Client, apart: int) -> None:
    texts = [text for _, text in STAMPS][::apart]
    got = try_all(
        "stamps, read live", texts, lambda x: house.post("/bench/intake/reading/", {"stamp": x})
    )
    assert got == {200: len(texts)}
    short = [text for text in texts if len(text) < 10_000]
    got = try_all(
        "stamps, in the address", short, lambda x: house.get("/bench/intake/", {"stamp": x})
    )
    assert got == {200: len(short)}
    got = try_all(
        "stamps, sent with nothing else",
        texts,
        lambda x: house.post("/bench/intake/", {"do": "receive", "once": "a", "stamp": x}),
    )
    assert got.keys() <= {400, 422}


def test_bad_stamps_at_the_command() -> None:
    got, silent = Counter[int](), 0
    for _, text in STAMPS:
        out, err = io.StringIO(), io.StringIO()
        try:
            call_command("decode", text, json=True, stdout=out, stderr=err)
            got[0] += 1
        except SystemExit as left:
            code = int(left.code or 0)
            got[code] += 1
            silent += code == UNUSABLE and not err.getvalue()
    print(f"stamps, at the command: {len(STAMPS)} tried, {dict(got)}")  # noqa: T201 - the report
    assert got.keys() <= {0, 1, 2}
    assert got[UNUSABLE] >= 4
    assert silent == 0, "each refusal has its reason"


def test_bad_codes_for_strangers_and_for_staff(house: Client, apart: int) -> None:
    texts = [text for _, text in bad_codes()][::apart]
    stranger = Client()
    got = try_all("codes, typed by a stranger", texts, lambda x: stranger.get("/t/", {"code": x}))
    assert got.keys() <= {200, 404, 410}
    got = try_all(
        "codes, scanned by staff", texts, lambda x: house.get("/bench/scan/", {"code": x})
    )
    assert got.keys() <= {200, 302, 404}
    got = try_all("codes, in the search", texts, lambda x: house.get("/bench/find/", {"q": x}))
    assert got.keys() <= {200, 302}


def _look(stranger: Client, address: str, text: str) -> Any:
    return stranger.get(address.format(quote(text)))


def test_bad_codes_in_addresses(house: Client, apart: int) -> None:
    texts = [text for _, text in bad_codes() if text.strip() and len(text) < 4_000][::apart]
    stranger = Client()
    for what, address in (("tag", "/t/{}"), ("TAG", "/T/{}"), ("finder", "/found/{}")):
        got = try_all(f"codes, at {what}", texts, partial(_look, stranger, address))
        assert got.keys() <= {200, 301, 302, 404, 410}
    got = try_all("codes, at a finder's post", texts, lambda x: stranger.post(f"/found/{quote(x)}"))
    assert got.keys() <= {404, 422}
    got = try_all("codes, at a tag's page", texts, lambda x: house.get(f"/bench/tags/{quote(x)}/"))
    assert got.keys() <= {200, 404}


def test_bad_codes_at_reassembly(house: Client) -> None:
    order = worlds.inspected()
    path = f"/bench/orders/{order.pk}/reassembly/"
    kept = {text: number for number, text in bad_codes()}
    got: Counter[int] = Counter()
    for text, number in kept.items():
        answer = house.post(path, {"do": "offer", "once": f"n{number}", "code": text})
        got[sound(answer, text)] += 1
        order.refresh_from_db()
        assert not order.parts.filter(whereabouts="fitted").exists(), text[:80]
    print(f"codes, at reassembly: {len(kept)} tried, {dict(got)}")  # noqa: T201 - the report


def test_hostile_addresses_for_calls(house: Client) -> None:
    owner = Client()
    owner.force_login(makers.make_owner())
    got = try_all(
        "addresses to be called",
        [url for url in HOSTILE if OWN not in url],
        lambda x: owner.post("/bench/webhooks/", {"do": "register", "once": "a", "url": x}),
    )
    assert got.keys() <= {409, 422}
    assert len(HOSTILE) >= 60


def quote(text: str) -> str:
    return urllib.parse.quote(text, safe="")
