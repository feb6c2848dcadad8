"""Boxes of elements as they lie, tilts included; for the refit and whoever reads a reference layout."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from fitter.template import Element, Point

Box = tuple[int, int, int, int]


def extents(element: Element) -> Box:
    """Return left, top, right and bottom of everything an element covers, tilt included."""
    angle = math.radians(element.tilt)
    cos, sin = math.cos(angle), math.sin(angle)
    (cx, cy), (w, h) = element.center, element.size
    if element.shape == "path":
        points = [(px * cos - py * sin, px * sin + py * cos) for px, py in element.outline]
        left, right = min(p[0] for p in points), max(p[0] for p in points)
        top, bottom = min(p[1] for p in points), max(p[1] for p in points)
    else:
        if element.shape == "ellipse":
            half_w, half_h = math.hypot(w * cos, h * sin) / 2, math.hypot(w * sin, h * cos) / 2
        else:
            half_w = (w * abs(cos) + h * abs(sin)) / 2
            half_h = (w * abs(sin) + h * abs(cos)) / 2
        left, right, top, bottom = -half_w, half_w, -half_h, half_h
    return (
        math.floor(cx + left + 1e-6),
        math.floor(cy + top + 1e-6),
        math.ceil(cx + right - 1e-6),
        math.ceil(cy + bottom - 1e-6),
    )


def turn(vector: tuple[float, float], degrees: float) -> tuple[float, float]:
    """Return a vector turned clockwise."""
    if not degrees:
        return vector
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return vector[0] * cos - vector[1] * sin, vector[0] * sin + vector[1] * cos


def covers(outer: Box, inner: Box) -> bool:
    """Whether one box lies within another."""
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def around(elements: Iterable[Element]) -> Box:
    """Return the box around everything some elements cover."""
    boxes = [extents(e) for e in elements]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def step_inside(low: int, high: int, room_low: int, room_high: int) -> int:
    """Return how far to move a span so that it lies in a room, or starts with it."""
    if low < room_low:
        return room_low - low
    return min(0, room_high - high)


def moved(element: Element, step: Point) -> Element:
    """Return an element moved."""
    return replace(element, center=(element.center[0] + step[0], element.center[1] + step[1]))


def empty_rectangles(room: Box, taken: Sequence[Box]) -> Iterator[Box]:
    """Yield rectangles of a room clear of all taken boxes, every one that cannot grow among them."""
    lefts = sorted({room[0], *(b[2] for b in taken if room[0] < b[2] < room[2])})
    rights = sorted({room[2], *(b[0] for b in taken if room[0] < b[0] < room[2])})
    for left in lefts:
        for right in rights:
            if right <= left:
                continue
            blocking = sorted((b[1], b[3]) for b in taken if b[0] < right and b[2] > left)
            top = room[1]
            for low, high in [*blocking, (room[3], room[3])]:
                bottom = min(low, room[3])
                if bottom > top:
                    yield left, top, right, bottom
                top = max(top, high)
