from pathlib import Path

import pypdfium2  # type: ignore[import-untyped]  # it ships no types
import pytest
from PIL import ImageFont

from labels import fonts, render_pdf, render_raster, render_svg
from labels.sheets import media
from labels.sheets.cylinder_tag import CylinderTag
from tests.labels.samples import CODE, symbol


@pytest.mark.parametrize("name", ["regular", "bold", "noto"])
def test_widths_are_those_that_another_reader_of_the_font_measures(name: str) -> None:
    """FreeType at 1,000 dots to the letter, no hinting of note at that size."""
    metrics = fonts.metrics(name)
    face = ImageFont.truetype(fonts.path_of(name), 1_000, layout_engine=ImageFont.Layout.BASIC)
    for letter in f"{CODE}abcxyzÄÖßéñ%/,.-":
        assert face.getlength(letter) == pytest.approx(metrics.widths[ord(letter)], abs=1)


def test_a_text_in_several_scripts_is_split_by_font_letter_by_letter() -> None:
    assert [(run.font, run.text) for run in fonts.runs("Łódź Αθήνα 7", "bold")] == [
        ("bold", "Łódź "),
        ("noto", "Αθήνα"),
        ("bold", " 7"),
    ]


def test_a_letter_and_its_accent_are_printed_as_one() -> None:
    assert fonts.runs("e\u0301", "regular") == fonts.runs("é", "regular")


@pytest.mark.parametrize(
    ("text", "names"),
    [("潜水", "U+6F5C"), ("a\u202eb", "U+202E"), ("\x00", "U+0000"), ("😀", "U+1F600")],
)
def test_a_letter_that_no_font_has_is_refused_by_name(text: str, names: str) -> None:
    with pytest.raises(fonts.GlyphMissing, match=names.replace("+", r"\+")):
        fonts.runs(text, "regular")


@pytest.mark.parametrize(
    "text", ["\u0633\u0644\u0627\u0645", "\u05e9\u05dc", "\u0939\u093f", "x\u0323\u0302"]
)
def test_a_script_that_needs_shaping_is_refused_and_not_printed_wrongly(text: str) -> None:
    with pytest.raises(fonts.GlyphMissing, match=r"join or run|no font here"):
        fonts.runs(text, "regular")


def test_a_font_that_a_shop_adds_is_the_last_resort(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fonts, "_PATHS", dict(fonts._PATHS))
    monkeypatch.setattr(fonts, "_FALLBACKS", [])
    fonts.runs.cache_clear()
    with pytest.raises(fonts.GlyphMissing):
        fonts.runs("\u0416", "regular")
    added = fonts.add(fonts.path_of("noto"))
    assert [run.font for run in fonts.runs("\u0416", "regular")] == [added]
    fonts.runs.cache_clear()


def test_names_in_several_scripts_print_in_every_form() -> None:
    sea = "\u041c\u043e\u0440\u0435"
    shop = f"\u0391\u03b8\u03ae\u03bd\u03b1 {sea} \u0141\u00f3d\u017a"
    tag = CylinderTag(symbol=symbol(), code=CODE, shop=shop)
    drawn = render_raster.png(tag)
    assert drawn != render_raster.png(CylinderTag(symbol=symbol(), code=CODE))
    document = pypdfium2.PdfDocument(render_pdf.pdf([tag], media.ROLL_62))
    assert sea in document[0].get_textpage().get_text_bounded()
    assert sea in render_svg.svg(tag)


def test_a_file_that_is_no_font_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "x.ttf"
    path.write_bytes(b"\x00\x01\x00\x00" + b"\x00" * 40)
    with pytest.raises(fonts.FontError, match=r"x\.ttf"):
        fonts.add(path)


def test_every_font_comes_with_its_licence() -> None:
    folder = fonts.path_of("regular").parent
    for licence in ("AtkinsonHyperlegible-OFL.txt", "NotoSans-OFL.txt"):
        assert "SIL OPEN FONT LICENSE Version 1.1" in (folder / licence).read_text()
    named = (folder / "README.txt").read_text()
    assert all(path.name in named for path in folder.glob("*.ttf"))
