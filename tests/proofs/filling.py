"""Everything a slot may hold in every size, with what that costs by itself."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import combinations, product

import numpy as np

from fitter.layout import GivenPhoto
from fitter.layout import Wishes as Asked
from fitter.pages import Page
from tests.proofs.lettering import words_cost
from tests.proofs.published import FAR, INCH, SIZE, SPLIT_GAP, rate
from tests.proofs.showing import photo_cost
from tests.proofs.sizing import sizes_of
from tests.proofs.spots import Filling, Scaling, Spot, Wishes, half_up

MOST_DIVIDED = 60
"""Sizes offered to a divided slot: those nearest its own or its copies'."""


def fillings_of(
    spot: Spot, page: Page, wishes: Wishes, spots: list[Spot], scaling: Scaling | None
) -> Iterator[Filling]:
    """Everything a slot may hold."""
    none = np.zeros(1)
    if wishes.may("drop") and not spot.fixed:
        dropped = rate("drop") * wishes.factor("drop") + _empty(spot, page, wishes)
        yield Filling(None, (), none, none, np.full(1, float(dropped)), ())
    for role in ("paper",) if spot.strip else ("photo", "paper", "journaling"):
        swap = rate("swap-role") * wishes.factor("swap-role") if role != spot.role else 0
        if role != spot.role and (not wishes.may("swap-role") or spot.fixed):
            continue
        if role != spot.role and spot.may_be is not None and role not in spot.may_be:
            continue
        if role == "journaling" and (wishes.text is None or spot.bleeds):
            continue
        sizes = sizes_of(spot, page, wishes, spots, role)
        if role != "photo":
            yield from _filling(spot, page, wishes, role, (), None, sizes, swap + _empty(spot, page, wishes), scaling)
            continue
        for number in range(len(wishes.photos)):
            yield from _filling(spot, page, wishes, role, (number,), None, sizes, swap, scaling)
        if wishes.may("add-slot") and not spot.fixed:
            for count in range(2, _most_pieces(spots, wishes) + 1):
                shapes = [(count, 1), (1, count)] + ([(2, 2)] if count == 4 else [])
                for chosen, shape in product(_companies(spots, wishes, count), shapes):
                    offered = [*sizes, *_beside(spot, page, shape)]
                    yield from _filling(spot, page, wishes, role, chosen, shape, offered, swap, scaling)


def _empty(spot: Spot, page: Page, wishes: Wishes) -> float:
    """What a photo slot pays without a photo."""
    if spot.role != "photo":
        return 0
    left, top, right, bottom = page.safe
    area = spot.size[0] * spot.size[1]
    return half_up(rate("empty-slot") * area / ((right - left) * (bottom - top))) * wishes.factor("empty-slot")


def wished(spot: Spot, wishes: Wishes, offered: Iterable[Filling]) -> Iterator[Filling]:
    """R9 and departure; of slots that are not divided."""
    asked = wishes.asked
    homes = {next(n for n, p in enumerate(wishes.photos) if p.file == file): slot for file, slot in asked.pins}
    before = None if asked.start is None else next(b for b in asked.start.slots if b.slot == spot.name)
    for filling in offered:
        if any(homes.get(p, spot.name) != spot.name for p in filling.photos):
            continue
        if spot.name in asked.avoid and filling.photos:
            continue
        good, cost = np.ones(len(filling.cost), dtype=bool), filling.cost
        for p, area in zip(filling.photos, filling.areas, strict=True):
            given = wishes.photos[p]
            if given.file in asked.bigger:
                good &= 10 * area >= 11 * _area_before(asked, given.sha256)
            if given.file in asked.smaller:
                good &= 10 * area <= 9 * _area_before(asked, given.sha256)
        if before is not None:
            hashes = [wishes.photos[p].sha256 for p in filling.photos]
            same = filling.role == before.role and hashes == [photo.sha256 for photo in before.photos]
            other_size = (filling.width != before.size[0]) | (filling.height != before.size[1])
            other_size &= filling.role is not None
            if spot.name in asked.stay:
                good &= same & ~other_size
            charge = rate("departure", 1) * other_size if same else np.full(len(cost), rate("departure"))
            cost = cost + charge * wishes.factor("departure")
        if good.any():
            areas = tuple(each[good] for each in filling.areas)
            width, height = filling.width[good], filling.height[good]
            yield replace(filling, width=width, height=height, cost=cost[good], areas=areas)


def _area_before(asked: Asked, sha256: str) -> int:
    assert asked.start is not None
    return next(p.size[0] * p.size[1] for b in asked.start.slots for p in b.photos if p.sha256 == sha256)


def _beside(spot: Spot, page: Page, shape: tuple[int, int]) -> list[tuple[int, int]]:
    """The slot repeated beside itself, 1/8 in apart, to whole steps of 1,270 µm, where the safe box has room."""
    w, h = (
        side + SIZE * math.floor((count - 1) * (side + SPLIT_GAP) / SIZE + 0.5)
        for side, count in zip(spot.size, shape, strict=True)
    )
    left, top, right, bottom = page.safe
    return [(w, h)] if not spot.bleeds and w <= right - left and h <= bottom - top else []


def _most_pieces(spots: list[Spot], wishes: Wishes) -> int:
    slots = sum(s.role == "photo" for s in spots)
    count = len(wishes.photos)
    return min(4, count, 2 + max(0, math.ceil((count - 2 * slots) / max(1, slots))))


def _companies(spots: list[Spot], wishes: Wishes, count: int) -> list[tuple[int, ...]]:
    """Which photos may share a slot: none while there is one for each, any two of few, else neighbours."""
    given, slots = len(wishes.photos), sum(s.role == "photo" for s in spots)
    if given <= slots:
        return []
    if count == 2 and given <= 5:
        return list(combinations(range(given), 2))
    order = sorted(range(given), key=lambda n: wishes.photos[n].order)
    return [tuple(order[k : k + count]) for k in range(given - count + 1)]


def _filling(
    spot: Spot,
    page: Page,
    wishes: Wishes,
    role: str,
    chosen: tuple[int, ...],
    shape: tuple[int, int] | None,
    sizes: list[tuple[int, int]],
    swap: float,
    scaling: Scaling | None,
) -> Iterator[Filling]:
    scaled = scaling is not None and spot.name in scaling.sizes
    if scaled and shape is not None:
        return
    target = scaling.sizes[spot.name] if scaling is not None and scaled else spot.size
    kept: list[tuple[int, int, float, list[int]]] = []
    if shape is not None:
        both = zip(shape, spot.size, strict=True)
        copies: tuple[int, ...] = tuple(n * side + (n - 1) * SPLIT_GAP for n, side in both)
        sizes = sorted(sizes, key=lambda s: min(_resize(s, spot.size), _resize(s, copies)))[:MOST_DIVIDED]
    for w, h in sizes:
        resize = _resize((w, h), target)
        turn, resize_own = 0.0, _resize((w, h), spot.size)
        if chosen and shape is None and wishes.may("rotate-slot") and not spot.bleeds and not spot.fixed:
            turned = _resize((w, h), spot.size[::-1])
            charge = rate("rotate-slot") * wishes.factor("rotate-slot")
            if turned * wishes.factor("resize") + charge < resize_own * wishes.factor("resize"):
                if scaled:
                    continue
                resize, turn = turned, rate("rotate-slot")
        if shape is not None:
            resize = min(resize, _resize((w, h), copies))
        pieces = [(0, 0, w, h)] if shape is None else _pieces((w, h), shape, [wishes.photos[p] for p in chosen])
        cost = swap + resize * wishes.factor("resize") + turn * wishes.factor("rotate-slot")
        cost += rate("add-slot") * (len(chosen) - 1) * wishes.factor("add-slot") if shape is not None else 0
        least = max(INCH, spot.smallest)
        if shape is not None and min(min(p[2:]) for p in pieces) < least:
            continue
        for number, piece in zip(chosen, pieces, strict=False):
            price = photo_cost(wishes.photos[number], (w, h), piece, spot, page, wishes, split=shape is not None)
            cost += FAR if price is None else price
        if role == "journaling":
            price = words_cost(wishes, (w, h))
            cost += FAR if price is None else price
        if cost < FAR:
            kept.append((w, h, cost, [p[2] * p[3] for p in pieces] if chosen else []))
    if kept:
        width, height, price = (np.array([k[i] for k in kept], dtype=np.float64) for i in range(3))
        areas = tuple(np.array([k[3][i] for k in kept], dtype=np.float64) for i in range(len(chosen)))
        yield Filling(role, chosen, width, height, price, areas)


def _resize(size: tuple[int, int], target: tuple[int, ...]) -> int:
    share = sum(Fraction(abs(a - b), b) for a, b in zip(size, target, strict=True))
    return math.floor(rate("resize") * share + Fraction(1, 2))


def _pieces(size: tuple[int, int], shape: tuple[int, int], given: list[GivenPhoto]) -> list[tuple[int, int, int, int]]:
    """Pieces of a divided slot: in a row widths by aspect, in a column heights by its inverse, in a grid equal."""
    n, m = shape
    if n > 1 and m > 1:
        across, down = [Fraction(1)] * n, [Fraction(1)] * m
    elif n > 1:
        across, down = [Fraction(*p.pixels) for p in given], [Fraction(1)]
    else:
        across, down = [Fraction(1)], [Fraction(p.pixels[1], p.pixels[0]) for p in given]
    lengths = []
    for total, shares in zip(size, (across, down), strict=True):
        room = total - (len(shares) - 1) * SPLIT_GAP
        lengths.append([max(2, 2 * math.floor(room * s / sum(shares) / 2)) for s in shares])
    return [(0, 0, w, h) for h in lengths[1] for w in lengths[0]]
