"""Step 4 against values worked out by hand: crops, pieces, mats, riders, flips."""

from __future__ import annotations

from fitter.template import Element
from tests.proofs.fitting import INCH, best, photo, photos, slot, template


def test_a_crop_is_the_middle_of_the_picture() -> None:
    """3000 × 2000 pixels in a square: the middle 2000 × 2000, from pixel 500 on."""
    page = best(template((6, 6), slot("a", 1, 1, 3, 3)), photos((3000, 2000)), allow=())
    shown = page.elements[0].photo
    assert shown is not None
    assert shown.crop == (500, 0, 2500, 2000)
    assert shown.ppi == 666


def test_a_crop_moves_no_further_than_a_region_needs() -> None:
    """A region from pixel 300 to 1200 moves the window's left edge from 500 to 300; one at 600 not at all."""
    made = template((6, 6), slot("a", 1, 1, 3, 3))
    for left, wanted in ((0.1, 300), (0.2, 500)):
        marked = [photo(0, 3000, 2000, keep=((left, 0.2, 0.3, 0.5),))]
        shown = best(made, marked, allow=("crop",)).elements[0].photo
        assert shown is not None
        assert shown.crop[0] == wanted


def test_pieces_of_a_row_are_as_wide_as_their_photos_are() -> None:
    """A 5 in row of a 3:2 and a 2:3 photo, 1/8 in apart: 9/13 and 4/13 of 4 7/8 in; in a column the other way round."""
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 5))
    page = best(made, photos((3000, 2000), (2000, 3000)), allow=("add-slot",), weights={"crop-loss": 0.1})
    pieces = page.elements
    assert [p.split and (p.split.kind, p.split.index, p.split.count) for p in pieces] in (
        [("row", 0, 2), ("row", 1, 2)],
        [("column", 0, 2), ("column", 1, 2)],
    )
    axis = 0 if pieces[0].split and pieces[0].split.kind == "row" else 1
    lengths = [p.size[axis] for p in pieces]
    shares = (9 / 13, 4 / 13) if axis == 0 else (4 / 13, 9 / 13)
    for length, share in zip(lengths, shares, strict=True):
        assert abs(length - share * 4.875 * INCH) <= 2
    assert abs(pieces[1].box[axis] - pieces[0].box[axis + 2] - INCH // 8) <= 4


MATTED = template(
    (6, 6),
    slot("mat", 0.875, 0.875, 3.25, 3.25, "paper", on="a", tie="mat"),
    slot("a", 1, 1, 3, 3),
    Element(
        "bloom", "embellishment", "rect", (int(1.25 * INCH), int(1.25 * INCH)), (12_700, 12_700), on="a", tie="carried"
    ),
)


def test_a_mat_keeps_its_border_and_a_rider_its_scaled_corner() -> None:
    """A widened slot keeps 1/8 in of mat all round, and its ornament where the scale of the slot puts it."""
    page = best(MATTED, photos((2700, 1800)), allow=("widen", "shift"))
    mat, a, bloom = page.elements
    assert a.size != (3 * INCH, 3 * INCH)
    assert [m - s for m, s in zip(mat.size, a.size, strict=True)] == [INCH // 4, INCH // 4]
    assert mat.center == a.center
    scale = min(a.size) / (3 * INCH)
    assert abs(bloom.size[0] - 12_700 * scale) <= 2
    for axis in (0, 1):
        assert abs(bloom.center[axis] - a.box[axis] - 0.25 * INCH * scale) <= 2


def test_slots_are_mirrored_but_pictures_are_not() -> None:
    """On a mirrored page the ornament stands at the other corner, and the region stays on the picture's own left."""
    middle = (int(0.75 * INCH), int(2.25 * INCH))
    made = template(
        (8, 8),
        slot("a", 0.5, 2, 3, 2),
        slot("b", 4, 2, 2, 2),
        Element("bloom", "embellishment", "rect", middle, (8000, 8000), on="a", tie="carried"),
    )
    marked = [photo(0, 1500, 1500), photo(1, 3600, 2000, keep=((0.0, 0.5, 0.3, 0.4),))]
    page = best(made, marked, allow=("mirror-page", "assign", "crop"), weights={"mirror-page": 0, "order": 10})
    assert page.transform.mirror
    bloom = next(e for e in page.elements if e.id == "bloom")
    assert bloom.center == (8 * INCH - middle[0], middle[1])
    shown = next(e.photo for e in page.elements if e.id == "a")
    assert shown is not None
    assert shown.crop == (0, 0, 3000, 2000)


def test_journaling_hangs_a_little_above_the_middle_of_its_card() -> None:
    """Of what a few words leave free of a card's height less is above them than below, but not by much."""
    made = template((8, 8), slot("a", 1, 1, 4, 3), slot("card", 1, 4.5, 5, 2.5, "journaling"))
    page = best(made, photos((3000, 2250)), allow=("crop",), words=30)
    (card,) = (e for e in page.elements if e.text)
    assert card.text is not None
    ink = card.text.ink
    above = ink.center[1] - ink.size[1] / 2 - card.box[1] - INCH / 8
    below = card.box[3] - INCH / 8 - ink.center[1] - ink.size[1] / 2
    assert 0.4 <= above / (above + below) <= 0.45
