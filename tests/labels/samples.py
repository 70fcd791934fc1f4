"""One of each sheet with plausible, invented content, and ways to read a picture back."""

import io
import random

import cv2
import numpy as np
import pypdfium2  # type: ignore[import-untyped]  # it ships no types
import zxingcpp
from PIL import Image

from labels import codes, qr
from labels.qr import Symbol
from labels.sheets import media
from labels.sheets.condemned_tag import CondemnedTag
from labels.sheets.contents_label import ContentsLabel
from labels.sheets.cylinder_tag import CylinderTag
from labels.sheets.drawing import Content
from labels.sheets.kit_tag import KitTag
from labels.sheets.manifest import Manifest, ManifestLine
from labels.sheets.scanner_test import ScannerTest
from labels.sheets.teardown_tag import TeardownTag
from labels.sheets.valve_bag import ValveBag

HOST = "tag.example"
CODE = "7K2M9QX4WBTCK"
URL = "https://TAG.EXAMPLE/T/7K2M9QX4WBTCK"
SHOP = "Example Harbour Dive Centre, 555-0100"


def seeded_codes(count: int, seed: int = 20261125) -> list[str]:
    """The same valid codes every time."""
    source = random.Random(seed)
    return [codes.new_code(lambda: source.getrandbits(codes.RANDOM_BITS)) for _ in range(count)]


def symbol(code: str = CODE) -> Symbol:
    return qr.symbol(HOST, code)


def cylinder_tag(code: str = CODE) -> CylinderTag:
    return CylinderTag(
        symbol=symbol(code), code=code, specification="DOT-3AL 3000", serial="K123456", shop=SHOP
    )


def contents_label() -> ContentsLabel:
    return ContentsLabel(
        symbol=symbol(),
        code=CODE,
        gas="NITROX 32",
        analysis="O2 31.8 %",
        mod="34 m / 111 ft",
        at_ppo2="at pO2 1.40 bar",
        pressure="207 bar / 3000 psi",
        date="2026-11-25",
        initials="J.D.",
    )


def tags() -> dict[str, Content]:
    """Every sheet that fits a 62 mm roll and bears a tag's symbol."""
    mark = symbol()
    return {
        "cylinder": cylinder_tag(),
        "blank": CylinderTag(symbol=mark, code=CODE, shop=SHOP),
        "teardown": TeardownTag(
            symbol=mark,
            code=CODE,
            serial="K123456",
            specification="DOT-3AL 3000",
            order="2026-0042",
            date="2026-11-25",
            parts="valve in bag, 4 in kit",
        ),
        "bag": ValveBag(
            symbol=mark,
            code=CODE,
            cylinder="K123456",
            thread="0.750-14 NGS",
            outlet="yoke",
            serial="V-20311",
            oxygen="clean",
        ),
        "bag not clean": ValveBag(symbol=mark, code=CODE, cylinder="K1", oxygen="not_clean"),
        "bag unknown": ValveBag(symbol=mark, code=CODE, cylinder="K1"),
        "kit": KitTag(symbol=mark, code=CODE, cylinder="K123456", parts=("Boot", "Net", "Handle")),
        "contents": contents_label(),
        "condemned": CondemnedTag(
            symbol=mark,
            code=CODE,
            serial="K123456",
            specification="DOT-3AL 3000",
            reason="Permanent expansion 10.4 % of total, limit 10 %",
            date_and_by="2026-11-25  Z999  J.D.",
        ),
    }


def manifest(count: int = 11, page: media.Page = media.A4) -> Manifest:
    return Manifest(
        number="2026-0042",
        date="2026-11-25",
        sender="Example Harbour Dive Centre",
        receiver="Northgate Example Testing, Z999",
        page=page,
        lines=tuple(
            ManifestLine(
                symbol=symbol(code),
                code=code,
                serial=f"K{number}",
                specification="DOT-3AL 3000",
                services="water jacket, visual, eddy current",
            )
            for number, code in enumerate(seeded_codes(count))
        ),
    )


def every_sheet() -> dict[str, Content]:
    """All sheets."""
    return {**tags(), "scanner test": ScannerTest(), "manifest": manifest()}


def picture(png: bytes) -> Image.Image:
    return Image.open(io.BytesIO(png))


def pages(pdf: bytes, dpi: int = 600) -> list[Image.Image]:
    """The pages of a PDF as grey pictures, by a rasteriser that is not ours."""
    document = pypdfium2.PdfDocument(pdf)
    return [page.render(scale=dpi / 72, grayscale=True).to_pil() for page in document]


def read_all(image: Image.Image) -> list[str]:
    """Every symbol of any bar code kind in a picture, one text for each, sorted."""
    return sorted(found.text for found in zxingcpp.read_barcodes(image.convert("L")))


def read_by_opencv(image: Image.Image) -> list[str]:
    """The texts that the second, independent reader finds: at least one of a pair.

    Its detector loses sharp symbols in large pictures, so smaller copies are tried as well.
    """
    for shrink in (1, 2, 3, 4):
        copy = image.convert("L").reduce(shrink)
        _, texts, _, _ = cv2.QRCodeDetector().detectAndDecodeMulti(np.asarray(copy))
        if found := sorted(text for text in texts if text):
            return found
    return []
