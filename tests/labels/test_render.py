"""Dots are exact, reprints are identical, sheets start where they are told to."""

import dataclasses
import itertools
import subprocess
import sys
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image

from labels import render_pdf, render_raster
from labels.sheets import media
from labels.sheets.media import A4, LETTER, READY_CUT, ROLL_4X6, ROLL_62, MediumFault
from tests.labels.samples import (
    URL,
    cylinder_tag,
    every_sheet,
    manifest,
    pages,
    picture,
    read_all,
    seeded_codes,
    symbol,
    tags,
)

TAGS = tags()


def runs_of(line: bytes) -> list[int]:
    """Lengths of equal neighbours."""
    return [len(list(equal)) for _, equal in itertools.groupby(line)]


def dark_box(drawn: Image.Image) -> tuple[int, int, int, int]:
    box = Image.eval(drawn.convert("L"), lambda value: 255 - value).getbbox()
    assert box is not None
    return box


@pytest.mark.parametrize(("dpi", "module"), [(203, 6), (300, 9), (600, 18)])
def test_every_module_of_the_raster_is_the_same_whole_number_of_dots(dpi: int, module: int) -> None:
    """The timing row and column alternate with every module."""
    drawn = picture(render_raster.png(cylinder_tag(), dpi=dpi)).convert("L")
    left = drawn.crop((0, 0, drawn.width // 2, round(29 * drawn.height / 62)))
    x0, y0, x1, y1 = dark_box(left)
    assert (x1 - x0, y1 - y0) == (29 * module, 29 * module)
    middle = 6 * module + module // 2
    row = left.crop((x0, y0 + middle, x1, y0 + middle + 1))
    column = left.crop((x0 + middle, y0, x0 + middle + 1, y1))
    for line in (row, column):
        assert runs_of(line.tobytes()) == [7 * module, *[module] * 15, 7 * module]


@settings(deadline=None)  # a busy machine is no fault
@given(st.sampled_from(seeded_codes(40)), st.sampled_from([203, 300, 600]))
def test_the_raster_of_a_symbol_is_the_stored_modules_and_nothing_else(code: str, dpi: int) -> None:
    drawn = picture(render_raster.png(cylinder_tag(code), dpi=dpi)).convert("L")
    left = drawn.crop((0, 0, drawn.width // 2, round(29 * drawn.height / 62)))
    x0, y0, x1, _ = dark_box(left)
    module = (x1 - x0) // 29
    small = left.crop((x0, y0, x1, y0 + 29 * module)).resize((29, 29), Image.Resampling.BOX)
    assert set(small.get_flattened_data()) <= {0, 255}
    rows = symbol(code).rows
    assert [255 * (m == "0") for row in rows for m in row] == list(small.get_flattened_data())


@pytest.mark.parametrize("dpi", [600, 1200])
def test_every_module_of_the_pdf_is_the_same_whole_number_of_600_dpi_dots(dpi: int) -> None:
    module = 18 * dpi // 600
    [page] = pages(render_pdf.pdf([cylinder_tag()], ROLL_62), dpi)
    left = page.crop((0, 0, page.width // 2, round(29 * page.height / 62)))
    left = left.point(lambda value: 0 if value < 128 else 255)
    x0, y0, x1, y1 = dark_box(left)
    assert (x1 - x0, y1 - y0) == (29 * module, 29 * module)
    middle = 6 * module + module // 2
    row = left.crop((x0, y0 + middle, x1, y0 + middle + 1))
    assert runs_of(row.tobytes()) == [7 * module, *[module] * 15, 7 * module]


@pytest.mark.parametrize("name", TAGS)
def test_a_reprint_has_the_same_bytes(name: str) -> None:
    content = TAGS[name]
    for dpi in (203, 300):
        assert render_raster.png(content, dpi=dpi) == render_raster.png(content, dpi=dpi)
    assert render_pdf.pdf([content], A4) == render_pdf.pdf([content], A4)


def test_another_process_prints_the_same_bytes() -> None:
    """Whatever was drawn before, in whatever order, leaves no trace in the file."""
    script = (
        "import hashlib, random\n"
        "from labels import render_pdf, render_raster\n"
        "from labels.sheets.media import A4\n"
        "from tests.labels.samples import tags\n"
        "t = tags(); names = sorted(t); random.shuffle(names)\n"
        "for n in names: render_pdf.pdf([t[n]], A4); render_raster.png(t[n])\n"
        "d = hashlib.sha256(render_pdf.pdf(list(t.values()), A4))\n"
        "for n in sorted(t): d.update(render_raster.png(t[n]))\n"
        "print(d.hexdigest())\n"
    )
    runs = {
        subprocess.run(
            [sys.executable, "-c", script], capture_output=True, text=True, check=True
        ).stdout
        for _ in range(2)
    }
    assert len(runs) == 1


def test_a_resolution_that_no_printer_has_is_refused() -> None:
    with pytest.raises(ValueError, match="96 dpi is no printer here"):
        render_raster.png(cylinder_tag(), dpi=96)


@pytest.mark.parametrize(
    ("dpi", "size"), [(203, (496, 496)), (300, (732, 732)), (600, (1465, 1465))]
)
def test_a_tag_for_a_62_mm_roll_is_as_wide_as_the_roll(dpi: int, size: tuple[int, int]) -> None:
    assert picture(render_raster.png(cylinder_tag(), dpi=dpi, roll=ROLL_62)).size == size


@pytest.mark.parametrize(
    ("dpi", "size"), [(203, (813, 1219)), (300, (1200, 1800)), (600, (2400, 3600))]
)
@pytest.mark.sampled(of=3)
def test_a_4_by_6_inch_piece_is_filled_and_reads(dpi: int, size: tuple[int, int]) -> None:
    for name, content in TAGS.items():
        drawn = picture(render_raster.png(content, dpi=dpi, roll=ROLL_4X6))
        assert (name, drawn.size) == (name, size)
        assert read_all(drawn) == [URL, URL]


def test_a_label_larger_than_the_roll_is_refused() -> None:
    with pytest.raises(MediumFault, match="does not fit 62mm"):
        render_raster.png(manifest(), dpi=203, roll=ROLL_62)
    with pytest.raises(MediumFault, match="does not fit"):
        render_pdf.pdf([manifest()], ROLL_4X6)


def test_nothing_to_print_is_an_error() -> None:
    with pytest.raises(MediumFault, match="no label"):
        render_pdf.pdf([], A4)


def many(count: int) -> list[str]:
    return seeded_codes(count, seed=count)


@pytest.mark.parametrize("medium", [A4, LETTER, *READY_CUT.values()])
@pytest.mark.parametrize("start", [1, 2, 6])
@pytest.mark.sampled(of=4)
def test_a_sheet_of_labels_starts_at_label_n_and_every_label_reads(
    medium: media.Page | media.Grid, start: int
) -> None:
    listed = many(9)
    printed = render_pdf.pdf([cylinder_tag(code) for code in listed], medium, start=start)
    found = [text for page in pages(printed, 200) for text in read_all(page)]
    assert sorted(set(found)) == sorted(symbol(code).url for code in listed)
    assert len(found) == 18


def test_starting_at_label_two_leaves_the_first_place_white() -> None:
    first, second = (
        pages(render_pdf.pdf([cylinder_tag()], A4, start=start), 150)[0] for start in (1, 2)
    )
    scale = 150 / 25.4
    place = (9 * scale, 13 * scale, 68 * scale, 72 * scale)
    assert dark_box(first.crop(place))
    white = second.crop(place)
    assert white.getextrema() == (255, 255)


@pytest.mark.parametrize("start", [0, -1, 9])
def test_a_start_that_is_not_on_the_page_is_refused(start: int) -> None:
    with pytest.raises(MediumFault):
        render_pdf.pdf([cylinder_tag()], READY_CUT["a4-8"], start=start)


@pytest.mark.parametrize("page", [A4, LETTER])
def test_the_check_bar_is_50_mm_long_on_the_first_page_only(page: media.Page) -> None:
    printed = pages(render_pdf.pdf([cylinder_tag(code) for code in many(13)], page), 600)
    assert len(printed) == 2
    band = [
        one.crop((0, round(4.9 * 600 / 25.4), round(72 * 600 / 25.4), round(5.15 * 600 / 25.4)))
        for one in printed
    ]
    x0, _, x1, _ = dark_box(band[0].point(lambda value: 0 if value < 128 else 255))
    assert abs((x1 - x0) * 25.4 / 600 - 50.25) < 0.1  # the bar and half of both end marks
    assert band[1].getextrema() == (255, 255)


def test_a_calibration_moves_every_label_and_may_not_push_one_off_the_page() -> None:
    grid = READY_CUT["letter-6"].moved(1.0, -2.0)
    assert next(grid.places(1)) == (0, 5.0, 10.7)
    with pytest.raises(MediumFault, match="leave the letter page"):
        READY_CUT["letter-6"].moved(10, 0)


def test_labels_of_several_sizes_share_a_page_without_overlapping() -> None:
    sizes = [(62.0, 62.0), (62.0, 101.5), (62.0, 83.0), (62.0, 62.0), (62.0, 101.5)] * 2
    placed = list(media.flow(A4, sizes))
    for index, (page, x, y) in enumerate(placed):
        width, height = sizes[index]
        assert x >= 0
        assert x + width <= A4.width
        assert y + height <= A4.height - A4.foot + 1e-6
        for other in range(index):
            page_2, x_2, y_2 = placed[other]
            width_2, height_2 = sizes[other]
            apart = (
                page != page_2
                or x >= x_2 + width_2
                or x_2 >= x + width
                or y >= y_2 + height_2
                or y_2 >= y + height
            )
            assert apart


def test_a_pdf_names_no_moment_and_no_machine() -> None:
    for content in every_sheet().values():
        medium = A4 if not isinstance(content, type(manifest())) else content.page
        printed = render_pdf.pdf([content], medium, title="Run 7")
        assert b"Run 7" in printed
        assert b"/CreationDate (D:2000" in printed


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"columns": 0}, "needs a column and a row"),
        ({"columns": 3}, "to 307, 284.1 mm leave"),
        ({"rows": 5}, "leave the a4 page"),
        ({"x0": -1.0}, "leave the a4 page"),
        ({"y0": 40.0}, "leave the a4 page"),
        ({"dx": 90.0}, "overlap"),
        ({"dy": 60.0}, "overlap"),
    ],
)
def test_a_grid_that_cannot_be_is_refused_when_it_is_written(
    wrong: dict[str, Any], says: str
) -> None:
    with pytest.raises(MediumFault, match=says):
        dataclasses.replace(READY_CUT["a4-8"], **wrong)


def test_a_label_larger_than_its_ready_cut_place_is_refused() -> None:
    with pytest.raises(MediumFault, match=r"does not fit the 99.1 x 67.8 mm"):
        render_pdf.pdf([TAGS["teardown"]], READY_CUT["a4-8"])
