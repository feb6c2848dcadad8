"""Photos in sheets that others lie on: what is covered counts as lost, and the page that is proved is the cheapest.

The enumeration here shares no code with steps 2 to 5; nothing moves or changes its size on these pages.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from fractions import Fraction
from itertools import product

import numpy as np
import pytest
from numpy.typing import NDArray

from fitter.layout import Layout
from fitter.photos import Photo
from fitter.template import Element, Limits, Template
from tests.proofs.fitting import best, fit, only, photo, photos, slot, template
from tests.proofs.published import rate

MARGIN = 6350
PAGE = 8 * 25_400
Box = tuple[int, int, int, int]
Array = NDArray[np.float64]


def layered(lap: float, *, across: float = 5.0, deep: float = 2.0, **note: object) -> Template:
    """Return a photo slot over a sheet of paper on whose right end lies a note."""
    return template(
        (8, 8),
        slot("a", 0.5, 0.5, 7, 3.5),
        slot("sheet", 0.5, 4.25, across, 3.25, "paper"),
        slot("note", 0.5 + across - lap, 5, 1.75, deep, "paper", tie="lapped", on="sheet", **note),
    )


def in_sheet(layout: Layout) -> bool:
    """Whether the sheet holds a photo and the note lies on it."""
    return any(e.source == "sheet" and e.photo for e in layout.elements) and "note" not in layout.dropped


def test_a_photo_goes_under_a_note_when_that_is_cheapest() -> None:
    """A quarter inch of the note covers 2 × 1/4 of 5 × 3 1/4 square inches; the photo fits the sheet otherwise."""
    layout = best(layered(0.25), photos((2400, 1200), (2500, 1625)), allow=("assign", "swap-role", "drop"))
    assert in_sheet(layout)
    assert layout.costs.terms == {
        "crop-loss": round(10**6 * 2 * 0.25 / (5 * 3.25)),
        "swap-role": 40_000,
    }


def test_with_every_freedom_what_covers_it_keeps_its_place_against_it() -> None:
    """The share is that of the drawing, whatever else may move."""
    note = Limits(may_be=("paper",))
    sheet = layered(0.25, limits=note)
    layout = best(sheet, photos((2400, 1200), (2500, 1625), weight=1.0), effort=8.0, without=only("shift", "swap-role"))
    assert not layout.dropped
    assert any(e.source == "sheet" and e.photo for e in layout.elements)
    (under,) = (e for e in layout.elements if e.source == "sheet")
    (over,) = (e for e in layout.elements if e.source == "note")
    assert under.box[2] - over.box[0] == pytest.approx(0.25 * 25_400, abs=2)


def test_more_than_half_covered_is_never_offered() -> None:
    """R3: a note that must stay and covers 54 % of the sheet leaves the second photo without a place; 46 % do not."""
    big = layered(1.4, across=2.0, deep=2.5, limits=Limits(fixed=True))
    assert not fit(big, photos((2400, 1200), (2000, 3250)), allow=("assign", "swap-role")).layouts
    less = layered(1.2, across=2.0, deep=2.5, limits=Limits(fixed=True))
    assert in_sheet(best(less, photos((2400, 1200), (2000, 3250)), allow=("assign", "swap-role")))


def test_a_keep_box_stays_clear_of_what_covers_it() -> None:
    """R5: a marked region under the note keeps the photo out of the sheet; on the other side it does not."""
    for left, wanted in ((0.8, False), (0.05, True)):
        marked = [photo(0, 2400, 1200), photo(1, 2500, 1625, keep=((left, 0.4, 0.19, 0.2),))]
        layout = best(layered(0.5, limits=Limits(fixed=True)), marked, allow=("assign", "swap-role", "drop"))
        shown = next((e.source for e in layout.elements if e.photo and e.photo.pixels == marked[1].pixels), None)
        assert (shown == "sheet") is wanted


@pytest.mark.parametrize("seed", range(8))
def test_the_proved_page_costs_what_enumeration_says(seed: int) -> None:
    """Every role of every spot with every photo, priced by the published formulas."""
    rng = random.Random(f"under {seed}")
    made = layered(rng.choice([0.1, 0.25, 0.5, 0.9]), across=rng.choice([4.0, 5.0]), deep=rng.choice([1.5, 2.0, 2.5]))
    given = [photo(n, rng.randrange(2400, 4000, 2), rng.randrange(1600, 3000, 2)) for n in range(2)]
    layout = best(made, given, allow=("assign", "swap-role", "drop"))
    assert layout.costs.total == cheapest(made.elements, given)


@pytest.mark.parametrize("seed", range(6))
def test_with_importance_too(seed: int) -> None:
    """What the note hides is what the photo shows there; the best window is found by trying every one."""
    rng = random.Random(f"importance under {seed}")
    made = layered(rng.choice([0.25, 0.5, 0.9]), across=rng.choice([4.0, 5.0]), deep=rng.choice([1.5, 2.0, 2.5]))
    given = []
    for n in range(2):
        rows, columns = rng.randrange(2, 7), rng.randrange(2, 7)
        lump = rng.randrange(rows * columns)
        grid = tuple(tuple(1 + 20 * (r * columns + c == lump) for c in range(columns)) for r in range(rows))
        size = (rng.randrange(2400, 4000, 2), rng.randrange(1600, 3000, 2))
        given.append(photo(n, *size, importance=grid))
    layout = best(made, given, allow=("assign", "swap-role", "drop", "crop"))
    assert layout.costs.total == pytest.approx(cheapest(made.elements, given), abs=2)


def cheapest(spots: Sequence[Element], given: Sequence[Photo]) -> int:
    """Return the least cost of a page on which nothing moves."""
    choices = [None, "paper", *range(len(given))]
    found = []
    for chosen in product(choices, repeat=len(spots)):
        held = [c for c in chosen if isinstance(c, int)]
        if sorted(held) == list(range(len(given))):
            price = page_cost(spots, chosen, given)
            if price is not None:
                found.append(price)
    return min(found)


def page_cost(spots: Sequence[Element], chosen: Sequence[int | str | None], given: Sequence[Photo]) -> int | None:
    """Return what a page costs, or ``None`` if a photo lies more than half under others."""
    total = rate("drop") * sum(c is None for c in chosen)
    bare, side = 0, PAGE - 2 * MARGIN
    for n, (spot, content) in enumerate(zip(spots, chosen, strict=True)):
        role = "photo" if isinstance(content, int) else content
        if spot.role == "photo" != role:
            total += half_up(Fraction(rate("empty-slot") * spot.size[0] * spot.size[1], side * side))
        if role is None:
            bare += spot.size[0] * spot.size[1]
            continue
        total += rate("swap-role") * (role != spot.role)
        if not isinstance(content, int):
            continue
        over = [b for b, c in zip(spots[n + 1 :], chosen[n + 1 :], strict=True) if c is not None]
        covered = Fraction(sum(shared(spot.box, b.box) for b in over), spot.size[0] * spot.size[1])
        if covered > Fraction(1, 2):
            return None
        if given[content].importance:
            total += least_lost(given[content], spot.box, [b.box for b in over])
            continue
        kept = kept_share(given[content].pixels, spot.size)
        total += half_up(10**6 * (1 - kept)) + half_up(10**6 * kept * covered)
    total += half_up(Fraction(rate("hole") * bare, side * side))
    for axis in (0, 1):
        # Halves of micrometres, so that all is whole; nothing moves and no size changes: what is dropped tips the page.
        parts = [(2 * s.center[axis] - PAGE) * s.size[0] * s.size[1] for s in spots]
        now = sum(part for part, content in zip(parts, chosen, strict=True) if content is not None)
        area = sum(s.size[0] * s.size[1] for s in spots)
        total += half_up(Fraction(rate("balance") * max(0, abs(now) - abs(sum(parts))), 2 * area * PAGE))
    seats = {c: (6 * s.center[1] // PAGE, s.center[0]) for s, c in zip(spots, chosen, strict=True)}
    return total + rate("order") * (seats[0] > seats[1])


def least_lost(given: Photo, spot: Box, over: Sequence[Box]) -> int:
    """Return what the best window loses: the picture and the slot turned so that it moves along the width."""
    grid, (pw, ph) = np.array(given.importance, np.float64), given.pixels
    boxes = [spot, *over]
    if pw * (spot[3] - spot[1]) < ph * (spot[2] - spot[0]):
        grid, pw, ph = grid.T, ph, pw
        boxes = [(b[1], b[0], b[3], b[2]) for b in boxes]
    (left, top, right, low), over = boxes[0], boxes[1:]
    width = half_up(Fraction(ph * (right - left), low - top))
    starts = np.arange(pw - width + 1)

    def inside(x0: int, x1: int, y0: int, y1: int) -> Array:
        """Importance shown between places of the slot, for every start."""
        across = [starts + width * (min(max(x, left), right) - left) / (right - left) for x in (x0, x1)]
        down = [ph * (min(max(y, top), low) - top) / (low - top) for y in (y0, y1)]
        edges = np.arange(grid.shape[0] + 1) * ph / grid.shape[0]
        rows = np.clip(np.minimum(edges[1:], down[1]) - np.maximum(edges[:-1], down[0]), 0, None) / np.diff(edges)
        sums = np.concatenate([[0.0], np.cumsum(rows @ grid)]) / grid.sum()
        at = np.arange(len(sums)) * pw / grid.shape[1]
        return np.asarray(np.interp(across[1], at, sums) - np.interp(across[0], at, sums))

    kept = inside(left, right, top, low)
    hidden = sum((inside(b[0], b[2], b[1], b[3]) for b in over), np.zeros(len(starts)))
    return min(
        half_up(Fraction(10**6 * (1 - k))) + half_up(Fraction(10**6 * h)) for k, h in zip(kept, hidden, strict=True)
    )


def shared(a: Box, b: Box) -> int:
    """Return the area two boxes share."""
    across, down = (min(a[k + 2], b[k + 2]) - max(a[k], b[k]) for k in (0, 1))
    return max(0, across) * max(0, down)


def kept_share(pixels: tuple[int, int], size: tuple[int, int]) -> Fraction:
    """Return the share of a picture in the largest window of a slot's proportions, in whole pixels."""
    (pw, ph), (w, h) = pixels, size
    if pw * h >= ph * w:
        return Fraction(half_up(Fraction(ph * w, h)) * ph, pw * ph)
    return Fraction(half_up(Fraction(pw * h, w)) * pw, pw * ph)


def half_up(value: Fraction) -> int:
    """Round to the nearest, halves up."""
    return math.floor(value + Fraction(1, 2))
