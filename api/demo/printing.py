"""Tags and contents labels of the demonstration as files: PNG for two printers, and PDF."""

from dataclasses import dataclass
from pathlib import Path

from labels import render_pdf, render_raster
from labels.content import content_of
from labels.models import Tag
from labels.sheets.drawing import Content
from labels.sheets.media import ROLL_62

_RESOLUTIONS = (203, 300)


@dataclass(frozen=True, slots=True)
class Files:
    """Where one tag was written."""

    png_203: str
    pdf: str
    all: list[str]


def write_tag(tag: Tag, folder: Path) -> Files:
    """Write every face of ``tag`` at 203 and 300 dpi, and its PDF."""
    return write(content_of(tag), f"{tag.kind}-{tag.code}", folder)


def write(content: Content, name: str, folder: Path) -> Files:
    """Write every face of a label at 203 and 300 dpi, and its PDF."""
    folder.mkdir(parents=True, exist_ok=True)
    pictures = []
    for dpi in _RESOLUTIONS:
        for face in range(len(content.faces())):
            path = folder / f"{name}-{face + 1}-{dpi}dpi.png"
            path.write_bytes(render_raster.png(content, dpi=dpi, face=face))
            pictures.append(str(path))
    pdf = folder / f"{name}.pdf"
    pdf.write_bytes(render_pdf.pdf([content], ROLL_62))
    return Files(png_203=pictures[0], pdf=str(pdf), all=[*pictures, str(pdf)])
