"""R7 ties: mats stay and keep their borders, carried elements their corner, lapped blocks their overlap."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from fitter.check.report import Violation, by, millimetres, percent
from fitter.check.shapes import TOLERANCE, Box, box_inside, box_overlap, depth, shape_of
from fitter.check.view import View
from fitter.layout import Placed
from fitter.template import Element

LAP_CHANGE = Fraction(1, 10)
_SIDES = ("left", "top", "right", "bottom")
Vector = tuple[float, float]


def rule_ties(view: View) -> tuple[Violation, ...]:
    """R7: what belongs to a slot follows it and goes with it; lapped blocks keep their overlap or part."""
    found: list[Violation] = []
    for item in view.elements:
        origin = view.origin(item)
        if origin is None or origin.on is None or origin.tie not in ("mat", "carried"):
            continue
        partner = view.reference[origin.on]
        if partner.id in view.dropped:
            found.append(
                Violation(
                    "R7", item.id, f"{item.id} belongs to {partner.id}, which was dropped", other=partner.id
                )
            )
        elif origin.tie == "mat":
            found.extend(_mat_border(view, item, origin, partner))
        else:
            found.extend(_carried_place(view, item, origin, partner))
    found.extend(_lost_mats(view))
    found.extend(_lapped(view))
    return tuple(found)


def _lost_mats(view: View) -> Iterator[Violation]:
    """Find mats that are gone though the slots they frame are there."""
    for element in view.layout.reference:
        if element.tie == "mat" and element.id in view.dropped and element.on not in view.dropped:
            told = f"mat {element.id} was dropped, but {element.on}, which it frames, is on the page"
            yield Violation("R7", element.id, told, other=element.on)


def _mat_border(view: View, item: Placed, origin: Element, slot: Element) -> Iterator[Violation]:
    """Borders are measured along the slot's own sides, so tilted mats are treated alike."""
    before = _borders(_local(origin.center, slot.center, slot.tilt), origin.size, slot.size)
    outer = view.outer(slot.id)
    center = ((outer[0] + outer[2]) / 2, (outer[1] + outer[3]) / 2)
    size = (outer[2] - outer[0], outer[3] - outer[1])
    now = _borders(_local(item.center, center, slot.tilt), item.size, size)
    for side, was, is_ in zip(_SIDES, before, now, strict=True):
        if abs(is_ - was) > TOLERANCE:
            yield Violation(
                "R7",
                item.id,
                f"mat {item.id} shows {millimetres(is_)} on the {side} of {slot.id}, not {millimetres(was)}",
                other=slot.id,
                side=side,
                amount_um=by(abs(is_ - was)),
            )


def _borders(offset: Vector, mat: Vector, slot: Vector) -> tuple[float, float, float, float]:
    across, down = (mat[0] - slot[0]) / 2, (mat[1] - slot[1]) / 2
    return across - offset[0], down - offset[1], across + offset[0], down + offset[1]


def _carried_place(view: View, item: Placed, origin: Element, carrier: Element) -> Iterator[Violation]:
    outer = view.outer(carrier.id)
    size = (outer[2] - outer[0], outer[3] - outer[1])
    center = ((outer[0] + outer[2]) / 2, (outer[1] + outer[3]) / 2)
    scale = min(Fraction(size[0], carrier.size[0]), Fraction(size[1], carrier.size[1]))
    wrong = max(abs(item.size[0] - scale * origin.size[0]), abs(item.size[1] - scale * origin.size[1]))
    if wrong > TOLERANCE:
        yield Violation(
            "R7",
            item.id,
            f"{item.id} is {millimetres(wrong)} off the size its carrier {carrier.id} gives it",
            other=carrier.id,
            amount_um=by(wrong),
        )
        return
    before = _local(origin.center, carrier.center, carrier.tilt)
    now = _local(item.center, center, carrier.tilt)
    misses = [
        max(
            abs(
                now[axis]
                - (
                    sign[axis] * size[axis] / 2
                    + float(scale) * (before[axis] - sign[axis] * carrier.size[axis] / 2)
                )
            )
            for axis in (0, 1)
        )
        for sign in _nearest_corners(before)
    ]
    if min(misses) > TOLERANCE:
        yield Violation(
            "R7",
            item.id,
            f"{item.id} is {millimetres(min(misses))} off its place at the corner of {carrier.id}",
            other=carrier.id,
            amount_um=by(min(misses)),
        )


def _nearest_corners(offset: Vector) -> list[tuple[int, int]]:
    """Return the carrier's corner nearest to the centre of what it carries, as signs; several when tied.

    As the carried element scales with its offset, it does not matter which of its own corners is meant.
    """
    across, down = (
        (-1, 1) if abs(offset[axis]) <= TOLERANCE else ((1,) if offset[axis] > 0 else (-1,))
        for axis in (0, 1)
    )
    return [(x, y) for x in across for y in down]


def _rotated(vector: Vector, degrees: float) -> Vector:
    cos, sin = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return vector[0] * cos - vector[1] * sin, vector[0] * sin + vector[1] * cos


def _local(point: Vector, about: Vector, tilt: float) -> Vector:
    """Return a point as seen from a tilted element's centre along its sides."""
    return _rotated((point[0] - about[0], point[1] - about[1]), -tilt)


def _lapped(view: View) -> Iterator[Violation]:
    blocks = view.placed_blocks
    for n, a in enumerate(blocks):
        for b in blocks[n + 1 :]:
            if not _partly_overlap(a.box, b.box) or depth(shape_of(a), shape_of(b)) <= TOLERANCE:
                continue
            one, other = view.outer(a.id), view.outer(b.id)
            if min(_depth(one, other, 0), _depth(one, other, 1)) <= TOLERANCE or _shapes_apart(view, a, b):
                continue
            for axis, name in ((0, "across"), (1, "down")):
                was, is_ = _depth(a.box, b.box, axis), _depth(one, other, axis)
                if _still_contained(a.box, b.box, one, other, axis):
                    continue
                off = abs(is_ - was)
                if off > LAP_CHANGE * was + TOLERANCE:
                    yield Violation(
                        "R7",
                        a.id,
                        f"{a.id} and {b.id} overlap by {millimetres(is_)} {name}, "
                        f"{percent(Fraction(off, was))} off their {millimetres(was)} in the template",
                        other=b.id,
                        side=name,
                        amount_um=off,
                    )


def _shapes_apart(view: View, a: Element, b: Element) -> bool:
    return all(
        depth(shape_of(x), shape_of(y)) <= TOLERANCE for x in view.pieces[a.id] for y in view.pieces[b.id]
    )


def _partly_overlap(a: Box, b: Box) -> bool:
    return box_overlap(a, b) > 0 and not box_inside(a, b) and not box_inside(b, a)


def _depth(a: Box, b: Box, axis: int) -> int:
    return min(a[axis + 2], b[axis + 2]) - max(a[axis], b[axis])


def _within(a: Box, b: Box, axis: int, slack: int = 0) -> bool:
    return a[axis] >= b[axis] - slack and a[axis + 2] <= b[axis + 2] + slack


def _still_contained(a: Box, b: Box, one: Box, other: Box, axis: int) -> bool:
    """Whether one lay within the other on this axis and still does, the same way round."""
    return (_within(a, b, axis) and _within(one, other, axis, TOLERANCE)) or (
        _within(b, a, axis) and _within(other, one, axis, TOLERANCE)
    )
