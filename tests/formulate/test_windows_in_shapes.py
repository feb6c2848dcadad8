"""Crop windows in round, cut and covered slots against every window there is, judged by shapely."""

from __future__ import annotations

import random
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from shapely import affinity

from fitter.crops import window_size
from fitter.formulate.keeps import Cover, Pane, choose_window, kept_share
from fitter.layout import GivenPhoto

SIZE = (60_000, 50_000)
OUTLINES = {
    "hexagon": ((15, 0), (45, 0), (60, 25), (45, 50), (15, 50), (0, 25)),
    "triangle": ((30, 0), (60, 50), (0, 50)),
    "slanted": ((20, 0), (60, 0), (40, 50), (0, 50)),
    "notched": ((0, 0), (25, 0), (30, 18), (35, 0), (60, 0), (60, 50), (0, 50)),
}


def circle() -> shapely.Polygon:
    return affinity.scale(shapely.Point(0.5, 0.5).buffer(0.5, quad_segs=4_000), *SIZE, origin=(0, 0))


def pane_and_shape(name: str) -> tuple[Pane, shapely.Polygon]:
    if name == "round":
        return Pane(SIZE, round=True), circle()
    outline = tuple((1_000.0 * x, 1_000.0 * y) for x, y in OUTLINES[name])
    return Pane(SIZE, outline=outline), shapely.Polygon(outline)


def photo_of(chance: random.Random) -> GivenPhoto:
    """A small picture, so that all its windows can be tried, with one or two boxes to be kept."""
    pixels = chance.choice([(400, 200), (200, 330), (300, 200)])
    grid = tuple(tuple(chance.randrange(1, 40) for _ in range(6)) for _ in range(5))
    boxes = []
    for _ in range(chance.choice([1, 1, 2])):
        w, h = chance.uniform(0.05, 0.3), chance.uniform(0.05, 0.4)
        boxes.append((chance.uniform(0, 1 - w), chance.uniform(0, 1 - h), w, h))
    return GivenPhoto("photo.jpg", str(chance.random()), pixels, keep=tuple(boxes), importance=grid)


def every_window(
    photo: GivenPhoto, pane: Pane, allowed: Callable[[shapely.Polygon], bool]
) -> dict[tuple[int, int, int, int], float]:
    """Return the share kept by each window in which all boxes are allowed where they lie."""
    w, h = window_size(photo.pixels, pane.size)
    found = {}
    for left in range(photo.pixels[0] - w + 1):
        for top in range(photo.pixels[1] - h + 1):
            across, down = pane.size[0] / w, pane.size[1] / h
            shown = []
            for x, y, bw, bh in photo.keep:
                x0, y0 = (x * photo.pixels[0] - left) * across, (y * photo.pixels[1] - top) * down
                shown.append(
                    shapely.box(x0, y0, x0 + bw * photo.pixels[0] * across, y0 + bh * photo.pixels[1] * down)
                )
            if all(map(allowed, shown)):
                window = (left, top, left + w, top + h)
                found[window] = float(kept_share(photo, window, pane))
    return found


@pytest.mark.parametrize("name", ["round", *OUTLINES])
def test_the_best_window_within_a_shape_is_found_whenever_there_is_one(name: str) -> None:
    """As good as the best of all windows that show the boxes inside; none only where there is none."""
    pane, shape = pane_and_shape(name)
    inner, outer = shape.buffer(-5), shape.buffer(5)
    possible = 0
    for seed in range(150):
        photo = photo_of(random.Random(seed))
        surely = every_window(photo, pane, lambda box: bool(inner.covers(box)))
        found = choose_window(photo, photo.keep, pane)
        if found is None:
            assert not surely, f"seed {seed}"
            continue
        possible += 1
        window = found[0]
        assert window in every_window(photo, pane, lambda box: bool(outer.covers(box))), f"seed {seed}"
        assert float(kept_share(photo, window, pane)) >= max(surely.values(), default=0) - 1e-12, f"seed {seed}"
    assert 20 < possible < 150


def test_the_best_window_beside_covers_is_found() -> None:
    """Where some window shows every box clear of all covers, the best of those."""
    clear = 0
    for seed in range(60):
        chance = random.Random(seed)
        photo = photo_of(chance)
        sides = [np.sort([chance.uniform(0, side) for _ in range(2)]) for side in (*SIZE, *SIZE)]
        covers = tuple(
            Cover((sides[k][0], sides[k + 1][0], sides[k][1], sides[k + 1][1]), "block", k) for k in (0, 2)
        )
        pane = Pane(SIZE, covers=covers)
        beside = shapely.box(0, 0, *SIZE).difference(
            shapely.union_all([shapely.box(*cover.rect) for cover in covers]).buffer(1)
        )
        surely = every_window(photo, pane, lambda box, beside=beside: bool(beside.covers(box)))  # type: ignore[misc]
        if surely:
            clear += 1
            found = choose_window(photo, photo.keep, pane)
            assert found is not None and not found[1], f"seed {seed}"
            assert float(kept_share(photo, found[0], pane)) >= max(surely.values()) - 1e-12, f"seed {seed}"
    assert clear > 5
