"""Where slots are added: in line with the drawing, as far apart as its own slots are."""

from __future__ import annotations

import pytest

from fitter.formulate.rooms import free_rooms
from fitter.pages import Page
from fitter.reference import Member, reference_layout
from fitter.units import INCH
from tests.proofs.fitting import best, photos, slot, template

CORNER = [slot("a", 0.75, 0.75, 3, 3), slot("b", 4.25, 0.75, 3, 3), slot("c", 0.75, 4.25, 3, 3)]
"""Three slots of a window of four, half an inch apart; the fourth is missing."""


def test_the_room_is_the_missing_slot() -> None:
    """As white outside as the drawing, half an inch from its neighbours: just the fourth square."""
    made = template((8, 8), *CORNER)
    page = Page("8x8in", (8 * INCH, 8 * INCH))
    (room,) = free_rooms(page, reference_layout(made, page, Member(0, False)))
    assert [side / INCH for side in room.box] == pytest.approx([4.25, 4.25, 7.25, 7.25])


def test_the_added_photo_lines_up() -> None:
    """The fourth photo completes the window, and costs what an added slot does and no more."""
    page = best(template((8, 8), *CORNER), photos(*[(1800, 1800)] * 4), allow=("add-slot", "assign"), effort=3.0)
    (added,) = (e for e in page.elements if e.source is None)
    assert [side / INCH for side in added.box] == pytest.approx([4.25, 4.25, 7.25, 7.25])
    assert page.costs.terms == {"add-slot": 150_000}


def test_a_picture_of_another_shape_is_in_the_middle_of_its_room() -> None:
    """An added slot fills its room one way and is pulled to the middle the other way."""
    page = best(
        template((8, 8), *CORNER), photos(*[(1800, 1800)] * 3, (1800, 1200)), allow=("add-slot", "assign"), effort=3.0
    )
    (added,) = (e for e in page.elements if e.source is None)
    assert [side / INCH for side in added.box] == pytest.approx([4.25, 4.75, 7.25, 6.75])
    assert "shift" not in page.costs.terms
