"""Ties: mats, carried and lapped elements on tiny drawings."""

from __future__ import annotations

import pytest

from fitter.errors import InputError
from fitter.template import Element, Point, Role, Shape
from fitter.ties import infer_ties

MM = 1000


def box(
    id: str, left: int, top: int, width: int, height: int, *, role: Role | None = None, tilt: float = 0.0,
    shape: Shape = "rect", bleeds: bool = False,
) -> Element:  # fmt: skip
    """Return an element from its box in millimetres; its role is the id up to the dash."""
    word: Role = role or id.partition("-")[0]  # type: ignore[assignment]
    center: Point = (left * MM + width * MM // 2, top * MM + height * MM // 2)
    return Element(
        id, word, shape, center, (width * MM, height * MM), tilt, bleeds=("left",) if bleeds else ()
    )


def ties(*elements: Element, **rides: str) -> dict[str, tuple[str | None, str | None]]:
    """Return each element's tie and partner."""
    said = {key.replace("_", "-"): value.replace("_", "-") for key, value in rides.items()}
    return {e.id: (e.tie, e.on) for e in infer_ties(elements, said)}


PHOTO = box("photo-1", 50, 50, 100, 80)
ALONE = (None, None)


def test_paper_behind_a_slot_is_its_mat() -> None:
    """Paper that shows 3 mm on all four sides belongs to the photo on it; the photo stands alone."""
    assert ties(box("paper-1", 47, 47, 106, 86), PHOTO) == {"paper-1": ("mat", "photo-1"), "photo-1": ALONE}


@pytest.mark.parametrize(
    ("paper", "is_mat"),
    [
        (box("paper-1", 31, 31, 138, 118), True),  # 19 mm: just under 3/4 in = 19.05 mm
        (box("paper-1", 30, 30, 140, 120), False),  # 20 mm: over it
        (box("paper-1", 50, 47, 103, 86), False),  # flush on the left
        (box("paper-1", 47, 47, 106, 80), False),  # the photo hangs over below
        (box("paper-1", 47, 47, 106, 86, bleeds=True), False),  # a bleeding sheet is no mat
        (box("paper-1", 47, 47, 106, 86, tilt=3.0), False),  # tilted against its slot
        (box("ribbon-1", 47, 47, 106, 86), False),  # not paper
    ],
)
def test_what_counts_as_a_mat(paper: Element, is_mat: bool) -> None:
    """A mat is paper, shows more than nothing and at most 3/4 in all round, and lies square to its slot."""
    assert (ties(paper, PHOTO)[paper.id] == ("mat", "photo-1")) is is_mat


def test_a_tilted_mat_and_slot() -> None:
    """Borders count before tilting: a mat tilted with its slot is a mat."""
    mat, photo = box("paper-1", 47, 47, 106, 86, tilt=-4.0), box("photo-1", 50, 50, 100, 80, tilt=-4.0)
    assert ties(mat, photo)["paper-1"] == ("mat", "photo-1")


def test_a_round_mat() -> None:
    """Paper behind a round photo is its mat; a circle that bares a square's corners is not."""
    mat, circle = (
        box("paper-1", 47, 47, 86, 86, shape="ellipse"),
        box("photo-1", 50, 50, 80, 80, shape="ellipse"),
    )
    assert ties(mat, circle)["paper-1"] == ("mat", "photo-1")
    assert ties(mat, box("photo-1", 50, 50, 80, 80))["paper-1"] == ALONE


def test_two_mats_under_one_photo() -> None:
    """Layered mats both belong to the photo, not to each other."""
    found = ties(box("paper-1", 40, 40, 120, 100), box("paper-2", 47, 47, 106, 86), PHOTO)
    assert found["paper-1"] == ("mat", "photo-1")
    assert found["paper-2"] == ("mat", "photo-1")


def test_a_mat_has_one_slot() -> None:
    """Of two photos lying alike on a paper, the more closely framed one has it as its mat."""
    found = ties(box("paper-1", 45, 45, 110, 90), PHOTO, box("photo-2", 49, 49, 102, 82))
    assert found["paper-1"] == ("mat", "photo-2")


def test_small_decoration_and_text_are_carried() -> None:
    """A button and a caption whose centre lies on a photo ride on it; a quarter of its area is the limit."""
    found = ties(PHOTO, box("embellishment-1", 140, 120, 16, 16), box("title-1", 60, 110, 50, 15))
    assert found["embellishment-1"] == ("carried", "photo-1")
    assert found["title-1"] == ("carried", "photo-1")
    assert ties(PHOTO, box("ribbon-1", 50, 80, 100, 20))["ribbon-1"] == ("carried", "photo-1")
    assert ties(PHOTO, box("ribbon-1", 50, 80, 100, 22))["ribbon-1"] == ("lapped", "photo-1")


def test_a_centre_beside_the_carrier_only_laps() -> None:
    """Decoration that touches a photo with less than its centre overlaps it."""
    assert ties(PHOTO, box("embellishment-1", 145, 60, 16, 16))["embellishment-1"] == ("lapped", "photo-1")


def test_small_photos_are_not_carried() -> None:
    """Only decoration and text are carried; a small photo on a large one laps it."""
    assert ties(PHOTO, box("photo-2", 60, 60, 20, 20))["photo-2"] == ("lapped", "photo-1")


def test_the_topmost_carrier_counts() -> None:
    """Of two photos under a button the upper one carries it."""
    found = ties(PHOTO, box("photo-2", 120, 60, 100, 80), box("embellishment-1", 130, 80, 10, 10))
    assert found["embellishment-1"] == ("carried", "photo-2")


def test_riding_on_a_mat_is_riding_on_its_slot() -> None:
    """A button whose centre is on the mat's border, outside the photo, rides on the photo."""
    found = ties(box("paper-1", 42, 42, 116, 96), PHOTO, box("embellishment-1", 42, 60, 8, 8))
    assert found["embellishment-1"] == ("carried", "photo-1")


def test_riding_on_something_carried_is_riding_on_its_carrier() -> None:
    """A button on a ribbon on a photo belongs to the photo."""
    found = ties(PHOTO, box("ribbon-1", 50, 90, 100, 15), box("embellishment-1", 90, 92, 8, 8))
    assert found["embellishment-1"] == ("carried", "photo-1")


def test_backgrounds_are_nobodys_partner() -> None:
    """Neither text nor photos are tied to a background."""
    found = ties(box("background-1", 0, 0, 300, 300), PHOTO, box("title-1", 50, 200, 60, 20))
    assert set(found.values()) == {ALONE}


def test_partial_overlap_comes_before_lying_on_paper() -> None:
    """A photo on a large paper that laps another photo is tied to the photo, else to the paper."""
    paper, other = box("paper-1", 10, 10, 280, 280), box("photo-2", 140, 120, 80, 60)
    found = ties(paper, PHOTO, other)
    assert found["photo-1"] == ("lapped", "paper-1")
    assert found["photo-2"] == ("lapped", "photo-1")


def test_touching_is_not_overlapping() -> None:
    """Slots that meet edge to edge, or by a rounding error of 0.1 mm, stand alone."""
    near = Element("photo-2", "photo", "rect", (149_950 + 20_000, 90_000), (40_000, 40_000))
    assert set(ties(PHOTO, near).values()) == {ALONE}
    deeper = Element("photo-2", "photo", "rect", (149_800 + 20_000, 90_000), (40_000, 40_000))
    assert ties(PHOTO, deeper)["photo-2"] == ("lapped", "photo-1")


def test_lapping_a_mat_is_lapping_its_slot() -> None:
    """A photo over the border of another's mat is tied to that photo."""
    found = ties(box("paper-1", 40, 40, 120, 100), PHOTO, box("photo-2", 154, 60, 40, 40))
    assert found["photo-2"] == ("lapped", "photo-1")


def test_what_is_between_mat_and_slot_is_not_tied_upwards() -> None:
    """A paper lying over a mat but under the mat's slot gets no tie to that slot: ties never point up."""
    found = ties(box("paper-1", 40, 40, 120, 100), box("paper-2", 130, 100, 60, 60), PHOTO)
    assert found == {"paper-1": ("mat", "photo-1"), "paper-2": ALONE, "photo-1": ("lapped", "paper-2")}


def test_data_on_makes_ties() -> None:
    """The author's word beats the sizes: large text rides on a panel, a wide border is a mat."""
    panel, text = box("paper-1", 200, 200, 60, 60), box("journaling-1", 205, 205, 50, 40)
    assert ties(panel, text, journaling_1="paper-1")["journaling-1"] == ("carried", "paper-1")
    wide = box("paper-1", 20, 20, 160, 140)
    assert ties(wide, PHOTO, paper_1="photo-1")["paper-1"] == ("mat", "photo-1")


def test_data_on_none_unties() -> None:
    """``none`` keeps a button from riding on the photo under it."""
    found = ties(PHOTO, box("embellishment-1", 60, 60, 10, 10), embellishment_1="none")
    assert found["embellishment-1"] == ALONE


@pytest.mark.parametrize(
    ("elements", "rides", "message"),
    [
        ((box("paper-1", 60, 60, 10, 10), PHOTO), {"paper_1": "photo-1"}, "surround it"),
        ((box("embellishment-1", 60, 60, 10, 10), PHOTO), {"embellishment_1": "photo-1"}, "drawn above it"),
        ((PHOTO, box("photo-2", 200, 60, 10, 10)), {"photo_2": "photo-1"}, "do not overlap"),
        (
            (box("background-1", 0, 0, 300, 300), box("title-1", 60, 60, 10, 10)),
            {"title_1": "background-1"},
            "background",
        ),
    ],
)
def test_data_on_that_contradicts_the_drawing(
    elements: tuple[Element, ...], rides: dict[str, str], message: str
) -> None:
    """What data-on says must be possible in the drawing."""
    with pytest.raises(InputError, match=message):
        ties(*elements, **rides)
