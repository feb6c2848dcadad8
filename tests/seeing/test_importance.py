"""The importance map: whole numbers, and what goes first when something has to."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from fitter.crops import Importance, PixelBox
from fitter.formulate.keeps import Pane, choose_window
from fitter.layout import GivenPhoto
from fitter.seeing.heads import Face
from fitter.seeing.importance import TOTAL, IntMap, coarse, importance_map, scene_map, whole
from tests.seeing.drawn import speckled

EVEN = whole(np.ones((64, 64)))


def kept_share(importance: IntMap, pixels: tuple[int, int], window: PixelBox) -> float:
    """Return the share of a map inside a window."""
    return float(Importance(tuple(map(tuple, importance.tolist()))).share(pixels, window))


def best_window(importance: IntMap, pixels: tuple[int, int], slot: tuple[int, int]) -> PixelBox:
    """Return the window pages would take."""
    found = choose_window(GivenPhoto("", "", pixels, importance=tuple(map(tuple, importance.tolist()))), (), Pane(slot))
    assert found is not None
    return found[0]


@given(st.lists(st.floats(0, 1e6), min_size=1, max_size=30), st.integers(1, 1000))
def test_whole_numbers_sum_to_the_total_and_are_off_by_less_than_one(values: list[float], total: int) -> None:
    """Largest remainders: nobody gets a whole unit more or less than the exact share."""
    made = whole(np.array(values), total)
    assert int(made.sum()) == total
    if sum(values) > 0:
        exact = np.array(values) / sum(values) * total
        assert (np.abs(made - exact) < 1 + 1e-6).all()


def test_sky_and_floor_go_first() -> None:
    """A wide crop of a tall picture leaves out the plain sky and the plain floor, not the houses between."""
    picture = np.full((120, 80, 3), (150, 180, 230), np.uint8)
    picture[80:] = (120, 110, 100)
    picture[58:80] = speckled((22, 80))
    scene = _scene(picture)
    _, top, _, bottom = best_window(scene, (80, 120), (2, 1))
    assert top <= 58
    assert bottom >= 80


def test_room_below_a_face_outranks_room_above_hair() -> None:
    """A crop that must lose something keeps shoulders rather than the air over the head."""
    face = Face((0.42, 0.45, 0.16, 0.12), 0.9)
    importance = importance_map(EVEN, [face])
    above, below = (kept_share(importance, (100, 100), (0, a, 100, b)) for a, b in ((20, 38), (60, 78)))
    assert below > above
    window = best_window(importance, (100, 100), (100, 50))
    assert 45 - window[1] < window[3] - 57


@pytest.mark.parametrize(("turn", "side"), [(1, "left"), (2, "above"), (3, "right")])
def test_below_means_below_the_chin_also_in_a_turned_picture(turn: int, side: str) -> None:
    """Turned clockwise by one quarter to stand upright, the shoulders lie to the right of the face as seen."""
    importance = importance_map(EVEN, [Face((0.44, 0.44, 0.12, 0.12), 0.9, turn)])
    halves = {
        "left": kept_share(importance, (64, 64), (0, 0, 32, 64)),
        "right": kept_share(importance, (64, 64), (32, 0, 64, 64)),
        "above": kept_share(importance, (64, 64), (0, 0, 64, 32)),
        "below": kept_share(importance, (64, 64), (0, 32, 64, 64)),
    }
    towards = {1: "right", 2: "above", 3: "left"}[turn]
    assert max(halves, key=lambda name: halves[name]) == towards
    assert side in halves


def test_a_marked_region_outranks_everything_found() -> None:
    """What someone marked decides against a sure face on the other side."""
    importance = importance_map(EVEN, [Face((0.05, 0.4, 0.2, 0.2), 0.95)], [(0.7, 0.3, 0.25, 0.4)])
    assert kept_share(importance, (100, 100), (60, 0, 100, 100)) > kept_share(importance, (100, 100), (0, 0, 40, 100))


def test_an_unsure_face_counts_less() -> None:
    """The surer the detector, the more of the map a face takes."""
    box = (0.05, 0.4, 0.2, 0.2)
    sure, unsure = (
        kept_share(importance_map(EVEN, [Face(box, score)]), (100, 100), (0, 0, 40, 100)) for score in (0.9, 0.65)
    )
    assert sure > unsure > kept_share(EVEN, (100, 100), (0, 0, 40, 100))


def test_a_layout_carries_the_map_as_a_small_grid() -> None:
    """At most 24 cells a side, ten thousand in all, half of it even, within one unit a cell of the exact share."""
    fine = whole(np.arange(1.0, 96 * 128 + 1).reshape(96, 128) ** 2)
    grid = np.array(coarse(fine))
    assert grid.shape == (18, 24)
    assert int(grid.sum()) == 10_000
    left = (kept_share(fine, (240, 180), (0, 0, 120, 180)) + 0.5) / 2
    assert kept_share(grid, (240, 180), (0, 0, 120, 180)) == pytest.approx(left, abs=18 * 12 / 10_000)
    assert np.array(coarse(whole(np.ones((2, 128))))).shape == (1, 24)


def test_the_even_half_leaves_the_best_window_where_it_was() -> None:
    """A constant added everywhere moves no window of a given size."""
    picture = np.full((96, 128, 3), (150, 180, 230), np.uint8)
    picture[20:50, 70:120] = speckled((30, 50))
    scene = _scene(picture)
    for slot in ((1, 1), (2, 1), (1, 2)):
        fine = best_window(scene, (128, 96), slot)
        carried = best_window(np.array(coarse(scene)), (128, 96), slot)
        assert max(abs(a - b) for a, b in zip(fine, carried, strict=True)) <= 6


@pytest.mark.parametrize("shape", [(1, 1), (1, 128), (128, 3), (37, 128)])
def test_pictures_of_any_shape_have_a_map(shape: tuple[int, int]) -> None:
    """Also plain ones and single rows; the sum is always the same."""
    for picture in (np.zeros((*shape, 3), np.uint8), speckled(shape)):
        scene = _scene(picture)
        assert scene.shape == shape
        assert int(scene.sum()) == TOTAL
        assert int(scene.min()) >= 0


def _scene(picture: np.ndarray) -> np.ndarray:
    image = Image.fromarray(picture)
    return scene_map(np.asarray(image.convert("L"), float), np.asarray(image.convert("YCbCr")))
