"""Planted faults against rules R8 and R9: for every clause a page that breaks just that, and is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.earlier import start_of
from fitter.layout import GivenPhoto, Layout, Transform, Waiver, Wishes
from fitter.template import Limits
from tests import builders as b
from tests.faults.planted import broken, holds, one

# R8 limits


def test_limits_role_not_allowed(page: Layout) -> None:
    """A slot that may only be paper becomes a ribbon."""
    layout = b.change(b.redraw(page, "paper-1", limits=Limits(may_be=("paper",))), "paper-1", role="ribbon")
    assert one(layout, "R8").element == "paper-1"


def test_limits_fixed_moved(page: Layout) -> None:
    """A pinned slot is moved by 400 µm."""
    layout = b.move(b.redraw(page, "paper-1", limits=Limits(fixed=True)), "paper-1", dx=400)
    found = one(layout, "R8")
    assert (found.element, found.amount_um) == ("paper-1", 400)


def test_limits_fixed_dropped(page: Layout) -> None:
    """A pinned slot is gone."""
    layout = b.remove(b.redraw(page, "bloom", limits=Limits(fixed=True)), "bloom")
    assert one(layout, "R8").element == "bloom"


def test_limits_smallest_side(page: Layout) -> None:
    """A slot is 4 mm under the smallest side its author allows."""
    layout = b.redraw(page, "photo-2", limits=Limits(smallest_side=54_800))
    found = one(layout, "R8")
    assert (found.element, found.amount_um) == ("photo-2", 4_000)


@pytest.mark.parametrize("size", [7.5, 14.5])
def test_limits_type_size_of_journaling(page: Layout, size: float) -> None:
    """Journaling is set in a size outside 8 to 14 pt."""
    words = "Biscuit swam out to the red buoy and back, twice, and slept all the way home."
    layout = b.give(page, texts=(replace(page.given.texts[0], text=words),))
    layout = b.change(layout, "card", text=b.journaling(words, (111_125, 98_425), (57_150, 57_150), size))
    found = broken(layout, "R8")
    assert any(f"{size:g} pt" in v.message for v in found)


def test_limits_type_size_of_titles(page: Layout) -> None:
    """A title of 20 pt is no title."""
    assert "20 pt" in one(b.change(page, "title", text=b.title_text((76_200, 138_112), 20.0)), "R8").message


def test_limits_lines_too_short(page: Layout) -> None:
    """Lines of about 17 characters make bad reading, unless there is only one line."""
    text = b.journaling(b.WORDS, (111_125, 98_425), (38_000, 57_150), 8.0)
    found = one(b.change(page, "card", text=text), "R8")
    assert "characters a line" in found.message
    short = b.give(page, texts=(replace(page.given.texts[0], text="Biscuit swam."),))
    assert holds(b.change(short, "card", text=b.journaling("Biscuit swam.", (111_125, 98_425), (57_150, 57_150))))


def test_limits_lines_too_long(page: Layout) -> None:
    """Lines of over 80 characters across the whole page, at 8 pt."""
    layout = b.remove(page, "paper-1", "ribbon-1", "bloom")
    layout = b.both(layout, "card", center=(76_200, 98_425), size=(139_000, 57_150))
    text = b.journaling(b.WORDS, (76_200, 98_425), (139_000, 57_150), 8.0)
    assert "characters a line" in one(b.change(layout, "card", text=text), "R8").message


def test_limits_resolution(page: Layout) -> None:
    """A photo of 300 px on 2.5 in gives 120 ppi; 150 is the least, unless waived."""
    small = GivenPhoto("a.jpg", "a" * 64, (300, 240))
    layout = b.give(page, photos=(small, b.B))
    layout = b.change(layout, "photo-1", photo=b.whole(small, (63_500, 50_800)))
    found = one(layout, "R8")
    assert (found.element, found.other, found.waivable) == ("photo-1", "a.jpg", True)
    assert "120 ppi" in found.message
    assert holds(b.priced(replace(layout, waived=(Waiver("R8", "photo-1", "nothing sharper was given"),))))


def test_limits_resolution_misstated(page: Layout) -> None:
    """A layout states 300 ppi where its crop gives 600."""
    photo = b.element(page, "photo-1").photo
    assert photo is not None
    assert "states 300 ppi" in one(b.change(page, "photo-1", photo=replace(photo, ppi=300)), "R8").message


def test_limits_photo_under_an_inch(page: Layout) -> None:
    """A photo slot shrinks to 9/10 in wide; one drawn so small may stay."""
    size = (22_860, 20_320)
    layout = b.change(page, "photo-2", size=size, photo=b.whole(b.B, size))
    found = one(layout, "R8")
    assert (found.element, found.amount_um) == ("photo-2", 25_400 - 20_320)
    assert holds(b.change(b.both(page, "photo-2", size=size), "photo-2", photo=b.whole(b.B, size)))


@pytest.mark.parametrize(("scale", "small"), [(0.79, True), (0.8, True), (0.81, False), (1.5, False)])
def test_limits_photo_refitted_under_an_inch(page: Layout, scale: float, small: bool) -> None:
    """A slot of 4/5 in on the page: drawn an inch high and made small by a refit it is a fault, drawn smaller not."""
    size = (22_860, 20_320)
    layout = b.change(b.both(page, "photo-2", size=size), "photo-2", photo=b.whole(b.B, size))
    layout = replace(layout, transform=Transform(scale=scale))
    if small:
        assert one(layout, "R8").amount_um == 25_400 - 20_320
    else:
        assert holds(layout)


def test_limits_small_paper_is_no_photo(page: Layout) -> None:
    """A paper drawn 2/5 in wide is too small to become a photo."""
    size = (10_160, 10_160)
    photo = GivenPhoto("c.jpg", "c" * 64, (1200, 1200), order=2)
    layout = b.both(b.give(page, photos=(*page.given.photos, photo)), "ribbon-1", tie=None, on=None)
    layout = b.remove(b.both(layout, "paper-1", size=size, center=(44_450, 98_425)), "ribbon-1")
    layout = b.change(layout, "paper-1", role="photo", fill=None, photo=b.whole(photo, size))
    assert one(layout, "R8").element == "paper-1"


# R9 wishes


def wishing(layout: Layout, **wishes: object) -> Layout:
    """Return the layout started from the tiny page, with wishes."""
    return b.give(layout, wishes=Wishes(start=start_of(b.tiny()), **wishes))  # type: ignore[arg-type]


def test_r9_what_holds(page: Layout) -> None:
    """Wishes that hold break nothing."""
    layout = wishing(page, pins=(("a.jpg", "photo-1"),), stay=("photo-1", "card", "paper-1"), avoid=("paper-1",))
    assert holds(layout)


def test_r9_a_photo_is_not_where_it_was_pinned(page: Layout) -> None:
    """A photo pinned to another slot than it stands in."""
    assert one(wishing(page, pins=(("a.jpg", "photo-2"),)), "R9").other == "a.jpg"


def test_r9_a_slot_did_not_stay(page: Layout) -> None:
    """A slot that was to stay is moved by a tenth of an inch."""
    assert "place or size" in one(wishing(b.move(page, "paper-1", dy=-2_540), stay=("paper-1",)), "R9").message


def test_r9_a_slot_that_stays_has_other_content(page: Layout) -> None:
    """A slot that was to stay was dropped."""
    assert "content" in one(wishing(b.remove(page, "bloom"), stay=("bloom",)), "R9").message


def test_r9_nothing_to_compare_with(page: Layout) -> None:
    """A slot is to stay, but no page is recorded."""
    assert "not recorded" in one(b.give(page, wishes=Wishes(stay=("bloom",))), "R9").message


@pytest.mark.parametrize("slot", ["photo-1", "card", "title"])
def test_r9_an_avoided_slot_holds_something(page: Layout, slot: str) -> None:
    """A photo, words or the title in a slot that was to hold none."""
    assert one(wishing(page, avoid=(slot,)), "R9").element == slot


@pytest.mark.parametrize("wish", ["bigger", "smaller"])
def test_r9_a_photo_kept_its_size(page: Layout, wish: str) -> None:
    """A photo that was to change its size has the same."""
    assert "+0.0 %" in one(wishing(page, **{wish: ("a.jpg",)}), "R9").message


def test_r9_a_little_is_not_enough(page: Layout) -> None:
    """A photo that was to become smaller is so by 7.8 % of its area; by hand."""
    size = (60_960, 48_768)
    layout = b.change(page, "photo-1", size=size, photo=b.whole(b.A, size))
    layout = b.change(layout, "mat-1", size=(67_310, 55_118))
    layout = b.change(
        layout,
        "corner-1",
        center=(44_450 - round(27_940 * 0.96), 38_100 - round(21_590 * 0.96)),
        size=(6_096, 6_096),
    )
    assert "-7.8 %" in one(wishing(layout, smaller=("a.jpg",)), "R9").message
