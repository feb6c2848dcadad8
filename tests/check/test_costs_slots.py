"""Costs of what was changed on a tiny page, with their values worked out by hand in the test."""

from __future__ import annotations

import math
from dataclasses import replace

from fitter.layout import Copy, Layout, Placed, Repeat, Rescale
from tests import builders as b
from tests.check.costing import cost

PAGE_AREA = 152_400 * 152_400
SAFE_AREA = 139_700 * 139_700


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


def test_shift(page: Layout) -> None:
    """1 in right and 1/2 in down are 18,000; carried elements and mats pay nothing."""
    assert cost(b.move(page, "bloom", dx=-25_400, dy=12_700), "shift") == 18_000
    layout = page
    for name in ("mat-1", "photo-1", "corner-1"):
        layout = b.move(layout, name, dx=2_540)
    assert cost(layout, "shift") == 1_200


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


def test_rescale_of_the_template_moves_centres(page: Layout) -> None:
    """Scaled by 4/5 about the centre of the blocks' box, centres move by a fifth of their distance."""
    layout = b.transformed(page, rescale=Rescale("template", 0.8))
    # The box is 6,350 … 146,050 by 12,700 … 146,050, its centre 76,200, 79,375. The background is no block.
    blocks = {e.id: e for e in b.REFERENCE if e.id not in ("bg", "mat-1", "corner-1")}
    for block in blocks.values():
        x, y = block.center
        # A fifth of the distance in whole steps of 635 µm, a fifth of each side in steps of 1,270 µm, halves up.
        new = (x + steps(-(x - 76_200) / 5, 635), y + steps(-(y - 79_375) / 5, 635))
        layout = b.change(
            layout,
            block.id,
            center=new,
            size=(
                block.size[0] + steps(-block.size[0] / 5, 1270),
                block.size[1] + steps(-block.size[1] / 5, 1270),
            ),
        )
    assert cost(layout, "shift") == 0
    assert cost(layout, "resize") == 30_000


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


def test_overlap(page: Layout) -> None:
    """A ribbon moved onto a photo: 19,050 × 12,700 of the page, 6,000,000 for the whole page."""
    layout = b.change(page, "ribbon-1", center=(111_125, 38_100))
    assert cost(layout, "overlap") == round(6_000_000 * 19_050 * 12_700 / PAGE_AREA)


def test_overlap_of_tied_and_lying_elements_is_free(page: Layout) -> None:
    """The ribbon is tied to its paper and may lie deeper in it; untied it pays for the 2 mm."""
    deeper = b.move(page, "ribbon-1", dx=2_000)
    assert cost(deeper, "overlap") == 0
    loose = b.change(b.redraw(deeper, "ribbon-1", on=None, tie=None), "ribbon-1", on=None, tie=None)
    assert cost(loose, "overlap") == round(6_000_000 * 2_000 * 12_700 / PAGE_AREA)


def test_overlap_counts_photos_under_crop_loss_only(page: Layout) -> None:
    """Two photos, or a photo and a card, are no pair here."""
    assert cost(b.move(page, "card", dy=-20_000), "overlap") == 0


def test_overlap_of_a_mat_is_told_by_its_slot(page: Layout) -> None:
    """A ribbon on slot and mat counts with the slot; between mat and a photo the mat counts."""
    # Ribbon half on photo-1, half on its mat's border and beyond: only the photo's 9,525 count.
    layout = b.change(page, "ribbon-1", center=(76_200, 60_000))
    # photo-1 is 12,700 … 76,200 by … 63,500: 9,525 wide, 9,850 high; photo-2 starts at 82,550: 3,175 wide.
    assert cost(layout, "overlap") == round(6_000_000 * 9_525 * 9_850 / PAGE_AREA) + round(
        6_000_000 * 3_175 * 9_850 / PAGE_AREA
    )
    mats = b.move(page, "photo-2", dx=-4_000)
    assert cost(mats, "overlap") == round(6_000_000 * (79_375 - 78_550) * 50_800 / PAGE_AREA)


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
