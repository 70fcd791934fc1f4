"""The printers that the configuration names, and one way to send labels to any of them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from urllib.parse import urlsplit

from labels import render_pdf, render_raster
from labels.printing import ipp, raw, zpl
from labels.sheets.boxes import RESOLUTIONS
from labels.sheets.media import MEDIA, READY_CUT, Grid, Page, Roll

if TYPE_CHECKING:
    from collections.abc import Sequence

    from labels.sheets.drawing import Content

_RAW_PORT = 9100
_SCHEMES = ("tcp", "ipp", "ipps")
_KEYS = {"address", "dpi", "roll", "page", "offset"}


class PrinterSettingFault(ValueError):
    """Raised when the printer setting cannot be used; names the printer and the fault."""


@dataclass(frozen=True, slots=True)
class Printer:
    """One printer: where it is, what it is loaded with, and its dots for a raw printer."""

    name: str
    address: str
    medium: Roll | Page | Grid
    dpi: int = RESOLUTIONS[0]


def printers(setting: str) -> dict[str, Printer]:
    """Read the setting (JSON, empty for none); raises :class:`PrinterSettingFault`."""
    if not setting.strip():
        return {}
    try:
        named = json.loads(setting)
    except json.JSONDecodeError as error:
        raise PrinterSettingFault(f"the printers are no JSON: {error}") from error
    if not isinstance(named, dict) or not all(isinstance(one, dict) for one in named.values()):
        raise PrinterSettingFault("the printers must be an object of objects, one for each name")
    return {name: _printer(name, given) for name, given in named.items()}


def _printer(name: str, given: dict[str, Any]) -> Printer:
    if unknown := set(given) - _KEYS:
        raise PrinterSettingFault(f"printer {name}: unknown {', '.join(sorted(unknown))}")
    address = str(given.get("address", ""))
    try:
        parts = urlsplit(address)
        good = parts.scheme in _SCHEMES and bool(parts.hostname) and (parts.port or 1) > 0
    except ValueError:
        good = False
    if not good:
        schemes = ", ".join(f"{scheme}://" for scheme in _SCHEMES)
        raise PrinterSettingFault(f"printer {name}: the address must begin with {schemes}")
    dpi = given.get("dpi", RESOLUTIONS[0])
    if dpi not in RESOLUTIONS:
        raise PrinterSettingFault(f"printer {name}: dpi must be one of {RESOLUTIONS}")
    return Printer(name, address, _medium(name, given), dpi)


def _medium(name: str, given: dict[str, Any]) -> Roll | Page | Grid:
    media: dict[str, Roll | Page | Grid] = {**MEDIA, **READY_CUT}
    wanted = str(given.get("roll") or given.get("page") or "62mm")
    if wanted not in media:
        raise PrinterSettingFault(f"printer {name}: {wanted!r} is none of {', '.join(media)}")
    medium = media[wanted]
    if "offset" in given:
        if not isinstance(medium, Grid):
            raise PrinterSettingFault(f"printer {name}: only a ready-cut page has an offset")
        try:
            x, y = (float(one) for one in given["offset"])
            return medium.moved(x, y)
        except (TypeError, ValueError) as error:
            raise PrinterSettingFault(f"printer {name}: offset: {error}") from error
    return medium


def send(
    printer: Printer, contents: Sequence[Content], *, name: str, start: int = 1
) -> ipp.Job | None:
    """Print labels; ``name`` is what the printer's queue shows.

    A raw printer gets each face as dots, any other one PDF. Raises ``PrinterFault`` when nothing
    was printed and ``Unclear`` when that cannot be known; layout faults as the renderers do.
    """
    parts = urlsplit(printer.address)
    if parts.scheme != "tcp":
        document = render_pdf.pdf(contents, printer.medium, start=start, title=name)
        return ipp.print_job(printer.address, document, name=name)
    if not isinstance(printer.medium, Roll):
        raise PrinterSettingFault(f"printer {printer.name}: a raw printer needs a roll")
    commands = b"".join(
        zpl.label(render_raster.image(face, dpi=printer.dpi, roll=printer.medium))
        for content in contents
        for face in content.faces()
    )
    raw.send(parts.hostname or "", parts.port or _RAW_PORT, commands)
    return None
