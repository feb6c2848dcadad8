"""The cost ``overlap`` on a tiny page, with its values worked out by hand in the test, and on pages from seeds."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import example, given, settings

from fitter.check import costs_slots
from fitter.check.view import View
from fitter.layout import Layout, Placed
from tests import builders as b
from tests.check.costing import cost
from tests.check.crowds import STRIPS, crowds

PAGE_AREA = 152_400 * 152_400


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
    """Two photos, or a photo and a card, are no pair here; each pays for the share that it covers."""
    over = b.move(page, "card", dy=-20_000)
    # The card's upper end is at 49,850 now, on a photo from 12,700 to 63,500.
    assert (cost(over, "overlap"), cost(over, "crop-loss")) == (0, round(1_000_000 * 13_650 / 50_800))
    beside = b.move(b.remove(page, "mat-1", "corner-1"), "photo-2", dx=-10_000)
    # The second photo begins at 72,550 now, on one from 12,700 to 76,200.
    assert (cost(beside, "overlap"), cost(beside, "crop-loss")) == (0, round(1_000_000 * 3_650 / 63_500))


def test_overlap_with_the_ground_is_free(page: Layout) -> None:
    """A paper of its own in the bare room between the rows lies on the background alone."""
    added = Placed("extra", None, "paper", "rect", (100_000, 66_700), (10_000, 4_000), fill=b.PALE)
    assert cost(b.topped(page, added), "overlap") == 0


@pytest.mark.parametrize("at", [1, len(b.REFERENCE)], ids=["under", "over"])
def test_overlap_of_added_words_with_their_paper(page: Layout, at: int) -> None:
    """Added words inside a paper's box pay nothing; drawn words, another added paper, and words half outside do."""

    def with_(added: Placed) -> int:
        return cost(b.priced(replace(page, elements=(*page.elements[:at], added, *page.elements[at:]))), "overlap")

    # paper-1 is 12,700 … 76,200 by 69,850 … 127,000, its ribbon 88,900 … 101,600 down to 25,400 across.
    words = Placed("words", None, "journaling", "rect", (44_450, 98_425), (20_000, 10_000), fill=b.WHITE)
    assert with_(words) == 0
    assert with_(replace(words, center=(44_450, 122_000))) == 0, "edges may meet"
    assert with_(replace(words, center=(44_450, 127_000))) == round(6_000_000 * 20_000 * 5_000 / PAGE_AREA)
    whole = round(6_000_000 * 20_000 * 10_000 / PAGE_AREA)
    assert with_(replace(words, role="paper")) == whole
    assert cost(b.change(page, "card", center=(44_450, 98_425), size=(20_000, 10_000)), "overlap") == whole


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


@settings(max_examples=60)
@given(crowds)
@example(STRIPS)
def test_overlap_is_that_of_all_pairs(items: tuple[Placed, ...]) -> None:
    """To look only at pairs that meet loses nothing, tilted and round shapes included."""
    view = View(replace(b.tiny(), elements=items))
    found = costs_slots.cost_overlap(view)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(costs_slots, "meeting", lambda elements: combinations(elements, 2))
        assert costs_slots.cost_overlap(view) == found
