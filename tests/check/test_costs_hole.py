"""The cost ``hole`` on tiny pages, with its values worked out by hand in the test."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.layout import Layout, Placed
from fitter.template import Element
from tests import builders as b
from tests.check.costing import MM, boxed, cost

SAFE_AREA = 139_700 * 139_700


def test_hole(page: Layout) -> None:
    """A dropped paper leaves 63,500 × 57,150 of the safe box bare; a smaller one the difference."""
    dropped = b.remove(page, "paper-1", "ribbon-1")
    assert cost(dropped, "hole") == round(540_000 * 63_500 * 57_150 / SAFE_AREA)
    smaller = b.change(page, "paper-1", size=(50_800, 57_150))
    assert cost(smaller, "hole") == round(540_000 * 12_700 * 57_150 / SAFE_AREA)
    assert cost(b.change(page, "bloom", size=(10, 10)), "hole") == 0


def test_hole_filled_by_an_added_element(page: Layout) -> None:
    """An added card in the bare room counts, one lying on another element does not."""
    dropped = b.remove(page, "paper-1", "ribbon-1")
    card = Placed("extra", None, "paper", "rect", (44_450, 98_425), (63_500, 57_150), fill=b.PALE)
    assert cost(b.topped(dropped, card), "hole") == 0
    lying = replace(card, center=(111_125, 38_100), size=(20_000, 20_000))
    assert cost(b.topped(dropped, lying), "hole") == cost(dropped, "hole")


def test_hole_is_never_less_than_nothing(page: Layout) -> None:
    """A paper that grew fills more than was drawn, and earns nothing; it makes up for another one."""
    grown = b.change(page, "paper-1", size=(63_500, 60_000))
    assert cost(grown, "hole") == 0
    narrower = b.change(grown, "card", size=(50_800, 57_150))
    assert cost(narrower, "hole") == round(540_000 * (6_350 * 57_150 - 63_500 * 2_850) / SAFE_AREA)


def test_hole_counts_no_block_inside_another(page: Layout) -> None:
    """A card drawn on a paper adds nothing to what fills the page, nor its dropping; on an ornament it does."""
    # 20,000 × 20,000 inside paper-1, 12,700 … 76,200 by 69,850 … 127,000, the ribbon apart.
    inner = Element("inner", "journaling", "rect", (50_000, 98_425), (20_000, 20_000))
    layout = b.insert(page, inner, b.place(inner, fill=b.WHITE), 6)
    assert cost(b.remove(layout, "inner"), "hole") == 0
    paper = 63_500 * 57_150
    assert cost(b.remove(layout, "paper-1", "ribbon-1"), "hole") == round(540_000 * paper / SAFE_AREA)
    ornament = b.both(layout, "paper-1", role="embellishment")
    assert cost(b.remove(ornament, "inner"), "hole") == round(540_000 * 20_000 * 20_000 / SAFE_AREA)
    edge = b.both(layout, "inner", center=(22_700, 98_425))
    assert cost(b.remove(edge, "inner"), "hole") == 0, "edges may meet"
    beyond = b.both(layout, "inner", center=(22_699, 98_425))
    assert cost(b.remove(beyond, "inner"), "hole") == round(540_000 * 20_000 * 20_000 / SAFE_AREA)


@pytest.mark.parametrize(
    ("frame", "rotate", "bare"),
    [((100, 80), 90, 1_300), ((100, 80), 270, 1_300), ((100, 80), 180, 400), ((60, 100), 90, 400)],
)
def test_hole_on_a_page_on_its_side(frame: tuple[int, int], rotate: int, bare: int) -> None:
    """A drawing of 100 × 60 fits a page of 100 × 80 upright as it is, on its side at 80/100: (100/80)² = 25/16 as much.

    Of papers of 40 × 30 and 20 × 20, which fill 1,600 and would fill 2,500, the small one is gone: 1,300 are bare, not
    400.  On a page of 60 × 100 it fits on its side as it is and upright at 60/100 only: no less than drawn is charged.
    The safe box is 1/4 in smaller on each side.
    """
    wide, high = frame
    boxes = [(10 * MM, 10 * MM, 40 * MM, 30 * MM), (30 * MM, 50 * MM, 20 * MM, 20 * MM)]
    layout = boxed(boxes, (wide * MM, high * MM), 1)
    layout = replace(layout, template=replace(layout.template, size=(100 * MM, 60 * MM)))
    layout = b.transformed(layout, rotate=rotate)
    assert cost(layout, "hole") == round(540_000 * bare / ((wide - 12.7) * (high - 12.7)))
