"""What lines up in the reference: aligned edges and centres, and equal gaps.

Read from the reference alone, as DEVELOPERS.md defines them; the checker finds them anew by itself.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal, TypeVar

from fitter.template import Element
from fitter.units import INCH

TOLERANCE = 500
"""Micrometres within which coordinates or gaps count as equal."""

T = TypeVar("T")
Line = Literal["near", "centre", "far"]
_ENDS: tuple[tuple[str, str], tuple[str, str]] = (("left", "right"), ("top", "bottom"))


@dataclass(frozen=True)
class Alignment:
    """Two elements that share a line: ``axis`` 0 for a vertical line (equal x), 1 for a horizontal one."""

    axis: int
    line: Line
    first: str
    second: str


@dataclass(frozen=True)
class Gap:
    """The distance between two facing elements along an axis."""

    axis: int
    first: str
    second: str
    length: int


def candidates(elements: Iterable[Element]) -> list[Element]:
    """Return the blocks that can line up: upright, no ornament, no background, untied."""
    return [
        e
        for e in elements
        if e.tie not in ("mat", "carried") and e.role not in ("background", "embellishment") and e.tilt == 0
    ]


def alignments(elements: Sequence[Element]) -> list[Alignment]:
    """Return the pairs that share an edge or a centre line."""
    found: list[Alignment] = []
    shapes = candidates(elements)
    for axis in (0, 1):
        near, far = _ENDS[axis]
        edges = {
            "near": [e for e in shapes if near not in e.bleeds],
            "centre": [e for e in shapes if near not in e.bleeds and far not in e.bleeds],
            "far": [e for e in shapes if far not in e.bleeds],
        }
        places: dict[str, Callable[[Element], int]] = {
            "near": lambda e, a=axis: e.box[a],  # type: ignore[misc]
            "centre": lambda e, a=axis: e.center[a],  # type: ignore[misc]
            "far": lambda e, a=axis: e.box[a + 2],  # type: ignore[misc]
        }
        pairs: dict[str, list[tuple[str, str]]] = {}
        for line in ("near", "centre", "far"):
            pairs[line] = []
            for group in _groups(edges[line], places[line]):
                group.sort(key=lambda e: (e.center[1 - axis], e.id))
                pairs[line] += [(a.id, b.id) for a, b in pairwise(group)]
        coordinate = {e.id: e for e in shapes}
        pairs["centre"] = [
            pair for pair in pairs["centre"] if not _both_edges(coordinate[pair[0]], coordinate[pair[1]], axis)
        ]
        lines: tuple[Line, ...] = ("near", "centre", "far")
        found += [Alignment(axis, line, a, b) for line in lines for a, b in pairs[line]]
    return found


def equal_gaps(elements: Sequence[Element]) -> list[Gap]:
    """Return the gaps that have an equal."""
    gaps = sorted(all_gaps(candidates(elements)), key=lambda g: (g.length, g.axis, g.first, g.second))
    return [gap for group in _groups(gaps, lambda g: g.length) if len(group) > 1 for gap in group]


def usual_gap(elements: Iterable[Element], least: int) -> int | None:
    """Return the most frequent distance between neighbours, of those not under a least one; the smaller of equals."""
    lengths = Counter(gap.length for gap in all_gaps(candidates(elements)) if gap.length >= least)
    return min(lengths, key=lambda length: (-lengths[length], length), default=None)


def _both_edges(a: Element, b: Element, axis: int) -> bool:
    near, far = _ENDS[axis]
    if {near, far} & (set(a.bleeds) | set(b.bleeds)):
        return False
    return abs(a.box[axis] - b.box[axis]) <= TOLERANCE and abs(a.box[axis + 2] - b.box[axis + 2]) <= TOLERANCE


def _groups(items: Sequence[T], place: Callable[[T], int]) -> list[list[T]]:
    groups: list[list[T]] = []
    for item in sorted(items, key=lambda i: (place(i), getattr(i, "id", ""))):
        if groups and place(item) - place(groups[-1][0]) <= TOLERANCE:
            groups[-1].append(item)
        else:
            groups.append([item])
    return groups


def all_gaps(shapes: list[Element]) -> list[Gap]:
    """Return the distances, up to an inch, between elements that face each other with nothing between.

    What reaches from under the one to under the other, such as a strip behind both, is not between them.
    """
    found = []
    for axis in (0, 1):
        other = 1 - axis
        for a in shapes:
            for b in shapes:
                length = b.box[axis] - a.box[axis + 2]
                if not 0 < length <= INCH:
                    continue
                low, high = max(a.box[other], b.box[other]), min(a.box[other + 2], b.box[other + 2])
                if 2 * (high - low) <= min(a.size[other], b.size[other]):
                    continue
                if any(
                    c.box[axis] < b.box[axis]
                    and c.box[axis + 2] > a.box[axis + 2]
                    and not (c.box[axis] < a.box[axis + 2] and c.box[axis + 2] > b.box[axis])
                    and c.box[other] < high
                    and c.box[other + 2] > low
                    for c in shapes
                    if c is not a and c is not b
                ):
                    continue
                found.append(Gap(axis, a.id, b.id, length))
    return found
