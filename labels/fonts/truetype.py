"""Reads from a TrueType file what a layout needs: which letters it has and how wide they are.

Only the tables ``head``, ``hhea``, ``hmtx``, ``OS/2`` and ``cmap`` (formats 4 and 12) are read;
see the OpenType specification, "Font tables". All measures are in 1/1000 of the letter size.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

_UNICODE_TABLES = ((3, 10), (0, 4), (3, 1), (0, 3))
_SEGMENTS, _GROUPS = 4, 12
_LAST_BMP = 0xFFFF


class FontError(ValueError):
    """Raised for a file that is no TrueType font or lacks a table that is needed."""


@dataclass(frozen=True, slots=True)
class Metrics:
    """Advance widths by code point, and heights above and below the baseline."""

    widths: dict[int, float]
    cap_height: float
    ascent: float
    descent: float


def read(path: Path) -> Metrics:
    """Read the metrics of one font file; raises :class:`FontError`."""
    data = path.read_bytes()
    try:
        return _read(data)
    except (struct.error, KeyError, IndexError) as error:
        raise FontError(f"{path.name} is no TrueType font that can be used: {error!r}") from error


def _read(data: bytes) -> Metrics:
    count = struct.unpack_from(">H", data, 4)[0]
    at: dict[bytes, int] = {}
    for entry in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sIII", data, 12 + 16 * entry)
        at[tag] = offset
    scale = 1_000 / struct.unpack_from(">H", data, at[b"head"] + 18)[0]
    ascent, descent = struct.unpack_from(">hh", data, at[b"hhea"] + 4)
    long_metrics = struct.unpack_from(">H", data, at[b"hhea"] + 34)[0]
    advances = [
        width * scale
        for width, _ in struct.iter_unpack(
            ">Hh", data[at[b"hmtx"] : at[b"hmtx"] + 4 * long_metrics]
        )
    ]
    widths = {
        point: advances[min(glyph, long_metrics - 1)]
        for point, glyph in _character_map(data, at[b"cmap"])
        if glyph
    }
    return Metrics(
        widths=widths,
        cap_height=struct.unpack_from(">h", data, at[b"OS/2"] + 88)[0] * scale,
        ascent=ascent * scale,
        descent=-descent * scale,
    )


def _character_map(data: bytes, start: int) -> Iterator[tuple[int, int]]:
    count = struct.unpack_from(">H", data, start + 2)[0]
    tables: dict[tuple[int, int], int] = {}
    for entry in range(count):
        platform, encoding, offset = struct.unpack_from(">HHI", data, start + 4 + 8 * entry)
        tables[platform, encoding] = start + offset
    for wanted in _UNICODE_TABLES:
        if wanted in tables:
            table = tables[wanted]
            shape = struct.unpack_from(">H", data, table)[0]
            if shape == _SEGMENTS:
                return _segments(data, table)
            if shape == _GROUPS:
                return _groups(data, table)
    raise KeyError("no Unicode character map of format 4 or 12")


def _segments(data: bytes, table: int) -> Iterator[tuple[int, int]]:
    doubled = struct.unpack_from(">H", data, table + 6)[0]
    count = doubled // 2
    ends = struct.unpack_from(f">{count}H", data, table + 14)
    starts = struct.unpack_from(f">{count}H", data, table + 16 + doubled)
    deltas = struct.unpack_from(f">{count}H", data, table + 16 + 2 * doubled)
    ranges_at = table + 16 + 3 * doubled
    ranges = struct.unpack_from(f">{count}H", data, ranges_at)
    for index, (first, last) in enumerate(zip(starts, ends, strict=True)):
        for point in range(first, min(last, _LAST_BMP - 1) + 1):
            glyph = point
            if ranges[index]:
                where = ranges_at + 2 * index + ranges[index] + 2 * (point - first)
                glyph = struct.unpack_from(">H", data, where)[0]
                if not glyph:
                    continue
            yield point, (glyph + deltas[index]) & _LAST_BMP


def _groups(data: bytes, table: int) -> Iterator[tuple[int, int]]:
    count = struct.unpack_from(">I", data, table + 12)[0]
    for entry in range(count):
        first, last, glyph = struct.unpack_from(">III", data, table + 16 + 12 * entry)
        for point in range(first, last + 1):
            yield point, glyph + point - first
