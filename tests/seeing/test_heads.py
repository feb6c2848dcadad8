"""Heads and groups."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.seeing.heads import Face, about, body, head, keep_groups, turned

quarters = st.integers(0, 64).map(lambda n: n / 64)


@given(quarters, quarters, quarters, quarters, st.integers(-5, 5))
def test_four_quarter_turns_are_none(x: float, y: float, w: float, h: float, turn: int) -> None:
    """Turning there and back leaves every box where it was."""
    box = (x, y, w, h)
    assert turned(turned(box, turn), -turn) == pytest.approx(box)
    assert turned(box, 4) == pytest.approx(box)


def test_a_head_has_more_room_for_hair_than_for_the_chin() -> None:
    """An upright face grows up more than down and alike to both sides."""
    x, y, w, h = head(Face((0.4, 0.4, 0.2, 0.2), 0.9))
    assert 0.4 - y > y + h - 0.6 > 0
    assert 0.4 - x == pytest.approx(x + w - 0.6)


def test_the_head_of_a_turned_face_grows_where_its_hair_is() -> None:
    """A face that needs a quarter turn clockwise has its hair at the left as seen."""
    face = Face((0.4, 0.4, 0.2, 0.2), 0.9, turn=1)
    x, _, w, _ = head(face)
    assert 0.4 - x > x + w - 0.6 > 0
    assert body(face)[0] + body(face)[2] > 0.9


@given(quarters, quarters, st.integers(0, 3))
def test_heads_stay_inside_the_picture(x: float, y: float, turn: int) -> None:
    """Faces at the edge lose their room, not their place."""
    box = head(Face((x * 0.9, y * 0.9, 0.1, 0.1), 0.9, turn))
    assert min(box[:2]) >= 0
    assert box[0] + box[2] <= 1 + 1e-9
    assert box[1] + box[3] <= 1 + 1e-9


def test_people_side_by_side_are_one_group() -> None:
    """Three heads near each other in a wide picture share one keep box that holds every head."""
    faces = [Face((x, 0.4, 0.05, 0.1), 0.9) for x in (0.3, 0.38, 0.46)]
    (group,) = keep_groups(faces, (1500, 1000))
    for face in faces:
        x, y, w, h = head(face)
        assert group[0] <= x + 1e-9
        assert group[1] <= y + 1e-9
        assert group[0] + group[2] >= x + w - 1e-9
        assert group[1] + group[3] >= y + h - 1e-9


@pytest.mark.parametrize(
    "other",
    [
        pytest.param((0.8, 0.4, 0.05, 0.1), id="far"),
        pytest.param((0.37, 0.45, 0.015, 0.03), id="much smaller"),
    ],
)
def test_others_stay_apart(other: tuple[float, float, float, float]) -> None:
    """Someone far off, or far behind, is no part of the group; the larger comes first."""
    first = Face((0.3, 0.4, 0.05, 0.1), 0.9)
    assert keep_groups([Face(other, 0.9), first], (1500, 1000))[0] == head(first)
    assert len(keep_groups([Face(other, 0.9), first], (1500, 1000))) == 2


def test_a_row_too_long_for_a_square_is_several_groups() -> None:
    """A choir across a panorama is not one box that no crop could hold."""
    faces = [Face((n / 12, 0.4, 0.06, 0.2), 0.9) for n in range(12)]
    groups = keep_groups(faces, (2400, 800))
    assert len(groups) > 1
    assert all(w * 2400 <= 800 + 1e-6 for _, _, w, _ in groups)


def test_unsure_faces_are_not_kept() -> None:
    """A face below the score is no keep box."""
    assert keep_groups([Face((0.3, 0.4, 0.05, 0.1), 0.65)], (1500, 1000)) == ()


def test_a_face_lies_in_the_middle_of_the_place_about_it() -> None:
    """As large as its head: a face of 0.1 × 0.2 takes 0.15 × 0.32, the same all round; also upside down."""
    for turn in (0, 2):
        x, y, w, h = about(Face((0.4, 0.4, 0.1, 0.2), 0.9, turn))
        assert (w, h) == (pytest.approx(0.15), pytest.approx(0.32))
        assert (x + w / 2, y + h / 2) == (pytest.approx(0.45), pytest.approx(0.5))
