"""Files whose data is wrong and that Pillow decodes all the same, in silence.

JPEG (ITU-T T.81, 1992) has no checksums.  What betrays damage is that the coded data ends too early or too late, or
holds codes that mean nothing, and there is a decoder that says so.  PNG (ISO/IEC 15948, clause 5) has a CRC for each
chunk.  TIFF, WebP and HEIC have neither.
"""

from __future__ import annotations

import zlib
from io import BufferedReader, BytesIO

from PIL import Image

MOST_CHECKED = 60_000_000
"""Bytes of a file, at most: it is held in memory beside what it decodes to."""
MOST_CHUNKS = 200_000
"""Chunks of a PNG that are gone through to see whether it ends."""
_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_CRC = 4
_PIECE = 1_000_000
_MODES = {"RGB": "RGB", "L": "GRAY"}
_DAMAGE = ("corrupt jpeg data", "premature end")
"""How libjpeg's warnings of damaged data begin; others are of tags or of colours that are told unusually."""


def decode_jpeg(stream: BufferedReader, image: Image.Image) -> tuple[Image.Image | None, str | None]:
    """Decode a JPEG whose header was read.

    Parameters
    ----------
    stream
        Its file; left anywhere.
    image
        The same, opened and perhaps drafted: its size and mode are what is wanted.

    Returns
    -------
    tuple
        The picture, and what the decoder said of damage.  Without a picture it is to be decoded otherwise: when there
        is damage, and what comes out is for another decoder to say; and when it is of a kind not decoded here.
    """
    import simplejpeg

    colours = _MODES.get(image.mode)
    stream.seek(0)
    data = stream.read(MOST_CHECKED + 1) if colours else b""
    if not data.startswith(b"\xff\xd8") or len(data) > MOST_CHECKED:
        return None, None
    try:
        pixels = simplejpeg.decode_jpeg(data, colours, min_width=image.width, min_height=image.height)
    except ValueError as failure:
        said = " ".join(str(failure).split())
        return None, said[:80] if said.lower().startswith(_DAMAGE) else None
    if pixels.shape[:2] != (image.height, image.width):
        return None, None
    return Image.fromarray(pixels[:, :, 0] if image.mode == "L" else pixels), None


def png_ends(stream: BufferedReader | BytesIO) -> bool:
    """Whether a PNG's chunks follow each other up to a whole IEND; yes, if there are too many to go through.

    Parameters
    ----------
    stream
        Its file; left where it was.
    """
    before = stream.tell()
    try:
        stream.seek(len(_SIGNATURE))
        for _ in range(MOST_CHUNKS):
            head = stream.read(8)
            left, kind = int.from_bytes(head[:4], "big") + _CRC, head[4:]
            if len(head) < 8 or kind == b"IEND":
                return len(head) == 8 and len(stream.read(left)) == left
            stream.seek(left, 1)
        return True
    finally:
        stream.seek(before)


def png_damage(stream: BufferedReader) -> str | None:
    """Return what is wrong with a PNG's chunks, of those that a picture cannot do without.

    Parameters
    ----------
    stream
        Its file; left anywhere.
    """
    stream.seek(0)
    if stream.read(8) != _SIGNATURE:
        return None
    while len(head := stream.read(8)) == 8:
        left, kind = int.from_bytes(head[:4], "big"), head[4:]
        if kind[:1].islower():
            stream.seek(left + _CRC, 1)
            continue
        crc = zlib.crc32(kind)
        while left and (piece := stream.read(min(left, _PIECE))):
            crc, left = zlib.crc32(piece, crc), left - len(piece)
        if left or stream.read(_CRC) != crc.to_bytes(_CRC, "big"):
            return f"wrong checksum in {kind.decode('ascii', 'replace')}"
        if kind == b"IEND":
            break
    return None
