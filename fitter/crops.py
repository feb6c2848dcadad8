"""Crop windows: which part of a picture a slot shows, in whole pixels.

Pure integer geometry shared by formulating (which prices it) and placing (which writes it).  Frame:
the picture as seen, origin top-left, x right, y down.
"""

from __future__ import annotations

from collections.abc import Sequence

from fitter.units import divide_nearest

PixelBox = tuple[int, int, int, int]


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


def place_window(
    pixels: tuple[int, int], size: tuple[int, int], low: tuple[float, float], high: tuple[float, float]
) -> PixelBox:
    """Return the window nearest the picture's centre whose left and top lie between given fractions.

    Parameters
    ----------
    low, high
        Smallest and largest left and top edge, as fractions of the picture; an empty range gives the middle of the two.
    """
    corner = []
    for axis in (0, 1):
        slack = pixels[axis] - size[axis]
        middle = slack / 2
        start = min(max(middle, low[axis] * pixels[axis]), high[axis] * pixels[axis])
        corner.append(min(max(round(start), 0), slack))
    return corner[0], corner[1], corner[0] + size[0], corner[1] + size[1]


def keep_range(
    keep: Sequence[tuple[float, float, float, float]],
    kept: tuple[float, float],
    room: tuple[float, float, float, float],
) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """Return where a window may start so that every keep box shows inside the allowed part of a slot.

    Parameters
    ----------
    keep
        Boxes as x, y, width and height in 0…1 of the picture.
    kept
        Width and height of the window as fractions of the picture.
    room
        Left, top, right and bottom of the allowed part, as fractions of the slot.

    Returns
    -------
    tuple or None
        Smallest and largest (left, top) in fractions of the picture; ``None`` when there is none.
    """
    low, high = [], []
    for axis in (0, 1):
        first = min(box[axis] for box in keep)
        last = max(box[axis] + box[axis + 2] for box in keep)
        slack = 1.0 - kept[axis]
        least = max(0.0, last - room[axis + 2] * kept[axis])
        most = min(slack, first - room[axis] * kept[axis])
        if least > most + 1e-9:
            return None
        low.append(least)
        high.append(max(least, most))
    return (low[0], low[1]), (high[0], high[1])
