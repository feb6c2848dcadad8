"""Every cost but crop loss on a tiny page, with its value worked out by hand in the test."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import Any

import pytest

from fitter.check import COSTS, check_layout
from fitter.cost_names import COSTS as NAMES
from fitter.earlier import start_of
from fitter.layout import (
    Copy,
    Costs,
    GivenPhoto,
    Layout,
    Placed,
    Repeat,
    Rescale,
    Split,
    Transform,
    Waiver,
    Wishes,
)
from fitter.template import Element
from tests import builders as b
from tests.check.costing import cost

PAGE_AREA = 152_400 * 152_400
SAFE_AREA = 139_700 * 139_700


def transformed(layout: Layout, **fields: Any) -> Layout:
    return b.priced(replace(layout, transform=Transform(**fields)))


def test_names_are_the_published_ones() -> None:
    """The checker computes every cost there is, and no other."""
    assert set(COSTS) == set(NAMES)


def test_untouched_template_costs_only_its_narrow_lines(page: Layout) -> None:
    """Lines of about 28 characters cost 5,000; nothing else does."""
    assert {k: v for k, v in check_layout(page).costs.terms.items() if v} == {"text": 5_000}


@pytest.mark.parametrize(
    ("width", "price"),
    [(750, 0), (900, 0), (500, 50_000), (375, 200_000), (625, 25_000), (438, 124_400), (250, 350_000)],
)
def test_ppi(page: Layout, width: int, price: int) -> None:
    """On 2.5 in 750 px are 300 ppi, 500 px 200, 375 px 150; linear between and on below."""
    photo = replace(b.A, pixels=(width, width), keep=())
    layout = b.both(
        b.give(page, photos=(photo, b.B), min_ppi=1),
        "photo-1",
        size=(63_500, 63_500),
        center=(44_450, 38_100),
    )
    layout = b.change(layout, "photo-1", photo=b.whole(photo, (63_500, 63_500)))
    assert cost(layout, "ppi") == price


def test_rotate_and_mirror_page(page: Layout) -> None:
    """Any quarter turns 15,000, mirrored 5,000."""
    for turns in (90, 180, 270):
        assert cost(transformed(page, rotate=turns), "rotate-page") == 15_000
    assert cost(transformed(page, mirror=True), "mirror-page") == 5_000
    assert cost(transformed(page, mirror=True), "rotate-page") == 0


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


def split(layout: Layout, kind: str, boxes: list[tuple[int, int, int, int]]) -> Layout:
    """Return the layout with the second photo slot in pieces (left, top, width, height)."""
    item = b.element(layout, "photo-2")
    pieces = tuple(
        replace(
            item,
            id=f"photo-2.{n}",
            center=(x + w // 2, y + h // 2),
            size=(w, h),
            split=Split(kind, n, len(boxes)),
        )  # type: ignore[arg-type]
        for n, (x, y, w, h) in enumerate(boxes)
    )
    at = layout.elements.index(item)
    return b.priced(replace(layout, elements=(*layout.elements[:at], *pieces, *layout.elements[at + 1 :])))


def test_add_slot(page: Layout) -> None:
    """A slot in three pieces is two more, an added panel one more: 450,000."""
    layout = split(page, "row", [(82_550 + 19_050 * n, 12_700, 15_876, 50_800) for n in range(3)])
    assert cost(layout, "add-slot") == 300_000
    panel = Placed("extra", None, "paper", "rect", (100_000, 66_000), (10_000, 4_000), fill=b.PALE)
    assert cost(b.topped(layout, panel), "add-slot") == 450_000


def test_repeat_cluster(page: Layout) -> None:
    """Two copies of a cluster cost 300,000."""
    copies = (Copy(0, False, (0, 0)), Copy(90, True, (50_000, 0)))
    layout = transformed(b.redraw(page, "bloom", cluster="corner"), repeat=Repeat("corner", copies))
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
    wide = split(
        page, "row", [(20_000, 12_700, 57_150, 50_800), (20_000 + 57_150 + 3_175, 12_700, 57_150, 50_800)]
    )
    assert cost(wide, "resize") == 0
    inside = split(page, "row", [(82_550, 12_700, 26_988, 50_800), (82_550 + 30_162, 12_700, 26_988, 50_800)])
    assert cost(inside, "resize") == 0
    # 10 % short of the slot on the outside.
    short = split(page, "row", [(82_550, 12_700, 26_988, 45_720), (82_550 + 30_162, 12_700, 26_988, 45_720)])
    assert cost(short, "resize") == 7_500


def test_resize_of_a_grid(page: Layout) -> None:
    """Four pieces in two columns and rows of the slot's size, 1/8 in apart."""
    w, h, g = 57_150, 50_800, 3_175
    cells = [(10_000 + (w + g) * i, 10_000 + (h + g) * j, w, h) for j in (0, 1) for i in (0, 1)]
    assert cost(split(page, "grid", cells), "resize") == 0


def test_rescale_of_photos(page: Layout) -> None:
    """All photos at 9/10: 15,000 once, nothing for each; another size is measured from there."""
    layout = b.change(page, "photo-1", size=(57_150, 45_720))
    layout = b.change(layout, "photo-2", size=(52_070, 45_720))
    layout = transformed(layout, rescale=Rescale("photos", 0.9))
    # A tenth of 57,150 is four and a half steps of 1,270, rounded (halves up) to four: 52,070.
    assert (cost(layout, "resize"), cost(layout, "shift")) == (15_000, 0)


def steps(length: float, step: int) -> int:
    """Round a length to whole steps, halves up."""
    return step * math.floor(length / step + 0.5)


def test_rescale_of_the_template_moves_centres(page: Layout) -> None:
    """Scaled by 4/5 about the centre of the blocks' box, centres move by a fifth of their distance."""
    layout = transformed(page, rescale=Rescale("template", 0.8))
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
    layout = transformed(b.change(page, "bloom", size=(5_080, 5_080)), rescale=Rescale("cluster:corner", 0.8))
    assert cost(layout, "resize") == 30_000 + 2 * 15_000
    assert cost(b.redraw(layout, "bloom", cluster="corner"), "resize") == 30_000
    others = transformed(page, rescale=Rescale("others", 0.5))
    # Five blocks are no photos; each is about twice its target size, which is whole steps of 1,270 µm away.
    targets = [(31_750, 29_210), (29_210, 29_210), (10_160, 6_350), (3_810, 3_810), (63_500, 8_256)]
    sizes = [(63_500, 57_150), (57_150, 57_150), (19_050, 12_700), (6_350, 6_350), (127_000, 15_876)]
    each = [(w - w0) / w0 + (h - h0) / h0 for (w, h), (w0, h0) in zip(sizes, targets, strict=True)]
    assert cost(others, "resize") == 75_000 + sum(round(75_000 * share) for share in each)


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


def reset(page: Layout, size_pt: float, width: int = 57_150, height: int | None = None) -> Layout:
    """Return the page with the words set anew, alone on a card as wide and high as asked."""
    layout = b.give(b.remove(page, "paper-1", "ribbon-1", "bloom", "title"), title=None)
    text = b.journaling(b.WORDS, (76_200, 98_425), (width, 57_150), size_pt)
    height = height or round(text.ink.size[1] / 0.8 / 2) * 2 + 6_350
    return b.change(layout, "card", center=(76_200, 98_425), size=(width, height), text=text)


def test_text_type_size(page: Layout) -> None:
    """10 to 12 pt are free, 8 pt cost 2 × 20,000, 14 pt as much, 9.5 pt 10,000."""
    # 76 mm hold about 45 … 60 characters at 8 … 10 pt.
    prices = {size: cost(reset(page, size, 101_600), "text") for size in (8.0, 9.5, 10.0, 12.0, 14.0)}
    base = {size: 0 if 45 <= mean <= 75 else 5_000 for size, mean in means(page).items()}
    assert {size: prices[size] - base[size] for size in prices} == {
        8.0: 40_000,
        9.5: 10_000,
        10.0: 0,
        12.0: 0,
        14.0: 40_000,
    }


def means(page: Layout) -> dict[float, float]:
    """Return the mean length of all but the last line, for each size, counted anew."""
    found = {}
    for size in (8.0, 9.5, 10.0, 12.0, 14.0):
        text = b.element(reset(page, size, 101_600), "card").text
        assert text is not None
        full = text.lines[:-1]
        found[size] = sum(map(len, full)) / len(full)
    return found


def test_text_fill(page: Layout) -> None:
    """Ink over 95 % or under 60 % of the height less 1/8 in above and below costs 20,000."""
    text = b.element(page, "card").text
    assert text is not None
    ink = text.ink.size[1]
    room = {0.59: 20_000, 0.61: 0, 0.94: 0, 0.96: 20_000}
    for share, price in room.items():
        layout = reset(page, 10.0, 57_150, height=round(ink / share / 2) * 2 + 6_350)
        assert cost(layout, "text") == 5_000 + price, share


@pytest.mark.parametrize(
    ("shape", "tilt", "room"),
    [
        ("ellipse", 0.0, 80_000 / 2**0.5),
        ("rect", 30.0, 80_000 / (0.5 + 3**0.5 / 2)),
        ("rect", 10.0, 80_000.0),
    ],
)
def test_text_fill_of_round_and_steep_cards(page: Layout, shape: str, tilt: float, room: float) -> None:
    """The square inside a circle has 1/√2 of its width; the level one in a tilted square 1/(sin + cos)."""
    words = "Biscuit swam out to the red buoy and back, twice, and slept all the way home."
    given = {"title": None, "texts": (replace(page.given.texts[0], text=words),)}
    layout = b.give(b.remove(page, "paper-1", "ribbon-1", "bloom", "title"), **given)
    for name in ("bloom", "title"):
        layout = b.redraw(layout, name, center=(10_000, 10_000), size=(10, 10))
    layout = b.both(layout, "card", center=(76_200, 104_000), size=(80_000, 80_000), shape=shape, tilt=tilt)
    text = b.journaling(words, (76_200, 104_000), (46_350, 60_000))
    for share, price in {0.59: 20_000, 0.61: 0, 0.94: 0, 0.96: 20_000}.items():
        ink = replace(text.ink, size=(40_000, round((room - 6_350) * share)))
        assert cost(b.change(layout, "card", text=replace(text, ink=ink)), "text") == 5_000 + price, share


def test_text_fill_beside_what_lies_on_the_card(page: Layout) -> None:
    """A ribbon that laps 10 mm of the card's lower end in the template takes them from the room for words."""
    layout = b.both(page, "ribbon-1", center=(111_125, 127_000 - 3_650), on="card")
    # The ribbon is 117,000 … 129,700; the card ends at 127,000.
    room = 57_150 - 6_350 - 10_000
    text = b.element(layout, "card").text
    assert text is not None
    for share, price in {0.59: 20_000, 0.61: 0, 0.94: 0, 0.96: 20_000}.items():
        ink = replace(text.ink, size=(text.ink.size[0], round(room * share)))
        assert cost(b.change(layout, "card", text=replace(text, ink=ink)), "text") == 5_000 + price, share


def test_titles_cost_nothing(page: Layout) -> None:
    """A title in the smallest allowed size is free."""
    assert cost(b.give(b.remove(page, "card"), texts=()), "text") == 0


def test_emphasis(page: Layout) -> None:
    """The favourite has the smaller slot: 20,000; the other way round nothing."""
    assert cost(b.give(page, photos=(b.A, replace(b.B, weight=3.0))), "emphasis") == 20_000
    assert cost(b.give(page, photos=(replace(b.A, weight=3.0), b.B)), "emphasis") == 0


def test_order(page: Layout) -> None:
    """The photo on the left was taken after the one on the right: 3,000."""
    assert cost(page, "order") == 0
    later = b.give(page, photos=(replace(b.A, order=1), replace(b.B, order=0)))
    assert cost(later, "order") == 3_000
    # A sixth of the page further up the right one is read first anyhow.
    up = b.redraw(later, "photo-2", center=(111_125, 10_000))
    assert cost(up, "order") == 0


def test_order_of_pieces_of_one_slot_is_free(page: Layout) -> None:
    """Two pieces of a slot never count against each other."""
    c = GivenPhoto("c.jpg", "c" * 64, (500, 1000), order=2)
    layout = b.give(page, photos=(b.A, b.B, c))
    layout = split(layout, "row", [(82_550, 12_700, 26_988, 50_800), (112_712, 12_700, 26_988, 50_800)])
    layout = b.change(layout, "photo-2.0", photo=b.cropped(c, (0, 0, 500, 941), (26_988, 50_800)))
    assert cost(layout, "order") == 0


def test_left_out_and_waived(page: Layout) -> None:
    """A photo left out costs 300,000, a waiver 1,000,000."""
    assert cost(b.remove(page, "photo-2"), "left-out") == 300_000
    waived = replace(
        page, waived=(Waiver("R5", "photo-1", "no other way"), Waiver("R8", "photo-2", "too small"))
    )
    assert cost(waived, "waived") == 2_000_000


def test_total_is_the_sum_of_rounded_weighted_terms(page: Layout) -> None:
    """Weights multiply terms, each product is rounded, halves up."""
    layout = b.move(page, "bloom", dy=-38_100)
    layout = b.priced(replace(layout, costs=Costs(0, {}, {"shift": 0.5, "text": 0.0003})))
    # 18,000 · 0.5 = 9,000 and 5,000 · 0.0003 = 1.5, rounded up to 2; the page keeps all else.
    assert layout.costs.total == 9_002
    assert check_layout(layout).ok


def test_wrong_terms_are_told(page: Layout) -> None:
    """A layout that states another term, total or a cost that does not exist is caught, each by name."""
    terms = page.costs.terms
    lie = replace(page, costs=Costs(page.costs.total - 5_000, {**terms, "text": 0}))
    assert [(d.term, d.stated, d.recomputed) for d in check_layout(lie).cost_differences] == [
        ("text", 0, 5_000)
    ]
    total = replace(page, costs=replace(page.costs, total=1))
    assert [d.term for d in check_layout(total).cost_differences] == ["total"]
    odd = replace(page, costs=Costs(page.costs.total, {**terms, "beauty": 0}))
    assert [d.term for d in check_layout(odd).cost_differences] == ["beauty"]
    assert check_layout(odd).rules_hold
    assert not check_layout(odd).ok


def test_one_unit_an_element_is_rounding(page: Layout) -> None:
    """Terms of rounded costs may differ by one unit for each element; exact ones by nothing."""
    blocks = 7
    for off, fine in ((blocks, True), (blocks + 1, False)):
        stated = Costs(page.costs.total + off, {**page.costs.terms, "shift": off})
        assert check_layout(replace(page, costs=stated)).ok is fine
    stated = Costs(page.costs.total + 1, {**page.costs.terms, "drop": 1})
    assert not check_layout(replace(page, costs=stated)).ok


def test_departure_from_the_page_started_from(page: Layout) -> None:
    """By hand: against itself nothing, other content 60,000, the same in another size 30,000, turned 60,000."""
    wishes = Wishes(start=start_of(page))
    assert cost(b.give(page, wishes=wishes), "departure") == 0
    grown = b.change(page, "photo-1", size=(61_000, 48_800), photo=b.whole(b.A, (61_000, 48_800)))
    assert cost(b.give(grown, wishes=wishes), "departure") == 30_000
    other = b.change(page, "photo-1", photo=b.cropped(b.B, (0, 0, 1350, 1080), (63_500, 50_800)))
    assert cost(b.give(other, wishes=wishes), "departure") == 60_000
    without = b.remove(page, "paper-1", "ribbon-1")
    assert cost(b.give(without, wishes=wishes), "departure") == 120_000
    assert cost(b.give(transformed(page, mirror=True), wishes=wishes), "departure") == 60_000
