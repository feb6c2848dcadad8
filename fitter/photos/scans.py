"""Progressive JPEG files in part: the scans that only refine what is there by one last bit, left away.

ITU-T T.81 (1992), annexes B (segments) and G (progressive): each scan says from which bit of the coefficients (Ah) to
which (Al) it goes.  The last ones are the largest, and a picture that is shrunk while it is decoded hardly shows them.
"""

from __future__ import annotations

_START, _END, _SCAN = b"\xff\xd8", b"\xff\xd9", 0xDA
_PROGRESSIVE, _RESTARTS = 0xC2, range(0xD0, 0xD8)
_SEVERAL = b"MPF\x00"
_MOST_SCANS = 100
"""Ordinary files have about ten."""
_LAST_BIT = 0x10
"""Ah = 1, Al = 0."""


def without_last_bits(data: bytes) -> bytes | None:
    """Return a progressive JPEG without the scans at its end that go from bit 1 to bit 0 of what was sent before.

    Returns
    -------
    bytes or None
        A whole file again; ``None`` for any other file, and when there are no such scans or anything is unusual.
    """
    if not data.startswith(_START):
        return None
    at, progressive, cut = 2, False, 0
    scans = list[bool]()
    while data[at : at + 2] != _END:
        if at + 4 > len(data) or data[at] != 0xFF or len(scans) > _MOST_SCANS:
            return None
        kind, length = data[at + 1], int.from_bytes(data[at + 2 : at + 4], "big")
        segment, after = data[at + 4 : at + 2 + length], at + 2 + length
        if length < 2 or segment.startswith(_SEVERAL):
            return None
        progressive = progressive or kind == _PROGRESSIVE
        if kind == _SCAN:
            if not segment:
                return None
            scans.append(segment[-1] == _LAST_BIT)
            after = _entropy_end(data, after)
            if not scans[-1]:
                cut = after
        at = after
    return data[:cut] + _END if progressive and cut and any(scans[-1:]) else None


def _entropy_end(data: bytes, at: int) -> int:
    """Return where the coded data of a scan ends: at the next marker that is neither stuffed nor a restart."""
    while (at := data.find(b"\xff", at)) >= 0:
        following = data[at + 1 : at + 2]
        if following == b"" or not (following[0] == 0 or following[0] in _RESTARTS or following[0] == 0xFF):
            return at
        at += 1 if following[0] == 0xFF else 2
    return len(data)
