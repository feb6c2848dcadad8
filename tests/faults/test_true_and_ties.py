"""Planted faults against rules R6 and R7: for every clause a page that breaks just that, and is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.layout import Layout
from fitter.template import Element
from tests import builders as b
from tests.faults.planted import broken, holds, one

# R6 true


def test_true_photo_is_stretched(page: Layout) -> None:
    """A crop of 1500 × 1100 px in a 5:4 slot stretches the picture by 9 %."""
    found = one(b.change(page, "photo-1", photo=b.cropped(b.A, (0, 50, 1500, 1150), (63_500, 50_800))), "R6")
    assert found.element == "photo-1"
    assert found.share == pytest.approx(1500 / 1375 - 1)


def test_true_crop_may_be_a_pixel_off(page: Layout) -> None:
    """One pixel a side is rounding, three are not."""
    assert holds(b.change(page, "photo-1", photo=b.cropped(b.A, (0, 0, 1500, 1199), (63_500, 50_800))))
    assert not holds(b.change(page, "photo-1", photo=b.cropped(b.A, (0, 0, 1500, 1197), (63_500, 50_800))))


def test_true_crop_outside_the_picture(page: Layout) -> None:
    """A crop of more than the picture has."""
    photo = b.cropped(b.A, (0, 0, 1600, 1280), (63_500, 50_800))
    assert "not inside" in one(b.change(page, "photo-1", photo=photo), "R6").message


def test_true_photo_tilted_on_its_own(page: Layout) -> None:
    """A photo is tilted by 2° in a level slot."""
    assert one(b.change(page, "photo-2", tilt=2.0), "R6").element == "photo-2"


def test_true_photo_turned_over(page: Layout) -> None:
    """A round slot tilted by 60° would tilt the picture with it."""
    layout = b.both(page, "photo-2", shape="ellipse", tilt=60.0, size=(50_800, 50_800))
    layout = b.change(layout, "photo-2", photo=b.cropped(b.B, (75, 0, 1275, 1200), (50_800, 50_800)))
    assert "upright" in one(layout, "R6").message


def test_true_circle_stretched(page: Layout) -> None:
    """A round photo slot becomes an oval."""
    layout = b.both(page, "photo-2", shape="ellipse", size=(50_800, 50_800))
    photo = b.cropped(b.B, (75, 0, 1275, 1200), (50_800, 50_800))
    layout = b.change(layout, "photo-2", photo=photo)
    assert holds(layout)
    oval = b.change(
        layout, "photo-2", size=(50_800, 45_720), photo=b.cropped(b.B, (0, 0, 1333, 1200), (50_800, 45_720))
    )
    assert one(oval, "R6").element == "photo-2"


TRIANGLE = ((-3_175, 3_175), (3_175, 3_175), (0, -3_175))


def test_true_outline_changed(page: Layout) -> None:
    """A triangle's tip is moved; a triangle of half the size is still the same shape."""
    layout = b.both(page, "bloom", shape="path", outline=TRIANGLE)
    assert holds(layout)
    half = tuple((x // 2, y // 2) for x, y in TRIANGLE)
    assert holds(b.change(layout, "bloom", size=(3_174, 3_174), outline=half))
    moved = (*TRIANGLE[:2], (2_000, -3_175))
    assert one(b.change(layout, "bloom", outline=moved), "R6").element == "bloom"


def test_true_shape_changed(page: Layout) -> None:
    """A rectangle of the template becomes an oval."""
    assert one(b.change(page, "paper-1", shape="ellipse"), "R6").element == "paper-1"


def test_true_ornament_stretched(page: Layout) -> None:
    """An embellishment is squeezed to two thirds of its height."""
    found = one(b.change(page, "bloom", size=(6_350, 4_234)), "R6")
    assert found.element == "bloom"


def raised(page: Layout, name: str, over: str) -> Layout:
    """Return the page with one element moved up the stack to lie right above another."""
    item = b.element(page, name)
    rest = [e for e in page.elements if e.id != name]
    at = next(n for n, e in enumerate(rest) if e.id == over) + 1
    return b.priced(replace(page, elements=(*rest[:at], item, *rest[at:])))


@pytest.mark.parametrize("over", ["corner-1", "title"])
def test_true_photo_hides_what_it_carries(page: Layout, over: str) -> None:
    """A photo moved up the stack, a little or to the top, hides the ornament that lies on it."""
    found = one(raised(page, "photo-1", over), "R6")
    assert (found.element, found.other) == ("photo-1", "corner-1")


def test_true_stack_of_what_lies_apart(page: Layout) -> None:
    """The order of the stack is the template's, whether anything is hidden or not."""
    found = one(raised(page, "paper-1", "card"), "R6")
    assert (found.element, found.other) == ("paper-1", "card")


# R7 ties


def test_ties_mat_off_centre(page: Layout) -> None:
    """A mat moved by 1/2 mm shows uneven borders, both told."""
    found = broken(b.move(page, "mat-1", dx=500), "R7")
    assert {(v.element, v.other, v.side, v.amount_um) for v in found} == {
        ("mat-1", "photo-1", "left", 500),
        ("mat-1", "photo-1", "right", 500),
    }


def test_ties_mat_around_every_piece(page: Layout) -> None:
    """A split slot's mat covers the whole row; a mat of the first piece's size alone is a fault."""
    halves = [
        replace(b.A, file=f, sha256=f[0] * 64, keep=(), pixels=(600, 1016), order=n)
        for n, f in ((0, "a.jpg"), (2, "d.jpg"))
    ]
    layout = b.give(page, photos=(halves[0], b.B, halves[1]))
    size = (30_000, 50_800)
    layout = b.split(layout, "photo-1", "row", [(x, 12_700, *size) for x in (12_700, 46_200)])
    for n, photo in enumerate(halves, 1):
        layout = b.change(layout, f"photo-1.{n}", photo=b.whole(photo, size))
    assert holds(layout)
    found = broken(b.change(layout, "mat-1", center=(27_700, 38_100), size=(36_350, 57_150)), "R7")
    assert ("mat-1", "right", 33_500) in {(v.element, v.side, v.amount_um) for v in found}


def test_ties_tilted_mat(page: Layout) -> None:
    """Borders of tilted slots are measured along their sides."""
    layout = b.both(b.both(page, "photo-2", tilt=3.0, size=(50_800, 45_156)), "card", size=(57_150, 57_150))
    layout = b.change(layout, "photo-2", photo=b.whole(b.B, (50_800, 45_156)))
    mat = Element("mat-2", "paper", "rect", (111_125, 38_100), (54_000, 48_356), tilt=3.0, on="photo-2", tie="mat")
    layout = b.insert(layout, mat, b.place(mat, fill=b.PALE), 3)
    assert holds(layout)
    found = broken(b.move(layout, "mat-2", dx=300), "R7")
    # By hand: 300·cos 3° = 299.6 along the slot.
    assert {v.side: v.amount_um for v in found}["left"] == 300


def test_ties_mat_left_behind(page: Layout) -> None:
    """A slot is dropped but its mat stays."""
    found = one(b.remove(page, "photo-1", "corner-1"), "R7")
    assert (found.element, found.other) == ("mat-1", "photo-1")
    assert holds(b.remove(page, "photo-1", "corner-1", "mat-1"))


def test_ties_carried_left_behind(page: Layout) -> None:
    """A slot is dropped but the corner it carried stays."""
    found = one(b.remove(page, "photo-1", "mat-1"), "R7")
    assert (found.element, found.other) == ("corner-1", "photo-1")


def test_ties_carried_off_its_corner(page: Layout) -> None:
    """A carried corner is moved by 1 mm."""
    found = one(b.move(page, "corner-1", dy=1_000), "R7")
    assert (found.element, found.other, found.amount_um) == ("corner-1", "photo-1", 1_000)


def test_ties_carried_of_its_own_size(page: Layout) -> None:
    """A carried corner is 1 mm smaller than its carrier's scale makes it."""
    found = one(b.change(page, "corner-1", size=(5_350, 5_350)), "R7")
    assert (found.element, found.amount_um) == ("corner-1", 1_000)


def test_ties_carried_scales_with_its_carrier(page: Layout) -> None:
    """A carrier of 4/5 size carries its corner at 4/5 of size and offset, by hand."""
    photo = b.change(page, "photo-1", size=(50_800, 40_640), photo=b.whole(b.A, (50_800, 40_640)))
    layout = b.change(photo, "mat-1", size=(57_150, 46_990))
    # Carrier's top-left corner 19,050, 17,780; offset was 16,510 − 12,700 = 3,810, times 4/5 = 3,048.
    fine = b.change(layout, "corner-1", center=(19_050 + 3_048, 17_780 + 3_048), size=(5_080, 5_080))
    assert holds(fine)
    assert one(layout, "R7").element == "corner-1"


def test_ties_lap_too_deep(page: Layout) -> None:
    """A ribbon overlapped its paper by 12.7 mm; 2 mm more are 15.7 %."""
    found = one(b.move(page, "ribbon-1", dx=2_000), "R7")
    assert {found.element, found.other} == {"paper-1", "ribbon-1"}
    assert (found.side, found.amount_um) == ("across", 2_000)


def test_ties_lap_within_a_tenth_or_apart(page: Layout) -> None:
    """1.2 mm of 12.7 are within a tenth, and lapped blocks may part altogether."""
    assert holds(b.move(page, "ribbon-1", dx=1_200))
    assert holds(b.change(page, "ribbon-1", center=(111_125, 66_000)))


def test_ties_lap_no_longer_contained(page: Layout) -> None:
    """Down the page the ribbon lay within the paper; now it hangs over its end by half."""
    found = one(b.move(page, "ribbon-1", dy=127_000 - 95_250), "R7")
    assert (found.side, found.amount_um) == ("down", 6_350)


def test_ties_mat_lost(page: Layout) -> None:
    """A mat is dropped, and listed so, while the slot it frames stays."""
    found = one(b.remove(page, "mat-1"), "R7")
    assert (found.element, found.other) == ("mat-1", "photo-1")
