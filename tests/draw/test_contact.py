"""The contact sheet: every mark where it belongs, each kind in its own colour and line."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from PIL import Image

from fitter.photos import Mark
from fitter.proof.contact import ACROSS, GUIDES, PER_SHEET, Cell, draw_contact_sheet, guide_of
from fitter.proof.frame import GROUND
from fitter.proof.guides import BLEED, SAFE, TRIM

GREY = (120, 120, 120)
BOX = (0.25, 0.25, 0.5, 0.5)


def sheet(*cells: Cell, size: tuple[int, int] = (300, 200)) -> Image.Image:
    """Draw cells with a grey photo each."""
    return draw_contact_sheet(cells, lambda cell: Image.new("RGB", size, GREY), title="Marrow Lake", summary="few")


def photo_box(image: Image.Image, below: int = 180) -> tuple[int, int, int, int]:
    """Return the box of the grey pixels below the heading."""
    grey = (np.asarray(image) == GREY).all(2)
    grey[:below] = False
    rows, columns = np.flatnonzero(grey.any(1)), np.flatnonzero(grey.any(0))
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def coloured(image: Image.Image, color: tuple[int, int, int], below: int = 180) -> np.ndarray:
    """Return rows and columns of the pixels of a colour, below the legend."""
    found = np.argwhere((np.asarray(image) == color).all(2))
    return found[found[:, 0] >= below]


@pytest.mark.parametrize(
    ("mark", "color"),
    [
        (Mark(BOX, "face", "file"), TRIM),
        (Mark(BOX, "subject", "file"), SAFE),
        (Mark(BOX, "subject", "correction"), SAFE),
        (Mark(BOX, "face", "found"), BLEED),
        (Mark(BOX, "subject", "camera"), BLEED),
    ],
)
def test_a_mark_is_drawn_around_its_box_in_its_colour(mark: Mark, color: tuple[int, int, int]) -> None:
    """To four pixels, and nothing of another kind's colour."""
    image = sheet(Cell(1, "lake.jpg", marks=(mark,)))
    left, top, right, bottom = photo_box(image)
    found = coloured(image, color)
    x = left + (right - left) * 0.25, left + (right - left) * 0.75
    y = top + (bottom - top) * 0.25, top + (bottom - top) * 0.75
    assert found[:, 1].min() == pytest.approx(x[0], abs=4) and found[:, 1].max() == pytest.approx(x[1], abs=4)
    assert found[:, 0].min() == pytest.approx(y[0], abs=4) and found[:, 0].max() == pytest.approx(y[1], abs=4)
    assert not any(len(coloured(image, other)) for other in (TRIM, SAFE, BLEED) if other != color)
    assert guide_of(mark).color == color


def test_kinds_are_told_apart_without_colour() -> None:
    """Along one edge the line is whole, has long gaps, or has short ones."""
    gaps = []
    for source, kind in (("file", "face"), ("file", "subject"), ("found", "face")):
        image = sheet(Cell(1, "lake.jpg", marks=(Mark(BOX, kind, source),)))  # type: ignore[arg-type]
        found = coloured(image, guide_of(Mark(BOX, kind, source)).color)  # type: ignore[arg-type]
        row = found[found[:, 0] == found[:, 0].min() + 1][:, 1]
        gaps.append(sorted({int(step) for step in np.diff(np.sort(row)) if step > 1}))
    assert gaps[0] == [] and gaps[1] and gaps[2] and min(gaps[1]) > max(gaps[2])


def test_a_mark_at_the_edge_stays_on_its_photo() -> None:
    """The whole picture marked: the line lies just inside."""
    plain = sheet(Cell(1, "lake.jpg"))
    left, top, right, bottom = photo_box(plain)
    found = coloured(sheet(Cell(1, "lake.jpg", marks=(Mark((0, 0, 1, 1), "face", "file"),))), TRIM)
    assert found[:, 1].min() >= left and found[:, 1].max() < right
    assert found[:, 0].min() >= top and found[:, 0].max() < bottom


def test_a_photo_left_out_is_faded() -> None:
    """Towards the ground."""
    image = sheet(Cell(1, "lake.jpg", faded=True))
    expected = tuple(round(g * 0.68 + p * 0.32) for g, p in zip(GROUND, GREY, strict=True))
    assert (np.abs(np.asarray(image).astype(int) - expected).max(2) <= 1).sum() > 50_000


def test_a_photo_that_cannot_be_used_has_a_gap_with_words() -> None:
    """Its picture is never asked for."""
    image = draw_contact_sheet(
        [Cell(1, "cut.jpg", problem="is damaged or cut short (a reason); copy it again")],
        lambda cell: pytest.fail("asked for"),
        title="Photos",
        summary="",
    )
    assert len(coloured(image, (160, 60, 20))) > 100


def test_what_is_wrong_has_lines_of_its_own() -> None:
    """In their own colour below the other words, three at most; the photos of the line below move down together."""
    cells = [Cell(n, "lake.jpg", ("one", "two", "three")) for n in range(1, 2 * ACROSS + 1)]
    plain = sheet(*cells)
    cells[1] = replace(cells[1], warning="its picture data is damaged")
    one = sheet(*cells)
    cells[1] = replace(cells[1], warning="its picture data is damaged " * 20)
    most = sheet(*cells)
    step = one.height - plain.height
    assert 0 < step < 30 and most.height == plain.height + 3 * step
    assert not len(coloured(plain, (160, 60, 20))) and len(coloured(one, (160, 60, 20))) > 20
    assert (np.asarray(plain)[:560] == np.asarray(most)[:560]).all()
    assert (np.asarray(plain)[-300:] == np.asarray(most)[-300:]).all()


def test_long_words_stay_in_their_cell() -> None:
    """A cell without neighbour on the right: nothing is drawn where the neighbour would be."""
    words = "marrow lake in the evening " * 10
    image = sheet(Cell(1, words, (words, words, words, words)))
    width = image.width
    right = np.asarray(image.crop((72 + 372 + 36, 180, width, image.height)))
    assert (right == GROUND).all()


def test_sheets_grow_by_rows() -> None:
    """Thirty photos, five across, six down; portraits and panoramas fit their room."""
    one = sheet(*[Cell(n, "x") for n in range(ACROSS)])
    six = sheet(*[Cell(n, "x") for n in range(PER_SHEET)], size=(50, 400))
    assert six.width == one.width and six.height > 4 * one.height * 0.8
    assert sheet(Cell(1, "x"), size=(2000, 3)).size == sheet(Cell(1, "x"), size=(3, 2000)).size


def test_the_legend_names_every_line() -> None:
    """Colour and pattern of each kind stand in the heading."""
    image = sheet(Cell(1, "x"))
    head = np.asarray(image)[:180]
    for guide in GUIDES:
        assert (head == guide.color).all(2).any(), guide.name
