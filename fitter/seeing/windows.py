"""Exact crop windows over an importance map, in whole pixels and whole numbers.

A map's values lie evenly within its cells; what a window keeps is then a sum of products of whole numbers, found
from summed-area tables (Crow, SIGGRAPH 1984) without any rounding.  Pure functions.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from fitter.crops import PixelBox, window_size
from fitter.layout import Box

IntMap = NDArray[np.int64]
_ENOUGH = 4
"""Fifths of the area of keep boxes that can stay inside; giving up the rest lets the better window be chosen."""


@dataclass(frozen=True)
class Window:
    """A crop window.

    Parameters
    ----------
    box
        Left, top, right and bottom in pixels.
    kept
        Share of the importance inside, exact.
    lost
        Numbers of the keep boxes that are not wholly inside.
    """

    box: PixelBox
    kept: Fraction
    lost: tuple[int, ...] = ()


def kept_share(importance: IntMap, pixels: tuple[int, int], window: PixelBox) -> Fraction:
    """Return the share of the importance inside a window, exactly.

    Parameters
    ----------
    importance
        Shape (rows, columns), whole numbers of at least 0, at least one above.
    pixels
        Width and height of the picture as seen.
    window
        Left, top, right and bottom in pixels; the part outside the picture keeps nothing.

    Examples
    --------
    >>> kept_share(np.array([[1, 0], [0, 1]]), (100, 100), (0, 0, 75, 50))
    Fraction(1, 2)
    """
    rows, columns = importance.shape
    (width, height), (left, top, right, bottom) = pixels, window
    table = np.zeros((rows + 1, columns + 1), np.int64)
    table[1:, 1:] = importance.cumsum(0).cumsum(1)
    across = _along(table, np.array([_clipped(left, width), _clipped(right, width)]), width)
    ends = _along(across.T, np.array([_clipped(top, height), _clipped(bottom, height)]), height)
    inside = int(ends[1, 1]) - int(ends[0, 1]) - int(ends[1, 0]) + int(ends[0, 0])
    whole = int(table[-1, -1]) * width * height
    return Fraction(max(0, inside), whole) if right > left and bottom > top else Fraction(0)


def best_window(importance: IntMap, pixels: tuple[int, int], slot: tuple[int, int], keep: Sequence[Box] = ()) -> Window:
    """Return the largest window of a slot's proportions that keeps the most importance.

    All keep boxes stay wholly inside if they can (one larger than the window holds the window instead), else at least
    four fifths of the area that can.  Among the windows left the one that keeps the most importance, then the one
    nearest the middle, then the one further left or up.  Every place in whole pixels is considered.

    Parameters
    ----------
    importance, pixels
        As for :func:`kept_share`.
    slot
        Width and height of the slot, any unit.
    keep
        Boxes that should stay in view.
    """
    size = window_size(pixels, slot)
    axis = 0 if size[0] < pixels[0] else 1
    slack = pixels[axis] - size[axis]
    profile = np.concatenate([[0], importance.sum(axis=0 if axis == 0 else 1).cumsum()])
    starts = np.arange(slack + 1)
    sums = _along(profile[None, :], np.arange(pixels[axis] + 1), pixels[axis])[0]
    kept = sums[starts + size[axis]] - sums[starts]
    held = np.zeros(slack + 1, np.int64)
    ranges = [_range(box, axis, pixels[axis], size[axis]) for box in keep]
    areas = [1 + round(1_000_000 * box[2] * box[3]) for box in keep]
    for area, (low, high) in zip(areas, ranges, strict=True):
        held[low : high + 1] += area
    most = int(held.max())
    enough = most if most == sum(areas) else -(-most * _ENOUGH // 5)
    best = np.flatnonzero(held >= enough)
    best = best[kept[best] == kept[best].max()]
    start = int(min(best, key=lambda place: (abs(2 * int(place) - slack), int(place))))
    lost = tuple(number for number, (low, high) in enumerate(ranges) if not low <= start <= high)
    left, top = (start, 0) if axis == 0 else (0, start)
    share = Fraction(int(kept[start]), int(profile[-1]) * pixels[axis])
    return Window((left, top, left + size[0], top + size[1]), share, lost)


def _along(table: IntMap, places: NDArray[np.int64], pixels: int) -> IntMap:
    """Return the sums up to places in pixels, along the last axis of a summed table, times the pixels of that side."""
    cells = table.shape[-1] - 1
    at = places * cells
    low = np.minimum(at // pixels, cells - 1)
    part = at - low * pixels
    return np.asarray(table[..., low] * (pixels - part) + table[..., low + 1] * part)


def _range(box: Box, axis: int, side: int, window: int) -> tuple[int, int]:
    """Return the first and last start of a window that holds a box, or lies within it, to a millionth of the side."""
    first, last = Fraction(box[axis]) * side, (Fraction(box[axis]) + Fraction(box[axis + 2])) * side
    slip = Fraction(side, 1_000_000)
    low, high = last - window, first
    if low > high:
        low, high = high, low
    return max(0, -int((slip - low) // 1)), max(0, min(int((high + slip) // 1), side - window))


def _clipped(value: int, most: int) -> int:
    return min(max(value, 0), most)
