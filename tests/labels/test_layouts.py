"""The rules that a layout is checked by when it is loaded."""

import pytest

from labels.sheets import boxes
from labels.sheets.boxes import (
    Box,
    CodeBox,
    FrameBox,
    KeepClear,
    Layout,
    LayoutFault,
    RuleBox,
    SymbolBox,
    TextBox,
    dots_per_module,
)
from labels.sheets.text import DoesNotFit, fit

SYMBOL = SymbolBox(x=2, y=2, w=25, h=25)


def load(*placed: Box) -> Layout:
    return Layout(name="trial", width=62, height=40, boxes=placed)


def words(**more: object) -> TextBox:
    given: dict[str, object] = {"x": 30, "y": 2, "w": 30, "h": 6, "text": "Serial", "size": 10}
    return TextBox(**{**given, **more})  # type: ignore[arg-type]  # a table of odd values


def test_a_sound_layout_loads() -> None:
    assert load(SYMBOL, words()).boxes == (SYMBOL, words())


@pytest.mark.parametrize(
    ("faulty", "says"),
    [
        ([words(x=40)], "leaves the label"),
        ([SymbolBox(x=2, y=20, w=25, h=25)], "leaves the label"),
        ([SYMBOL, words(x=26.5, w=20)], "overlaps"),
        ([SYMBOL, SymbolBox(x=26, y=2, w=25, h=25)], "overlaps"),
        ([SYMBOL, RuleBox(x=0, y=26.9, w=62, h=0.2)], "overlaps"),
        ([SYMBOL, FrameBox(x=1, y=1, w=20, h=20)], "overlaps"),
        ([KeepClear(x=30, y=0, w=9, h=9, why="hole"), words()], "overlaps"),
        ([RuleBox(x=30, y=0, w=30, h=9), words()], "overlaps"),
        ([SymbolBox(x=2, y=2, w=19.9, h=19.9)], "20 to 40 mm"),
        ([SymbolBox(x=2, y=2, w=25, h=24)], "square"),
        ([words(w=5)], "does not fit 5 x 6 mm"),
        ([words(h=2)], "does not fit"),
        ([words(text="", field="serial", longest="")], "no longest sample"),
        ([words(text="", field="serial", longest="K" * 40)], "does not fit"),
        ([words(text="\N{CJK UNIFIED IDEOGRAPH-6F5C}")], "no font here has U.6F5C"),
        ([CodeBox(x=2, y=2, w=40, h=8, size=16, smallest=16)], "does not fit"),
    ],
)
def test_a_layout_that_breaks_a_rule_never_loads(faulty: list[Box], says: str) -> None:
    with pytest.raises(LayoutFault, match=says) as fault:
        load(*faulty)
    assert "layout trial" in str(fault.value)


def test_a_symbol_wider_than_40_mm_would_wrap_too_far_round_a_cylinder() -> None:
    with pytest.raises(LayoutFault, match="20 to 40 mm"):
        Layout(name="wide", width=62, height=62, boxes=(SymbolBox(x=2, y=2, w=41, h=41),))


def test_white_words_may_stand_on_a_bar_and_boxes_in_a_frame() -> None:
    load(RuleBox(x=30, y=1, w=30, h=9), words(ink="white"))
    load(FrameBox(x=29, y=1, w=32, h=9), words())


@pytest.mark.parametrize(
    ("box", "dpi", "expected"),
    [(20, 203, 4), (25, 203, 5), (28.2, 203, 6), (28.2, 300, 9), (28.2, 600, 18), (20, 300, 6)],
)
def test_a_module_is_a_whole_number_of_dots(box: float, dpi: int, expected: int) -> None:
    assert dots_per_module(box, 37, dpi) == expected


def test_no_layout_in_use_has_a_module_under_four_dots_or_half_a_millimetre() -> None:
    for dpi in boxes.RESOLUTIONS:
        for size in (20.0, 22.0, 28.2):
            module = dots_per_module(size, 37, dpi)
            assert module >= 4
            assert module / boxes.dots(1_000, dpi) * 1_000 >= 0.5


def test_a_text_shrinks_before_it_is_refused() -> None:
    def shrunk(text: str, smallest: float) -> float:
        return fit(text, w=20, h=6, size=12, smallest=smallest, style="regular", mode="shrink").size

    assert shrunk("Serial", 6) == 12
    assert 6 <= shrunk("Serial number 1", 6) < 12
    with pytest.raises(DoesNotFit, match="shorten it"):
        shrunk("Serial number 1234567890", 9)


def test_a_long_remark_ends_in_an_ellipsis_only_where_that_is_allowed() -> None:
    fitted = fit("a" * 90, w=20, h=6, size=12, smallest=7, style="regular", mode="clip")
    assert fitted.lines[0].endswith("\N{HORIZONTAL ELLIPSIS}")
    assert fitted.size == 7


def test_words_break_at_blanks_but_not_between_a_number_and_its_unit() -> None:
    fitted = fit(
        "limit 10 % of the total", w=20, h=20, size=12, smallest=12, style="regular", mode="wrap"
    )
    assert len(fitted.lines) == 3
    assert any("10\N{NO-BREAK SPACE}%" in line for line in fitted.lines)


def test_a_word_wider_than_its_box_is_refused_and_not_cut() -> None:
    with pytest.raises(DoesNotFit):
        fit("K" * 60, w=20, h=20, size=12, smallest=8, style="regular", mode="wrap")


def test_a_long_remark_fills_its_lines_and_then_ends_in_an_ellipsis() -> None:
    words = "Permanent expansion above the limit " * 8
    fitted = fit(words, w=45, h=13.5, size=11, smallest=7.5, style="bold", mode="remark")
    assert len(fitted.lines) == 4
    assert fitted.lines[-1].endswith("\N{HORIZONTAL ELLIPSIS}")
    assert not any("\N{HORIZONTAL ELLIPSIS}" in line for line in fitted.lines[:-1])


def test_a_remark_of_one_endless_word_is_cut_in_one_line() -> None:
    fitted = fit("x" * 500, w=45, h=13.5, size=11, smallest=7.5, style="bold", mode="remark")
    assert len(fitted.lines) == 1
    assert fitted.lines[0].endswith("\N{HORIZONTAL ELLIPSIS}")
