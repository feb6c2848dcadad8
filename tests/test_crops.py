"""Crop windows and what they keep, against sums over the cells and brute force over every place."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.check.costs_photos import importance_in
from fitter.crops import Importance, best_starts, free_axis, importance_of, seen_part, start_limits, window_size
from fitter.layout import Grid

grids = (
    st.tuples(st.integers(1, 6), st.integers(1, 6))
    .flatmap(
        lambda shape: st.lists(
            st.lists(st.sampled_from([0, 0, 1, 3, 9]), min_size=shape[1], max_size=shape[1]).map(tuple),
            min_size=shape[0],
            max_size=shape[0],
        ).map(tuple)
    )
    .filter(lambda grid: any(map(any, grid)))
)
sides = st.integers(1, 40)
insets = st.tuples(*[st.sampled_from([0, 0, 1, 2])] * 4)


@given(grids, sides, sides, st.data())
def test_the_table_is_the_sum_over_the_cells(grid: Grid, width: int, height: int, data: st.DataObject) -> None:
    """Two implementations: steps 2 and 4 look a window up in a table, step 5 adds overlaps of cells."""
    x = sorted(data.draw(st.tuples(st.integers(0, width), st.integers(0, width))))
    y = sorted(data.draw(st.tuples(st.integers(0, height), st.integers(0, height))))
    box = (x[0], y[0], x[1], y[1])
    assert Importance(grid).share((width, height), box) == importance_in(grid, (width, height), box)


@given(grids, sides, sides, st.tuples(st.integers(5, 20), st.integers(5, 20)), insets, st.data())
def test_the_first_start_is_the_best_of_all(
    grid: Grid,
    width: int,
    height: int,
    slot: tuple[int, int],
    beyond: tuple[int, int, int, int],
    data: st.DataObject,
) -> None:
    """Brute force over every start in range: the most importance inside the trim, then nearest the middle."""
    pixels = (width, height)
    size = window_size(pixels, slot)
    axis = free_axis(pixels, size)
    slack = pixels[axis] - size[axis]
    low, high = sorted(data.draw(st.tuples(st.integers(0, slack), st.integers(0, slack))))
    middle = data.draw(st.integers(0, 2 * pixels[axis]))

    def kept(start: int) -> Fraction:
        left, top = (start, 0) if axis == 0 else (0, start)
        (x0, y0, x1, y1) = (left, top, left + size[0], top + size[1])
        (w, h), (x, y, right, bottom) = slot, beyond
        box = (x0 + Fraction((x1 - x0) * x, w), y0 + Fraction((y1 - y0) * y, h))
        far = (x1 - Fraction((x1 - x0) * right, w), y1 - Fraction((y1 - y0) * bottom, h))
        return importance_in(grid, pixels, (*box, *far))

    found = best_starts(importance_of(grid), pixels, size, slot, beyond, (low, high), middle)[0]
    best = max(range(low, high + 1), key=lambda s: (kept(s), -abs(2 * s + size[axis] - middle), -s))
    assert found == best


def test_even_importance_takes_the_middle() -> None:
    """What is known of nothing is cropped as before: around the middle, at the price of the area."""
    for grid in ((), ((7,),), ((2, 2), (2, 2), (2, 2))):
        assert best_starts(importance_of(grid), (3000, 2000), (2000, 2000), (1, 1), (0,) * 4, (0, 1000), 3000)[0] == 500
        assert importance_of(grid).share((3000, 2000), (500, 0, 2500, 2000)) == Fraction(2, 3)


@given(sides, sides, st.tuples(sides, sides), insets)
def test_the_part_inside_the_trim_is_whole_units(
    width: int, height: int, slot: tuple[int, int], beyond: tuple[int, int, int, int]
) -> None:
    """The share of the area is that of crop times slot inside the trim."""
    w, h = slot[0] + 10, slot[1] + 10
    extent, (x0, y0, x1, y1) = seen_part((width, height), (0, 0, width, height), (w, h), beyond)
    inside = Fraction((w - beyond[0] - beyond[2]) * (h - beyond[1] - beyond[3]), w * h)
    assert Fraction((x1 - x0) * (y1 - y0), extent[0] * extent[1]) == inside


@settings(max_examples=200)
@given(sides, sides, st.integers(1, 40), st.integers(1, 40), st.data())
def test_start_limits_are_those_of_brute_force(
    width: int, height: int, wide: int, high: int, data: st.DataObject
) -> None:
    """Every start inside the limits shows the box whole, none outside does."""
    pixels, size = (width, height), (min(wide, width), min(high, height))
    x = sorted(data.draw(st.tuples(st.integers(0, width), st.integers(0, width))))
    y = sorted(data.draw(st.tuples(st.integers(0, height), st.integers(0, height))))
    box = (x[0] / width, y[0] / height, (x[1] - x[0]) / width, (y[1] - y[0]) / height)
    found = start_limits((box,), pixels, size, (0.0, 0.0, 1.0, 1.0), (1e-6, 1e-6))
    wanted = []
    for (low, far), side, length in ((x, width, size[0]), (y, height, size[1])):
        fits = [s for s in range(side - length + 1) if s <= low and far <= s + length]
        wanted.append((fits[0], fits[-1]) if fits else None)
    assert found == (None if None in wanted else tuple(wanted))


@pytest.mark.parametrize("box", [(0, 0, 7, 5), (1, 2, 6, 3), (3, 0, 4, 5), (2, 2, 2, 4)])
def test_an_even_picture_counts_by_area(box: tuple[int, int, int, int]) -> None:
    """One cell or many of one importance: the share is that of the area."""
    area = Fraction((box[2] - box[0]) * (box[3] - box[1]), 35)
    assert Importance(((4,),)).share((7, 5), box) == area
    assert Importance(((3, 3, 3), (3, 3, 3))).share((7, 5), box) == area
