"""Each sheet, drawn by each renderer, read back by readers that are not ours."""

import re
import xml.etree.ElementTree as ET

import pytest
from PIL import Image, ImageDraw

from labels import codes, render_pdf, render_raster, render_svg
from labels.sheets import kit_tag, manifest, media
from labels.sheets.cylinder_tag import CylinderTag
from labels.sheets.drawing import Mark, draw
from labels.sheets.kit_tag import KitTag
from labels.sheets.manifest import Manifest
from labels.sheets.scanner_test import ScannerTest
from labels.sheets.teardown_tag import TeardownTag
from labels.sheets.text import DoesNotFit
from labels.sheets.valve_bag import LAYOUTS, Oxygen, ValveBag
from tests.labels.samples import (
    CODE,
    URL,
    contents_label,
    cylinder_tag,
    every_sheet,
    pages,
    picture,
    read_all,
    read_by_opencv,
    symbol,
    tags,
)
from tests.labels.samples import (
    manifest as sample_manifest,
)

SHEETS = every_sheet()
TAGS = tags()


@pytest.mark.parametrize("name", TAGS)
@pytest.mark.parametrize("dpi", [203, 300, 600])
@pytest.mark.sampled(of=4)
def test_each_tag_as_dots_reads_twice_to_its_address(name: str, dpi: int) -> None:
    drawn = picture(render_raster.png(TAGS[name], dpi=dpi))
    assert drawn.mode == "1"
    assert read_all(drawn) == [URL, URL]
    assert set(read_by_opencv(drawn)) == {URL}


@pytest.mark.parametrize("name", TAGS)
@pytest.mark.parametrize("medium", ["62mm", "4x6", "a4", "letter"])
@pytest.mark.sampled(of=5)
def test_each_tag_as_pdf_reads_twice_to_its_address(name: str, medium: str) -> None:
    printed = render_pdf.pdf([TAGS[name]], media.MEDIA[medium])
    found = [text for page in pages(printed, 300) for text in read_all(page)]
    assert found == [URL, URL]


def drawn_from_svg(text: str, scale: int = 12) -> Image.Image:
    """The symbols of a preview, painted from its path data by this test."""
    root = ET.fromstring(text)  # noqa: S314 - our own text
    _, _, width, height = (float(one) for one in root.attrib["viewBox"].split())
    canvas = Image.new("L", (round(width * scale), round(height * scale)), 255)
    pen = ImageDraw.Draw(canvas)
    for path in root.iter("{http://www.w3.org/2000/svg}path"):
        x, y, module = (float(one) for one in re.findall(r"[0-9.]+", path.attrib["transform"]))
        for column, row, run in re.findall(r"M(\d+) (\d+)h(\d+)v1h-\d+z", path.attrib["d"]):
            left, top = x + int(column) * module, y + int(row) * module
            right, bottom = left + int(run) * module, top + module
            pen.rectangle([round(one * scale) for one in (left, top, right, bottom)], fill=0)
    return canvas


@pytest.mark.parametrize("name", TAGS)
@pytest.mark.sampled(of=4)
def test_each_preview_reads_twice_to_the_same_address(name: str) -> None:
    assert read_all(drawn_from_svg(render_svg.svg(TAGS[name]))) == [URL, URL]


def test_a_preview_escapes_what_it_was_given() -> None:
    tag = CylinderTag(symbol=symbol(), code=CODE, serial="<b>&'\"", shop="</text><script>")
    text = render_svg.svg(tag)
    assert "<b>" not in text
    assert "<script>" not in text
    words = "".join(ET.fromstring(text).itertext())  # noqa: S314 - our own text
    assert "<b>&'\"" in words


@pytest.mark.parametrize("page", [media.A4, media.LETTER])
@pytest.mark.parametrize("count", [1, 7, 8, 9, 24])
@pytest.mark.sampled(of=4)
def test_a_manifest_has_a_symbol_for_each_line_and_goes_on_over_pages(
    page: media.Page, count: int
) -> None:
    listed = sample_manifest(count, page)
    printed = pages(render_pdf.pdf([listed], page), 300)
    rows = manifest.rows_on(page)
    assert len(printed) == -(-count // rows)
    found = [text for sheet in printed for text in read_all(sheet)]
    assert sorted(found) == sorted(line.symbol.url for line in listed.lines)


def test_a_manifest_without_a_cylinder_is_not_printed() -> None:
    with pytest.raises(ValueError, match="without a cylinder"):
        Manifest(number="1", date="", sender="", receiver="", lines=()).faces()


def test_the_scanner_test_reads_to_the_test_text() -> None:
    drawn = picture(render_raster.png(ScannerTest(), dpi=203))
    assert read_all(drawn) == [codes.SCANNER_TEST] * 2


def test_nothing_is_printed_in_the_hole_on_either_side() -> None:
    tag = TAGS["teardown"]
    for face in range(2):
        drawn = picture(render_raster.png(tag, dpi=203, face=face)).convert("L")
        hole = drawn.crop((27 * 8, round(3.5 * 8), 35 * 8, round(11.5 * 8)))
        inside = Image.new("L", hole.size, 0)
        ImageDraw.Draw(inside).ellipse((0, 0, hole.width - 1, hole.height - 1), fill=255)
        pairs = zip(hole.get_flattened_data(), inside.get_flattened_data(), strict=True)
        dark = [ink for ink, kept in pairs if kept and not ink]
        assert dark == []


def test_the_reverse_of_the_teardown_tag_shows_the_code_in_large_type() -> None:
    _, reverse = TeardownTag(symbol=symbol(), code=CODE).faces()
    drawing = draw(reverse)
    lines = [item for item in drawing.varying if not isinstance(item, Mark)]
    assert [getattr(item, "text", "") for item in lines] == ["7K2M", "9QX4", "WBTCK"]
    assert all(getattr(item, "size", 0) >= 38 for item in lines)


@pytest.mark.parametrize(
    ("flag", "word", "icon"),
    [
        ("clean", "OXYGEN CLEAN", "clean"),
        ("not_clean", "NOT OXYGEN CLEAN", "not_clean"),
        ("unknown", "NOT KNOWN", "unknown"),
    ],
)
def test_the_oxygen_flag_is_a_word_and_a_shape(flag: Oxygen, word: str, icon: str) -> None:
    boxes = LAYOUTS[flag].boxes
    assert word in [getattr(box, "text", "") for box in boxes]
    assert icon in [getattr(box, "icon", "") for box in boxes]


def test_a_valve_whose_flag_nobody_knows_is_not_shown_as_clean() -> None:
    bag = ValveBag(symbol=symbol(), code=CODE)
    assert bag.faces()[0].layout is LAYOUTS["unknown"]


def test_a_kit_of_more_parts_than_rows_goes_on_with_the_same_symbols() -> None:
    kit = KitTag(symbol=symbol(), code=CODE, parts=tuple(f"Part {n}" for n in range(23)))
    faces = kit.faces()
    assert [face.values["part_of"] for face in faces] == ["1 of 3", "2 of 3", "3 of 3"]
    listed = [str(v) for face in faces for k, v in face.values.items() if k.startswith("part_")]
    assert [one for one in listed if one.startswith("Part")] == list(kit.parts)
    for number in range(3):
        drawn = picture(render_raster.png(kit, dpi=203, face=number))
        assert read_all(drawn) == [URL, URL]


def test_an_empty_kit_leaves_rows_for_a_pen() -> None:
    [face] = KitTag(symbol=symbol(), code=CODE).faces()
    assert face.layout is kit_tag.LAYOUTS[kit_tag.MOST_ROWS]


@pytest.mark.parametrize("code", ["WWWWWWWWWWWWW", "MMMMMMMMMMMMM", "1111111111111"])
def test_the_widest_and_the_narrowest_code_fit_every_tag_whole(code: str) -> None:
    for dpi in (203, 300):
        render_raster.png(CylinderTag(symbol=symbol(), code=code), dpi=dpi)
        render_raster.png(TeardownTag(symbol=symbol(), code=code), dpi=dpi, face=1)


def test_a_serial_too_long_to_print_is_refused_and_never_cut() -> None:
    with pytest.raises(DoesNotFit, match="KKKK"):
        render_raster.png(CylinderTag(symbol=symbol(), code=CODE, serial="K" * 60))


def test_a_long_outlet_takes_two_lines_and_is_printed_whole() -> None:
    outlet = "DIN G 5/8 for 300 bar with a screwed-in yoke adapter, 232 bar"
    [face] = ValveBag(symbol=symbol(), code=CODE, outlet=outlet).faces()
    shown = [getattr(item, "text", "") for item in draw(face).varying]
    assert outlet in " ".join(shown).replace("\N{NO-BREAK SPACE}", " ")


def test_no_sheet_shows_a_persons_name_field() -> None:
    """A tag hangs in public view: initials at most."""
    for content in SHEETS.values():
        fields = set(getattr(content, "__dataclass_fields__", {}))
        assert not fields & {"customer", "owner", "person", "phone", "email"}


def test_words_say_where_a_person_without_a_reader_types_the_code() -> None:
    [face] = cylinder_tag().faces()
    assert face.values["typed_at"] == "no reader? type it at tag.example/t"


def test_the_contents_label_shows_gas_depth_pressure_and_who_analysed_it() -> None:
    [face] = contents_label().faces()
    shown = {getattr(item, "text", "") for item in draw(face).items}
    assert {
        "NITROX 32",
        "O2 31.8 %",
        "34 m / 111 ft",
        "at pO2 1.40 bar",
        "207 bar / 3000 psi",
        "2026-11-25",
        "J.D.",
        "7K2M",
        "9QX4",
        "WBTCK",
    } <= shown
