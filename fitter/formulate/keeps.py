"""R5: where keep boxes may show inside a slot, and what would cover them.

Everything here is in the frame of one slot: its box before tilting, micrometres, origin at its top-left corner.
Pictures are never flipped, slots are: the page of a class that is a flip of the frame sees the covers on
the other side.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from fitter.crops import PixelBox, keep_range, place_window, window_size
from fitter.layout import Box, GivenPhoto
from fitter.units import INCH

_TRIES = 21
PANEL_INSET = INCH // 4
"""Distance of a words panel from its photo's edge, or from the safe box where that is nearer."""
Rect = tuple[float, float, float, float]


@dataclass(frozen=True)
class Cover:
    """Something that may lie on a slot: a rectangle in the slot's frame, and its literal's key."""

    rect: Rect
    kind: str
    number: int


@dataclass(frozen=True)
class Pane:
    """The visible part of a slot of a given size.

    ``room`` is left, top, right, bottom of what is inside the safe box, in fractions of the slot;
    ``round`` whether its shape is an ellipse.
    """

    size: tuple[int, int]
    room: Rect = (0.0, 0.0, 1.0, 1.0)
    round: bool = False
    covers: tuple[Cover, ...] = ()

    def flipped(self, flips: tuple[bool, bool]) -> Pane:
        """Return the pane as it stands on a flipped page."""
        left, top, right, bottom = self.room
        w, h = self.size
        covers = []
        for cover in self.covers:
            x0, y0, x1, y1 = cover.rect
            if flips[0]:
                x0, x1 = w - x1, w - x0
            if flips[1]:
                y0, y1 = h - y1, h - y0
            covers.append(Cover((x0, y0, x1, y1), cover.kind, cover.number))
        if flips[0]:
            left, right = 1 - right, 1 - left
        if flips[1]:
            top, bottom = 1 - bottom, 1 - top
        return Pane(self.size, (left, top, right, bottom), self.round, tuple(covers))


def choose_window(
    photo: GivenPhoto, keep: tuple[Box, ...], pane: Pane, *, centred: bool = False
) -> tuple[PixelBox, tuple[Cover, ...]] | None:
    """Return the crop window nearest the centre that shows all keep boxes, and which covers lie on them.

    Parameters
    ----------
    centred
        Take the middle of the picture whatever the keep boxes say; ``None`` if that loses one.

    Returns
    -------
    tuple or None
        The window in pixels, and the covers that would hide a keep box (as few as the search finds); ``None`` when
        no window shows every keep box inside the shape.
    """
    size = window_size(photo.pixels, pane.size)
    if not keep:
        return place_window(photo.pixels, size, (0.0, 0.0), (1.0, 1.0)), ()
    kept = size[0] / photo.pixels[0], size[1] / photo.pixels[1]
    found = keep_range(keep, kept, pane.room)
    if found is None:
        return None
    low, high = found
    if centred:
        middle = ((1 - kept[0]) / 2, (1 - kept[1]) / 2)
        inside = all(low[a] - 1e-6 <= middle[a] <= high[a] + 1e-6 for a in (0, 1))
        starts = [middle] if inside else []
    else:
        starts = _starts(low, high, kept)
    best: tuple[PixelBox, tuple[Cover, ...]] | None = None
    for start in starts:
        window = place_window(photo.pixels, size, start, start)
        shown = [_shown(box, window, photo.pixels, pane.size) for box in keep]
        if not all(_within(rect, pane) for rect in shown):
            continue
        hiding = tuple(c for c in pane.covers if any(_meet(rect, c.rect) for rect in shown))
        if best is None or len(hiding) < len(best[1]):
            best = (window, hiding)
        if not hiding:
            break
    return best


def _starts(
    low: tuple[float, float], high: tuple[float, float], kept: tuple[float, float]
) -> list[tuple[float, float]]:
    """Return window starts to try, nearest the picture's middle first (one axis is free at most)."""
    middle = tuple(min(max((1 - kept[a]) / 2, low[a]), high[a]) for a in (0, 1))
    steps = []
    for i in range(_TRIES):
        part = i / (_TRIES - 1)
        steps.append((low[0] + part * (high[0] - low[0]), low[1] + part * (high[1] - low[1])))
    steps.sort(key=lambda s: (abs(s[0] - middle[0]) + abs(s[1] - middle[1]), s))
    return [(middle[0], middle[1]), *steps]


def _shown(box: Box, window: PixelBox, pixels: tuple[int, int], size: tuple[int, int]) -> Rect:
    """Return where a keep box lands in the slot."""
    across = size[0] / (window[2] - window[0])
    down = size[1] / (window[3] - window[1])
    x0 = (box[0] * pixels[0] - window[0]) * across
    y0 = (box[1] * pixels[1] - window[1]) * down
    return x0, y0, x0 + box[2] * pixels[0] * across, y0 + box[3] * pixels[1] * down


def _within(rect: Rect, pane: Pane) -> bool:
    (w, h), (left, top, right, bottom) = pane.size, pane.room
    near = 0.5
    if rect[0] < left * w - near or rect[1] < top * h - near:
        return False
    if rect[2] > right * w + near or rect[3] > bottom * h + near:
        return False
    if not pane.round:
        return True
    corners = [(x, y) for x in (rect[0], rect[2]) for y in (rect[1], rect[3])]
    return all(math.hypot((2 * x - w) / w, (2 * y - h) / h) <= 1.0 for x, y in corners)


def _meet(a: Rect, b: Rect) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def panel_spot(
    photo: GivenPhoto, keep: tuple[Box, ...], window: PixelBox, pane: Pane, panel: tuple[int, int]
) -> Rect | None:
    """Return where a words panel lies on a photo, in the slot's frame: the first corner clear of keep boxes and covers.

    Tried are bottom left, bottom right, top left and top right; ``None`` when none is clear.
    """
    (w, h), (left, top, right, bottom) = pane.size, pane.room
    near_x, near_y = left * w + PANEL_INSET, top * h + PANEL_INSET
    far_x, far_y = right * w - PANEL_INSET - panel[0], bottom * h - PANEL_INSET - panel[1]
    hidden = [_shown(box, window, photo.pixels, pane.size) for box in keep]
    taken = [*hidden, *(cover.rect for cover in pane.covers)]
    for x, y in ((near_x, far_y), (far_x, far_y), (near_x, near_y), (far_x, near_y)):
        spot = (x, y, x + panel[0], y + panel[1])
        if not any(_meet(spot, rect) for rect in taken):
            return spot
    return None
