"""The container of HEIC and HEIF photos: how the picture is turned, and whether the file is whole.

Enters: the bytes of a file.  Leaves: the orientation its transformative properties amount to.  Refuses files that end
before their boxes do, which decoders may show with grey parts.

The decoder applies rotation (``irot``) and mirroring (``imir``) itself, as ISO/IEC 23008-12 wants; they are read here
because regions marked in the photo speak of the stored picture.  The Exif orientation of such files is for information
only and is not applied.
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from io import BufferedReader

_BRANDS = frozenset({b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1"})
_LARGEST_META = 4_000_000
_MOST_BOXES = 10_000

# Orientation n turns (x, y) as a 2×2 matrix about the middle; y points down.
_MATRICES = {
    1: (1, 0, 0, 1),
    2: (-1, 0, 0, 1),
    3: (-1, 0, 0, -1),
    4: (1, 0, 0, -1),
    5: (0, 1, 1, 0),
    6: (0, -1, 1, 0),
    7: (0, -1, -1, 0),
    8: (0, 1, -1, 0),
}
_NUMBERS = {matrix: number for number, matrix in _MATRICES.items()}


@dataclass(frozen=True)
class HeifFacts:
    """What the container says: ``orientation`` leads from the stored picture to the one seen, as Exif counts."""

    orientation: int = 1


def is_heif(start: bytes) -> bool:
    """Whether a file that starts with these 12 bytes is a HEIC or HEIF picture."""
    return start[4:8] == b"ftyp" and start[8:12] in _BRANDS


def inspect(stream: BufferedReader) -> HeifFacts:
    """Read the boxes of a file from its start.

    Raises
    ------
    ValueError
        When the boxes do not fill the file exactly, or contradict each other.
    """
    stream.seek(0, 2)
    end = stream.tell()
    at, meta = 0, b""
    for _ in range(_MOST_BOXES):
        if at == end:
            break
        stream.seek(at)
        kind, head, size = _box_head(stream.read(16), end - at)
        if kind == b"meta" and not meta:
            if size > _LARGEST_META:
                raise ValueError("its description is too long")
            stream.seek(at + head)
            meta = stream.read(size - head)
        at += size
    else:
        raise ValueError("too many boxes")
    if not meta:
        raise ValueError("no description of the picture")
    return HeifFacts(_orientation(meta[4:]))


def _box_head(data: bytes, room: int) -> tuple[bytes, int, int]:
    """Return a box's kind, the length of its head and its whole size."""
    if len(data) < 8:
        raise ValueError("the file ends inside a box")
    size, kind = struct.unpack(">I4s", data[:8])
    head = 8
    if size == 1:
        if len(data) < 16:
            raise ValueError("the file ends inside a box")
        size, head = struct.unpack(">Q", data[8:16])[0], 16
    elif size == 0:
        size = room
    if size < head or size > room:
        raise ValueError("the file ends before its pictures do")
    return kind, head, size


def _boxes(data: bytes) -> list[tuple[bytes, bytes]]:
    """Return kind and content of each box in ``data``."""
    found: list[tuple[bytes, bytes]] = []
    at = 0
    while at < len(data):
        if len(found) >= _MOST_BOXES:
            raise ValueError("too many boxes")
        kind, head, size = _box_head(data[at : at + 16], len(data) - at)
        found.append((kind, data[at + head : at + size]))
        at += size
    return found


def _orientation(meta: bytes) -> int:
    """Follow ``pitm`` → ``ipma`` → ``ipco`` and join the turns of the primary picture in their order."""
    boxes = dict(reversed(_boxes(meta)))
    properties = _boxes(boxes.get(b"iprp", b""))
    pool = next((_boxes(content) for kind, content in properties if kind == b"ipco"), [])
    try:
        primary = _primary(boxes[b"pitm"])
        chosen = [index for kind, content in properties if kind == b"ipma" for index in _chosen(content, primary)]
        matrix = _MATRICES[1]
        for index in chosen:
            if not 1 <= index <= len(pool):
                continue
            kind, content = pool[index - 1]
            if kind == b"irot":
                for _ in range(content[0] & 3):  # quarter turns against the clock
                    matrix = _after(_MATRICES[8], matrix)
            elif kind == b"imir":
                # ISO/IEC 23008-12:2022, 6.5.12: 0 exchanges top and bottom, 1 left and right.
                matrix = _after(_MATRICES[2 if content[0] & 1 else 4], matrix)
    except (KeyError, IndexError, struct.error):
        raise ValueError("its description is damaged") from None
    return _NUMBERS[matrix]


def _primary(content: bytes) -> int:
    return int(struct.unpack_from(">H" if content[0] == 0 else ">I", content, 4)[0])


def _chosen(content: bytes, item: int) -> list[int]:
    """Return the one-based numbers of the properties an item has, in order."""
    version, wide = content[0], content[3] & 1
    (count,) = struct.unpack_from(">I", content, 4)
    at, found = 8, []
    for _ in range(min(count, _MOST_BOXES)):
        (number,) = struct.unpack_from(">H" if version < 1 else ">I", content, at)
        at += 2 if version < 1 else 4
        many = content[at]
        at += 1
        for _ in range(many):
            (index,) = struct.unpack_from(">H" if wide else ">B", content, at)
            at += 2 if wide else 1
            if number == item:
                found.append(index & (0x7FFF if wide else 0x7F))
    return found


def _after(second: tuple[int, int, int, int], first: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    a, b, c, d = second
    e, f, g, h = first
    return a * e + b * g, a * f + b * h, c * e + d * g, c * f + d * h
