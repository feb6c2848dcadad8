"""Crop windows against brute force."""

from __future__ import annotations

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.crops import PixelBox, window_size
from fitter.seeing.windows import IntMap, best_window, kept_share

maps = (
    st.integers(1, 6)
    .flatmap(
        lambda rows: st.integers(1, 6).flatmap(
            lambda columns: st.lists(
                st.lists(st.integers(0, 9), min_size=columns, max_size=columns), min_size=rows, max_size=rows
            )
        )
    )
    .filter(lambda cells: any(map(any, cells)))
)
sides = st.integers(1, 40)


def by_hand(importance: IntMap, pixels: tuple[int, int], window: PixelBox) -> Fraction:
    """The share kept, cell by cell with fractions: no table, no whole-number tricks."""
    rows, columns = importance.shape
    total = Fraction(0)
    for row in range(rows):
        for column in range(columns):
            part = Fraction(1)
            for at, count, side, low, high in (
                (column, columns, pixels[0], window[0], window[2]),
                (row, rows, pixels[1], window[1], window[3]),
            ):
                first, last = Fraction(at * side, count), Fraction((at + 1) * side, count)
                part *= max(Fraction(0), min(last, high) - max(first, low)) / (last - first)
            total += part * int(importance[row, column])
    return total / int(importance.sum())


@given(maps, sides, sides, st.data())
def test_kept_share_is_the_sum_over_the_cells(
    cells: list[list[int]], width: int, height: int, data: st.DataObject
) -> None:
    """Any window, also one that leaves the picture or is empty."""
    importance = np.array(cells)
    edges = st.integers(-3, max(width, height) + 3)
    window = data.draw(st.tuples(edges, edges, edges, edges))
    expected = by_hand(importance, (width, height), window) if window[0] < window[2] and window[1] < window[3] else 0
    assert kept_share(importance, (width, height), window) == expected


@given(maps, sides, sides, st.tuples(st.integers(1, 9), st.integers(1, 9)))
def test_best_window_is_the_best_of_all(cells: list[list[int]], width: int, height: int, slot: tuple[int, int]) -> None:
    """Every place is tried by brute force; among equals the one nearest the middle, then the first, wins."""
    importance, pixels = np.array(cells), (width, height)
    w, h = window_size(pixels, slot)
    places = [(x, y) for x in range(width - w + 1) for y in range(height - h + 1)]
    kept = {(x, y): by_hand(importance, pixels, (x, y, x + w, y + h)) for x, y in places}
    wanted = max(
        places,
        key=lambda p: (kept[p], -abs(2 * p[0] - (width - w)) - abs(2 * p[1] - (height - h)), -p[0], -p[1]),
    )
    found = best_window(importance, pixels, slot)
    assert found.box[:2] == wanted
    assert found.kept == kept[wanted]


@settings(max_examples=60)
@given(maps, st.lists(st.tuples(*[st.integers(0, 15)] * 4), min_size=1, max_size=3))
def test_keep_boxes_stay_inside_whenever_they_can(cells: list[list[int]], boxes: list[tuple[int, ...]]) -> None:
    """If any window holds all keep boxes, so does the best one."""
    pixels, slot = (32, 16), (16, 16)
    keep = [(x / 32, y / 32, min(w, 32 - x) / 32, min(h, 16) / 32) for x, y, w, h in boxes]
    holding = [s for s in range(17) if all(b[0] * 32 >= s and (b[0] + b[2]) * 32 <= s + 16 for b in keep)]
    found = best_window(np.array(cells), pixels, slot, keep)
    if holding:
        assert found.lost == ()
        assert found.box[0] in holding


def test_the_larger_face_wins_where_both_do_not_fit() -> None:
    """A window that can hold one of two boxes takes the larger, wherever the importance lies."""
    importance = np.zeros((1, 10), np.int64)
    importance[0, 0] = 1
    found = best_window(importance, (100, 50), (1, 1), [(0.0, 0.4, 0.1, 0.2), (0.7, 0.2, 0.3, 0.6)])
    assert found.lost == (0,)
    assert found.box[0] >= 50


def test_a_box_too_large_for_the_window_holds_the_window() -> None:
    """What cannot be kept whole is at least all that is seen."""
    importance = np.ones((1, 10), np.int64)
    importance[0, 0] = 50
    found = best_window(importance, (100, 20), (1, 1), [(0.4, 0.0, 0.4, 1.0)])
    assert 40 <= found.box[0] <= 60


@pytest.mark.parametrize("side", [9_000, 15_811])
def test_large_pictures_do_not_overflow(side: int) -> None:
    """250 million pixels times the map's total stay within 64 bits."""
    importance = np.full((128, 128), 600, np.int64)
    assert best_window(importance, (side, side), (2, 1)).kept == Fraction(window_size((side, side), (2, 1))[1], side)
