"""The list of what is due, page by page: each cylinder once, whatever stands in the address."""

import re
from functools import partial

import pytest

from api.pages.bench import due, months
from cylinders.models import Shop
from cylinders.operations.reminders.indexing import look_again
from cylinders.queries.due_in_order import ask
from tests import makers
from tests.api.pages.bench.desk import Desk

pytestmark = pytest.mark.django_db
NEXT = re.compile(r'href="(\?within=\d+&amp;after=[^"]+)"')


@pytest.fixture
def five(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Five cylinders, two places on a page, and an index that knows all but the last of them."""
    monkeypatch.setattr(due, "ON_A_PAGE", 2)
    serials = [f"KQ{number}" for number in range(5)]
    for number, serial in enumerate(serials):
        if number == len(serials) - 1:
            look_again(on=makers.TODAY)
        makers.receive(serial=serial, requalified=f"2021-{number + 8:02d}")
    return serials


def test_the_pages_follow_each_other_and_leave_none_out(desk: Desk, five: list[str]) -> None:
    address, pages, seen = "/bench/due/?within=60", 0, ""
    while address:
        seen += desk.open(address).text
        pages += 1
        found = NEXT.search(desk.response.content.decode())
        address = "/bench/due/" + found[1].replace("&amp;", "&") if found else ""
    assert pages == 7  # each not known, due by its visual and by its last test; two on one day
    assert [seen.count(f"no. {serial}") for serial in five] == [3, 3, 3, 2, 3]
    assert "Due within 60 days: 20" in seen
    assert "Not known: " not in seen  # more of them stand on another page


def test_a_page_begins_with_the_month_that_was_asked_for(desk: Desk, five: list[str]) -> None:
    text = desk.open("/bench/due/?within=365&from=2026-12").text
    assert "December 2026: 1" in text
    assert "From the beginning" in text
    assert "Overdue" not in text


ODD = [
    *("after=", "after=~", "after=2026-13-01~3", "after=0000-00-00~1", f"after=~{'9' * 18}"),
    *("after=2026-11-30~1'--", "after=0001-01-01~1", "from=0001-01", "from=2026-13", "from=x"),
    *("from=9999-12", "after=9999-12-31~5", "within=60&after=%00", "after=-1", "from=9999-99"),
]


def test_whatever_stands_in_the_address_the_page_answers(desk: Desk, five: list[str]) -> None:
    assert [(asked, desk.open(f"/bench/due/?{asked}").status) for asked in ODD] == [
        (asked, 200) for asked in ODD
    ]


def test_a_page_that_may_lack_some_says_so(
    desk: Desk, five: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    assert "Not whole" not in desk.open("/bench/due/").text
    for page in (due, months):
        monkeypatch.setattr(page, "ask", partial(ask, most=3))
    Shop.objects.create(name="Slack Water Divers", country="FR")
    for address in ("/bench/due/", "/bench/due/months/"):
        assert "Not whole" in desk.open(address).text
        assert "some that are due may be missing" in desk.text
        assert "Nothing" not in desk.text
    assert "November 2026 not known December 2026 not known" in desk.text
    assert "Due within 60 days: not known" in desk.open("/bench/due/").text
