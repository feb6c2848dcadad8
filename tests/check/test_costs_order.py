"""Costs of alignments and gaps that no longer hold on a tiny page, counted by hand in the test."""

from __future__ import annotations

import pytest

from fitter.layout import Layout
from fitter.template import Element
from tests import builders as b
from tests.check.costing import MM, boxed, cost


def test_alignment(page: Layout) -> None:
    """By hand: what the second photo shares, and how much of it a shift of 1 mm breaks."""
    # x: left edge and right edge with the card (so no centre); y: top, bottom (so no centre) with photo-1.
    assert cost(b.move(page, "photo-2", dx=1_000), "alignment") == 2 * 90_000
    assert cost(b.move(page, "photo-2", dy=1_000), "alignment") == 2 * 90_000
    assert cost(b.move(page, "photo-2", dx=500), "alignment") == 0


def test_alignment_of_centres(page: Layout) -> None:
    """A pair that shares both edges has no centre alignment; an embellishment has none at all."""
    assert cost(b.move(page, "bloom", dy=5_000), "alignment") == 0
    # The title's right edge aligns with photo-2's and the card's, the left one with photo-1 and paper-1.
    assert cost(b.move(page, "title", dx=2_000), "alignment") == 2 * 90_000


def test_alignment_with_a_dropped_block_does_not_count(page: Layout) -> None:
    """Dropping a slot breaks none of its alignments."""
    assert cost(b.remove(page, "paper-1", "ribbon-1"), "alignment") == 0


def test_alignment_bleeding_edges_and_tilts_do_not_count(page: Layout) -> None:
    """With the second photo bleeding right, its right edge and centre align with nothing."""
    layout = b.both(page, "photo-2", bleeds=("right",))
    # Left: photo-2, card. Right: card and title now. Moving photo-2 breaks the left one alone.
    assert cost(b.move(layout, "photo-2", dx=1_000), "alignment") == 90_000
    tilted = b.both(page, "photo-2", tilt=2.0)
    assert cost(b.move(tilted, "photo-2", dx=1_000), "alignment") == 0


def test_gap(page: Layout) -> None:
    """By hand: four gaps of 6,350 between the four blocks, and two of 3,174 above the title."""
    # paper-1|card, photo-1|photo-2 (x); photo-1|paper-1, photo-2|card (y). Moving photo-2 right by 1 mm
    # widens photo-1|photo-2 alone.
    assert cost(b.move(page, "photo-2", dx=1_000), "gap") == 30_000
    # Moving it up by 1 mm lengthens only photo-2|card.
    assert cost(b.move(page, "photo-2", dy=-1_000), "gap") == 30_000
    # Moving the card right by 1 mm widens paper-1|card.
    assert cost(b.move(page, "card", dx=1_000), "gap") == 30_000
    # Moving the title changes both gaps above it.
    assert cost(b.move(page, "title", dy=-1_000), "gap") == 2 * 30_000
    assert cost(b.remove(page, "card"), "gap") == 0


def test_a_strip_behind_both_is_not_between_them(page: Layout) -> None:
    """What reaches from under the one photo to under the other leaves their distance what it was."""
    behind = Element("behind", "paper", "rect", (79_375, 38_100), (60_000, 10_000))
    layout = b.insert(page, behind, b.place(behind, fill=b.PALE), 0)
    assert cost(b.move(layout, "photo-2", dx=1_000), "gap") == 30_000


def test_gap_with_something_between_is_none(page: Layout) -> None:
    """A block between two photos that fills part of the way takes the gap apart."""
    narrow = Element("between", "paper", "rect", (79_376, 38_100), (2_000, 10_000))
    layout = b.insert(page, narrow, b.place(narrow, fill=b.PALE), 5)
    # photo-1|photo-2 is gone, so moving photo-2 right breaks no pair of it; between|photo-2 has no equal.
    # photo-1|between is 2,176 and between|photo-2 2,174: a pair that breaks when photo-2 moves.
    assert cost(b.move(layout, "photo-2", dx=1_000), "gap") == 30_000


def tier(*gaps: int, last: tuple[int, int] = (50 * MM, 20 * MM)) -> Layout:
    """Return a tier of papers 20 mm wide and high, the last one with a top edge and height of its own."""
    boxes, left = [(10 * MM, 50 * MM, 20 * MM, 20 * MM)], 10 * MM
    for n, gap in enumerate(gaps, 1):
        left += 20 * MM + gap
        top, height = last if n == len(gaps) else (50 * MM, 20 * MM)
        boxes.append((left, top, 20 * MM, height))
    return boxed(boxes, (300 * MM, 200 * MM))


@pytest.mark.parametrize(("gap", "price"), [(0, 0), (1, 30_000), (25_400, 30_000), (25_401, 0)])
def test_gaps_are_up_to_an_inch_long(gap: int, price: int) -> None:
    """Two equal gaps of up to 1 in are a pair that breaks when the last of three papers moves; touching is no gap."""
    assert cost(b.move(tier(gap, gap), "paper-2", dx=1 * MM), "gap") == price


@pytest.mark.parametrize(
    ("top", "height", "price"),
    [
        (59_999, 20_000, 30_000),
        (60_000, 20_000, 0),
        (64_999, 10_000, 30_000),
        (65_000, 10_000, 0),
        (40_001, 20_000, 30_000),
        (40_000, 20_000, 0),
    ],
)
def test_gaps_face_by_more_than_half(top: int, height: int, price: int) -> None:
    """Beside a paper from 50,000 to 70,000 it takes 10,001 of 20,000, or 5,001 of 10,000; half of it is no gap."""
    layout = tier(10 * MM, 10 * MM, last=(top, height))
    assert cost(b.move(layout, "paper-2", dx=1 * MM), "gap") == price


@pytest.mark.parametrize(("moved", "price"), [(500, 0), (501, 30_000), (-500, 0), (-501, 30_000)])
def test_a_gap_may_change_by_half_a_millimetre(moved: int, price: int) -> None:
    """A gap still has its length within 500 µm."""
    assert cost(b.move(tier(10 * MM, 10 * MM), "paper-2", dx=moved), "gap") == price


@pytest.mark.parametrize(
    ("gaps", "price"),
    [
        ((10_000, 10_500), 30_000),
        ((10_000, 10_501), 0),
        ((10_000, 10_400, 10_800), 0),
        ((10_300, 10_000, 10_500), 30_000),
    ],
)
def test_gaps_are_equal_within_half_a_millimetre_of_the_shortest(gaps: tuple[int, ...], price: int) -> None:
    """10,800 is within 500 of 10,400 but not of 10,000, with which the group began: the last gap has no equal."""
    assert cost(b.move(tier(*gaps), f"paper-{len(gaps)}", dx=1 * MM), "gap") == price
