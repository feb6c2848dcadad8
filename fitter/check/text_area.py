"""The text area of a card: the free rectangle among what lies on it, where its words stand.

Ground for R2 and the cost ``text``; published in DEVELOPERS.md under *Text area*.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from fractions import Fraction
from itertools import product

from shapely.geometry import Polygon

from fitter.check.rules_text import CLEAR, STEEPEST
from fitter.check.shapes import TOLERANCE, Box, box_area, depth, shape_of, tilted_box, turned
from fitter.check.view import View, is_text
from fitter.layout import Placed
from fitter.pages import SIDES
from fitter.template import Element

NEARLY = Fraction(899, 1000)
"""A rectangle of this share of another's area is nearly as large; a little under 9/10, which drawings meet exactly."""
ALIKE = 16
"""Micrometres by which widths may differ and be the same: rounding."""
MOST_GOING = 3
"""What is gone from a card, or the block it belongs to, takes nothing from it, unless more than so many lie on it."""


def height_available(view: View, item: Placed) -> Fraction:
    """Return the height ink has on its card: that of the card's text area less 1/8 in above and below.

    The text area of a rectangle is its box, of an ellipse its box over √2, of a path the largest even
    percentage of its box that lies inside; on a card tilted over 15° the level box of the same proportions
    inside that; less what the reference has outside the card's free rectangle, see :func:`reference_insets`.
    """
    share = _inner_share(item)
    width, height = item.size[0] * share, item.size[1] * share
    if abs(item.tilt) > STEEPEST:
        sin, cos = math.sin(math.radians(abs(item.tilt))), math.cos(math.radians(abs(item.tilt)))
        level = min(width / (width * cos + height * sin), height / (width * sin + height * cos))
        height *= level
    room = Fraction(height) - 2 * CLEAR
    origin = view.origin(item)
    if origin is None:
        return room
    insets = reference_insets(view, item)
    grow = max(Fraction(1), Fraction(item.size[0], origin.size[0]))
    return room - (insets["top"] + insets["bottom"]) * grow


def reference_insets(view: View, item: Placed) -> dict[str, int]:
    """Return what the reference has of a card outside its free rectangle, on each side, in micrometres.

    Parameters
    ----------
    view
        The layout.
    item
        A placed element of it that is not an added one.
    """
    card = view.origin(item)
    assert card is not None
    share = _inner_share(card)
    half = [math.floor(side * share / 2) for side in card.size]
    (x, y), (w, h) = card.center, half
    room = x - w, y - h, x + w, y + h
    free = free_rectangle(room, _taken(view, item, card))
    return dict(zip(SIDES, (abs(a - b) for a, b in zip(free, room, strict=True)), strict=True))


def free_rectangle(room: Box, taken: Iterable[Box]) -> Box:
    """Return the free rectangle of a room among boxes.

    It is the largest by area; of several nearly equal ones the widest; of these the largest, topmost, leftmost.  Where
    nothing is free, it is empty, at the room's top left corner.
    """
    inside = [box for box in taken if min(box[2], room[2]) > max(box[0], room[0])]
    levels = (box[side] for box in inside for side in (1, 3))
    rows = sorted({room[1], room[3], *(y for y in levels if room[1] < y < room[3])})
    found: list[Box] = []
    for top, bottom in product(rows, rows):
        if top < bottom:
            spans = sorted((b[0], b[2]) for b in inside if b[1] < bottom and b[3] > top)
            reached = room[0]
            for left, right in (*spans, (room[2], room[2])):
                if left > reached:
                    found.append((reached, top, left, bottom))
                reached = max(reached, right)
    largest = max(map(box_area, found), default=0)
    found = [box for box in found if box_area(box) >= NEARLY * largest]
    widest = max((box[2] - box[0] for box in found), default=0)
    found = [box for box in found if box[2] - box[0] >= widest - ALIKE]
    nothing = (*room[:2], *room[:2])
    return max(found, key=lambda box: (box_area(box), -box[1], -box[0]), default=nothing)


def _taken(view: View, item: Placed, card: Element) -> list[Box]:
    """Return the boxes of what lies on a card in the reference and counts on this page, with the card level."""
    level = 0.0 if abs(card.tilt) > STEEPEST else -card.tilt
    things: dict[str, list[Box]] = {}
    for other in view.layout.reference[view.stacking[card.id] + 1 :]:
        host = _host(view, other)
        if host == card.id and (other.tie == "mat" or is_text(other)):
            continue
        if _looks_for_a_place(view, other) or depth(shape_of(other), shape_of(card)) <= TOLERANCE:
            continue
        if _looks_for_a_place(view, card) and host != card.id and not _meets(view, other, item):
            continue
        x0, y0, x1, y1 = turned(shape_of(other), level, card.center).bounds
        box = math.floor(x0 + 1e-6), math.floor(y0 + 1e-6), math.ceil(x1 - 1e-6), math.ceil(y1 - 1e-6)
        if host == card.id:
            box = _up_to_corner(box, turned(tilted_box(other.center, (2, 2), 0), level, card.center), card)
        things.setdefault(other.id if host == card.id else host, []).append(box)
    counted = [boxes for name, boxes in things.items() if len(things) > MOST_GOING or name in view.pieces]
    return [box for boxes in counted for box in boxes]


def _up_to_corner(box: Box, middle: Polygon, card: Element) -> Box:
    """Return the box of something carried, with all between it and the corner of its card that it keeps to."""
    (x, y), (left, top, right, bottom) = (middle.centroid.x, middle.centroid.y), card.box
    x0, y0, x1, y1 = box
    x0, x1 = (min(x0, left), x1) if x <= card.center[0] + 1e-6 else (x0, max(x1, right))
    y0, y1 = (min(y0, top), y1) if y <= card.center[1] + 1e-6 else (y0, max(y1, bottom))
    return x0, y0, x1, y1


def _host(view: View, element: Element) -> str:
    """Return the block at the end of an element's ties."""
    while element.tie in ("mat", "carried") and element.on is not None:
        element = view.reference[element.on]
    return element.id


def _meets(view: View, other: Element, item: Placed) -> bool:
    """Whether a reference element lies on a placed one on this page."""
    return any(depth(shape_of(piece), shape_of(item)) > TOLERANCE for piece in view.pieces.get(other.id, ()))


def _looks_for_a_place(view: View, words: Element) -> bool:
    """Whether these are words that keep their width on a page on its side and ride on nothing."""
    turned_page = view.layout.transform.rotate in (90, 270)
    return turned_page and is_text(words) and words.tie not in ("mat", "carried") and not words.limits.vertical


def _inner_share(item: Element | Placed) -> float:
    if item.shape == "rect":
        return 1.0
    if item.shape == "ellipse":
        return 1 / math.sqrt(2)
    outline = Polygon(item.outline)
    w, h = item.size
    for percent in range(98, 5, -2):
        if outline.covers(tilted_box((0, 0), (w * percent / 100, h * percent / 100), 0)):
            return percent / 100
    return 0.0
