"""The costs of common scalings on a tiny page, with their values worked out by hand in the test."""

from __future__ import annotations

import math
from typing import Any

import pytest

from fitter.layout import Layout, Rescale
from fitter.template import Limits, Point
from tests import builders as b
from tests.check.costing import cost


def test_rescale_of_photos(page: Layout) -> None:
    """All photos at 9/10: 15,000 once, nothing for each; another size is measured from there."""
    layout = b.change(page, "photo-1", size=(57_150, 45_720))
    layout = b.change(layout, "photo-2", size=(52_070, 45_720))
    layout = b.transformed(layout, rescale=Rescale("photos", 0.9))
    # A tenth of 57,150 is four and a half steps of 1,270, rounded (halves up) to four: 52,070.
    assert (cost(layout, "resize"), cost(layout, "shift")) == (15_000, 0)


def steps(length: float, step: int) -> int:
    """Round a length to whole steps, halves up."""
    return step * math.floor(length / step + 0.5)


def template_scaled(page: Layout, *staying: str) -> Layout:
    """Return the page scaled by 4/5 about the centre of the blocks' box, but for some blocks that stay as they are."""
    # The box is 6,350 … 146,050 by 12,700 … 146,050, its centre 76,200, 79,375. The background is no block.
    layout = b.transformed(page, rescale=Rescale("template", 0.8))
    for block in b.REFERENCE:
        if block.id in ("bg", "mat-1", "corner-1", *staying):
            continue
        (x, y), (w, h) = block.center, block.size
        # A fifth of the distance in whole steps of 635 µm, a fifth of each side in steps of 1,270 µm, halves up.
        center = (x + steps(-(x - 76_200) / 5, 635), y + steps(-(y - 79_375) / 5, 635))
        size = (w + steps(-w / 5, 1270), h + steps(-h / 5, 1270))
        layout = b.change(layout, block.id, center=center, size=size)
    return layout


def test_rescale_of_the_template_moves_centres(page: Layout) -> None:
    """Scaled by 4/5 about the centre of the blocks' box, centres move by a fifth of their distance."""
    layout = template_scaled(page)
    assert cost(layout, "shift") == 0
    assert cost(layout, "resize") == 30_000


@pytest.mark.parametrize("how", [{"bleeds": ("right",)}, {"limits": Limits(fixed=True)}], ids=["bleeding", "fixed"])
def test_rescale_takes_no_bleeding_and_no_fixed_blocks(page: Layout, how: dict[str, Any]) -> None:
    """The card, inside the box around the others, belongs where and as large as it was; scaled it would pay.

    A fifth of its side of 45 steps of 1,270 µm, 9 steps, on both axes: 75,000 · 2/5.
    """
    layout = b.redraw(template_scaled(page, "card"), "card", **how)
    assert (cost(layout, "shift"), cost(layout, "resize")) == (0, 30_000)
    smaller = b.change(layout, "card", size=(45_720, 45_720))
    assert cost(smaller, "resize") == 30_000 + 30_000
    moved = b.move(layout, "card", dx=-2_540)
    assert cost(moved, "shift") == 1_200
    photos = b.transformed(b.change(page, "photo-1", size=(57_150, 45_720)), rescale=Rescale("photos", 0.9))
    assert cost(b.redraw(photos, "photo-2", **how), "resize") == 15_000


DIAMOND = ((0, -25_400), (28_575, 0), (0, 25_400), (-28_575, 0))


@pytest.mark.parametrize(("shape", "outline"), [("ellipse", ()), ("path", DIAMOND)])
def test_rescale_keeps_the_proportions_of_other_shapes(page: Layout, shape: str, outline: tuple[Point, ...]) -> None:
    """Scaled by 9/10, 57,150 wide become 52,070 (four steps less) and 50,800 high 46,284, not 45,720.

    52,070/57,150 of 50,800 are 46,284.4, half of that, 23,142.2, is rounded.
    """
    layout = b.both(page, "photo-2", shape=shape, outline=outline)
    layout = b.change(b.change(layout, "photo-1", size=(57_150, 45_720)), "photo-2", size=(52_070, 46_284))
    layout = b.transformed(layout, rescale=Rescale("photos", 0.9))
    assert cost(layout, "resize") == 15_000
    assert cost(b.change(layout, "photo-2", size=(52_070, 45_720)), "resize") == 15_000 + round(75_000 * 564 / 46_284)


def test_rescale_keeps_the_proportions_of_embellishments(page: Layout) -> None:
    """Scaled by 9/10, 12,700 × 6,350 become 11,430 × 5,716: 9/10 of the height are 5,715, of which half, halves up.

    Not to even micrometres it would be 5,715; a rectangle of another role would lose no step in height,
    since 1/10 of 6,350 is half a step.
    """
    layout = b.redraw(page, "bloom", size=(12_700, 6_350), cluster="corner")
    layout = b.transformed(layout, rescale=Rescale("cluster:corner", 0.9))
    assert cost(b.change(layout, "bloom", size=(11_430, 5_716)), "resize") == 15_000
    assert cost(b.change(layout, "bloom", size=(11_430, 6_350)), "resize") == 15_000 + round(75_000 * 634 / 5_716)
    ribbon = b.redraw(layout, "bloom", role="ribbon")
    assert cost(b.change(ribbon, "bloom", size=(11_430, 6_350)), "resize") == 15_000


def test_rescale_of_others_and_of_a_cluster(page: Layout) -> None:
    """A group takes only its own blocks along."""
    layout = b.transformed(b.change(page, "bloom", size=(5_080, 5_080)), rescale=Rescale("cluster:corner", 0.8))
    assert cost(layout, "resize") == 30_000 + 2 * 15_000
    assert cost(b.redraw(layout, "bloom", cluster="corner"), "resize") == 30_000
    others = b.transformed(page, rescale=Rescale("others", 0.5))
    # Five blocks are no photos; each is about twice its target size, which is whole steps of 1,270 µm away.
    targets = [(31_750, 29_210), (29_210, 29_210), (10_160, 6_350), (3_810, 3_810), (63_500, 8_256)]
    sizes = [(63_500, 57_150), (57_150, 57_150), (19_050, 12_700), (6_350, 6_350), (127_000, 15_876)]
    each = [(w - w0) / w0 + (h - h0) / h0 for (w, h), (w0, h0) in zip(sizes, targets, strict=True)]
    assert cost(others, "resize") == 75_000 + sum(round(75_000 * share) for share in each)
