"""Regions other programs marked, brought into the frame of the picture as seen.

Enters: numbers from Exif and XMP, which may be anything.  Leaves: boxes inside the picture, in 0…1.  What is no number
or lies outside is left out, and counted.

Regions speak of the picture *as stored* (MWG Guidelines for Handling Image Metadata 2.0, 5.9; Exif 2.32, SubjectArea;
IPTC image regions are taken alike, from memory).  Relative regions need no dimensions, so those a program wrote before
the picture was resized do no harm.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from fitter.layout import Box
from fitter.photos.photo import MarkKind

MOST_REGIONS = 100
"""Regions of one photo that are used."""
POINT_SHARE = 0.1
"""Side of the box around a marked point, of the picture's shorter side."""
_SAME = 0.9

_MOVES: dict[int, Callable[[float, float], tuple[float, float]]] = {
    1: lambda x, y: (x, y),
    2: lambda x, y: (1 - x, y),
    3: lambda x, y: (1 - x, 1 - y),
    4: lambda x, y: (x, 1 - y),
    5: lambda x, y: (y, x),
    6: lambda x, y: (1 - y, x),
    7: lambda x, y: (1 - y, 1 - x),
    8: lambda x, y: (y, 1 - x),
}
"""Where a point of the stored picture is seen (CIPA DC-008, tag 0x0112), both in 0…1."""


@dataclass(frozen=True)
class Region:
    """A marked region of the picture as stored, in 0…1; ``kind`` what it shows, ``aimed`` if a camera wrote it."""

    box: Box
    kind: MarkKind
    aimed: bool = False


def number(value: Any) -> float:
    """Return a finite number, or NaN for anything else."""
    try:
        found = float(str(value).strip())
    except (TypeError, ValueError):
        return math.nan
    return found if math.isfinite(found) else math.nan


def clipped(left: float, top: float, right: float, bottom: float) -> Box | None:
    """Return the part of a box inside the picture; ``None`` if there is none or it is no box."""
    if not (right > left and bottom > top):  # also when one of them is NaN
        return None
    x0, y0, x1, y1 = max(left, 0.0), max(top, 0.0), min(right, 1.0), min(bottom, 1.0)
    if x1 - x0 < 1e-6 or y1 - y0 < 1e-6:
        return None
    return x0, y0, x1 - x0, y1 - y0


def around(x: float, y: float, w: float, h: float) -> Box | None:
    """Return the box with a centre and a size, cut at the picture's edges."""
    return clipped(x - w / 2, y - h / 2, x + w / 2, y + h / 2)


def round_point(x: float, y: float, diameter: float, size: tuple[int, int]) -> Box | None:
    """Return the box around a circle; ``diameter`` counts in the picture's shorter side, ``size`` in pixels."""
    short = min(size)
    return around(x, y, diameter * short / size[0], diameter * short / size[1])


def subject_region(area: Sequence[float], size: tuple[int, int]) -> Region | None:
    """Return the region of Exif SubjectArea: a point, a circle (centre, diameter) or a box (centre, width, height)."""
    if len(area) not in (2, 3, 4):
        return None
    x, y = area[0] / size[0], area[1] / size[1]
    if len(area) == 4:
        box = around(x, y, area[2] / size[0], area[3] / size[1])
    else:
        box = round_point(x, y, area[2] / min(size) if len(area) == 3 else POINT_SHARE, size)
    return None if box is None else Region(box, "subject", aimed=True)


def as_seen(box: Box, orientation: int) -> Box:
    """Return where a box of the stored picture is seen."""
    move = _MOVES[orientation]
    (x0, y0), (x1, y1) = move(box[0], box[1]), move(box[0] + box[2], box[1] + box[3])
    left, top, right, bottom = min(x0, x1), min(y0, y1), max(x0, x1), max(y0, y1)
    left, top = max(left, 0.0), max(top, 0.0)
    return left, top, min(right - left, 1 - left), min(bottom - top, 1 - top)


def distinct(regions: Sequence[Region]) -> tuple[Region, ...]:
    """Return the regions without those that another standard marks a second time; a face stays, an aim goes first."""
    kept: list[int] = []
    for index in sorted(range(len(regions)), key=lambda index: (regions[index].kind != "face", regions[index].aimed)):
        if all(overlap(regions[index].box, regions[other].box) < _SAME for other in kept):
            kept.append(index)
    return tuple(regions[index] for index in sorted(kept))


def overlap(a: Box, b: Box) -> float:
    """Return the area two boxes share over the area they cover together (intersection over union)."""
    shared = _shared(a, b)
    return shared / (a[2] * a[3] + b[2] * b[3] - shared)


def covered(a: Box, b: Box) -> float:
    """Return the share of one box that another covers."""
    return _shared(a, b) / (a[2] * a[3])


def _shared(a: Box, b: Box) -> float:
    w = min(a[0] + a[2], b[0] + b[2]) - max(a[0], b[0])
    h = min(a[1] + a[3], b[1] + b[3]) - max(a[1], b[1])
    return max(w, 0.0) * max(h, 0.0)
