"""The reference layout as the model sees it: blocks, what is tied to them, and where edges will be.

A *block* has a place and size of its own; a *mat* frames a block; a *rider* is carried by one.
Everything's edges are linear expressions in the block's displacement (``x``, ``y``), change of size
(``w``, ``h``) and, for riders, scale (``f``).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property

from fitter.formulate.expr import Expr, trig_up
from fitter.formulate.settings import APART
from fitter.pages import Page
from fitter.reference import Member, Reference
from fitter.template import DECORATION_ROLES, TEXT_ROLES, Element
from solver.problem import Lit

GRID = 635
"""Places are whole multiples of this many micrometres (1/40 in) from the reference."""
DRIFT = 20
"""Steps of places (1/2 in) by which a page may move as a whole along each axis before that counts as shifting."""
SLIDE = -1
"""Block number that stands for the sliding of the whole refitted drawing."""
COUNTED = frozenset({"photo", "paper", "journaling", "title"})
RIDER_SLACK = 40
"""Room, in micrometres, for the rounding of a rider's scaled offset and size."""


@dataclass(frozen=True)
class Atom:
    """One reference element in the model.

    ``block`` is the number of the block it is, frames or rides on; ``part`` says which of these;
    ``rider`` is its number among the riders.
    """

    element: Element
    block: int
    part: str
    rider: int = -1
    added: bool = False

    @property
    def lit(self) -> Lit:
        """The literal that says it is on the page."""
        return ("rider", self.rider, 0) if self.part == "rider" else ("block", self.block, 0)

    @property
    def is_decoration(self) -> bool:
        """Whether it can never hold a picture or words."""
        return self.element.role in DECORATION_ROLES or self.element.is_strip or self.part == "mat"


@dataclass(frozen=True)
class Scene:
    """A parity's frame, sorted into blocks, mats and riders.

    ``drawn`` are the boxes in the drawing before turning, by id, of what kept its tie: they tell what words stood on.
    ``apart`` is what photos and words keep between them.
    """

    page: Page
    reference: Reference
    members: tuple[Member, ...]
    atoms: tuple[Atom, ...]
    backgrounds: tuple[Element, ...]
    drawn: dict[str, tuple[int, int, int, int]]
    apart: int

    @cached_property
    def blocks(self) -> tuple[Atom, ...]:
        """The blocks, by number."""
        found = [atom for atom in self.atoms if atom.part == "block"]
        return tuple(sorted(found, key=lambda atom: atom.block))

    @cached_property
    def riders(self) -> tuple[Atom, ...]:
        """The riders, by number."""
        return tuple(sorted((a for a in self.atoms if a.part == "rider"), key=lambda a: a.rider))

    @cached_property
    def counted(self) -> tuple[Atom, ...]:
        """The blocks whose area counts as covered: those that fill the page and do not lie within another."""
        filling = [a for a in self.blocks if not a.added and a.element.role in COUNTED]
        return tuple(
            a for a in filling if not any(b is not a and _within(a.element.box, b.element.box) for b in filling)
        )

    @cached_property
    def counted_blocks(self) -> frozenset[int]:
        """The numbers of the counted blocks."""
        return frozenset(a.block for a in self.counted)

    @cached_property
    def counted_area(self) -> int:
        """The area of the counted blocks in the reference, in square micrometres."""
        return sum(a.element.size[0] * a.element.size[1] for a in self.counted)

    @cached_property
    def photo_slots(self) -> int:
        """How many photo slots the template has."""
        return sum(1 for a in self.blocks if not a.added and a.element.role == "photo")

    def mat(self, block: int) -> Atom | None:
        """Return the mat of a block, if it has one."""
        return next((a for a in self.atoms if a.part == "mat" and a.block == block), None)

    def riders_of(self, block: int) -> list[Atom]:
        """Return what a block carries."""
        return [a for a in self.riders if a.block == block]

    def element_of(self, thing: Lit) -> Element:
        """Return the element that a literal says is there: a block or something carried."""
        kind, number, _ = thing
        return (self.riders if kind == "rider" else self.blocks)[number].element

    def slides(self, block: int) -> bool:
        """Whether a block moves when the drawing slides along the freed direction: added ones stay in their rooms."""
        atom = self.blocks[block]
        return self.reference.free is not None and not atom.added and not atom.element.bleeds

    @cached_property
    def _spans(self) -> dict[tuple[str, int, int, int], tuple[Expr, Expr]]:
        """What :meth:`span` has returned."""
        return {}

    def span(self, atom: Atom, axis: int) -> tuple[Expr, Expr]:
        """Return the near and far edge of an atom's box before tilting."""
        key = atom.part, atom.block, atom.rider, axis
        found = self._spans.get(key)
        if found is None:
            found = self._spans[key] = self._span(atom, axis)
        return found

    def _span(self, atom: Atom, axis: int) -> tuple[Expr, Expr]:
        host = self.blocks[atom.block]
        near, far = self._block_span(host, axis)
        element = atom.element
        if atom.part == "mat":
            low, high = host.element.box[axis] - element.box[axis], element.box[axis + 2] - host.element.box[axis + 2]
            return near - low, far + high
        if atom.part == "rider" and host.element.tilt:
            half = Expr.of(("f", atom.block), Fraction(element.size[axis], 8192))
            middle = self._rider_center(host, element, axis)
            return middle - half, middle + half
        if atom.part == "rider":
            scale = Expr.of(("f", atom.block), Fraction(1, 4096))
            if element.center[axis] <= host.element.center[axis]:
                offset = element.box[axis] - host.element.box[axis]
                start = near + scale * offset
                return start, start + scale * element.size[axis]
            offset = element.box[axis + 2] - host.element.box[axis + 2]
            end = far + scale * offset
            return end - scale * element.size[axis], end
        return near, far

    def center(self, atom: Atom, axis: int) -> Expr:
        """Return the centre of an atom's box."""
        near, far = self.span(atom, axis)
        return (near + far) * Fraction(1, 2)

    def size(self, atom: Atom, axis: int) -> Expr:
        """Return the width (axis 0) or height (1) of an atom's box before tilting."""
        near, far = self.span(atom, axis)
        return far - near

    def reach(self, atom: Atom, direction: tuple[float, float]) -> Expr:
        """Return how far an atom extends from its centre in a direction (a unit vector), rounded up."""
        element = atom.element
        angle = math.radians(element.tilt)
        cos, sin = math.cos(angle), math.sin(angle)
        along = direction[0] * cos + direction[1] * sin
        across = -direction[0] * sin + direction[1] * cos
        if element.shape == "rect":
            half = Fraction(1, 2)
            width, height = self.size(atom, 0), self.size(atom, 1)
            return width * (trig_up(abs(along)) * half) + height * (trig_up(abs(across)) * half)
        if element.shape == "ellipse":
            support = math.hypot(element.size[0] * along, element.size[1] * across) / 2
        else:
            support = max(px * along + py * across for px, py in element.outline)
        return self.size(atom, 0) * trig_up(max(0.0, support) / element.size[0])

    def slack(self, atom: Atom) -> int:
        """Return the room to leave for rounding where an atom is a rider."""
        return RIDER_SLACK if atom.part == "rider" else 0

    def _rider_center(self, host: Atom, element: Element, axis: int) -> Expr:
        """Return the centre of what a tilted block carries: its offset is kept along the block's own sides."""
        angle = math.radians(host.element.tilt)
        cos, sin = (Fraction(round(f(angle) * 2**20), 2**20) for f in (math.cos, math.sin))
        (hx, hy), (ex, ey) = host.element.center, element.center
        local = ((ex - hx) * cos + (ey - hy) * sin, (ey - hy) * cos - (ex - hx) * sin)
        parts = []
        for a, size in enumerate(("w", "h")):
            sign = -1 if local[a] <= 0 else 1
            full = host.element.size[a]
            half = Expr.of((size, host.block), Fraction(sign, 2), Fraction(sign * full, 2))  # type: ignore[arg-type]
            offset = Fraction(round((local[a] - Fraction(sign * full, 2)) * 4), 4)
            parts.append(half + Expr.of(("f", host.block), offset / 4096))
        near, far = self._block_span(host, axis)
        turned = parts[0] * cos - parts[1] * sin if axis == 0 else parts[0] * sin + parts[1] * cos
        return (near + far) * Fraction(1, 2) + turned

    def _block_span(self, host: Atom, axis: int) -> tuple[Expr, Expr]:
        element = host.element
        place: tuple[str, str] = ("x", "y")
        size: tuple[str, str] = ("w", "h")
        center = Expr.of((place[axis], host.block), GRID, element.center[axis])  # type: ignore[arg-type]
        if self.slides(host.block) and self.reference.free == place[axis]:
            center = center + Expr.of((place[axis], SLIDE), GRID)  # type: ignore[arg-type]
        half = Expr.of((size[axis], host.block), Fraction(1, 2), Fraction(element.size[axis], 2))  # type: ignore[arg-type]
        return center - half, center + half


def build_scene(
    page: Page,
    reference: Reference,
    members: tuple[Member, ...],
    added: tuple[Element, ...] = (),
    drawing: tuple[Element, ...] = (),
    apart: int = APART,
) -> Scene:
    """Sort a frame's elements into blocks, mats and riders.

    Parameters
    ----------
    page
        The page as the frame sees it (gutters on the frame's sides).
    reference
        The frame: a reference layout before flipping.
    members
        The pages that are flips of this frame.
    added
        Free rectangles that may take an added slot, as elements of role ``paper``.
    drawing
        The template's elements, in the order of the reference's.
    apart
        What photos and words keep between them.
    """
    numbers: dict[str, int] = {}
    atoms: list[Atom] = []
    backgrounds = tuple(e for e in reference.elements if e.role == "background")
    standing = [e for e in reference.elements if e.tie not in ("mat", "carried") and e.role != "background"]
    for element in standing:
        numbers[element.id] = len(numbers)
    by_id = {e.id: e for e in reference.elements}
    riders = 0
    for element in reference.elements:
        if element.role == "background":
            continue
        if element.id in numbers:
            atoms.append(Atom(element, numbers[element.id], "block"))
            continue
        host = _root(element, by_id, numbers)
        if element.tie == "mat":
            atoms.append(Atom(element, host, "mat"))
        else:
            atoms.append(Atom(element, host, "rider", riders))
            riders += 1
    for element in added:
        atoms.append(Atom(element, len(numbers), "block", added=True))
        numbers[element.id] = len(numbers)
    drawn = {e.id: e.box for e, kept in zip(drawing, reference.elements, strict=bool(drawing)) if e.tie == kept.tie}
    return Scene(page, reference, members, tuple(atoms), backgrounds, drawn, apart)


def _root(element: Element, by_id: dict[str, Element], numbers: dict[str, int]) -> int:
    """Return the block at the end of a chain of ties."""
    seen = element
    while seen.id not in numbers:
        assert seen.on is not None
        seen = by_id[seen.on]
    return numbers[seen.id]


def _within(inner: tuple[int, ...], outer: tuple[int, ...]) -> bool:
    low = inner[0] >= outer[0] and inner[1] >= outer[1]
    return low and inner[2] <= outer[2] and inner[3] <= outer[3] and inner != outer


def is_text(element: Element) -> bool:
    """Whether an element's template role is words."""
    return element.role in TEXT_ROLES
