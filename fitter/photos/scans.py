"""Progressive JPEG files in part: the scans that a picture shrunk while it is decoded hardly shows, left away.

ITU-T T.81 (1992), annexes B (segments) and G (progressive): each scan says of which frequencies it is (Ss to Se) and
from which bit of the coefficients (Ah) to which (Al) it goes.  The last scans are the largest.
"""

from __future__ import annotations

_START, _END, _SCAN = b"\xff\xd8", b"\xff\xd9", 0xDA
_PROGRESSIVE, _RESTARTS = 0xC2, range(0xD0, 0xD8)
_SEVERAL = b"MPF\x00"
_MOST_SCANS = 100
"""Ordinary files have about ten."""
_LAST_BIT = 0x10
"""Ah = 1, Al = 0."""
_COARSE, _LOWEST = 4, 5
"""Shrunk to a quarter or less a picture shows little but its lowest frequencies: in the order sent, up to this one."""


def without_fine_scans(data: bytes, enough: int) -> bytes | None:
    """Return a progressive JPEG without the scans at its end that a smaller picture hardly shows.

    Of one that will be shrunk to a quarter or less these are all that go on with what was sent before or are of higher
    frequencies; else those that go from bit 1 to bit 0.

    Parameters
    ----------
    data
        The file.
    enough
        The longer side that is enough, in pixels.

    Returns
    -------
    bytes or None
        A whole file again; ``None`` for any other file, and when there are no such scans or anything is unusual.
    """
    if not data.startswith(_START):
        return None
    at, side, cut = 2, 0, 0
    scans = 0
    while data[at : at + 2] != _END:
        if at + 4 > len(data) or data[at] != 0xFF or scans > _MOST_SCANS:
            return None
        kind, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        segment, after = data[at + 4 : at + 2 + length], at + 2 + length
        if length < 2 or segment.startswith(_SEVERAL):
            return None
        if kind == _PROGRESSIVE:
            side = max(int.from_bytes(segment[1:3], "big"), int.from_bytes(segment[3:5], "big"))
        if kind == _SCAN:
            if len(segment) < 3:
                return None
            scans += 1
            after = _entropy_end(data, after)
            if _is_coarse(segment) if side >= _COARSE * enough else segment[-1] != _LAST_BIT:
                cut = after
        at = after
    return data[:cut] + _END if side and 0 < cut < at else None


def _is_coarse(scan: bytes) -> bool:
    """Whether a scan is the first of low frequencies."""
    lowest, bits = scan[-3], scan[-1]
    return lowest <= _LOWEST and bits >> 4 == 0


def _entropy_end(data: bytes, at: int) -> int:
    """Return where the coded data of a scan ends: at the next marker that is neither stuffed nor a restart."""
    while (at := data.find(b"\xff", at)) >= 0:
        following = data[at + 1 : at + 2]
        if following == b"" or not (following[0] == 0 or following[0] in _RESTARTS or following[0] == 0xFF):
            return at
        at += 1 if following[0] == 0xFF else 2
    return len(data)
