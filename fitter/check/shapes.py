"""Real shapes of elements as shapely polygons, and exact areas where boxes allow them.

Ellipses become polygons of :data:`ELLIPSE_POINTS` points with exactly the ellipse's area.  Lengths in
micrometres, tilts clockwise (y runs down, so shapely's positive angle turns clockwise on the page).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry import Polygon, box

from fitter.layout import Placed
from fitter.template import Element

Item = Element | Placed
Box = tuple[int, int, int, int]

TOLERANCE = 3
"""Micrometres by which rounded corners may miss a line."""
ELLIPSE_POINTS = 1440


def is_plain(item: Item) -> bool:
    """Whether the item is a rectangle that is not tilted, so that integers describe it exactly."""
    return item.shape == "rect" and item.tilt == 0


@lru_cache(maxsize=8192)
def shape_of(item: Item) -> Polygon:
    """Return the item's outline on the page."""
    if item.shape == "rect":
        made = box(*item.box)
    elif item.shape == "ellipse":
        made = _ellipse(item.box)
    else:
        x, y = item.center
        made = Polygon([(x + dx, y + dy) for dx, dy in item.outline])
        if not made.is_valid:
            # An outline that crosses itself counts as everything inside its outer bounds.
            made = made.convex_hull
    return turned(made, item.tilt, item.center)


def turned(shape: Polygon, degrees: float, about: tuple[float, float]) -> Polygon:
    """Return a shape turned clockwise about a point."""
    return affinity.rotate(shape, degrees, origin=about) if degrees else shape


def tilted_box(center: tuple[float, float], size: tuple[float, float], tilt: float) -> Polygon:
    """Return the rectangle of a centre, a size and a tilt."""
    (x, y), (w, h) = center, size
    return turned(box(x - w / 2, y - h / 2, x + w / 2, y + h / 2), tilt, center)


@lru_cache(maxsize=65536)
def shared_area(a: Item, b: Item) -> Fraction:
    """Return the area two items share, exactly for plain boxes."""
    if is_plain(a) and is_plain(b):
        return Fraction(box_overlap(a.box, b.box))
    one, other = shape_of(a), shape_of(b)
    if not _bounds_meet(one.bounds, other.bounds):
        return Fraction(0)
    return Fraction(float(one.intersection(other).area))


def meeting(items: Sequence[Placed]) -> Iterator[tuple[Placed, Placed]]:
    """Yield the pairs of items whose shapes have bounds that touch or overlap, in the items' order."""
    shapes = np.array([shape_of(item) for item in items], dtype=object)  # the tree takes no empty list
    for a, b in sorted(zip(*shapely.STRtree(shapes).query(shapes).tolist(), strict=True)):
        if a < b:
            yield items[a], items[b]


def area_of(item: Item) -> Fraction:
    """Return the area of an item's shape, exactly for rectangles."""
    if item.shape == "rect":
        return Fraction(item.size[0] * item.size[1])
    return Fraction(float(shape_of(item).area))


def box_area(box_: Box) -> int:
    """Return the area of a box, 0 when it is empty."""
    return max(0, box_[2] - box_[0]) * max(0, box_[3] - box_[1])


def box_overlap(a: Box, b: Box) -> int:
    """Return the area two boxes share."""
    return box_area((max(a[0], b[0]), max(a[1], b[1]), min(a[2], b[2]), min(a[3], b[3])))


def box_inside(inner: Box, outer: Box) -> bool:
    """Whether a box lies inside another, edges included."""
    return inner[0] >= outer[0] and inner[1] >= outer[1] and inner[2] <= outer[2] and inner[3] <= outer[3]


def box_around(boxes: list[Box]) -> Box:
    """Return the smallest box around boxes."""
    return (
        min(b[0] for b in boxes),
        min(b[1] for b in boxes),
        max(b[2] for b in boxes),
        max(b[3] for b in boxes),
    )


def covers(outer: Polygon, inner: Polygon) -> bool:
    """Whether a shape lies inside another, give or take :data:`TOLERANCE`."""
    if outer.covers(inner):
        return True
    return stick_out(outer, inner) <= TOLERANCE


def stick_out(outer: Polygon, inner: Polygon) -> float:
    """Return how far the inner shape reaches beyond the outer one, in micrometres."""
    rest = inner.difference(outer)
    if rest.is_empty:
        return 0.0
    points = shapely.points(shapely.get_coordinates(rest))
    return float(shapely.distance(points, outer).max())


def depth(a: Polygon, b: Polygon) -> float:
    """Return how deep two shapes lie in each other: the narrower side of what they share.

    0 when they only touch.  Used to say by how much, and to forgive :data:`TOLERANCE`.
    """
    common = a.intersection(b)
    if common.is_empty or common.area == 0:
        return 0.0
    rect = shapely.minimum_rotated_rectangle(common)
    corners = shapely.get_coordinates(rect)
    sides = [math.dist(corners[i], corners[i + 1]) for i in range(len(corners) - 1)]
    return min(sides[:2], default=0.0)


def _ellipse(box_: Box) -> Polygon:
    left, top, right, bottom = box_
    step = 2 * math.pi / ELLIPSE_POINTS
    # An inscribed polygon is smaller than its ellipse; grown by this factor their areas are equal.
    grow = math.sqrt(step / math.sin(step)) / 2
    cx, cy = (left + right) / 2, (top + bottom) / 2
    rx, ry = (right - left) * grow, (bottom - top) * grow
    angles = [step * i for i in range(ELLIPSE_POINTS)]
    return Polygon([(cx + rx * math.cos(t), cy + ry * math.sin(t)) for t in angles])


def _bounds_meet(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
