"""R5 and crops: where in a slot keep boxes may show, what would cover them, and which window is best.

Everything here is in the frame of one slot: its box before tilting, micrometres, origin at its top-left corner.
Pictures are never flipped, slots are: the page of a class that is a flip of the frame sees the covers on
the other side.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from fitter.crops import (
    EVEN,
    PixelBox,
    best_starts,
    centred,
    free_axis,
    importance_of,
    seen_part,
    start_limits,
    window_size,
)
from fitter.layout import Box, GivenPhoto
from fitter.units import INCH, nearest

_SLIP = 0.5
"""Micrometres by which a keep box may reach out: less than the checker forgives, more than floats err."""
PANEL_INSET = INCH // 4
"""Distance of a words panel from its photo's edge, or from the safe box where that is nearer."""
Rect = tuple[float, float, float, float]
Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Cover:
    """Something that may lie on a slot: a rectangle in the slot's frame, and its literal's key."""

    rect: Rect
    kind: str
    number: int


@dataclass(frozen=True)
class Pane:
    """The visible part of a slot of a given size.

    Parameters
    ----------
    room
        Left, top, right and bottom of what is inside the safe box, in fractions of the slot.
    beyond
        What lies outside the trim at the left, top, right and bottom, in micrometres.
    round
        Whether its shape is an ellipse.
    outline
        Corners of a shape that is neither rectangle nor ellipse, in micrometres.
    covers
        What may lie on it.
    """

    size: tuple[int, int]
    room: Rect = (0.0, 0.0, 1.0, 1.0)
    beyond: tuple[int, int, int, int] = (0, 0, 0, 0)
    round: bool = False
    outline: Points = ()
    covers: tuple[Cover, ...] = ()

    @property
    def symmetric(self) -> bool:
        """Whether it is the same on every flip of the page."""
        return self.room == (0.0, 0.0, 1.0, 1.0) and not (any(self.beyond) or self.covers or self.outline)

    def flipped(self, flips: tuple[bool, bool]) -> Pane:
        """Return the pane as it stands on a flipped page."""
        left, top, right, bottom = self.room
        beyond = list(self.beyond)
        if flips[0]:
            left, right = 1 - right, 1 - left
            beyond[0], beyond[2] = beyond[2], beyond[0]
        if flips[1]:
            top, bottom = 1 - bottom, 1 - top
            beyond[1], beyond[3] = beyond[3], beyond[1]
        w, h = self.size
        outline = tuple((w - x if flips[0] else x, h - y if flips[1] else y) for x, y in self.outline)
        covers = tuple(Cover(flipped_rect(c.rect, self.size, flips), c.kind, c.number) for c in self.covers)
        room = (left, top, right, bottom)
        return Pane(self.size, room, (beyond[0], beyond[1], beyond[2], beyond[3]), self.round, outline, covers)

    def part(self, box: tuple[int, int, int, int]) -> Pane:
        """Return the pane of a piece of a rectangular slot: left, top, width and height."""
        (left, top, w, h), (full_w, full_h) = box, self.size
        right, bottom = full_w - left - w, full_h - top - h
        room = (
            max(0.0, self.room[0] * full_w - left) / w,
            max(0.0, self.room[1] * full_h - top) / h,
            1 - max(0.0, (1 - self.room[2]) * full_w - right) / w,
            1 - max(0.0, (1 - self.room[3]) * full_h - bottom) / h,
        )
        far = [max(0, out - past) for out, past in zip(self.beyond, (left, top, right, bottom), strict=True)]
        covers = []
        for cover in self.covers:
            x0, y0, x1, y1 = cover.rect
            covers.append(Cover((x0 - left, y0 - top, x1 - left, y1 - top), cover.kind, cover.number))
        return Pane((w, h), room, (far[0], far[1], far[2], far[3]), covers=tuple(covers))


def flipped_rect(rect: Rect, size: tuple[int, int], flips: tuple[bool, bool]) -> Rect:
    """Return a rectangle of a slot's frame as it lies on a flipped page."""
    x0, y0, x1, y1 = rect
    if flips[0]:
        x0, x1 = size[0] - x1, size[0] - x0
    if flips[1]:
        y0, y1 = size[1] - y1, size[1] - y0
    return x0, y0, x1, y1


def kept_share(photo: GivenPhoto, window: PixelBox, pane: Pane) -> Fraction:
    """Return the share of a photo's importance that a window shows inside the trim, exactly."""
    extent, part = seen_part(photo.pixels, window, pane.size, pane.beyond)
    return importance_of(photo.importance).share(extent, part)


@lru_cache(maxsize=1 << 14)
def choose_window(
    photo: GivenPhoto,
    keep: tuple[Box, ...],
    pane: Pane,
    *,
    given_up: tuple[Box, ...] = (),
    fixed: bool = False,
    shades: tuple[PixelBox, ...] = (),
) -> tuple[PixelBox, tuple[Cover, ...]] | None:
    """Return the crop window that shows all keep boxes and the most importance, and which covers lie on keep boxes.

    Windows that leave fewest keep boxes under covers come first, then those that show most of what is given up whole,
    then those that keep the most importance inside the trim, then those nearest the middle of what is given up, or of
    the picture.

    Parameters
    ----------
    given_up
        Regions that need not be kept; as many as can be are shown all the same, whatever may lie on them.
    fixed
        Take the middle of the picture whatever the keep boxes say; ``None`` if that loses one.
    shades
        Boxes of the slot in which nothing of the picture is seen; the most importance beside them is looked for.

    Returns
    -------
    tuple or None
        The window in pixels, and the covers that would hide a keep box; ``None`` when no window shows every keep box
        inside the shape.
    """
    size = window_size(photo.pixels, pane.size)
    slip = (_SLIP * size[0] / pane.size[0], _SLIP * size[1] / pane.size[1])
    limits = start_limits(keep, photo.pixels, size, pane.room, slip)
    if limits is None:
        return None
    axis = free_axis(photo.pixels, size)
    middle = photo.pixels[axis]
    spared = [] if fixed else _spans(given_up, photo, pane, axis, size, slip)
    if given_up:
        ends = [min(b[axis] for b in given_up), max(b[axis] + b[axis + 2] for b in given_up)]
        middle = round(sum(ends) * photo.pixels[axis])
    if fixed:
        start = centred(photo.pixels, size)[axis]
        starts: tuple[int, ...] = (start,) if limits[axis][0] <= start <= limits[axis][1] else ()
    else:
        tried = (
            *_clearing(photo.pixels[axis], keep, pane, axis, size[axis]),
            *_touching((*keep, *given_up), photo, pane, axis, size),
            *_turning(photo, pane, axis, size[axis], shades),
            *(end for _, span in spared for end in span),
        )
        slot = pane.size if any(pane.beyond) else (1, 1)
        summed = importance_of(photo.importance)
        starts = best_starts(summed, photo.pixels, size, slot, pane.beyond, limits[axis], middle, tried)
    if shades:
        starts = tuple(sorted(starts, key=lambda start: -_beside(photo, _window(start, axis, size), pane, shades)))
    if spared:
        starts = tuple(sorted(starts, key=lambda start: -_shown_whole(start, spared, photo, pane, axis, size)))
    if not keep:
        return (_window(starts[0], axis, size), ()) if starts else None
    best: tuple[PixelBox, tuple[Cover, ...]] | None = None
    scale = pane.size[axis] / size[axis]
    unmoved = [_shown(box, _window(0, axis, size), photo.pixels, pane.size) for box in keep]
    for start in starts:
        window = _window(start, axis, size)
        shown = [_slid(rect, axis, -start * scale) for rect in unmoved]
        if not all(_within(rect, pane) for rect in shown):
            continue
        hiding = tuple(c for c in pane.covers if any(_meet(rect, c.rect) for rect in shown))
        if best is None or len(hiding) < len(best[1]):
            best = (window, hiding)
        if not hiding:
            break
    return best


def _spans(
    boxes: tuple[Box, ...],
    photo: GivenPhoto,
    pane: Pane,
    axis: int,
    size: tuple[int, int],
    slip: tuple[float, float],
) -> list[tuple[Box, tuple[int, int]]]:
    """Return the boxes that some window shows whole, each with the first and last start that may."""
    found = ((box, start_limits((box,), photo.pixels, size, pane.room, slip)) for box in boxes)
    return [(box, limits[axis]) for box, limits in found if limits is not None]


def _shown_whole(
    start: int,
    spans: list[tuple[Box, tuple[int, int]]],
    photo: GivenPhoto,
    pane: Pane,
    axis: int,
    size: tuple[int, int],
) -> int:
    """Return how many boxes a window shows whole, within the slot's shape."""
    shown = [box for box, (low, high) in spans if low <= start <= high]
    if shown and (pane.round or pane.outline):
        window = _window(start, axis, size)
        shown = [box for box in shown if _within(_shown(box, window, photo.pixels, pane.size), pane)]
    return len(shown)


def _clearing(side: int, keep: tuple[Box, ...], pane: Pane, axis: int, size: int) -> Iterator[int]:
    """Yield the starts at which keep boxes come clear of covers."""
    scale = size / pane.size[axis]
    for box in keep:
        first, last = box[axis] * side, (box[axis] + box[axis + 2]) * side
        for cover in pane.covers:
            yield math.floor(first - cover.rect[axis + 2] * scale)
            yield math.ceil(last - cover.rect[axis] * scale)


def _touching(
    boxes: tuple[Box, ...], photo: GivenPhoto, pane: Pane, axis: int, size: tuple[int, int]
) -> Iterator[int]:
    """Yield the starts at which boxes come to lie within a slot's shape, or leave it.

    Between two of them a box is within it all the way or nowhere.
    """
    if not (pane.round or pane.outline):
        return
    scale = size[axis] / pane.size[axis]
    for box in boxes:
        rect = _shown(box, _window(0, axis, size), photo.pixels, pane.size)
        for moved in _round_ends(rect, pane.size, axis) if pane.round else _outline_ends(rect, pane.outline, axis):
            start = math.floor(-moved * scale)
            yield from range(start - 1, start + 3)


def _round_ends(rect: Rect, size: tuple[int, int], axis: int) -> Iterator[float]:
    """Yield by how far a rectangle moved along an axis touches an ellipse from within, at either end."""
    full, across = size[axis], size[1 - axis]
    room = min(1 - ((2 * place - across) / across) ** 2 for place in (rect[1 - axis], rect[3 - axis]))
    if room >= 0:
        half = full / 2 * math.sqrt(room)
        yield full / 2 - half - rect[axis]
        yield full / 2 + half - rect[axis + 2]


def _outline_ends(rect: Rect, outline: Points, axis: int) -> Iterator[float]:
    """Yield by how far a rectangle moved along an axis touches a polygon: a corner a side, or a side a corner."""
    low, high = rect[1 - axis], rect[3 - axis]
    places = [point[axis] for point in outline if low <= point[1 - axis] <= high]
    for a, b in zip(outline, (*outline[1:], *outline[:1]), strict=True):
        for level in (low, high):
            if (a[1 - axis] > level) != (b[1 - axis] > level):
                along = (level - a[1 - axis]) / (b[1 - axis] - a[1 - axis])
                places.append(a[axis] + along * (b[axis] - a[axis]))
    for place in places:
        yield place - rect[axis]
        yield place - rect[axis + 2]


def _turning(photo: GivenPhoto, pane: Pane, axis: int, size: int, shades: tuple[PixelBox, ...]) -> Iterator[int]:
    """Yield the starts at which an edge of a shade passes an edge of a cell: between them what it hides is linear."""
    grid, side, full = photo.importance or EVEN, photo.pixels[axis], pane.size[axis]
    cells = len(grid[0]) if axis == 0 else len(grid)
    for shade in shades:
        for bound in (shade[axis], shade[axis + 2]):
            for edge in range(cells + 1):
                start = (edge * side * full - bound * size * cells) // (cells * full)
                yield from (start, start + 1)


def _beside(photo: GivenPhoto, window: PixelBox, pane: Pane, shades: tuple[PixelBox, ...]) -> Fraction:
    """Return the share of a photo's importance that a window shows beside shades."""
    hidden = sum((share_under(photo, window, pane, shade) for shade in shades), Fraction(0))
    return kept_share(photo, window, pane) * (1 - hidden)


def _window(start: int, axis: int, size: tuple[int, int]) -> PixelBox:
    left, top = (start, 0) if axis == 0 else (0, start)
    return left, top, left + size[0], top + size[1]


def _shown(box: Box, window: PixelBox, pixels: tuple[int, int], size: tuple[int, int]) -> Rect:
    """Return where a keep box lands in the slot."""
    across = size[0] / (window[2] - window[0])
    down = size[1] / (window[3] - window[1])
    x0 = (box[0] * pixels[0] - window[0]) * across
    y0 = (box[1] * pixels[1] - window[1]) * down
    return x0, y0, x0 + box[2] * pixels[0] * across, y0 + box[3] * pixels[1] * down


def _slid(rect: Rect, axis: int, by: float) -> Rect:
    """Return a rectangle moved along one axis."""
    x0, y0, x1, y1 = rect
    return (x0 + by, y0, x1 + by, y1) if axis == 0 else (x0, y0 + by, x1, y1 + by)


def _within(rect: Rect, pane: Pane) -> bool:
    (w, h), (left, top, right, bottom) = pane.size, pane.room
    near = _SLIP + 0.1
    if rect[0] < left * w - near or rect[1] < top * h - near:
        return False
    if rect[2] > right * w + near or rect[3] > bottom * h + near:
        return False
    if pane.outline:
        return _encloses(pane.outline, rect)
    if not pane.round:
        return True
    corners = [(x, y) for x in (rect[0], rect[2]) for y in (rect[1], rect[3])]
    return all(math.hypot((2 * x - w) / w, (2 * y - h) / h) <= 1.0 for x, y in corners)


def _encloses(outline: Points, rect: Rect) -> bool:
    """Whether a rectangle lies inside a polygon: no side of it comes into the rectangle, and the middle is inside."""
    sides = list(zip(outline, (*outline[1:], *outline[:1]), strict=True))
    if any(_passes(a, b, rect) for a, b in sides):
        return False
    x, y = (rect[0] + rect[2]) / 2, (rect[1] + rect[3]) / 2
    rising = [(a, b) for a, b in sides if (a[1] > y) != (b[1] > y)]
    return sum(x < a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1]) for a, b in rising) % 2 == 1


def _passes(a: tuple[float, float], b: tuple[float, float], rect: Rect) -> bool:
    """Whether a line comes into a rectangle (clipped as by Liang and Barsky, 1984)."""
    enter, leave = 0.0, 1.0
    for axis in (0, 1):
        step = b[axis] - a[axis]
        for sign, bound in ((-1, rect[axis]), (1, rect[axis + 2])):
            slope, room = sign * step, sign * (bound - a[axis])
            if slope == 0:
                if room <= 0:
                    return False
            elif slope < 0:
                enter = max(enter, room / slope)
            else:
                leave = min(leave, room / slope)
    return enter < leave


def _meet(a: Rect, b: Rect) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def share_under(photo: GivenPhoto, window: PixelBox, pane: Pane, box: PixelBox) -> Fraction:
    """Return the share of the importance in a window that lies under a box inside the slot, exactly."""
    summed = importance_of(photo.importance)
    inside = summed.share(photo.pixels, window)
    (w, h), (left, top, right, bottom) = pane.size, box
    extent, part = seen_part(photo.pixels, window, pane.size, (left, top, w - right, h - bottom))
    return summed.share(extent, part) / inside if inside else Fraction(0)


def panel_spots(
    photo: GivenPhoto, keep: tuple[Box, ...], window: PixelBox, pane: Pane, panel: tuple[int, int]
) -> Iterator[PixelBox]:
    """Yield where a words panel may lie on a photo, in the slot's frame: the corners clear of keep boxes and covers.

    Bottom left, bottom right, top left and top right, to whole micrometres.
    """
    hidden = [_shown(box, window, photo.pixels, pane.size) for box in keep]
    for spot in _corners(pane, panel):
        if not any(_meet(spot, rect) for rect in (*hidden, *(cover.rect for cover in pane.covers))):
            middle = nearest((spot[0] + spot[2]) / 2), nearest((spot[1] + spot[3]) / 2)
            left, top = middle[0] - panel[0] // 2, middle[1] - panel[1] // 2
            yield left, top, left + panel[0], top + panel[1]


def has_corner(pane: Pane, panel: tuple[int, int]) -> bool:
    """Whether some corner is clear of covers for a words panel, whatever the photo; alike on every flip of the page."""
    return any(not any(_meet(spot, cover.rect) for cover in pane.covers) for spot in _corners(pane, panel))


def _corners(pane: Pane, panel: tuple[int, int]) -> Iterator[Rect]:
    """Yield where a panel lies in the corners: bottom left, bottom right, top left and top right."""
    (w, h), (left, top, right, bottom) = pane.size, pane.room
    near_x, near_y = left * w + PANEL_INSET, top * h + PANEL_INSET
    far_x, far_y = right * w - PANEL_INSET - panel[0], bottom * h - PANEL_INSET - panel[1]
    for x, y in ((near_x, far_y), (far_x, far_y), (near_x, near_y), (far_x, near_y)):
        yield x, y, x + panel[0], y + panel[1]
