"""Crop windows: which part of a picture a slot shows, in whole pixels, and how much of what matters.

Pure integer geometry shared by formulating (which prices it) and placing (which writes it).  Frame:
the picture as seen, origin top-left, x right, y down.
"""

from __future__ import annotations

import math
from collections.abc import Collection
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate

from fitter.units import divide_nearest

PixelBox = tuple[int, int, int, int]
EVEN = ((1,),)
"""The importance of a picture of which nothing is known: the same everywhere."""


class Importance:
    """A picture's importance as a summed-area table (Crow, SIGGRAPH 1984), in whole numbers.

    Parameters
    ----------
    grid
        Rows from the top of whole numbers, at least one above 0, each spread evenly over its cell.
    """

    def __init__(self, grid: tuple[tuple[int, ...], ...]) -> None:
        self.rows, self.columns = len(grid), len(grid[0])
        self.even = self.rows == self.columns == 1
        sums = [[0] * (self.columns + 1)]
        for row in grid:
            sums.append([above + along for above, along in zip(sums[-1], accumulate(row, initial=0), strict=True)])
        self._down = tuple(map(tuple, sums))
        self._across = tuple(zip(*sums, strict=True))

    def share(self, extent: tuple[int, int], box: PixelBox) -> Fraction:
        """Return the share of the importance inside a box, exactly.

        Parameters
        ----------
        extent
            Width and height of the whole picture, in whole units.
        box
            Left, top, right and bottom in the same units, inside the picture.

        Examples
        --------
        >>> Importance(((1, 0), (0, 1))).share((100, 100), (0, 0, 75, 50))
        Fraction(1, 2)
        """
        if self.even:
            return Fraction((box[2] - box[0]) * (box[3] - box[1]), extent[0] * extent[1])
        profile = self.profile(0, extent[1], (box[1], box[3]))
        inside = along(profile, extent[0], box[2]) - along(profile, extent[0], box[0])
        return Fraction(inside, self._down[-1][-1] * extent[0] * extent[1])

    def profile(self, axis: int, side: int, span: tuple[int, int]) -> tuple[int, ...]:
        """Return the sums up to each cell edge along an axis, over a span of the other one, times the other side.

        Parameters
        ----------
        axis
            0 along the width, 1 along the height.
        side
            Length of the picture on the other axis.
        span
            From where to where on the other axis.
        """
        table = self._down if axis == 0 else self._across
        near, far = (_lines(table, side, place) for place in span)
        return tuple(b - a for a, b in zip(near, far, strict=True))


@lru_cache(maxsize=256)
def importance_of(grid: tuple[tuple[int, ...], ...]) -> Importance:
    """Return the summed importance of a picture; an empty grid stands for an even one."""
    return Importance(grid or EVEN)


def along(profile: tuple[int, ...], side: int, place: int) -> int:
    """Return the sum up to a place along a profile, times the side's length."""
    cell, part = _cell(len(profile) - 1, side, place)
    return profile[cell] * (side - part) + profile[cell + 1] * part


def _lines(table: tuple[tuple[int, ...], ...], side: int, place: int) -> list[int]:
    cell, part = _cell(len(table) - 1, side, place)
    return [a * (side - part) + b * part for a, b in zip(table[cell], table[cell + 1], strict=True)]


def _cell(count: int, side: int, place: int) -> tuple[int, int]:
    cell = min(place * count // side, count - 1)
    return cell, place * count - cell * side


def window_size(pixels: tuple[int, int], slot: tuple[int, int]) -> tuple[int, int]:
    """Return width and height in pixels of the largest window with a slot's proportions.

    Parameters
    ----------
    pixels
        Width and height of the picture as seen.
    slot
        Width and height of the slot, any unit.

    Examples
    --------
    >>> window_size((3000, 2000), (1, 1))
    (2000, 2000)
    """
    (pw, ph), (w, h) = pixels, slot
    if pw * h >= ph * w:
        return max(1, min(pw, divide_nearest(ph * w, h))), ph
    return pw, max(1, min(ph, divide_nearest(pw * h, w)))


def centred(pixels: tuple[int, int], size: tuple[int, int]) -> PixelBox:
    """Return the window in the middle of a picture; half a pixel is rounded towards the top left."""
    left, top = (pixels[0] - size[0]) // 2, (pixels[1] - size[1]) // 2
    return left, top, left + size[0], top + size[1]


def free_axis(pixels: tuple[int, int], size: tuple[int, int]) -> int:
    """Return the axis along which a largest window can move."""
    return 0 if size[0] < pixels[0] else 1


def seen_part(
    pixels: tuple[int, int], window: PixelBox, slot: tuple[int, int], beyond: tuple[int, int, int, int]
) -> tuple[tuple[int, int], PixelBox]:
    """Return the picture and the part of a window inside the trim, in units that make both whole.

    Parameters
    ----------
    slot
        Width and height of the slot.
    beyond
        How much of the slot lies outside the trim at its left, top, right and bottom, in the slot's unit.
    """
    if not any(beyond):
        return pixels, window
    (pw, ph), (x0, y0, x1, y1), (w, h), (left, top, right, bottom) = pixels, window, slot, beyond
    across, down = x1 - x0, y1 - y0
    box = (x0 * w + across * left, y0 * h + down * top, x1 * w - across * right, y1 * h - down * bottom)
    return (pw * w, ph * h), box


@lru_cache(maxsize=1 << 16)
def best_starts(
    importance: Importance,
    pixels: tuple[int, int],
    size: tuple[int, int],
    slot: tuple[int, int],
    beyond: tuple[int, int, int, int],
    limits: tuple[int, int],
    middle: int,
    tried: tuple[int, ...] = (),
) -> tuple[int, ...]:
    """Return where a largest window may start on the axis it can move along, best first; the first is best of all.

    What a window keeps is linear between the starts at which one of its edges inside the trim passes an edge of a
    cell, so the best start in whole pixels is next to one of these, or at an end of the range.

    Parameters
    ----------
    size
        Of the window, in pixels.
    slot, beyond
        As for :func:`seen_part`; only their proportions count.
    limits
        First and last start allowed.
    middle
        Twice the place of the picture the window should be around: among equals what is nearest comes first.
    tried
        Further starts to be ranked.
    """
    axis = free_axis(pixels, size)
    low, high = limits
    near = [min(max((middle - size[axis]) // 2 + k, low), high) for k in (0, 1)]
    starts = {low, high, *near, *(start for start in tried if low <= start <= high)}

    def off(start: int) -> tuple[int, int]:
        return abs(2 * start + size[axis] - middle), start

    if importance.even:
        return tuple(sorted(starts, key=off))  # every window keeps as much
    extent, part = seen_part(pixels, (0, 0, size[0], size[1]), slot, beyond)
    unit = extent[axis] // pixels[axis]
    profile = importance.profile(axis, extent[1 - axis], (part[1 - axis], part[3 - axis]))
    cells = len(profile) - 1
    for edge in range(cells + 1):
        for side in (part[axis], part[axis + 2]):
            # Where cell edge and window edge meet: both sides over cells · unit pixels.
            start = (edge * extent[axis] - side * cells) // (cells * unit)
            starts.update(s for s in (start, start + 1) if low <= s <= high)

    def rank(start: int) -> tuple[int, int, int]:
        ends = [along(profile, extent[axis], side + start * unit) for side in (part[axis], part[axis + 2])]
        return ends[0] - ends[1], *off(start)

    return tuple(sorted(starts, key=rank))


def start_limits(
    keep: Collection[tuple[float, float, float, float]],
    pixels: tuple[int, int],
    size: tuple[int, int],
    room: tuple[float, float, float, float],
    slip: tuple[float, float],
) -> tuple[tuple[int, int], tuple[int, int]] | None:
    """Return first and last left edge, and first and last top edge, of windows that show every keep box in a slot.

    Parameters
    ----------
    keep
        Boxes as x, y, width and height in 0…1 of the picture.
    size
        Of the window, in pixels.
    room
        Left, top, right and bottom of the allowed part, as fractions of the slot.
    slip
        How far a box may reach out on each axis, in pixels: what rounding does.

    Returns
    -------
    tuple or None
        ``None`` when there is no such window.
    """
    found = []
    for axis in (0, 1):
        low, high = 0, pixels[axis] - size[axis]
        if keep:
            first = min(box[axis] for box in keep) * pixels[axis]
            last = max(box[axis] + box[axis + 2] for box in keep) * pixels[axis]
            low = max(low, math.ceil(last - room[axis + 2] * size[axis] - slip[axis]))
            high = min(high, math.floor(first - room[axis] * size[axis] + slip[axis]))
        if low > high:
            return None
        found.append((low, high))
    return found[0], found[1]
