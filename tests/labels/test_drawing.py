"""Whatever is written on a label stays in its place, or is refused."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from labels import fonts
from labels.sheets import (
    boxes,
    condemned_tag,
    contents_label,
    cylinder_tag,
    kit_tag,
    manifest,
    scanner_test,
    teardown_tag,
    valve_bag,
)
from labels.sheets.boxes import CodeBox, Layout, SymbolBox, TextBox
from labels.sheets.drawing import Bar, Face, Mark, Shape, Words, draw
from labels.sheets.text import TAIL, DoesNotFit
from tests.labels.samples import CODE, seeded_codes, symbol

LAYOUTS = [
    cylinder_tag.LAYOUT,
    teardown_tag.FRONT,
    teardown_tag.REVERSE,
    *valve_bag.LAYOUTS.values(),
    *kit_tag.LAYOUTS.values(),
    contents_label.LAYOUT,
    condemned_tag.LAYOUT,
    scanner_test.LAYOUT,
    *manifest.LAYOUTS.values(),
]
TEXT = st.text(alphabet=st.characters(codec="latin-1", exclude_categories=["C"]), max_size=90)


def fields(layout: Layout) -> list[TextBox]:
    return [box for box in layout.boxes if isinstance(box, TextBox) and box.field]


@settings(deadline=None)
@given(st.sampled_from(LAYOUTS), st.data())
def test_words_never_leave_their_box(layout: Layout, data: st.DataObject) -> None:
    listed = fields(layout)
    if not listed:
        return
    box = data.draw(st.sampled_from(listed))
    text = data.draw(TEXT)
    try:
        drawing = draw(Face(layout, {box.field: text}))
    except (DoesNotFit, fonts.GlyphMissing):
        return
    for item in drawing.varying:
        if isinstance(item, Words):
            assert item.x >= box.x - 1e-6
            assert item.x + item.width <= box.x + box.w + 1e-6
            assert item.y - fonts.cap_height(box.style, item.size) >= box.y - 1e-6
            tail = TAIL * item.size * fonts.MM_PER_POINT
            assert item.y + tail <= box.y + box.h + 1e-6


@given(st.sampled_from(LAYOUTS), st.sampled_from(seeded_codes(50)))
def test_a_code_never_leaves_its_box_and_is_never_cut(layout: Layout, code: str) -> None:
    for box in layout.boxes:
        if not isinstance(box, CodeBox):
            continue
        drawing = draw(Face(layout, {box.field: code}))
        words = [item for item in drawing.varying if isinstance(item, Words)]
        assert "".join(item.text for item in words).replace(" ", "") == code
        for item in words:
            assert box.x - 1e-6 <= item.x
            assert item.x + item.width <= box.x + box.w + 1e-6
            assert box.smallest <= item.size <= box.size


@pytest.mark.parametrize("layout", LAYOUTS, ids=lambda layout: layout.name)
def test_nothing_that_is_always_there_touches_a_symbols_box(layout: Layout) -> None:
    marks = [box for box in layout.boxes if isinstance(box, SymbolBox)]
    for item in draw(Face(layout, {})).fixed:
        if isinstance(item, Bar):
            place = boxes.Box(x=item.x, y=item.y, w=item.w, h=item.h)
        elif isinstance(item, Shape):
            xs, ys = zip(*item.points, strict=True)
            place = boxes.Box(x=min(xs), y=min(ys), w=max(xs) - min(xs), h=max(ys) - min(ys))
        elif isinstance(item, Words):
            height = item.size * fonts.MM_PER_POINT
            place = boxes.Box(x=item.x, y=item.y - height * 0.7, w=item.width, h=height * 0.92)
        assert not any(place.overlaps(mark) for mark in marks)


def test_a_field_without_a_value_leaves_its_place_white() -> None:
    assert draw(Face(cylinder_tag.LAYOUT, {})).varying == ()
    assert draw(Face(cylinder_tag.LAYOUT, {"serial": ""})).varying == ()


def test_what_all_labels_share_is_worked_out_once() -> None:
    one = draw(Face(cylinder_tag.LAYOUT, {"code": CODE}))
    other = draw(Face(cylinder_tag.LAYOUT, {"serial": "K1", "symbol": symbol()}))
    assert one.fixed is other.fixed
    assert sum(isinstance(item, Mark) for item in other.varying) == 2
