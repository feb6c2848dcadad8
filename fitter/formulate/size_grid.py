"""Sizes for one content of a block: which are offered, and what each costs against the reference.

R8's smallest sides, the freedoms ``widen``, ``scale`` and ``rotate-slot`` are decided here, and the one size of a slot
that stays as it was (R9).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from fitter.formulate import rates
from fitter.formulate.content import Ints, resize_price
from fitter.formulate.groups import Rescaling
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.sizes import even_factors, even_sizes, free_sizes, size_step
from fitter.template import Element
from fitter.units import INCH

SMALLEST_PHOTO = INCH
SMALLEST_TEXT = INCH
ROUNDING = 2
"""A refitted side is rounded to even micrometres, so it may be this much shorter than the least one, rounded alone."""


@dataclass(frozen=True)
class Grid:
    """All sizes offered for one content: widths, heights and the cost of resizing, in step."""

    width: Ints
    height: Ints
    resize: Ints
    turned: Ints

    def pick(self, mask: NDArray[np.bool_]) -> Grid:
        """Return the sizes a mask selects."""
        return Grid(self.width[mask], self.height[mask], self.resize[mask], self.turned[mask])


def smallest_side(element: Element, least: int) -> int:
    """Return the smallest side a block may have with some content: R8's, or what is the least for it."""
    return max(least, element.limits.smallest_side - ROUNDING)


def room_for(scene: Scene, element: Element) -> tuple[int, int]:
    """Return the largest width and height a block may have: the safe box, to the bleed line where it bleeds."""
    safe = scene.page.safe
    room = [safe[2] - safe[0], safe[3] - safe[1]]
    for axis, sides in enumerate((("left", "right"), ("top", "bottom"))):
        if set(sides) & set(element.bleeds):
            room[axis] = scene.page.trim[axis] + scene.page.bleed
    return room[0], room[1]


def is_pinned(element: Element) -> bool:
    """Whether a bleeding thing is tilted or round and so stays as it is."""
    return bool(element.bleeds) and (element.tilt != 0 or element.shape != "rect")


def size_grid(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...], least: int, *, free: bool
) -> Grid:
    """Return the sizes for one content of a block, each with the cheaper of turned and not turned."""
    element = atom.element
    smallest = smallest_side(element, least)
    room = room_for(scene, element)
    fixed = (
        {"left", "right"} <= set(element.bleeds),
        {"top", "bottom"} <= set(element.bleeds),
    )
    factors = tuple(s.factor for s in scalings if atom.block in s.sizes)
    kept = settings.before(element.id) if element.id in settings.wishes.stay else None
    if kept is not None and kept.role is not None:
        width, height = np.array([kept.size[0]]), np.array([kept.size[1]])
    elif element.limits.fixed or is_pinned(element):
        width, height = np.array([element.size[0]]), np.array([element.size[1]])
    elif free and settings.may("widen") and element.shape == "rect":
        step = size_step(scene.page.trim, element, len(settings.photos))
        width, height = free_sizes(element, smallest, room, step, fixed)
        extra = even_sizes(element, factors, room) if not any(fixed) else (width[:0], height[:0])
        width, height = union((width, height), extra)
    elif settings.may("scale") and not any(fixed):
        width, height = even_sizes(
            element, tuple(dict.fromkeys(factors + even_factors(element, whole=settings.whole_range))), room
        )
    else:
        width, height = np.array([element.size[0]]), np.array([element.size[1]])
    mask = np.minimum(width, height) >= smallest
    width, height = width[mask].astype(np.int64), height[mask].astype(np.int64)
    resize = resize_price(element, width, height)
    turned = np.zeros(len(width), dtype=np.int64)
    return Grid(width, height, resize, turned)


def union(first: tuple[Ints, Ints], second: tuple[Ints, Ints]) -> tuple[Ints, Ints]:
    """Return the sizes of both, each once, the first's first."""
    seen = dict.fromkeys(zip(first[0].tolist(), first[1].tolist(), strict=True))
    seen.update(dict.fromkeys(zip(second[0].tolist(), second[1].tolist(), strict=True)))
    pairs = np.array(list(seen), dtype=np.int64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def with_turns(element: Element, grid: Grid, settings: Settings) -> Grid:
    """Let each size count as the slot turned by a quarter where that is cheaper; offer the turned size itself too."""
    if not settings.may("rotate-slot") or element.bleeds or element.limits.fixed or element.shape != "rect":
        return grid
    w0, h0 = element.size
    width, height = union((grid.width, grid.height), (np.array([h0]), np.array([w0])))
    mask = np.minimum(width, height) >= smallest_side(element, SMALLEST_PHOTO)
    width, height = width[mask], height[mask]
    plain, turned = resize_price(element, width, height), resize_price(element, width, height, (h0, w0))
    factor = settings.rates.factors.get("resize", 1.0)
    cheaper = turned * factor + settings.rates.of("rotate-slot", rates.ROTATE_SLOT) < plain * factor
    return Grid(width, height, np.where(cheaper, turned, plain), cheaper.astype(np.int64))


def overshoot(scene: Scene, element: Element) -> tuple[int, int, int, int]:
    """Return how far an element reaches beyond the trim: left, top, right, bottom."""
    left, top, right, bottom = element.box
    tw, th = scene.page.trim
    return max(0, -left), max(0, -top), max(0, right - tw), max(0, bottom - th)
