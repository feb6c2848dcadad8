"""The cost ``balance``: the published example, and moments worked out by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout, costs_balance, measures
from fitter.check.view import View
from fitter.layout import Layout, Placed, Transform
from fitter.reference import MEMBERS, Member
from tests import builders as b
from tests.check.costing import MM, boxed


def balance(layout: Layout) -> int:
    """Return the cost."""
    return check_layout(layout).costs.terms["balance"]


FIGURE = [(x, y, 64, 58) for y in (29, 153) for x in (23, 93, 163, 233)] + [(x, 91, 134, 58) for x in (23, 163)]
"""Ngo, Teo & Byrne 2003, Fig. 4: left, top, width and height of its boxes in a frame of 320 × 240."""


def figure(*dropped: int) -> Layout:
    """Return the published figure as a page in millimetres, some of its boxes dropped."""
    return boxed([(x * MM, y * MM, w * MM, h * MM) for x, y, w, h in FIGURE], (320 * MM, 240 * MM), *dropped)


def test_balance_of_the_published_example() -> None:
    """Ngo, Teo & Byrne 2003, Fig. 4: equilibrium 1, so that the moments, which it divides by its ten boxes, are 0."""
    layout = figure()
    assert costs_balance.tipped(View(layout)) == (0, 0)
    assert balance(layout) == 0


@pytest.mark.parametrize("frame", [(320, 240), (400, 240), (320, 300)])
def test_moments_are_those_of_the_published_equilibrium(frame: tuple[int, int]) -> None:
    """On a drawing of n boxes EM = 1 − (|x| + |y|) / 2n, whatever the frame; worked out by the figures for pages."""
    layout = boxed([(x * MM, y * MM, w * MM, h * MM) for x, y, w, h in FIGURE], (frame[0] * MM, frame[1] * MM))
    x, y = costs_balance.tipped(View(layout))
    boxes = [(left, top, left + w, top + h) for left, top, w, h in FIGURE]
    assert float(1 - (abs(x) + abs(y)) / 20) == pytest.approx(measures.equilibrium(boxes, frame))


def test_balance_without_some_boxes() -> None:
    """By hand: of 8 · 64 · 58 + 2 · 134 · 58 = 45,240 the right-most box of the upper row is missing, 3,712.

    Its centre is 105 right of the middle and 62 above it, of 160 and 120: moments of 3,712 · 105 / (45,240 · 160) and
    3,712 · 62 / (45,240 · 120), at half of 100,000 each.  Without the box across from it, too, nothing tips.
    """
    wanted = round(50_000 * 3_712 * 105 / (45_240 * 160)) + round(50_000 * 3_712 * 62 / (45_240 * 120))
    assert wanted == 2_692 + 2_120
    assert balance(figure(3)) == wanted
    assert balance(figure(3, 4)) == 0


def test_balance_of_what_moved_and_grew() -> None:
    """A move counts with the area drawn, a size at the place drawn; only what is beyond the drawing's own is charged.

    Two boxes of 20 × 20 on 100 × 100, 20 left and 20 right of the middle; area 800.  Moved right by 10 (as drawn), the
    right one adds 400 · 10 of 800 · 50.  Grown by 20 at its place, it adds 400 · 20; and with both 400 · 30.
    """
    layout = boxed([(20 * MM, 40 * MM, 20 * MM, 20 * MM), (60 * MM, 40 * MM, 20 * MM, 20 * MM)], (100 * MM, 100 * MM))
    assert balance(layout) == 0
    moved = b.move(layout, "paper-1", dx=10 * MM)
    assert balance(moved) == 5_000
    grown = b.change(layout, "paper-1", size=(20 * MM, 40 * MM))
    assert balance(grown) == 10_000
    assert balance(b.move(grown, "paper-1", dx=10 * MM)) == 15_000
    # The drawing of the right one alone has a moment of 20 of 50 itself: moving it left is free, also past the middle.
    lone = boxed([(60 * MM, 40 * MM, 20 * MM, 20 * MM)], (100 * MM, 100 * MM))
    assert balance(b.move(lone, "paper-0", dx=-30 * MM)) == 0
    assert balance(b.move(lone, "paper-0", dx=-50 * MM)) == 10_000
    assert balance(b.move(lone, "paper-0", dx=10 * MM)) == 10_000


def test_balance_with_an_added_element() -> None:
    """An added card counts in the middle of its room; one that lies on another element does not count."""
    pair = [(20 * MM, 40 * MM, 20 * MM, 20 * MM), (60 * MM, 40 * MM, 20 * MM, 20 * MM)]
    layout = boxed(pair, (100 * MM, 100 * MM), 1)
    assert balance(layout) == 10_000
    room = (60 * MM, 30 * MM, 80 * MM, 70 * MM)
    card = Placed("extra", None, "paper", "rect", (70 * MM, 62 * MM), (10 * MM, 10 * MM), fill=b.PALE, room=room)
    # 100 at 20 right of the middle against 400 at 20 left of it.
    assert balance(b.topped(layout, card)) == 7_500
    lying = replace(card, center=(30 * MM, 50 * MM))
    assert balance(b.topped(layout, lying)) == 10_000


def test_balance_of_a_drawing_at_one_end_of_a_longer_page() -> None:
    """A drawing of 100 × 100 slid by 20 on a page of 100 × 150 has moved all its area by 20 of 75."""
    layout = boxed([(20 * MM, 65 * MM, 20 * MM, 20 * MM), (60 * MM, 65 * MM, 20 * MM, 20 * MM)], (100 * MM, 150 * MM))
    layout = replace(layout, template=replace(layout.template, size=(100 * MM, 100 * MM)))
    layout = b.transformed(layout, offset=(0, 25 * MM))
    assert balance(layout) == 0
    slid = replace(
        layout,
        transform=Transform(offset=(0, 45 * MM)),
        reference=tuple(replace(e, center=(e.center[0], e.center[1] + 20 * MM)) for e in layout.reference),
        elements=tuple(replace(e, center=(e.center[0], e.center[1] + 20 * MM)) for e in layout.elements),
    )
    assert balance(slid) == round(50_000 * 20 / 75)
    # Upside down it stands 20 above the middle.
    turned = Transform(rotate=180, offset=(0, 45 * MM))
    over = tuple(replace(e, center=(e.center[0], 150 * MM - e.center[1])) for e in slid.reference)
    placed = tuple(b.place(e, fill=b.PALE) for e in over)
    flipped = replace(slid, transform=turned, reference=over, elements=placed)
    assert balance(flipped) == round(50_000 * 20 / 75)
    # Without the left one: 400 · 20 of 800 · 50 to the right besides.
    assert balance(b.remove(slid, "paper-0")) == 10_000 + 13_333


@pytest.mark.parametrize("member", MEMBERS, ids=str)
def test_balance_is_the_same_turned_and_mirrored(member: Member) -> None:
    """Turning and mirroring a page, and what was dropped of it, exchanges axes and sides, no more."""
    boxes = [(20 * MM, 40 * MM, 20 * MM, 30 * MM), (60 * MM, 20 * MM, 30 * MM, 20 * MM)]
    for _ in range(member.rotate // 90):
        boxes = [(100 * MM - y - h, x, h, w) for x, y, w, h in boxes]
    if member.mirror:
        boxes = [(100 * MM - x - w, y, w, h) for x, y, w, h in boxes]
    plain = boxed([(20 * MM, 40 * MM, 20 * MM, 30 * MM), (60 * MM, 20 * MM, 30 * MM, 20 * MM)], (100 * MM, 100 * MM), 0)
    assert balance(boxed(boxes, (100 * MM, 100 * MM), 0)) == balance(plain) > 0
