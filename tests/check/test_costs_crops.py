"""Crop loss on a tiny page, with its value worked out by hand in the test."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from fitter.check import check_layout
from fitter.layout import (
    GivenPhoto,
    Layout,
)
from tests import builders as b
from tests.check.costing import cost


def test_crop_loss_of_a_crop(page: Layout) -> None:
    """4:3 to 1:1 keeps .75: a quarter of 1,000,000, times the photo's weight."""
    photo = replace(b.A, pixels=(1600, 1200), weight=2.0, keep=())
    size = (50_800, 50_800)
    layout = b.give(page, photos=(photo, b.B))
    layout = b.change(layout, "photo-1", size=size, photo=b.cropped(photo, (200, 0, 1400, 1200), size))
    assert cost(layout, "crop-loss") == 2 * 250_000


@pytest.mark.parametrize(
    ("pixels", "slot", "kept"),
    [
        ((1500, 1000), (1, 1), 0.6667),
        ((1600, 1200), (1, 1), 0.75),
        ((1500, 1000), (5, 4), 0.8333),
        ((1000, 1500), (3, 2), 0.4444),
    ],
)
def test_crop_loss_of_cover_crops(
    page: Layout, pixels: tuple[int, int], slot: tuple[int, int], kept: float
) -> None:
    """Cover crops keep min(a/s, s/a) of the area: 2/3, 3/4, 5/6 and 4/9 (exact fractions, no source)."""
    width = min(pixels[0], pixels[1] * slot[0] // slot[1])
    height = min(pixels[1], round(pixels[0] * slot[1] / slot[0]))
    photo = replace(b.A, pixels=pixels, keep=())
    size = (12_700 * slot[0], 12_700 * slot[1])
    layout = b.change(
        b.give(page, photos=(photo, b.B)),
        "photo-1",
        size=size,
        photo=b.cropped(photo, (0, 0, width, height), size),
    )
    assert cost(layout, "crop-loss") == pytest.approx(1_000_000 * (1 - kept), abs=400)


def test_a_crop_shifted_off_its_face_costs_what_the_face_is_worth(page: Layout) -> None:
    """Half of the importance is one cell of 4 × 4: a crop of the right three quarters loses it and 3 of 15 others."""
    grid = ((1, 1, 1, 1), (15, 1, 1, 1), (1, 1, 1, 1), (1, 1, 1, 1))
    photo = replace(b.B, pixels=(1600, 1200), importance=grid, keep=())
    size = (50_800, 50_800)
    layout = b.give(page, photos=(b.A, photo))
    layout = b.change(layout, "photo-2", size=size, photo=b.cropped(photo, (0, 0, 1200, 1200), size))
    assert cost(layout, "crop-loss") == round(1_000_000 * 4 / 30)
    shifted = b.change(layout, "photo-2", photo=b.cropped(photo, (400, 0, 1600, 1200), size))
    assert cost(shifted, "crop-loss") == round(1_000_000 * 18 / 30)
    report = check_layout(replace(shifted, costs=layout.costs))
    assert [d.term for d in report.cost_differences] == ["crop-loss"]


def test_crop_loss_at_the_trim_counts_by_importance(page: Layout) -> None:
    """Past the trim lies 3,175 of 73,026 µm of the slot: the last of 23 cells but a trace, a third of all."""
    size = (73_026, 50_800)
    photo = replace(b.B, importance=((*(1,) * 22, 11),))
    layout = b.give(page, photos=(b.A, photo))
    layout = b.both(layout, "photo-2", center=(119_062, 38_100), size=size, bleeds=("right",))
    layout = b.change(layout, "photo-2", photo=b.cropped(photo, (0, 0, 1350, 939), size))
    high, gone = Fraction(939, 1200), Fraction(3_175 * 23, 73_026) * Fraction(11, 33)
    assert cost(layout, "crop-loss") == round(1_000_000 * (1 - high * (1 - gone)))


@pytest.mark.parametrize(("left", "share"), [(9, Fraction(9, 10)), (1, Fraction(1, 2))])
def test_what_is_covered_counts_by_importance(page: Layout, left: int, share: Fraction) -> None:
    """A ribbon over half the height of the left half: a quarter of the area, but what lies under it counts."""
    photo = replace(b.B, importance=((left, 1), (left, 1)))
    layout = b.give(page, photos=(b.A, photo))
    x, y = (111_125, 38_100)
    layout = b.change(layout, "ribbon-1", center=(x - 57_150 // 4, y), size=(57_150 // 2 - 1, 25_400))
    area = Fraction((57_150 // 2 - 1) * 25_400, 57_150 * 50_800)
    assert cost(layout, "crop-loss") == pytest.approx(1_000_000 * 2 * area * share, abs=40)


@pytest.mark.parametrize("tilt", [0.0, 30.0])
@pytest.mark.parametrize("shape", ["rect", "ellipse"])
def test_the_same_importance_everywhere_is_none(page: Layout, tilt: float, shape: str) -> None:
    """Whatever the shapes, an even importance costs what the areas do."""
    bent = b.both(page, "photo-2", shape=shape, tilt=tilt)
    bent = b.change(bent, "ribbon-1", center=(100_000, 38_100), tilt=20.0)
    even = b.give(bent, photos=(b.A, replace(b.B, importance=((3,) * 5,) * 4)))
    assert cost(bent, "crop-loss") == cost(even, "crop-loss") > 10_000


def test_crop_loss_at_the_trim(page: Layout) -> None:
    """Of a photo bleeding on the right by 3,176 of 73,026 µm that strip is lost."""
    size = (73_026, 50_800)
    photo = replace(b.B, pixels=(73_026 // 6, 8_467))
    layout = b.both(page, "photo-2", center=(119_062, 38_100), size=size, bleeds=("right",))
    layout = b.change(b.give(layout, photos=(b.A, photo)), "photo-2", photo=b.whole(photo, size))
    # From x = 82,549 to 155,575; the trim is at 152,400.
    assert cost(layout, "crop-loss") == round(1_000_000 * (155_575 - 152_400) / 73_026)


def test_crop_loss_under_a_ribbon(page: Layout) -> None:
    """A ribbon of 19,050 × 12,700 on a photo of 57,150 × 50,800 covers 1/12 of it."""
    layout = b.change(page, "ribbon-1", center=(111_125, 38_100))
    assert cost(layout, "crop-loss") == 83_333


def test_crop_loss_beyond_the_reference_only(page: Layout) -> None:
    """Of the 1/12 a ribbon covers, the 1/24 it covered in the template costs nothing."""
    layout = b.change(b.both(page, "ribbon-1", center=(82_550, 38_100)), "ribbon-1", center=(111_125, 38_100))
    assert cost(layout, "crop-loss") == 41_667


def test_crop_loss_under_its_own_corner_is_free(page: Layout) -> None:
    """A carried corner belongs to its photo; the same corner standing alone would cost 1/80."""
    assert cost(page, "crop-loss") == 0
    loose = b.both(page, "corner-1", on=None, tie=None)
    assert cost(loose, "crop-loss") == 0, "the reference covers it as well"
    assert cost(b.redraw(loose, "corner-1", center=(140_000, 20_000)), "crop-loss") == 12_500


def test_crop_loss_in_a_paper_slot_counts_all_that_covers_it(page: Layout) -> None:
    """In a slot drawn for paper the ribbon's lap of 12,700 × 12,700 on 63,500 × 57,150 is lost: 2/45."""
    photo = GivenPhoto("c.jpg", "c" * 64, (1270, 1143), order=2)
    layout = b.give(page, photos=(*page.given.photos, photo))
    layout = b.change(layout, "paper-1", role="photo", fill=None, photo=b.whole(photo, (63_500, 57_150)))
    assert cost(layout, "crop-loss") == round(1_000_000 * 2 / 45)


def test_crop_loss_counts_a_slot_and_its_mat_once(page: Layout) -> None:
    """Of a slot and its mat lying on a photo only the mat counts."""
    # The whole first group moves right, over the second photo, and above it.
    layout = page
    for name in ("mat-1", "photo-1", "corner-1"):
        layout = b.move(layout, name, dx=9_525)
    order = ["bg", "photo-2", "mat-1", "photo-1", "corner-1"]
    elements = tuple(b.element(layout, n) for n in order) + layout.elements[5:]
    layout = b.priced(replace(layout, elements=elements))
    # The mat ends at 79,375 + 9,525 = 88,900: 6,350 of the photo's 57,150 are under it.
    assert cost(layout, "crop-loss") == round(1_000_000 * 6_350 / 57_150)
