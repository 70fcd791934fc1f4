"""QR symbols (ISO/IEC 18004): the only place that knows the two encoders.

A tag's payload is ``https`` in lower case (phones are choosy about the scheme) and the rest in
capitals, so that it fits the alphanumeric mode: version 3 (29 x 29 modules) at level Q, which
mends a quarter of the symbol. Version, level and mask are fixed, because the encoders' own choice
of mask differs. One encoder makes the symbol, the other must make the same one, or nothing is
minted; the modules are then kept as text with the tag and never computed again.
"""

from __future__ import annotations

import base64
import io
import re
from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, Any, Literal

import segno
from qrcode import QRCode
from qrcode.constants import (
    ERROR_CORRECT_H,
    ERROR_CORRECT_L,
    ERROR_CORRECT_M,
    ERROR_CORRECT_Q,
)
from qrcode.util import MODE_8BIT_BYTE, MODE_ALPHA_NUM, QRData
from segno import consts

from labels import codes

if TYPE_CHECKING:
    from collections.abc import Sequence

SCHEME = "https"
TAG_PATH = "/T/"
VERSION, LEVEL, MASK = 3, "Q", 3
QUIET_MODULES = 4

#: Data bits of version 3 at level Q: 34 code words (ISO/IEC 18004:2015, table 7).
_CAPACITY_BITS = 34 * 8
_MODE_BITS, _TERMINATOR_BITS, _BYTE_COUNT_BITS, _ALPHANUMERIC_COUNT_BITS = 4, 4, 8, 9
_LARGEST_PORT = 65_535
_HOST = re.compile(
    r"[A-Z0-9](?:[A-Z0-9-]{0,61}[A-Z0-9])?(?:\.[A-Z0-9](?:[A-Z0-9-]{0,61}[A-Z0-9])?)*(?::[0-9]{1,5})?",
    re.ASCII,
)
_LEVELS = {"L": ERROR_CORRECT_L, "M": ERROR_CORRECT_M, "Q": ERROR_CORRECT_Q, "H": ERROR_CORRECT_H}

Segment = tuple[str, Literal["byte", "alphanumeric"]]


class HostRefused(ValueError):
    """Raised for a host name that cannot stand in a tag; says why and what would fit."""


class SymbolMismatch(RuntimeError):
    """Raised when the two encoders disagree: no symbol may be minted until that is explained."""


@dataclass(frozen=True, slots=True)
class Symbol:
    """A QR symbol as it is stored: its modules row by row, its text and how it was made.

    ``bits`` is base64 of the packed modules, most significant bit first, dark is 1, without a
    quiet zone; ``url`` is exactly what a reader gives back.
    """

    bits: str
    url: str
    version: int = VERSION
    mask: int = MASK

    @property
    def size(self) -> int:
        """Modules on a side, without the quiet zone."""
        return 17 + 4 * self.version

    @property
    def rows(self) -> tuple[str, ...]:
        """One text of ``0`` and ``1`` for each row of modules."""
        return _rows(self.bits, self.size)

    @property
    def runs(self) -> tuple[tuple[int, int, int], ...]:
        """Dark runs as (row, first column, length), in reading order."""
        return _runs(self.bits, self.size)


@lru_cache(maxsize=4_096)
def _rows(bits: str, size: int) -> tuple[str, ...]:
    packed = base64.b64decode(bits, validate=True)
    if len(packed) != (size * size + 7) // 8:
        raise ValueError(f"{len(packed)} bytes are no {size} x {size} modules")
    flat = f"{int.from_bytes(packed, 'big'):0{len(packed) * 8}b}"
    return tuple(flat[start : start + size] for start in range(0, size * size, size))


@lru_cache(maxsize=4_096)
def _runs(bits: str, size: int) -> tuple[tuple[int, int, int], ...]:
    return tuple(
        (number, found.start(), found.end() - found.start())
        for number, row in enumerate(_rows(bits, size))
        for found in re.finditer("1+", row)
    )


def tag_url(host: str, code: str) -> str:
    """The address that a tag carries: ``https://HOST/T/CODE``."""
    return f"{SCHEME}://{host.upper()}{TAG_PATH}{code}"


def check_host(host: str) -> str:
    """Return ``host`` in capitals if tags can carry it; raises :class:`HostRefused` otherwise.

    A host may have a port. It is refused when it is no host name, when the payload would need a
    larger symbol, and when the payload ends on a whole byte: there the first encoder adds a pad
    code word too many, and a strict reader may reject the symbol.
    """
    name = host.strip().upper()
    port = name.partition(":")[2]
    if not _HOST.fullmatch(name) or int(port or 0) > _LARGEST_PORT:
        raise HostRefused(f"{host[:60]!r} is no host name; give one such as tags.example.org")
    good = [size for size in range(1, 40) if _fits(size) and not _ends_on_a_byte(size)]
    if not _fits(len(name)):
        raise HostRefused(
            f"{name} has {len(name)} characters; with it a tag needs a larger symbol. "
            f"The longest host that fits has {good[-1]} characters"
        )
    if _ends_on_a_byte(len(name)):
        raise HostRefused(
            f"{name} has {len(name)} characters, a length at which the two encoders pad "
            f"differently; use {len(name) - 1} or {len(name) + 1}. "
            f"The longest host that fits has {good[-1]} characters"
        )
    return name


def alphanumeric_length(host_length: int) -> int:
    """Characters in the alphanumeric segment of a tag with a host of that length."""
    return len("://") + host_length + len(TAG_PATH) + codes.LENGTH


def _payload_bits(host_length: int) -> int:
    pairs, single = divmod(alphanumeric_length(host_length), 2)
    return (
        _MODE_BITS
        + _BYTE_COUNT_BITS
        + 8 * len(SCHEME)
        + _MODE_BITS
        + _ALPHANUMERIC_COUNT_BITS
        + 11 * pairs
        + 6 * single
    )


def _fits(host_length: int) -> bool:
    return _payload_bits(host_length) <= _CAPACITY_BITS


def _ends_on_a_byte(host_length: int) -> bool:
    return (_payload_bits(host_length) + _TERMINATOR_BITS) % 8 == 0


def symbol(host: str, code: str, mask: int = MASK) -> Symbol:
    """Make the symbol of a tag: version 3, level Q, two segments.

    ``code`` in any accepted form. Raises :class:`HostRefused`, :class:`labels.codes.CodeError`,
    or :class:`SymbolMismatch` when the two encoders disagree.
    """
    url = tag_url(check_host(host), codes.compact(code))
    rest = url.removeprefix(SCHEME)
    return make(((SCHEME, "byte"), (rest, "alphanumeric")), mask=mask)


def make(
    segments: Sequence[Segment], *, version: int = VERSION, level: str = LEVEL, mask: int = MASK
) -> Symbol:
    """Make a symbol of any segments, by both encoders; raises as :func:`symbol` does.

    ``level`` is L, M, Q or H. Raises ``ValueError`` when the text does not fit.
    """
    first = _by_segno(segments, version, level, mask)
    second = _by_qrcode(segments, version, level, mask)
    text = "".join(part for part, _ in segments)
    if first != second:
        raise SymbolMismatch(f"the two encoders disagree about {text!r}: nothing was minted")
    flat = "".join(first)
    packed = int(flat.ljust((len(flat) + 7) // 8 * 8, "0"), 2)
    return Symbol(
        bits=base64.b64encode(packed.to_bytes((len(flat) + 7) // 8, "big")).decode("ascii"),
        url=text,
        version=version,
        mask=mask,
    )


def _by_segno(segments: Sequence[Segment], version: int, level: str, mask: int) -> list[str]:
    modes = {"byte": consts.MODE_BYTE, "alphanumeric": consts.MODE_ALPHANUMERIC}
    # The library takes segments; its stub names only plain text.
    content: Any = tuple((text, modes[mode]) for text, mode in segments)
    made = segno.make(
        content, error=level, version=version, mask=mask, boost_error=False, micro=False
    )
    return ["".join("1" if module else "0" for module in row) for row in made.matrix]


def _by_qrcode(segments: Sequence[Segment], version: int, level: str, mask: int) -> list[str]:
    made = QRCode(version, error_correction=_LEVELS[level], border=0, mask_pattern=mask)
    for text, mode in segments:
        number: Any = MODE_8BIT_BYTE if mode == "byte" else MODE_ALPHA_NUM
        made.add_data(QRData(text.encode("ascii"), mode=number), optimize=0)
    made.make(fit=False)
    return ["".join("1" if module else "0" for module in row) for row in made.modules]


def terminal_art(url: str) -> str:
    """``url`` as a symbol of half blocks, for a phone to read from a dark terminal."""
    made = QRCode(border=QUIET_MODULES, error_correction=ERROR_CORRECT_L)
    made.add_data(url)
    made.make()
    out = io.StringIO()
    made.print_ascii(out=out, invert=True)
    return out.getvalue()
