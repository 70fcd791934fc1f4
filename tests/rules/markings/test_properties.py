"""What holds for every text and every mark."""

import datetime as dt
import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from cylinders.rules.markings import (
    OriginalMark,
    RequalificationMark,
    UnMark,
    as_json,
    read,
    render,
)
from tests.rules.markings.reading_of import reading_of
from tests.rules.markings.strategies import (
    original_marks,
    requalification_marks,
    texts,
    un_marks,
)

ORDINARY = settings(max_examples=200, deadline=None)
COUNTRIES = st.sampled_from(["US", "CA", "GB", "DE", "CH", "NZ", "", "??"])
DAYS = st.dates(dt.date(1990, 1, 1), dt.date(2100, 12, 31))


@ORDINARY
@given(texts, DAYS, COUNTRIES)
def test_every_text_is_answered_in_the_promised_shape(
    text: str, day: dt.date, country: str
) -> None:
    answer = as_json(read(text, on=day, country=country))
    assert json.loads(json.dumps(answer)) == answer
    assert set(answer) >= {
        "text",
        "on",
        "country",
        "marks",
        "dual",
        "warnings",
        "questions",
        "unread",
    }
    assert all(question["choices"] for question in answer["questions"])
    assert all(warning["cites"] and warning["says"] for warning in answer["warnings"])


@ORDINARY
@given(texts)
def test_what_is_unread_stands_where_it_is_said_to_stand(text: str) -> None:
    for part in reading_of(text).unread:
        assert text[part.start : part.start + len(part.text)] == part.text != ""
        before = text[: part.start].replace("\r\n", "\n")
        assert part.line <= len(before.splitlines()) + 1
        assert part.column <= part.start + 1


@pytest.mark.parametrize("by", ["\n", "\r\n", "\r"])
def test_line_and_column_count_from_one(by: str) -> None:
    (first, second) = reading_of(f"DOT-3AL3000{by}~~~ Z1{by}  5 A1/32 21 ~~").unread
    assert (first.line, first.column, second.line, second.column) == (2, 1, 3, 14)


@ORDINARY
@given(texts, texts)
def test_a_text_that_is_not_blank_is_never_passed_over_in_silence(first: str, second: str) -> None:
    reading = reading_of(first + second)
    said = reading.marks or reading.questions or reading.warnings or reading.unread
    visible = [char for char in first + second if char.isalnum()]
    assert said or not visible


@ORDINARY
@given(original_marks())
def test_reading_a_rendered_specification_mark_gives_it_back(mark: OriginalMark) -> None:
    reading = reading_of(render(mark))
    assert reading.marks == (mark,)
    assert not reading.unread


@ORDINARY
@given(requalification_marks)
def test_reading_a_rendered_requalification_gives_it_back(mark: RequalificationMark) -> None:
    assert reading_of(render(mark)).marks == (mark,)


@ORDINARY
@given(un_marks())
def test_reading_a_rendered_un_stamp_gives_it_back(mark: UnMark) -> None:
    reading = reading_of(render(mark))
    assert reading.marks == (mark,)
    assert not reading.unread


@ORDINARY
@given(un_marks(), st.permutations(range(3)))
def test_the_order_of_the_lines_of_a_un_stamp_does_not_matter(
    mark: UnMark, order: list[int]
) -> None:
    lines = render(mark).split("\n")
    assert reading_of("\n".join(lines[n] for n in order)).marks == (mark,)


@ORDINARY
@given(original_marks(), requalification_marks)
def test_a_later_requalification_without_plus_takes_the_plus_away(
    mark: OriginalMark, later: RequalificationMark
) -> None:
    reading = reading_of(f"{render(mark)}\n{render(later)}")
    assert reading.latest_requalification == later
    assert not reading.plus_stands or (later.plus and mark.row.plus_allowed)


@ORDINARY
@given(requalification_marks, DAYS)
def test_a_requalification_ahead_of_the_day_never_counts(
    mark: RequalificationMark, day: dt.date
) -> None:
    reading = read(render(mark), on=day)
    latest = reading.latest_requalification
    assert latest is None or (latest.date.year, latest.date.month) <= (day.year, day.month)


@ORDINARY
@given(texts)
def test_the_case_of_letters_and_the_width_of_letters_change_nothing(text: str) -> None:
    plain = "".join(char for char in text if char.isascii())
    wide = "".join(chr(ord(c) + 0xFEE0) if "!" <= c <= "~" else c for c in plain)
    expected = reading_of(plain)
    for other in (plain.lower(), wide):
        found = reading_of(other)
        assert found.marks == expected.marks
        assert [part.start for part in found.unread] == [part.start for part in expected.unread]


@ORDINARY
@given(texts)
def test_a_condemned_mark_is_never_lost_among_other_text(text: str) -> None:
    assert reading_of(f"{text}\nCONDEMNED\n{text}").condemned


@ORDINARY
@given(st.integers(0, 99), st.integers(1, 12), DAYS)
def test_a_requalification_year_ends_in_the_digits_that_are_stamped(
    digits: int, month: int, day: dt.date
) -> None:
    marks = read(f"{month} A1/32 {digits:02d}", on=day).marks
    assert len(marks) == 1
    (mark,) = marks
    assert isinstance(mark, RequalificationMark)
    assert mark.date.year % 100 == digits
    assert day.year - 100 < mark.date.year <= day.year + 10
