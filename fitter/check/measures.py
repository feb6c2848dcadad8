"""What a page looks like in figures: focus, gaps, near-alignments, white space, and published layout scores.

Enters: a layout.  Leaves: plain numbers for reports; nothing here is a rule or a cost.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

from shapely.geometry import box
from shapely.ops import unary_union

from fitter.check.costs_photos import kept_share
from fitter.check.rules_given import effective_ppi
from fitter.check.shapes import Box, box_overlap, shape_of, shared_area
from fitter.check.view import View
from fitter.layout import Layout, Placed
from fitter.units import INCH

SAME_GAP = 500
"""Micrometres within which gaps count as alike and edges as aligned."""
ALMOST = 3_000
"""Edges further apart than :data:`SAME_GAP` but no further than this are almost aligned."""
LONGEST_GAP = INCH
_COUNTED = frozenset({"photo", "paper", "journaling", "title"})


@dataclass(frozen=True)
class NearMiss:
    """Two edges that almost line up: ``axis`` is ``x`` or ``y``, ``distance`` in micrometres."""

    a: str
    b: str
    axis: str
    distance: int


@dataclass(frozen=True)
class Measures:
    """Figures of one page.

    Parameters
    ----------
    lead
        Id of the photo with the largest visible area, ``None`` on a page without photos.
    lead_share
        Its share of all visible picture area, 0…1.
    gaps
        Gaps between neighbouring blocks in micrometres, ascending.
    repeated_gaps
        How many of them have a length that another gap has too (within 0.5 mm).
    near_misses
        Edges 0.5 to 3 mm apart.
    white_space
        Share of the trim that nothing but backgrounds covers.
    smallest_ppi
        Least effective resolution, rounded down; ``None`` without photos.
    crop_loss
        Share of each photo cut away, by element id.
    overlap, alignment
        Scores of Kikuchi et al., see :func:`overlap_score` and :func:`alignment_score`.
    balance, equilibrium
        Measures of Ngo et al., see :func:`balance` and :func:`equilibrium`.
    """

    lead: str | None
    lead_share: float
    gaps: tuple[int, ...]
    repeated_gaps: int
    near_misses: tuple[NearMiss, ...]
    white_space: float
    smallest_ppi: int | None
    crop_loss: dict[str, float]
    overlap: float
    alignment: float
    balance: float
    equilibrium: float


def measure(layout: Layout) -> Measures:
    """Return the figures of a page."""
    view = View(layout)
    shown = {item.id: visible_area(view, item) for item in view.photos}
    lead = max(shown, key=lambda name: shown[name], default=None)
    total = sum(shown.values())
    blocks = main_blocks(view)
    boxes = [item.box for item in blocks]
    gaps = page_gaps(boxes)
    width, height = layout.page.trim
    resolutions = [effective_ppi(item, item.photo) for item in view.photos if item.photo]
    return Measures(
        lead=lead,
        lead_share=shown[lead] / total if lead is not None and total else 0.0,
        gaps=gaps,
        repeated_gaps=repeated(gaps),
        near_misses=near_misses(blocks),
        white_space=white_space(view),
        smallest_ppi=int(min(resolutions)) if resolutions else None,
        crop_loss={item.id: float(1 - kept_share(view, item)) for item in view.photos},
        overlap=overlap_score(boxes),
        alignment=alignment_score(boxes, (width, height)),
        balance=balance(boxes, (width, height)),
        equilibrium=equilibrium(boxes, (width, height)),
    )


def main_blocks(view: View) -> list[Placed]:
    """Return what the eye takes for blocks: photos, papers and words, but no mats or carried things."""
    return [
        item
        for item in view.elements
        if item.role in _COUNTED and item.tie not in ("mat", "carried") and item.role != "background"
    ]


def visible_area(view: View, item: Placed) -> float:
    """Return the area of a photo inside the trim that nothing covers, in square micrometres."""
    shape = shape_of(item).intersection(box(0, 0, *view.page.trim))
    over = [shape_of(b) for b in view.above(item) if shared_area(item, b) > 0]
    return float(shape.difference(unary_union(over)).area if over else shape.area)


def white_space(view: View) -> float:
    """Return the share of the trim that nothing but backgrounds covers."""
    trim = box(0, 0, *view.page.trim)
    shapes = [shape_of(item) for item in view.elements if item.role != "background"]
    return 1 - float(unary_union(shapes).intersection(trim).area / trim.area) if shapes else 1.0


def page_gaps(boxes: Sequence[Box]) -> tuple[int, ...]:
    """Return the gaps between boxes that face each other with nothing between, up to 1 in, ascending.

    Two boxes face each other when more than half of the smaller one's side looks at the other.
    """
    found = []
    for axis in (0, 1):
        other = 1 - axis
        for a in boxes:
            for b in boxes:
                gap = b[axis] - a[axis + 2]
                low, high = max(a[other], b[other]), min(a[other + 2], b[other + 2])
                smaller = min(a[other + 2] - a[other], b[other + 2] - b[other])
                if not 0 < gap <= LONGEST_GAP or 2 * (high - low) <= smaller:
                    continue
                room = (a[2], low, b[0], high) if axis == 0 else (low, a[3], high, b[1])
                others = (c for c in boxes if c is not a and c is not b)
                if not any(box_overlap(c, room) and not _under_both(c, room, axis) for c in others):
                    found.append(gap)
    return tuple(sorted(found))


def _under_both(box: Box, room: Box, axis: int) -> bool:
    """Whether a box reaches past both ends of the room between two others: it lies under or over them."""
    return box[axis] < room[axis] and box[axis + 2] > room[axis + 2]


def repeated(gaps: Sequence[int]) -> int:
    """Return how many gaps have a like one among the others.

    Examples
    --------
    >>> repeated([3175, 3200, 6350, 9000, 9400])
    4
    """
    return sum(
        any(n != m and abs(gap - other) <= SAME_GAP for m, other in enumerate(gaps))
        for n, gap in enumerate(gaps)
    )


def near_misses(blocks: Sequence[Placed]) -> tuple[NearMiss, ...]:
    """Return pairs of like edges of level blocks that are 0.5 to 3 mm apart: almost aligned, not quite."""
    level = [item for item in blocks if item.tilt == 0]
    found: list[NearMiss] = []
    for a, b in combinations(level, 2):
        for axis, name in ((0, "x"), (1, "y")):
            apart = [abs(a.box[end] - b.box[end]) for end in (axis, axis + 2)]
            found.extend(NearMiss(a.id, b.id, name, d) for d in apart if SAME_GAP < d <= ALMOST)
    return tuple(found)


def overlap_score(boxes: Sequence[Box]) -> float:
    """Return the mean share of a box that the others cover: (1/N) Σᵢ Σ_{j≠i} |i∩j| / |i|.

    Kikuchi et al., "Constrained graphic layout generation via latent optimization", MM 2021.
    """
    if not boxes:
        return 0.0
    shares = [
        box_overlap(a, b) / ((a[2] - a[0]) * (a[3] - a[1]))
        for n, a in enumerate(boxes)
        for m, b in enumerate(boxes)
        if n != m
    ]
    return sum(shares) / len(boxes)


def alignment_score(boxes: Sequence[Box], frame: tuple[int, int]) -> float:
    """Return how far boxes are from lining up, 0 when each shares a line with another.

    (1/N) Σᵢ −ln(1 − min over left, centre, right, top, middle, bottom and all j≠i of |Δ|), coordinates as
    shares of the frame's width and height.  Kikuchi et al., MM 2021.
    """
    if len(boxes) < 2:
        return 0.0
    lines = [_lines(one, frame) for one in boxes]
    total = 0.0
    for n, own in enumerate(lines):
        least = min(
            abs(a - b) for m, other in enumerate(lines) if m != n for a, b in zip(own, other, strict=True)
        )
        total -= math.log(1 - min(least, 1 - 1e-9))
    return total / len(boxes)


def balance(boxes: Sequence[Box], frame: tuple[int, int]) -> float:
    """Return the balance of boxes about the frame's middle lines, 1 when perfect.

    BM = 1 − (|wL − wR| / max(wL, wR) + |wT − wB| / max(wT, wB)) / 2, each w the sum of area times distance of
    centre to the line.  Ngo, Teo and Byrne, Information Sciences 152 (2003) 25–46.
    """
    parts = [_uneven(boxes, axis, frame[axis]) for axis in (0, 1)]
    return 1 - sum(parts) / 2


def equilibrium(boxes: Sequence[Box], frame: tuple[int, int]) -> float:
    """Return how near the boxes' centre of mass is to the frame's centre, 1 when it is there.

    EM = 1 − (|EMx| + |EMy|) / 2 with EMx = 2 Σ a(x − xc) / (n · b · Σ a).  Ngo, Teo and Byrne (2003).
    """
    areas = [_area(one) for one in boxes]
    if not boxes or not sum(areas):
        return 1.0
    parts = []
    for axis in (0, 1):
        moment = sum(a * (_center(one, axis) - frame[axis] / 2) for a, one in zip(areas, boxes, strict=True))
        parts.append(abs(2 * moment / (len(boxes) * frame[axis] * sum(areas))))
    return 1 - sum(parts) / 2


def _uneven(boxes: Sequence[Box], axis: int, length: int) -> float:
    sides = [0.0, 0.0]
    for one in boxes:
        distance = _center(one, axis) - length / 2
        sides[distance > 0] += _area(one) * abs(distance)
    return abs(sides[0] - sides[1]) / max(sides) if max(sides) else 0.0


def _lines(one: Box, frame: tuple[int, int]) -> tuple[float, ...]:
    return tuple(
        value / frame[axis] for axis in (0, 1) for value in (one[axis], _center(one, axis), one[axis + 2])
    )


def _center(one: Box, axis: int) -> float:
    return (one[axis] + one[axis + 2]) / 2


def _area(one: Box) -> int:
    return (one[2] - one[0]) * (one[3] - one[1])
