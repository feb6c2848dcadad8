"""Planted uses of freedoms that were switched off (R8): each breaks just that, and is legal with the freedom."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from fitter.freedoms import FREEDOMS
from fitter.layout import Copy, Layout, Placed, Repeat, Rescale
from fitter.template import Element
from tests import builders as b
from tests.faults.planted import holds, one


def turned(page: Layout) -> Layout:
    """Return the page with the second photo's slot, 2 in wide and 9/5 high, turned by a quarter."""
    size = (50_800, 57_150)
    photo = b.cropped(b.B, (142, 0, 1209, 1200), size)
    return b.change(b.move(page, "photo-2", dy=-2_000), "photo-2", size=size, turned=True, photo=photo)


def exchanged(page: Layout) -> Layout:
    """Return the page with its two photos in each other's place."""
    layout = b.change(page, "photo-1", photo=b.cropped(b.B, (0, 60, 1350, 1140), (63_500, 50_800)))
    return b.change(layout, "photo-2", photo=b.cropped(b.A, (75, 0, 1425, 1200), (57_150, 50_800)))


def divided(page: Layout) -> Layout:
    """Return the page with the paper divided in two."""
    return b.split(page, "paper-1", "row", [(x, 69_850, 30_000, 57_150) for x in (12_700, 46_200)])


def added(page: Layout) -> Layout:
    """Return the page with a paper of its own between the others."""
    return b.topped(page, Placed("new", None, "paper", "rect", (79_375, 98_425), (2_000, 2_000), fill=b.PALE))


def repeated(page: Layout) -> Layout:
    """Return the page with its ornament, as a cluster, repeated further down."""
    layout = b.redraw(page, "bloom", cluster="left")
    copy = Element("bloom~2", "embellishment", "rect", (142_875, 118_425), (6_350, 6_350), cluster="left")
    layout = b.insert(layout, copy, b.place(copy, fill=b.PALE), len(layout.elements))
    return b.transformed(layout, repeat=Repeat("left", (Copy(0, False, (139_700, 115_250)),)))


def smaller(page: Layout, name: str, size: tuple[int, int]) -> Layout:
    """Return the page with an element of another size about the same centre."""
    return b.change(page, name, size=size)


def widened(page: Layout) -> Layout:
    """Return the page with the second photo 5 mm less wide."""
    size = (52_070, 50_800)
    return b.change(page, "photo-2", size=size, photo=b.cropped(b.B, (60, 0, 1290, 1200), size))


def cropped(page: Layout) -> Layout:
    """Return the page with a photo that shows the left of its picture, in a slot of the same size."""
    wide = replace(b.B, pixels=(1600, 1200))
    return b.change(
        b.give(page, photos=(b.A, wide)), "photo-2", photo=b.cropped(wide, (0, 0, 1350, 1200), (57_150, 50_800))
    )


PLANTS: dict[str, tuple[Callable[[Layout], Layout], str]] = {
    "rotate-page": (lambda page: b.transformed(page, rotate=180), "page"),
    "mirror-page": (lambda page: b.transformed(page, mirror=True), "page"),
    "rotate-slot": (turned, "photo-2"),
    "assign": (exchanged, "photo-1"),
    "swap-role": (lambda page: b.change(page, "paper-1", role="ribbon"), "paper-1"),
    "add-slot": (added, "new"),
    "repeat-cluster": (repeated, "left"),
    "drop": (lambda page: b.remove(page, "bloom"), "bloom"),
    "scale": (lambda page: smaller(page, "bloom", (5_080, 5_080)), "bloom"),
    "widen": (widened, "photo-2"),
    "shift": (lambda page: b.move(page, "bloom", dy=635), "bloom"),
    "crop": (cropped, "photo-2"),
}


def test_every_freedom_has_a_plant() -> None:
    """A new freedom wants one here, and the checker's word on it."""
    assert set(PLANTS) == set(FREEDOMS)


@pytest.mark.parametrize("freedom", FREEDOMS)
def test_a_freedom_that_was_switched_off_is_used(page: Layout, freedom: str) -> None:
    """The same page is legal with the freedom, and with any other switched off that it does not use."""
    plant, element = PLANTS[freedom]
    layout = plant(page)
    assert holds(layout)
    found = one(b.give(layout, without=(freedom,)), "R8")
    assert (found.element, found.other) == (element, freedom)
    assert holds(b.give(page, without=FREEDOMS)), "the page as drawn uses none"


def test_a_common_scaling_is_told_by_its_group(page: Layout) -> None:
    """A group that was scaled together, as the page records it."""
    layout = b.transformed(page, rescale=Rescale("others", 0.9))
    assert one(b.give(layout, without=("scale",)), "R8").element == "others"


def test_a_divided_slot_is_an_added_one(page: Layout) -> None:
    """A slot in two pieces, without ``add-slot``."""
    assert one(b.give(divided(page), without=("add-slot",)), "R8").element == "paper-1.1"


def test_unwidened_slots_may_be_scaled_turned_and_divided(page: Layout) -> None:
    """What other freedoms do to a slot's size is no widening, unless they are off too."""
    size = (57_150 - 6 * 1_270, 50_800 - 5 * 1_270)
    even = b.change(page, "photo-2", size=size, photo=b.cropped(b.B, (6, 0, 1343, 1200), size))
    assert holds(b.give(even, without=("widen",)))
    assert not holds(b.give(even, without=("widen", "scale")))
    assert holds(b.give(turned(page), without=("widen", "scale")))
    assert not holds(b.give(turned(page), without=("widen", "rotate-slot")))
    assert holds(b.give(divided(page), without=("widen", "scale")))


def test_what_bleeds_moves_along_its_edge(page: Layout) -> None:
    """A slot that bleeds and changes its size cannot keep its centre."""
    size, smaller_ = (73_026, 50_800), (66_676, 50_800)
    layout = b.both(page, "photo-2", center=(119_062, 38_100), size=size, bleeds=("right",))
    layout = b.change(
        layout, "photo-2", center=(122_237, 38_100), size=smaller_,
        photo=b.cropped(b.B, (0, 86, 1350, 1114), smaller_),
    )  # fmt: skip
    assert holds(b.give(layout, without=("shift",)))
    assert not holds(b.give(layout, without=("widen",)))
