"""Costs of alignments and gaps that no longer hold on a tiny page, counted by hand in the test."""

from __future__ import annotations

from fitter.layout import Layout
from fitter.template import Element
from tests import builders as b
from tests.check.costing import cost


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
