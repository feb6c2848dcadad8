"""The cost of a page that tips: what its slots weigh to one side beyond what the drawing did.

After the measure of equilibrium of Ngo, Teo and Byrne, Information Sciences 152 (2003) 25–46: the moment of areas
about the page's middle over half the page times all areas; here over the areas of the drawing, and linear.
"""

from __future__ import annotations

from fractions import Fraction

from fitter.check.costs_slots import lies_on_another
from fitter.check.report import CostItem
from fitter.check.shapes import box_area
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
    slid = _slid(view)
    parts = [(box_area(e.box), _aside(view, e, slid)) for e in view.counted_blocks]
    return _over_drawn(view, [sum((area * aside[a] for area, aside in parts), Fraction(0)) for a in (0, 1)])


def tipped(view: View) -> Pair:
    """Return the moments of the page, right and down, as shares of half the page."""
    slid = _slid(view)
    totals = [Fraction(0), Fraction(0)]
    for block in view.counted_blocks:
        aside = _aside(view, block, slid)
        back = (0, 0) if block.bleeds else slid
        area = box_area(block.box)
        for axis in (0, 1):
            totals[axis] += area * back[axis]
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
    area = sum(box_area(e.box) for e in view.counted_blocks)
    x, y = (2 * total / (max(1, area) * side) for total, side in zip(totals, view.page.trim, strict=True))
    return (x, y) if area else (Fraction(0), Fraction(0))


def _aside(view: View, block: Element, slid: tuple[int, int]) -> Pair:
    """Return how far a block of the drawing stands from the page's middle, the drawing being there."""
    back = (0, 0) if block.bleeds else slid
    x, y = (
        Fraction(twice - side, 2) - far
        for twice, side, far in zip(doubled_center(block.box), view.page.trim, back, strict=True)
    )
    return x, y


def _slid(view: View) -> tuple[int, int]:
    """Return how far the drawing stands from the middle of a page longer than it, right and down."""
    how, trim = view.layout.transform, view.page.trim
    quarter, half = how.rotate in (90, 270), how.rotate >= 180
    size = view.layout.template.size[::-1] if quarter else view.layout.template.size
    scale = min(Fraction(page, own) for page, own in zip(trim, size, strict=True))
    spare = [page - round_half_up(scale * own) for page, own in zip(trim, size, strict=True)]
    if max(spare) <= 0:
        return 0, 0
    axis = 0 if spare[0] > spare[1] else 1
    # The offset is that of the page before it was flipped.
    flipped = (half if quarter else half != how.mirror, half != how.mirror if quarter else half)[axis]
    far = (how.offset[axis] - spare[axis] // 2) * (-1 if flipped else 1)
    return (far, 0) if axis == 0 else (0, far)
