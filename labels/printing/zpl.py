"""ZPL for one label as a graphic (``^GF``): the printer draws our dots and chooses nothing.

The printer's own QR command would choose version and mask by itself; a graphic cannot. The data
are packed by deflate, base64 and a CRC-16 (the ``Z64`` form), or plain hexadecimal for old heads.
"""

from __future__ import annotations

import base64
import binascii
import zlib
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from PIL import Image


def label(picture: Image.Image, *, packed: bool = True) -> bytes:
    """The ZPL commands that print a 1-bit picture dot by dot; raises ``ValueError`` for others."""
    if picture.mode != "1":
        raise ValueError(f"a label is printed from 1-bit dots, not from mode {picture.mode}")
    width, height = picture.size
    # ZPL prints where a bit is 1; the picture is turned, not its bytes, so that the bits that
    # fill up a row stay white.
    dots = picture.point(lambda white: 0 if white else 255).tobytes()
    row = (width + 7) // 8
    if packed:
        text = base64.b64encode(zlib.compress(dots, 9))
        data = f":Z64:{text.decode('ascii')}:{binascii.crc_hqx(text, 0):04X}"
    else:
        data = dots.hex().upper()
    commands = (
        f"^XA^PW{width}^LL{height}^LH0,0^FO0,0^GFA,{len(dots)},{len(dots)},{row},{data}^FS^XZ"
    )
    return commands.encode("ascii") + b"\n"
