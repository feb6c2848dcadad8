"""Every page of a tiny template, priced by formulas restated from DEVELOPERS.md, section Costs.

Written without the code that formulates, places or solves; it shares only the types of a template and a photo.
It knows upright rectangles that stand apart or partly overlap, some of them on mats (but nothing carried), and one text
that stands whole on one of them (:mod:`tests.proofs.lettering`).  Sizes, places and divisions are the published
lattice, written out again (:mod:`tests.proofs.sizing`).  Costs that couple slots (hole, balance, emphasis, alignments,
gaps) are taken over whole pages; the two axes of places are searched apart, which is exact when every pair of slots is
kept apart on one axis only, or has a depth on each (:func:`optimum` insists on that).
"""

from __future__ import annotations

import math
from fractions import Fraction
from itertools import combinations, product, zip_longest

import numpy as np

from fitter.pages import Page
from fitter.template import Element, Template
from tests.proofs.filling import fillings_of, wished
from tests.proofs.published import DRIFT, FAR, INCH, PLACE, rate
from tests.proofs.sizing import scalings
from tests.proofs.spots import Array, Filling, Scaling, Spot, Wishes, area_of, half_up
from tests.proofs.standing import Places, lies_within


def optimum(template: Template, page: Page, wishes: Wishes) -> int | None:
    """Return the least total cost of any page, or ``None`` if there is none."""
    best = FAR
    for rotate in (0, 90, 180, 270):
        for mirror in (False, True):
            if (rotate and not wishes.may("rotate-page")) or (mirror and not wishes.may("mirror-page")):
                continue
            mats = {e.on: e for e in template.elements if e.tie == "mat"}
            slots = [e for e in template.elements if e.tie != "mat"]
            spots = [_turned(e, mats.get(e.id, e), template.size, rotate, mirror) for e in slots]
            base = rate("rotate-page") * wishes.factor("rotate-page") if rotate else 0
            base += rate("mirror-page") * wishes.factor("mirror-page") if mirror else 0
            start = wishes.asked.start
            if start is not None and (start.rotate, start.mirror) != (rotate, mirror):
                if wishes.asked.stay:
                    continue
                base += rate("departure", 2) * wishes.factor("departure")
            best = min(best, base + _best_of(spots, page, wishes, best - base))
    return None if best >= FAR else int(best)


_NEXT = {"top": "right", "right": "bottom", "bottom": "left", "left": "top"}


def _turned(element: Element, mat: Element, size: tuple[int, int], rotate: int, mirror: bool) -> Spot:
    assert element.shape == "rect" and not element.tilt and element.tie in (None, "lapped")
    assert element.role in ("photo", "paper", "journaling")
    assert element.role != "journaling" or rotate in (0, 180), "cards that stay upright on a turned page are not known"
    (x, y), (w, h), (pw, ph) = element.center, element.size, size
    strip = element.role == "paper" and max(w, h) >= 4 * min(w, h)
    bleeds = list(element.bleeds)
    border = [abs(a - b) for a, b in zip(element.box, mat.box, strict=True)]
    assert mat.shape == "rect" and not mat.tilt and not ((bleeds or strip) and any(border))
    if mirror:
        x = pw - x
        border = [border[k] for k in (2, 1, 0, 3)]
        swap = {"left": "right", "right": "left"}
        bleeds = [swap.get(s, s) for s in bleeds]
    for _ in range(rotate // 90):
        assert pw == ph or rotate == 180, "the enumeration turns square pages only"
        x, y, w, h, pw, ph = ph - y, x, h, w, ph, pw
        bleeds = [_NEXT[s] for s in bleeds]
        border = [border[k] for k in (3, 0, 1, 2)]
    limits = element.limits
    return Spot(
        element.id,
        element.role,
        (x, y),
        (w, h),
        tuple(bleeds),
        strip,
        limits.smallest_side,
        limits.may_be,
        limits.fixed,
        element.cluster,
        (border[0], border[1], border[2], border[3]),
    )


def _best_of(spots: list[Spot], page: Page, wishes: Wishes, bar: float) -> float:
    pairs: dict[tuple[int, int], int | None] = {}
    for (i, a), (j, b) in combinations(enumerate(spots), 2):
        apart = [axis for axis in (0, 1) if max(b.low(axis) - a.high(axis), a.low(axis) - b.high(axis)) > -3]
        if not apart:
            assert not any(a.border + b.border) and not lies_within(a, b) and not lies_within(b, a)
            assert not wishes.may("swap-role") and not wishes.may("add-slot"), "photos under others are not known"
            pairs[i, j] = None
            continue
        assert len(apart) == 1, "each pair must be apart on exactly one axis"
        first, second = sorted((a, b), key=lambda s: s.low(apart[0]))
        gap = second.low(apart[0]) - first.high(apart[0])
        assert gap - first.border[apart[0] + 2] - second.border[apart[0]] > -3, "mats lie under nothing else"
        pairs[i, j] = apart[0]
    best = bar
    files = {*(file for file, _ in wishes.asked.pins), *wishes.asked.bigger, *wishes.asked.smaller}
    named = {n for n, photo in enumerate(wishes.photos) if photo.file in files}
    still = not wishes.may("shift")
    for scaling in [None, *scalings(spots, wishes)]:
        options = [list(wished(spot, wishes, fillings_of(spot, page, wishes, spots, scaling))) for spot in spots]
        for still_first in [True] if still else [True, False]:
            places = Places(spots, page, wishes, pairs, scaling, 0 if still_first else _reach(best, wishes))
            for chosen in product(*options):
                used = [p for filling in chosen for p in filling.photos]
                missing = len(wishes.photos) - len(used)
                if sum(filling.role == "journaling" for filling in chosen) != (wishes.text is not None):
                    continue
                if len(set(used)) < len(used) or missing > wishes.leave_out or not named <= set(used):
                    continue
                best = min(best, _cheapest(spots, chosen, page, wishes, places, missing, scaling))
    return best


def _reach(best: float, wishes: Wishes) -> int:
    """How many steps a slot can move before that alone costs more than the best page."""
    step = rate("shift") * PLACE / INCH * wishes.factor("shift")
    return 120 if best >= FAR or not step else min(120, math.ceil(best / step) + DRIFT)


def _cheapest(
    spots: list[Spot],
    chosen: tuple[Filling, ...],
    page: Page,
    wishes: Wishes,
    places: Places,
    missing: int,
    scaling: Scaling | None,
) -> float:
    """Return the least cost of a page whose slots hold what was chosen, over all their sizes."""
    count = len(spots)

    def along(values: Array, dim: int) -> Array:
        return values.reshape([-1 if d == dim else 1 for d in range(count)])

    total: Array = np.zeros([1] * count)
    for dim, filling in enumerate(chosen):
        total = total + along(filling.cost, dim)
    bare: Array = np.zeros([1] * count)
    for dim, (spot, filling) in enumerate(zip(spots, chosen, strict=True)):
        if spot.role in ("photo", "paper", "journaling"):
            bare = bare + spot.size[0] * spot.size[1] - along(filling.width * filling.height, dim)
    left, top, right, bottom = page.safe
    hole = half_up(rate("hole") * np.maximum(bare, 0) / ((right - left) * (bottom - top)))
    total = total + hole * wishes.factor("hole")
    at = {p: (dim, filling.areas[k]) for dim, filling in enumerate(chosen) for k, p in enumerate(filling.photos)}
    for p, q in product(at, repeat=2):
        if wishes.photos[p].weight > wishes.photos[q].weight:
            smaller = along(at[p][1], at[p][0]) < along(at[q][1], at[q][0])
            total = total + rate("emphasis") * wishes.factor("emphasis") * smaller
    loose = [s for s in spots if not s.bleeds]
    aside = [Fraction(min(s.low(a) for s in loose) + max(s.high(a) for s in loose) - page.trim[a], 2) for a in (0, 1)]
    seats = [[s.center[a] - (0 if s.bleeds else aside[a]) for a in (0, 1)] for s in spots]
    keys = [(6 * y // page.trim[1], x, s.name) for s, (x, y) in zip(spots, seats, strict=True)]
    fixed_order = not wishes.may("assign")
    for p, q in product(at, repeat=2):
        if wishes.photos[p].order < wishes.photos[q].order and at[p][0] != at[q][0] and keys[at[p][0]] > keys[at[q][0]]:
            if fixed_order:
                return FAR
            total = total + rate("order") * wishes.factor("order")
    total = total + rate("left-out") * wishes.factor("left-out") * missing
    total = total + (scaling.charge * wishes.factor("resize") if scaling is not None else 0)
    for axis in (0, 1):
        unique, index = [], []
        for filling in chosen:
            lengths = filling.width if axis == 0 else filling.height
            values, inverse = np.unique(lengths, return_inverse=True)
            unique.append([None if filling.role is None else int(v) for v in values])
            index.append(inverse)
        found = [places.ways(axis, sizes) for sizes in product(*unique)]
        tipped: Array = np.zeros([1] * count)
        for dim, (spot, filling) in enumerate(zip(spots, chosen, strict=True)):
            aside = 2 * spot.center[axis] - page.trim[axis]
            tipped = tipped + along(filling.width * filling.height, dim) * aside
        drawn = abs(sum((2 * s.center[axis] - page.trim[axis]) * s.size[0] * s.size[1] for s in spots))
        least: Array = np.full(total.shape, float(FAR))
        for way in zip_longest(*found, fillvalue=(float(FAR), 0.0)):
            shape = [len(u) for u in unique]
            cost, moment = (np.array([w[k] for w in way]).reshape(shape)[np.ix_(*index)] for k in (0, 1))
            beyond = np.maximum(abs(tipped + moment) - drawn, 0)
            balance = half_up(rate("balance") * beyond / (2 * area_of(spots) * page.trim[axis]))
            least = np.minimum(least, cost + balance * wishes.factor("balance"))
        total = total + least
    return float(total.min())
