"""Step 1, ties: what belongs to what in a template.

Enters: elements bottom to top and the drawing's ``data-on`` entries.  Leaves: the same elements with ``on``
and ``tie`` set.  Three ties exist.

mat
    Paper behind a slot that shows a border of more than nothing and at most 3/4 in on all four sides;
    ``on`` is the slot.  A mat has one slot, a slot may have several mats.
carried
    Decoration or text of at most a quarter of its carrier's area whose centre lies on it; ``on`` is the
    topmost such carrier below it, never a background.  Riding on a mat, or on something carried, means riding
    on the slot.
lapped
    Anything else that overlaps a neighbour below it; ``on`` is the topmost one, preferring neighbours that
    it overlaps in part over those it lies on wholly.  Backgrounds are nobody's partner.

Partners of carried and lapped elements lie lower in the stack and are never mats or carried themselves, so
ties form no cycle.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from fitter.errors import InputError
from fitter.template import DECORATION_ROLES, TEXT_ROLES, Element, Tie
from fitter.units import INCH

if TYPE_CHECKING:
    from shapely import Polygon

WIDEST_BORDER = 3 * INCH // 4
SMALLEST_OVERLAP = 100
"""µm; shapes that meet by less only touch."""
CARRIED_SHARE = 4
"""A carried element has at most one part in this many of its carrier's area."""

_ROUNDING = 10
_SLOT_ROLES = frozenset({"photo", "paper"}) | TEXT_ROLES
_MOVABLE_ROLES = DECORATION_ROLES | TEXT_ROLES


@dataclass
class _Stack:
    """The elements with their true outlines, while ties are being found."""

    elements: tuple[Element, ...]
    shapes: list[Polygon]
    grown: list[Polygon]
    ties: dict[int, tuple[Tie, int]]

    def root(self, index: int) -> int:
        """Follow mats and carried elements to the block they belong to."""
        while index in self.ties and self.ties[index][0] in ("mat", "carried"):
            index = self.ties[index][1]
        return index


def polygon(element: Element) -> Polygon:
    """Return an element's true outline on the page; ellipses as polygons of 128 corners."""
    from shapely import Polygon

    w, h = element.size
    if element.shape == "ellipse":
        turns = [2 * math.pi * step / 128 for step in range(128)]
        around = [(w / 2 * math.cos(t), h / 2 * math.sin(t)) for t in turns]
    elif element.shape == "path":
        around = [(float(x), float(y)) for x, y in element.outline]
    else:
        around = [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2)]
    cos, sin = math.cos(math.radians(element.tilt)), math.sin(math.radians(element.tilt))
    x, y = element.center
    return Polygon([(x + px * cos - py * sin, y + px * sin + py * cos) for px, py in around])


def borders(mat: Element, slot: Element) -> tuple[float, float, float, float] | None:
    """Return how far a paper shows around a slot: left, top, right, bottom before tilting, in µm.

    ``None`` when the two are tilted differently, so that no even border exists.
    """
    if abs(mat.tilt - slot.tilt) > 0.1 and not (slot.shape == "ellipse" and slot.size[0] == slot.size[1]):
        return None
    dx, dy = slot.center[0] - mat.center[0], slot.center[1] - mat.center[1]
    cos, sin = math.cos(math.radians(mat.tilt)), math.sin(math.radians(mat.tilt))
    along, across = dx * cos + dy * sin, dy * cos - dx * sin
    spare_x, spare_y = (mat.size[0] - slot.size[0]) / 2, (mat.size[1] - slot.size[1]) / 2
    return spare_x + along, spare_y + across, spare_x - along, spare_y - across


def overlaps(first: Polygon, second: Polygon) -> bool:
    """Whether two shapes share more than a sliver that rounding may explain."""
    if not first.intersects(second):
        return False
    left, top, right, bottom = first.intersection(second).bounds or (0, 0, 0, 0)
    return bool(min(right - left, bottom - top) > SMALLEST_OVERLAP)


def infer_ties(elements: tuple[Element, ...], rides: dict[str, str] | None = None) -> tuple[Element, ...]:
    """Find out what belongs to what.

    Parameters
    ----------
    elements
        Bottom to top; their own ties are ignored.
    rides
        The drawing's ``data-on``: id of an element to the id of its partner, or to ``none`` for no tie.

    Returns
    -------
    tuple of Element
        The same elements with ``on`` and ``tie``.

    Raises
    ------
    InputError
        When a ``data-on`` contradicts the drawing.
    """
    shapes = [polygon(element) for element in elements]
    stack = _Stack(elements, shapes, [shape.buffer(_ROUNDING) for shape in shapes], {})
    said = rides or {}
    index_of = {element.id: index for index, element in enumerate(elements)}
    free = [index for index, element in enumerate(elements) if element.id not in said]
    told = [index for index, element in enumerate(elements) if said.get(element.id, "none") != "none"]
    for index in told:
        if _is_told_mat(stack, index, index_of[said[elements[index].id]]):
            _tell_mat(stack, index, index_of[said[elements[index].id]])
    for index in reversed(free):
        _infer_mat(stack, index, said)
    for index, element in enumerate(elements):
        if index in stack.ties:
            continue
        if element.id in said:
            if index in told:
                _tell_rider(stack, index, index_of[said[element.id]])
        elif not _infer_carried(stack, index):
            _infer_lapped(stack, index)
    return tuple(
        replace(element, on=elements[stack.ties[index][1]].id, tie=stack.ties[index][0])
        if index in stack.ties
        else replace(element, on=None, tie=None)
        for index, element in enumerate(elements)
    )


def _is_told_mat(stack: _Stack, index: int, partner: int) -> bool:
    return stack.elements[index].role == "paper" and index < partner


def _tell_mat(stack: _Stack, index: int, partner: int) -> None:
    mat, slot = stack.elements[index], stack.elements[partner]
    around = borders(mat, slot)
    if around is None or min(around) < -_ROUNDING or mat.bleeds:
        raise InputError(
            f"{mat.id!r}: data-on makes it the mat of {slot.id!r}, "
            "but it does not surround it on all four sides"
        )
    stack.ties[index] = ("mat", partner)


def _infer_mat(stack: _Stack, index: int, said: dict[str, str]) -> None:
    """Tie a paper to the slot it frames most closely; photos and text before papers.

    A slot that says it rides on this very paper is not framed by it.
    """
    paper = stack.elements[index]
    if paper.role != "paper" or paper.bleeds:
        return
    found: list[tuple[bool, float, int]] = []
    for other in range(index + 1, len(stack.elements)):
        slot = stack.elements[other]
        if slot.role not in _SLOT_ROLES or slot.bleeds or other in stack.ties:
            continue
        if said.get(slot.id) == paper.id:
            continue
        around = borders(paper, slot)
        if around is None or min(around) <= _ROUNDING or max(around) > WIDEST_BORDER + _ROUNDING:
            continue
        if stack.grown[index].covers(stack.shapes[other]):
            found.append((slot.role == "paper", max(around), other))
    if found:
        stack.ties[index] = ("mat", min(found)[2])


def _infer_carried(stack: _Stack, index: int) -> bool:
    from shapely import Point

    element, shape = stack.elements[index], stack.shapes[index]
    if element.role not in _MOVABLE_ROLES or element.bleeds:
        return False
    for below in reversed(range(index)):
        too_small = shape.area * CARRIED_SHARE > stack.shapes[below].area
        if too_small or stack.elements[below].role == "background":
            continue
        carrier = stack.root(below)
        if carrier < index and stack.shapes[below].covers(Point(element.center)):
            stack.ties[index] = ("carried", carrier)
            return True
    return False


def _infer_lapped(stack: _Stack, index: int) -> None:
    if stack.elements[index].role == "background":
        return
    under: list[tuple[bool, int, int]] = []
    for below in range(index):
        if stack.elements[below].role == "background" or stack.root(below) >= index:
            continue
        if overlaps(stack.shapes[index], stack.shapes[below]):
            wholly_on = stack.grown[below].covers(stack.shapes[index])
            under.append((not wholly_on, below, stack.root(below)))
    if under:
        stack.ties[index] = ("lapped", max(under)[2])


def _tell_rider(stack: _Stack, index: int, partner: int) -> None:
    element, carrier = stack.elements[index], stack.root(partner)
    if partner > index or carrier >= index:
        raise InputError(
            f"{element.id!r}: data-on names {stack.elements[partner].id!r}, which is drawn above it; "
            "draw what carries first"
        )
    if stack.elements[carrier].role == "background":
        raise InputError(
            f"{element.id!r}: data-on names a background, which carries nothing; leave data-on out"
        )
    if element.role in _MOVABLE_ROLES:
        stack.ties[index] = ("carried", carrier)
    elif overlaps(stack.shapes[index], stack.shapes[partner]):
        stack.ties[index] = ("lapped", carrier)
    else:
        raise InputError(
            f"{element.id!r}: data-on names {stack.elements[partner].id!r}, but the two do not overlap; "
            "only decoration and text ride beside what carries them"
        )
