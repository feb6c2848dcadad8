"""Costs of what was changed on a tiny page, with their values worked out by hand in the test."""

from __future__ import annotations

from dataclasses import replace

from fitter.layout import Copy, Layout, Placed, Repeat
from tests import builders as b
from tests.check.costing import cost


def test_rotate_and_mirror_page(page: Layout) -> None:
    """Any quarter turns 15,000, mirrored 5,000."""
    for turns in (90, 180, 270):
        assert cost(b.transformed(page, rotate=turns), "rotate-page") == 15_000
    assert cost(b.transformed(page, mirror=True), "mirror-page") == 5_000
    assert cost(b.transformed(page, mirror=True), "rotate-page") == 0


def test_rotate_slot(page: Layout) -> None:
    """A turned slot costs 10,000 and, measured against its swapped size, no resize."""
    layout = b.change(page, "photo-2", size=(50_800, 57_150), turned=True)
    assert (cost(layout, "rotate-slot"), cost(layout, "resize")) == (10_000, 0)
    # Not marked as turned: 6,350/57,150 and 6,350/50,800 of 75,000.
    layout = b.change(layout, "photo-2", turned=False)
    assert (cost(layout, "rotate-slot"), cost(layout, "resize")) == (0, round(75_000 * (1 / 9 + 1 / 8)))


def test_swap_role(page: Layout) -> None:
    """A paper that became a photo and a strip that became a ribbon: 40,000 each."""
    layout = b.change(b.change(page, "paper-1", role="journaling"), "ribbon-1", role="paper")
    assert cost(layout, "swap-role") == 80_000


def test_add_slot(page: Layout) -> None:
    """A slot in three pieces is two more, an added panel one more: 450,000."""
    layout = b.split(page, "photo-2", "row", [(82_550 + 19_050 * n, 12_700, 15_876, 50_800) for n in range(3)])
    assert cost(layout, "add-slot") == 300_000
    panel = Placed("extra", None, "paper", "rect", (100_000, 66_000), (10_000, 4_000), fill=b.PALE)
    assert cost(b.topped(layout, panel), "add-slot") == 450_000


def test_repeat_cluster(page: Layout) -> None:
    """Two copies of a cluster cost 300,000."""
    copies = (Copy(0, False, (0, 0)), Copy(90, True, (50_000, 0)))
    layout = b.transformed(b.redraw(page, "bloom", cluster="corner"), repeat=Repeat("corner", copies))
    assert cost(layout, "repeat-cluster") == 300_000
    assert cost(page, "repeat-cluster") == 0


def test_drop(page: Layout) -> None:
    """A slot costs 40,000 to drop; its mat and what it carried go free, but a corner alone costs 40,000."""
    assert cost(b.remove(page, "photo-1", "mat-1", "corner-1"), "drop") == 40_000
    assert cost(b.remove(page, "corner-1"), "drop") == 40_000
    assert cost(b.remove(page, "mat-1"), "drop") == 0


def test_empty_slot(page: Layout) -> None:
    """A photo slot of 9 × 8 in 22 × 22 (of 6.35 mm) without a photo costs 72/484 of 300,000, whatever became of it.

    That is 44,628.1.  The other one is 10 × 8: 80/484 of 300,000 are 49,586.8.
    """
    assert cost(b.remove(page, "photo-2"), "empty-slot") == 44_628
    assert cost(b.change(page, "photo-2", role="paper", photo=None, fill=b.PALE), "empty-slot") == 44_628
    both = b.remove(page, "photo-1", "mat-1", "corner-1", "photo-2")
    assert cost(both, "empty-slot") == 44_628 + 49_587
    halves = b.split(page, "photo-2", "row", [(x, 12_700, 26_988, 50_800) for x in (82_550, 112_712)])
    for name in ("photo-2.1", "photo-2.2"):
        halves = b.change(halves, name, role="journaling", photo=None, fill=b.PALE)
        assert cost(halves, "empty-slot") == (0 if name == "photo-2.1" else 44_628)


def test_shift(page: Layout) -> None:
    """1 in right and 1/2 in down are 18,000; carried elements and mats pay nothing."""
    assert cost(b.move(page, "bloom", dx=-25_400, dy=12_700), "shift") == 18_000
    layout = page
    for name in ("mat-1", "photo-1", "corner-1"):
        layout = b.move(layout, name, dx=2_540)
    assert cost(layout, "shift") == 1_200


def test_shift_of_the_whole_page(page: Layout) -> None:
    """All 1/4 in right, but what bleeds: 1,200 per inch; of 3/4 in, 1/2 in count so and 1/4 in for each block."""
    bleeding = [e.id for e in page.reference if {"left", "right"} & set(e.bleeds)]
    blocks = [e.id for e in page.reference if e.tie not in ("mat", "carried") and e.role != "background"]
    drifting = [name for name in blocks if name not in bleeding]

    def moved(dx: int) -> Layout:
        layout = page
        for item in page.elements:
            if item.role != "background" and item.source not in bleeding:
                layout = b.move(layout, item.id, dx=dx)
        return layout

    assert cost(moved(6_350), "shift") == 300
    assert cost(moved(-19_050), "shift") == 600 + 3_000 * len(drifting)
    away = b.move(moved(6_350), drifting[0], dx=2_540)
    assert cost(away, "shift") == 300 + 1_200
    still = b.give(moved(6_350), without=("shift",))
    assert cost(still, "shift") == 3_000 * len(drifting)


def test_shift_of_an_added_slot(page: Layout) -> None:
    """From the middle of its room 1/10 in across and 1/20 in up are 1,800; on another element it pays nothing."""
    # The room lies between the rows: 80,000 … 140,000 by 63,500 … 69,900, its middle 110,000, 66,700.
    room = (80_000, 63_500, 140_000, 69_900)
    added = Placed("extra", None, "paper", "rect", (112_540, 65_430), (10_000, 2_000), fill=b.PALE, room=room)
    assert cost(b.topped(page, added), "shift") == 1_800
    assert cost(b.topped(page, replace(added, center=(110_000, 66_700))), "shift") == 0
    assert cost(b.topped(page, replace(added, on="card")), "shift") == 0


def test_resize(page: Layout) -> None:
    """10 % wider and 20 % lower: 7,500 + 15,000."""
    assert cost(b.change(page, "paper-1", size=(69_850, 45_720)), "resize") == 22_500


def test_resize_of_a_row_that_grows_beside_itself(page: Layout) -> None:
    """Two full-size pieces with 1/8 in between are as drawn; squeezed into the slot they are as drawn too."""
    wide = b.split(
        page, "photo-2", "row", [(20_000, 12_700, 57_150, 50_800), (20_000 + 57_150 + 3_175, 12_700, 57_150, 50_800)]
    )
    assert cost(wide, "resize") == 0
    inside = b.split(
        page, "photo-2", "row", [(82_550, 12_700, 26_988, 50_800), (82_550 + 30_162, 12_700, 26_988, 50_800)]
    )
    assert cost(inside, "resize") == 0
    # 10 % short of the slot on the outside.
    short = b.split(
        page, "photo-2", "row", [(82_550, 12_700, 26_988, 45_720), (82_550 + 30_162, 12_700, 26_988, 45_720)]
    )
    assert cost(short, "resize") == 7_500


def test_resize_of_a_grid(page: Layout) -> None:
    """Four pieces in two columns and rows of the slot's size, 1/8 in apart."""
    w, h, g = 57_150, 50_800, 3_175
    cells = [(10_000 + (w + g) * i, 10_000 + (h + g) * j, w, h) for j in (0, 1) for i in (0, 1)]
    assert cost(b.split(page, "photo-2", "grid", cells), "resize") == 0
