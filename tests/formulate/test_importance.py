"""Crop loss by importance on whole pages: what is cut, covered or trimmed counts by what it shows."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from fitter.check import check_layout
from fitter.layout import Grid, Layout, Placed
from fitter.photos import Photo
from fitter.template import Element, Limits, Template
from tests.proofs.fitting import INCH, best, fit, only, photo, rect, slot, template

LEFT: Grid = ((9, 1, 1, 1, 1, 1),)
RIGHT: Grid = ((1, 1, 1, 1, 1, 9),)
EVEN: Grid = ((5, 5, 5), (5, 5, 5))
STILL = ("assign",)


def shown(layout: Layout, number: int = 0) -> Placed:
    """Return the element that shows a photo."""
    sha = f"{number:064x}"
    return next(e for e in layout.elements if e.photo and e.photo.sha256 == sha)


def crop(layout: Layout, number: int = 0) -> tuple[int, int, int, int]:
    """Return a photo's crop."""
    made = shown(layout, number).photo
    assert made is not None
    return made.crop


def square(**fields: object) -> Template:
    """Return a square slot on a square page."""
    return template((6, 6), slot("a", 1, 1, 4, 4, **fields))


@pytest.mark.parametrize(("grid", "left"), [(LEFT, 0), (RIGHT, 1000), ((), 500), (EVEN, 500)])
def test_the_crop_goes_where_it_matters(grid: Grid, left: int) -> None:
    """A square of a 3:2 picture keeps four of six columns: 12/14 of the importance, 2/3 if it is even."""
    layout = best(square(), [photo(0, 3000, 2000, importance=grid)], allow=("crop",))
    assert crop(layout) == (left, 0, left + 2000, 2000)
    kept = Fraction(12, 14) if grid in (LEFT, RIGHT) else Fraction(2, 3)
    assert layout.costs.terms == {"crop-loss": round(10**6 * (1 - kept))}


def test_without_the_freedom_to_crop_the_middle_is_priced() -> None:
    """The middle keeps the four columns of 1 of 14."""
    layout = best(square(), [photo(0, 3000, 2000, importance=LEFT)], allow=())
    assert crop(layout) == (500, 0, 2500, 2000)
    assert layout.costs.terms == {"crop-loss": round(10**6 * (1 - Fraction(4, 14)))}


def test_weight_and_importance_multiply() -> None:
    """A favourite loses twice as much."""
    layout = best(square(), [photo(0, 3000, 2000, importance=RIGHT, weight=2.0)], allow=("crop",))
    assert layout.costs.terms == {"crop-loss": round(2 * 10**6 * Fraction(2, 14))}


def test_photos_are_assigned_by_what_they_would_lose() -> None:
    """Two alike photos, of which one has all its importance at an end: the other one goes into the square."""
    made = template((8, 6), slot("a", 0.5, 0.5, 3, 3), slot("b", 4, 0.5, 3, 2))
    ends: Grid = ((9, 1, 1, 1, 1, 9),)
    pair = [photo(0, 3000, 2000, importance=ends), photo(1, 3000, 2000, importance=((1, 1, 9, 9, 1, 1),))]
    for photos in (pair, [replace(pair[1], sha256=pair[0].sha256), replace(pair[0], sha256=pair[1].sha256)]):
        layout = best(made, photos, allow=("assign", "crop"))
        square_one = next(e for e in layout.elements if e.source == "a")
        wanted = next(p for p in photos if p.importance != ends)
        assert square_one.photo is not None
        assert square_one.photo.sha256 == wanted.sha256


@pytest.mark.parametrize("even", [((7,),), EVEN, ((1,) * 24,) * 24])
def test_even_importance_is_no_importance(even: Grid) -> None:
    """Crop, trim, panel and all other costs are the same to the unit, and so are the crops."""
    made = template(
        (8, 8),
        replace(slot("a", -0.125, -0.125, 5, 4), bleeds=("left", "top")),
        replace(slot("b", 5.5, 0.5, 2, 2), shape="ellipse"),
        slot("sheet", 0.5, 4.5, 5, 3, "paper", limits=Limits(may_be=("paper", "photo"))),
        slot("note", 5.25, 5, 1.75, 2, "paper", on="sheet", tie="lapped", limits=Limits(may_be=("paper",))),
    )
    plain = [photo(n, 2400, 1600 + 100 * n, keep=((0.1, 0.2, 0.2, 0.2),) if n == 1 else ()) for n in range(3)]
    layouts = [
        best(made, photos, allow=("assign", "swap-role", "drop", "crop", "mirror-page", "add-slot"), words=15)
        for photos in (plain, [replace(p, importance=even) for p in plain])
    ]
    assert layouts[0].costs == layouts[1].costs
    assert [e.photo for e in layouts[0].elements] == [e.photo for e in layouts[1].elements]
    assert any(e.source is None and e.text for e in layouts[0].elements), "a panel is among what is compared"


def test_what_the_trim_takes_counts_by_importance() -> None:
    """Bleeding on the left only, a photo whose left edge is all that matters is put on a mirrored page."""
    bleeding = replace(slot("a", -0.125, 1, 4.125, 2), bleeds=("left",))
    edge: Grid = ((50, *(1,) * 32),)  # a cell is exactly the bleed
    picture = [photo(0, 4125, 2000, importance=edge)]
    layout = best(template((6, 6), bleeding), picture, allow=("crop", "mirror-page"))
    assert layout.transform.mirror
    # To some millionths: the slot's width is even micrometres.
    assert layout.costs.terms["crop-loss"] == pytest.approx(10**6 * Fraction(1, 82), abs=20)
    kept = best(template((6, 6), bleeding), picture, allow=("crop",))
    assert kept.costs.terms["crop-loss"] == pytest.approx(10**6 * Fraction(50, 82), abs=20)


def test_words_on_a_photo_go_where_least_is_lost() -> None:
    """A panel avoids the corner that matters, whichever that is."""
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 5))
    for corner in range(4):
        cells = [[1, 1], [1, 1]]
        cells[corner // 2][corner % 2] = 0
        picture = photo(0, 2000, 2000, importance=tuple(map(tuple, cells)))
        layout = best(made, [picture], allow=("crop", "add-slot"), title="Marrow Lake")
        words = next(e for e in layout.elements if e.text)
        middle = shown(layout).center
        across, down = (words.center[axis] > middle[axis] for axis in (0, 1))
        assert (across, down) == (corner % 2 == 1, corner // 2 == 1)


def test_a_photo_under_a_note_shows_what_matters_beside_it() -> None:
    """The note covers the sheet's right end: of a wide picture the left matters, and is moved clear of the note."""
    made = template(
        (8, 8),
        slot("sheet", 0.5, 4.25, 4, 3, "paper"),
        slot("note", 3.5, 5, 1.75, 2, "paper", tie="lapped", on="sheet", limits=Limits(fixed=True)),
    )
    grid: Grid = ((1, 1, 1, 1, 1, 1, 20, 1),) * 3
    layout = best(made, [photo(0, 3200, 1200, importance=grid)], allow=("assign", "swap-role", "drop", "crop"))
    left, _, right, _ = crop(layout)
    note = next(e for e in layout.elements if e.source == "note")
    spot = shown(layout)
    clear = left + (right - left) * (note.box[0] - spot.box[0]) / spot.size[0]
    assert left <= 2400 and clear + 1 >= 2800


def embellished(corner: tuple[float, float]) -> tuple[Element, ...]:
    """Return a square slot with a carried bloom that must stay, in inches from the slot's corner."""
    x, y = (round((1 + at) * INCH) for at in corner)
    bloom = rect("bloom", "embellishment", (x, y), (INCH, INCH), on="a", tie="carried", limits=Limits(fixed=True))
    return slot("a", 1, 1, 4, 4), bloom


@pytest.mark.parametrize(
    ("size", "face", "freedom", "how"),
    [
        ((2000, 2000), (0.02, 0.02, 0.2, 0.2), "mirror-page", "mirrored"),
        ((3000, 2000), (0.3, 0.02, 0.1, 0.2), "crop", "re-cropped"),
        ((2000, 2000), (0.02, 0.02, 0.2, 0.2), "assign", "re-assigned"),
    ],
)
def test_a_page_whose_embellishment_covers_a_face_is_mirrored_reassigned_or_recropped(
    size: tuple[int, int], face: tuple[float, float, float, float], freedom: str, how: str
) -> None:
    """R5: the bloom in the top left corner must stay and the face must be seen; each freedom alone finds a way."""
    spare = slot("b", 5.25, 2, 2, 2)
    made = template((8, 6), *embellished((0.5, 0.5)), *([spare] if how == "re-assigned" else []))
    # In the order they were taken the face would lie under the bloom.
    marked: list[Photo] = [photo(0, *size, keep=(face,)), *([photo(1, 2000, 2000)] if how == "re-assigned" else [])]
    layout = best(made, marked, allow=(freedom,), min_ppi=72)
    assert any(e.source == "bloom" for e in layout.elements)
    assert not layout.waived
    assert layout.transform.mirror == (how == "mirrored")
    if how == "re-cropped":
        assert crop(layout)[0] < 500
    if how == "re-assigned":
        assert shown(layout).source == "b"
    assert not fit(made, marked, allow=(), min_ppi=72).layouts, "without the freedom there is no page"


def test_a_found_face_that_no_window_keeps_is_shown_as_far_as_it_matters() -> None:
    """Waived, the window follows the importance; where that is even, it is put around the middle of what was found."""
    face = (0.0, 0.3, 0.8, 0.3)
    for grid, left in (((), 200), (LEFT, 0), (RIGHT, 1000)):
        given = [photo(0, 3000, 2000, detected=(face,), importance=grid)]
        layout = best(square(), given, allow=("crop",))
        assert [w.rule for w in layout.waived] == ["R5"]
        assert crop(layout)[0] == left


def test_photos_with_other_importance_are_no_look_alikes() -> None:
    """Alternatives may differ by which of two photos leads only where these are truly alike."""
    from fitter.formulate.formulation import alike
    from fitter.formulate.settings import Settings
    from fitter.photos import given

    pair = [photo(0, 3000, 2000, importance=LEFT), photo(1, 3000, 2000, importance=RIGHT)]
    same = [pair[0], replace(pair[1], importance=LEFT)]
    assert alike(Settings(photos=given(tuple(pair)))) == (0, 1)
    assert alike(Settings(photos=given(tuple(same)))) == (0, 0)


def test_a_photo_below_the_least_resolution_is_said_to_be() -> None:
    """R8: it is enlarged beyond that only when no page does without, waived, charged and noted."""
    layout = best(square(), [photo(0, 500, 500, importance=LEFT)], without=only())
    assert [w.rule for w in layout.waived] == ["R8"]
    assert layout.costs.terms["waived"] == 1_000_000
    assert any("below the target" in note for note in layout.notes)
    assert check_layout(layout).ok
