"""Where things stand to each other: the rules that tie places together, one function per rule.

* :func:`edge_rules` – R1, inside the safe box or exactly at the bleed line
* :func:`apart_rules` – R2 and R3, what is apart stays apart on the side it was
* :func:`lap_rules` – R3 and R7, what overlaps keeps its depth and covers no larger share
* :func:`soft_laps` – decorations that may overlap at a price
* :func:`line_costs` – alignments and equal gaps
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations

from fitter.formulate.expr import Expr, at_least, at_most, between
from fitter.formulate.lines import TOLERANCE, alignments, equal_gaps
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.reference_boxes import extents
from fitter.template import Element
from fitter.units import INCH
from solver.problem import Choice, Lap, Row, Rule, Soft, Terms, Track

TOUCH = 3
"""Overlaps of up to this many micrometres are rounding, not overlaps."""
ONE_WAY = 2 * INCH
"""Two things this far apart on one axis are kept apart on that axis only."""
SOFT_REACH = INCH * 3 // 4
"""Decorations nearer than this in the reference may come to overlap."""
DEEPEST = INCH // 2
"""Deepest overlap offered to decorations."""

_SIDES = (("left", "right"), ("top", "bottom"))


def edge_rules(scene: Scene) -> Iterator[Rule]:
    """R1: everything is inside the safe box, save the sides on which it bleeds."""
    safe = scene.page.safe
    for atom in scene.atoms:
        element = atom.element
        rows: list[Row] = []
        for axis in (0, 1):
            direction = (1.0, 0.0) if axis == 0 else (0.0, 1.0)
            opposite = (-direction[0], -direction[1])
            if element.shape == "rect" and element.tilt == 0:
                near, far = scene.span(atom, axis)
            else:
                center = scene.center(atom, axis)
                near, far = center - scene.reach(atom, opposite), center + scene.reach(atom, direction)
            box = extents(element)
            for side, edge, sign in ((_SIDES[axis][0], near, 1), (_SIDES[axis][1], far, -1)):
                if side in element.bleeds:
                    rows += _bleeding_edge(atom, edge, box[axis if sign > 0 else axis + 2])
                    continue
                line = safe[axis if sign > 0 else axis + 2]
                room = sign * (box[axis if sign > 0 else axis + 2] - line)
                slack = min(scene.slack(atom), max(0, room))
                rows.append(at_least((edge - line) * sign, slack))
        yield Rule("R1", tuple(rows), (atom.lit,))


def _bleeding_edge(atom: Atom, edge: Expr, reference: int) -> list[Row]:
    """Rows that keep an untilted rect's edge where the reference has it; others stay put altogether."""
    if atom.element.shape == "rect" and atom.element.tilt == 0 and atom.part == "block":
        return [between(edge, reference, reference)]
    return []


def related_pairs(scene: Scene) -> Iterator[tuple[Atom, Atom]]:
    """Return all pairs that do not belong together, the lower one first."""
    for lower, upper in combinations(scene.atoms, 2):
        if lower.block != upper.block:
            yield lower, upper


def apart_rules(scene: Scene) -> Iterator[Choice | Rule]:
    """R2, R3: what is apart in the reference stays apart, on the side (or one of two) it was.

    Words that keep their width and height while the page turns may end up on any side.
    """
    for lower, upper in related_pairs(scene):
        if _may_lap(scene, lower, upper):
            continue
        when = (lower.lit, upper.lit)
        if are_loose(scene, lower, upper):
            sides = [
                _apart_row(scene, *pair, axis, scene.apart)
                for axis in (0, 1)
                for pair in ((lower, upper), (upper, lower))
            ]
            yield Choice("R2", tuple((row,) for row in sides), when)
            continue
        options = apart_options(scene, lower, upper)
        if len(options) == 1:
            yield Rule("R3", options[0], when)
        elif options:
            yield Choice("R3", options, when)


def apart_options(scene: Scene, lower: Atom, upper: Atom) -> tuple[tuple[Row, ...], ...]:
    """Return the ways two things that are apart in the reference can stay so; none if they overlap."""
    a, b = lower.element, upper.element
    gaps = [_gap(a, b, axis) for axis in (0, 1)]
    ways: list[tuple[int, tuple[Row, ...]]] = []
    for axis in (0, 1):
        if gaps[axis] > -TOUCH:
            wanted = _wanted_gap(scene, lower, upper, gaps[axis])
            toward = extents(a)[axis] + extents(a)[axis + 2] < extents(b)[axis] + extents(b)[axis + 2]
            first, second = (lower, upper) if toward else (upper, lower)
            ways.append((gaps[axis], (_apart_row(scene, first, second, axis, wanted),)))
    if ways:
        ways.sort(key=lambda way: -way[0])
        if len(ways) == 2 and ways[0][0] >= ONE_WAY:
            ways = ways[:1]
        return tuple(way[1] for way in ways)
    found = _separation(a, b)
    return () if found is None else ((_tilted_apart(scene, lower, upper, *found),),)


def _gap(a: Element, b: Element, axis: int) -> int:
    first, second = extents(a), extents(b)
    return max(second[axis] - first[axis + 2], first[axis] - second[axis + 2])


def _wanted_gap(scene: Scene, lower: Atom, upper: Atom, gap: int) -> int:
    if lower.is_decoration and upper.is_decoration:
        return min(0, gap)
    return min(gap, scene.apart)


def _apart_row(scene: Scene, first: Atom, second: Atom, axis: int, gap: int) -> Row:
    """Return the row "first before second" along an axis."""
    room = max(0, _gap(first.element, second.element, axis) - gap)
    slack = min(scene.slack(first) + scene.slack(second), room)
    return at_least(outer(scene, second, axis)[0] - outer(scene, first, axis)[1], gap + slack)


def outer(scene: Scene, atom: Atom, axis: int) -> tuple[Expr, Expr]:
    """Return the near and far edge of everything an atom covers, tilt included."""
    if atom.element.tilt == 0 and atom.element.shape != "path":
        return scene.span(atom, axis)
    direction = (1.0, 0.0) if axis == 0 else (0.0, 1.0)
    center = scene.center(atom, axis)
    return (
        center - scene.reach(atom, (-direction[0], -direction[1])),
        center + scene.reach(atom, direction),
    )


def _separation(a: Element, b: Element) -> tuple[float, tuple[float, float]] | None:
    """Return the widest gap of two shapes whose boxes meet and its direction, if they are apart.

    For two rectangles one of their own four axes separates them whenever any does (separating-axis theorem);
    for round and free shapes sixteen directions are tried.
    """
    if _straight(a) and _straight(b):
        return None
    angles = {a.tilt, a.tilt + 90, b.tilt, b.tilt + 90}
    if a.shape != "rect" or b.shape != "rect":
        angles |= {i * 11.25 for i in range(16)}
        angles.add(math.degrees(math.atan2(b.center[1] - a.center[1], b.center[0] - a.center[0])))
    best: tuple[float, tuple[float, float]] | None = None
    for angle in sorted({round(v % 180, 6) for v in angles}):
        for turn in (0, 180):
            rad = math.radians(angle + turn)
            n = (math.cos(rad), math.sin(rad))
            distance = (b.center[0] - a.center[0]) * n[0] + (b.center[1] - a.center[1]) * n[1]
            gap = distance - _support(a, n) - _support(b, (-n[0], -n[1]))
            if best is None or gap > best[0]:
                best = (gap, n)
    return None if best is None or best[0] < -TOUCH else best


def _tilted_apart(scene: Scene, lower: Atom, upper: Atom, gap: float, n: tuple[float, float]) -> Row:
    """Return the row that keeps two shapes apart along a direction in which they are."""
    parts = 1024
    nx, ny = round(n[0] * parts), round(n[1] * parts)
    length = math.hypot(nx, ny)
    unit = (nx / length, ny / length)
    wanted = _wanted_gap(scene, lower, upper, math.floor(gap) - 200)
    distance_expr = (scene.center(upper, 0) - scene.center(lower, 0)) * nx + (
        scene.center(upper, 1) - scene.center(lower, 1)
    ) * ny
    stretch = Fraction(math.ceil(length * 64), 64)
    reach = scene.reach(lower, unit) + scene.reach(upper, (-unit[0], -unit[1]))
    return at_least(distance_expr - reach * stretch, Fraction(wanted) * stretch)


def _support(element: Element, n: tuple[float, float]) -> float:
    angle = math.radians(element.tilt)
    along = n[0] * math.cos(angle) + n[1] * math.sin(angle)
    across = -n[0] * math.sin(angle) + n[1] * math.cos(angle)
    w, h = element.size
    if element.shape == "rect":
        return (w * abs(along) + h * abs(across)) / 2
    if element.shape == "ellipse":
        return math.hypot(w * along, h * across) / 2
    return float(max(px * along + py * across for px, py in element.outline))


def are_loose(scene: Scene, lower: Atom, upper: Atom) -> bool:
    """R2: whether one of two is words that keep their width as the page turns by a quarter, and not on the other.

    They may end up on any side of each other.
    """
    loose = is_loose_text(lower) or is_loose_text(upper)
    return is_turned(scene) and loose and not _stands_on(lower, upper, scene.drawn)


def is_turned(scene: Scene) -> bool:
    """Whether the pages of the class lie on their side."""
    return any(member.quarter for member in scene.members)


def is_loose_text(atom: Atom) -> bool:
    """Whether these are words that stay as they are when the drawing turns, and ride on nothing."""
    return is_text(atom.element) and atom.part == "block" and not atom.element.limits.vertical


def _stands_on(lower: Atom, upper: Atom, drawn: dict[str, tuple[int, int, int, int]]) -> bool:
    """Whether words lie within something in the drawing (or would, turned with it)."""
    a, b = drawn.get(lower.element.id), drawn.get(upper.element.id)
    return a is not None and b is not None and _inside(b, a)


def _inside(inner: tuple[int, int, int, int], outer: tuple[int, int, int, int]) -> bool:
    return (
        inner[0] >= outer[0] - TOUCH
        and inner[1] >= outer[1] - TOUCH
        and inner[2] <= outer[2] + TOUCH
        and inner[3] <= outer[3] + TOUCH
    )


def overlapping(scene: Scene, lower: Atom, upper: Atom) -> bool:
    """Whether two atoms overlap in the frame: there are no ways to stay apart."""
    a, b = lower.element, upper.element
    return all(_gap(a, b, axis) <= -TOUCH for axis in (0, 1)) and _separation(a, b) is None


def lap_rules(scene: Scene) -> Iterator[Rule]:
    """R3, R7: what overlaps in the reference keeps its depth, or its containment, on each axis.

    The share of a template photo that lies covered never grows, on either axis.  Where a mat or a rider
    reaches over a neighbour only growth is prevented.  Where shapes of blocks overlap whose boxes before tilting do not
    there is no depth to keep: what moves together and does not grow cannot come to overlap more.  (A rider moves when
    its carrier shrinks.)
    """
    for lower, upper in related_pairs(scene):
        if not overlapping(scene, lower, upper) or are_loose(scene, lower, upper):
            continue
        rows: list[Row] = []
        blocks = lower.part == "block" and upper.part == "block"
        a, b = lower.element, upper.element
        boxes_meet = all(a.box[axis] < b.box[axis + 2] and b.box[axis] < a.box[axis + 2] for axis in (0, 1))
        for axis in (0, 1):
            if boxes_meet or not blocks:
                rows += _lap_rows(scene, lower, upper, axis, both_ways=blocks)
            elif a.role == "photo":
                # A photo that shrinks beside what covers it might lie covered by more than it was.
                rows.append(at_least(scene.size(lower, axis), a.size[axis]))
        if not (_inside(b.box, a.box) or _inside(a.box, b.box)) and not all(_straight(e) for e in (a, b)):
            rows += _together(scene, lower, upper)
        yield Rule("R7", tuple(rows), (lower.lit, upper.lit))


def is_held(lower: Atom, upper: Atom, side: int) -> bool:
    """Whether an atom above a block can reach no deeper into it, from a side, than it does in the reference.

    ``side`` counts left, top, right, bottom; for what :func:`lap_rules` speaks of.
    """
    a, b = lower.element, upper.element
    if not all(_straight(e) for e in (a, b)):
        # They move together; what something else carries may move with its carrier's size.
        return upper.part != "rider" and not (_inside(b.box, a.box) or _inside(a.box, b.box))
    axis = side % 2
    (a_low, a_high), (b_low, b_high) = (e.box[axis::2] for e in (a, b))
    if (b_low >= a_low - TOUCH and b_high <= a_high + TOUCH) or (a_low >= b_low - TOUCH and a_high <= b_high + TOUCH):
        return False
    return (a_low < b_low) == (side >= 2)


def _straight(element: Element) -> bool:
    return element.shape == "rect" and element.tilt == 0


def _together(scene: Scene, lower: Atom, upper: Atom) -> list[Row]:
    """Rows for tilted or round shapes that partly overlap: moved together and not grown, they cannot overlap more."""
    rows = []
    for axis in (0, 1):
        moved = [scene.center(scene.blocks[atom.block], axis) for atom in (lower, upper)]
        reference = [scene.blocks[atom.block].element.center[axis] for atom in (lower, upper)]
        rows.append(between(moved[0] - moved[1], reference[0] - reference[1], reference[0] - reference[1]))
        for atom in (lower, upper):
            host = scene.blocks[atom.block]
            rows.append(at_most(scene.size(host, axis), host.element.size[axis]))
    return rows


def _lap_rows(scene: Scene, lower: Atom, upper: Atom, axis: int, *, both_ways: bool) -> list[Row]:
    a, b = lower.element, upper.element
    (a_near, a_far), (b_near, b_far) = scene.span(lower, axis), scene.span(upper, axis)
    a_low, a_high, b_low, b_high = a.box[axis], a.box[axis + 2], b.box[axis], b.box[axis + 2]
    rows: list[Row] = []
    covers = a.role == "photo"
    for inner, outer, (i_low, i_high), (o_low, o_high), (i_near, i_far), (o_near, o_far) in (
        (upper, lower, (b_low, b_high), (a_low, a_high), (b_near, b_far), (a_near, a_far)),
        (lower, upper, (a_low, a_high), (b_low, b_high), (a_near, a_far), (b_near, b_far)),
    ):
        if i_low >= o_low - TOUCH and i_high <= o_high + TOUCH:
            slack = scene.slack(inner) + scene.slack(outer)
            if both_ways:
                rows.append(at_least(i_near - o_near, min(0, i_low - o_low)))
                rows.append(at_least(o_far - i_far, min(0, o_high - i_high)))
            if not (_inside(b.box, a.box) or _inside(a.box, b.box)):
                rows.append(at_most(scene.size(inner, axis), inner.element.size[axis] + scene.slack(inner)))
            if covers and inner is upper:
                grown = scene.size(upper, axis) * a.size[axis] - scene.size(lower, axis) * b.size[axis]
                rows.append(at_most(grown, slack * a.size[axis]))
            return rows
    depth = a_high - b_low if a_low < b_low else b_high - a_low
    expr, beyond = (a_far - b_near, b_far - a_near) if a_low < b_low else (b_far - a_near, a_far - b_near)
    if both_ways:
        least = math.ceil(Fraction(9, 10) * depth)
        rows.append(between(expr, least, depth))
        # Neither may become so small that it lies within the other, less deep than they overlapped.
        rows += [at_least(length, least) for length in (scene.size(lower, axis), scene.size(upper, axis), beyond)]
    else:
        rows.append(at_most(expr, depth + scene.slack(lower) + scene.slack(upper)))
    if covers:
        rows.append(at_most(expr * a.size[axis] - scene.size(lower, axis) * depth, 0))
    return rows


def _may_lap(scene: Scene, lower: Atom, upper: Atom) -> bool:
    """Whether two decorations stand so near that overlapping is offered at a price."""
    if not (lower.is_decoration and upper.is_decoration):
        return False
    if lower.part != "block" or upper.part != "block" or lower.element.shape != "rect" or upper.element.shape != "rect":
        return False
    if lower.element.tilt or upper.element.tilt:
        return False
    gap = max(_gap(lower.element, upper.element, axis) for axis in (0, 1))
    return -TOUCH < gap < SOFT_REACH


def soft_laps(scene: Scene, rate: int) -> Iterator[Lap]:
    """Return the pairs of decorations that may come to overlap, with the price of their overlap.

    ``rate`` is the cost of 1 % of the page.
    """
    for lower, upper in related_pairs(scene):
        if not _may_lap(scene, lower, upper):
            continue
        differences = []
        for axis in (0, 1):
            (a_near, a_far), (b_near, b_far) = scene.span(lower, axis), scene.span(upper, axis)
            differences.append((a_far - b_near, b_far - a_near, a_far - a_near, b_far - b_near))
        across, down = (tuple(d) for d in differences)
        yield Lap(
            name="overlap",
            apart=apart_options(scene, lower, upper),
            across=tuple(_doubled(expr) for expr in across),
            down=tuple(_doubled(expr) for expr in down),
            deepest=2 * DEEPEST,
            longest=2 * max(scene.page.trim),
            price=rate * 100,
            per=4 * scene.page.trim[0] * scene.page.trim[1],
            when=(lower.lit, upper.lit),
        )


def _doubled(expr: Expr) -> tuple[Terms, int]:
    """Return an expression in half micrometres, which makes everything whole."""
    by = Fraction(2, expr.over)
    return tuple((var, int(value * by)) for var, value in sorted(expr.terms.items())), int(expr.const * by)


def line_costs(scene: Scene, alignment: int, gap: int) -> Iterator[Soft]:
    """Return the alignments and the equal gaps of the reference, each with its price."""
    by_id = {atom.element.id: atom for atom in scene.blocks if not atom.added}
    elements = [atom.element for atom in scene.blocks if not atom.added]
    for found in alignments(elements):
        first, second = by_id[found.first], by_id[found.second]
        pick = {"near": 0, "far": 1}
        if found.line == "centre":
            expr = scene.center(second, found.axis) - scene.center(first, found.axis)
        else:
            index = pick[found.line]
            expr = scene.span(second, found.axis)[index] - scene.span(first, found.axis)[index]
        yield Soft("alignment", alignment, (between(expr, -TOLERANCE, TOLERANCE),), (first.lit, second.lit))
    for found_gap in equal_gaps(elements):
        first, second = by_id[found_gap.first], by_id[found_gap.second]
        length = scene.span(second, found_gap.axis)[0] - scene.span(first, found_gap.axis)[1]
        row = between(length, found_gap.length - TOLERANCE, found_gap.length + TOLERANCE)
        yield Soft("gap", gap, (row,), (first.lit, second.lit))


def tracks(scene: Scene) -> tuple[Track, ...]:
    """Return the pairs of blocks aligned on both edges of an axis, with the numbers of their two costs."""
    by_id = {atom.element.id: atom.block for atom in scene.blocks if not atom.added}
    elements = [atom.element for atom in scene.blocks if not atom.added]
    numbers: dict[tuple[int, str, str, str], int] = {}
    for number, found in enumerate(alignments(elements)):
        numbers[(found.axis, found.line, found.first, found.second)] = number
    pairs = []
    for (axis, line, first, second), number in numbers.items():
        other = numbers.get((axis, "far", first, second))
        if line == "near" and other is not None:
            pairs.append(Track(axis, by_id[first], by_id[second], (number, other)))
    return tuple(pairs)
