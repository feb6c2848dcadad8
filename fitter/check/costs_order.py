"""Costs of order on the page: alignments and equal gaps of the reference that no longer hold."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from fitter.check.report import CostItem
from fitter.check.shapes import Box
from fitter.check.view import View, doubled_center
from fitter.pages import Side
from fitter.template import Element
from fitter.units import INCH

Items = tuple[CostItem, ...]
ALIGNMENT, GAP = 90_000, 30_000
SAME = 500
"""Micrometres within which lines coincide and gaps are equal."""
LONGEST_GAP = INCH
_ENDS: tuple[tuple[Side, Side], ...] = (("left", "right"), ("top", "bottom"))
_LINES = ("near", "center", "far")


@dataclass(frozen=True)
class Alignment:
    """Two blocks that share a line of the reference: ``near`` edge, ``center`` or ``far`` edge on an axis."""

    axis: int
    line: str
    a: str
    b: str


@dataclass(frozen=True)
class Gap:
    """The gap between ``a`` and the block ``b`` after it on an axis."""

    axis: int
    a: str
    b: str
    length: int
    place: int


def cost_alignment(view: View) -> Items:
    """90,000 for each alignment of the reference that no longer holds."""
    return tuple(
        CostItem(f"{al.a} + {al.b}, {('x', 'y')[al.axis]} {al.line}", ALIGNMENT)
        for al in alignments(view)
        if {al.a, al.b} <= set(view.pieces)
        and abs(_line(view.outer(al.a), al) - _line(view.outer(al.b), al)) > 2 * SAME
    )


def cost_gap(view: View) -> Items:
    """30,000 for each gap that was one of several equal ones in the reference and has another length now."""
    return tuple(
        CostItem(f"{gap.a}–{gap.b}", GAP)
        for gap in equal_gaps(view)
        if {gap.a, gap.b} <= set(view.pieces) and abs(_now(view, gap) - gap.length) > SAME
    )


def candidates(view: View) -> tuple[Element, ...]:
    """Return the blocks whose lines and gaps count: level ones, no embellishments."""
    return tuple(b for b in view.blocks if b.tilt == 0 and b.role != "embellishment")


def alignments(view: View) -> tuple[Alignment, ...]:
    """Return the alignments of the reference."""
    found: list[Alignment] = []
    for axis in (0, 1):
        for line in _LINES:
            found.extend(_aligned(view, axis, line))
    return tuple(found)


def equal_gaps(view: View) -> tuple[Gap, ...]:
    """Return the gaps of the reference that have an equal."""
    gaps = sorted(_gaps(view), key=lambda g: (g.length, g.axis, g.a, g.b))
    alike: list[Gap] = []
    start = 0
    while start < len(gaps):
        stop = start
        while stop < len(gaps) and gaps[stop].length - gaps[start].length <= SAME:
            stop += 1
        if stop - start > 1:
            alike.extend(gaps[start:stop])
        start = stop
    return tuple(alike)


def _aligned(view: View, axis: int, line: str) -> Iterator[Alignment]:
    probe = Alignment(axis, line, "", "")
    usable = [e for e in candidates(view) if not _line_bleeds(e, axis, line)]
    ordered = sorted(usable, key=lambda e: _line(e.box, probe))
    start = 0
    while start < len(ordered):
        stop = start
        first = _line(ordered[start].box, probe)
        while stop < len(ordered) and _line(ordered[stop].box, probe) - first <= 2 * SAME:
            stop += 1
        group = sorted(ordered[start:stop], key=lambda e: (doubled_center(e.box)[1 - axis], e.id))
        for a, b in pairwise(group):
            if line != "center" or not _both_edges(a, b, axis):
                yield Alignment(axis, line, a.id, b.id)
        start = stop


def _line_bleeds(element: Element, axis: int, line: str) -> bool:
    near, far = _ENDS[axis]
    if line == "center":
        return near in element.bleeds or far in element.bleeds
    return (near if line == "near" else far) in element.bleeds


def _line(box: Box, al: Alignment) -> int:
    """Return twice the coordinate of a box's line, so that centres are whole."""
    if al.line == "center":
        return doubled_center(box)[al.axis]
    return 2 * box[al.axis if al.line == "near" else al.axis + 2]


def _both_edges(a: Element, b: Element, axis: int) -> bool:
    """Whether both near and far edges of two elements are alignable and coincide."""
    return all(
        not _line_bleeds(a, axis, line)
        and not _line_bleeds(b, axis, line)
        and abs(a.box[end] - b.box[end]) <= SAME
        for line, end in (("near", axis), ("far", axis + 2))
    )


def _gaps(view: View) -> Iterator[Gap]:
    level = candidates(view)
    boxes = np.array([e.box for e in level]).reshape(-1, 4)
    for axis in (0, 1):
        for a in level:
            for b in level:
                length = b.box[axis] - a.box[axis + 2]
                if a is b or not 0 < length <= LONGEST_GAP:
                    continue
                if _face_each_other(a, b, axis) and not _something_between(a, b, axis, boxes):
                    yield Gap(axis, a.id, b.id, length, a.box[axis + 2])


def _face_each_other(a: Element, b: Element, axis: int) -> bool:
    low, high = _common(a, b, axis)
    smaller = min(a.size[1 - axis], b.size[1 - axis])
    return 2 * (high - low) > smaller


def _common(a: Element, b: Element, axis: int) -> tuple[int, int]:
    other = 1 - axis
    return max(a.box[other], b.box[other]), min(a.box[other + 2], b.box[other + 2])


def _something_between(a: Element, b: Element, axis: int, boxes: NDArray[np.int64]) -> bool:
    low, high = _common(a, b, axis)
    first, last = a.box[axis + 2], b.box[axis]
    near, far, near_across, far_across = (boxes[:, end] for end in (axis, axis + 2, 1 - axis, 3 - axis))
    # Neither a, which ends at ``first``, nor b, which begins at ``last``, is among these.
    between = (first < far) & (near < last) & ((first <= near) | (far <= last))
    return bool((between & (near_across < high) & (far_across > low)).any())


def _now(view: View, gap: Gap) -> int:
    return view.outer(gap.b)[gap.axis] - view.outer(gap.a)[gap.axis + 2]
