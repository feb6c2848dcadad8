"""The cost of a page that tips: what its slots weigh to one side beyond what the drawing did.

After the measure of equilibrium of Ngo, Teo and Byrne, Information Sciences 152 (2003) 25–46: the moment of areas
about the page's middle over half the page times all areas; here over the areas of the drawing, and linear.
"""

from __future__ import annotations

from fractions import Fraction

from fitter.check.costs_slots import counted_blocks, lies_on_another
from fitter.check.report import CostItem
from fitter.check.shapes import box_area, box_around
from fitter.check.view import View, doubled_center, round_half_up
from fitter.template import Element

BALANCE = 100_000
Pair = tuple[Fraction, Fraction]


def cost_balance(view: View) -> tuple[CostItem, ...]:
    """Half of 100,000 for each axis, times the moment of areas beyond the drawing's."""
    made = []
    for axis, now, before in zip("xy", tipped(view), drawn(view), strict=True):
        made.append(CostItem(axis, round_half_up(BALANCE * max(Fraction(0), abs(now) - abs(before)) / 2)))
    return tuple(made)


def drawn(view: View) -> Pair:
    """Return the moments of the drawing where it stands in the middle of the page, as shares of half the page."""
    middle = _moved_back(view)
    parts = [(box_area(e.box), _aside(view, e, middle)) for e in counted_blocks(view)]
    return _over_drawn(view, [sum((area * aside[a] for area, aside in parts), Fraction(0)) for a in (0, 1)])


def tipped(view: View) -> Pair:
    """Return the moments of the page, right and down, as shares of half the page."""
    middle = _moved_back(view)
    totals = [Fraction(0), Fraction(0)]
    for block in counted_blocks(view):
        aside = _aside(view, block, middle)
        back = (0, 0) if block.bleeds else middle
        area = box_area(block.box)
        for axis in (0, 1):
            totals[axis] += Fraction(area * back[axis], 2)
        if block.id in view.pieces:
            outer = view.outer(block.id)
            moved = [b - a for a, b in zip(doubled_center(block.box), doubled_center(outer), strict=True)]
            for axis in (0, 1):
                totals[axis] += box_area(outer) * aside[axis] + Fraction(area * moved[axis], 2)
    for item in view.added:
        if not lies_on_another(view, item):
            where = doubled_center(item.room or item.box)
            for axis in (0, 1):
                totals[axis] += box_area(item.box) * Fraction(where[axis] - view.page.trim[axis], 2)
    return _over_drawn(view, totals)


def _over_drawn(view: View, totals: list[Fraction]) -> Pair:
    area = sum(box_area(e.box) for e in counted_blocks(view))
    x, y = (2 * total / (max(1, area) * side) for total, side in zip(totals, view.page.trim, strict=True))
    return (x, y) if area else (Fraction(0), Fraction(0))


def _aside(view: View, block: Element, middle: tuple[int, int]) -> Pair:
    """Return how far a block of the drawing stands from the page's middle."""
    back = (0, 0) if block.bleeds else middle
    x, y = (
        Fraction(twice - side - far, 2)
        for twice, side, far in zip(doubled_center(block.box), view.page.trim, back, strict=True)
    )
    return x, y


def _moved_back(view: View) -> tuple[int, int]:
    """Return twice how far what does not bleed stands from the middle of a page longer than the drawing."""
    width, height = view.layout.template.size
    if view.layout.transform.rotate in (90, 270):
        width, height = height, width
    scale = min(Fraction(view.page.trim[0], width), Fraction(view.page.trim[1], height))
    spare = [side - round_half_up(scale * own) for side, own in zip(view.page.trim, (width, height), strict=True)]
    loose = [b.box for b in view.blocks if not b.bleeds]
    if max(spare) <= 0 or not loose:
        return 0, 0
    axis = 0 if spare[0] > spare[1] else 1
    around = box_around(loose)
    far = around[axis] + around[axis + 2] - view.page.trim[axis]
    return (far, 0) if axis == 0 else (0, far)
