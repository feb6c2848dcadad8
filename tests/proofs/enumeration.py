"""Every page of a tiny template, priced by formulas restated from DEVELOPERS.md, section Costs.

Written without the code that formulates, places or solves; it shares only the types of a template and a photo.
It knows upright rectangles that stand apart (no ties, no words).  Sizes, places and divisions are the published
lattice, written out again here.  Costs that couple slots (hole, balance, emphasis, alignments, gaps) are taken over
whole pages; the two axes of places are searched apart, which is exact when every pair of slots is kept apart on one
axis only (:func:`optimum` insists on that).  Of places on an axis those are kept that no others beat whatever the slots
weigh: moving what is heavy by so much cannot gain more than so much (:meth:`_Places.ways`).

The rates are read from the cost table of DEVELOPERS.md, and the factors of sizes from its section on the lattice, so
that a re-tuned rate that was not published makes these tests fail.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import cache
from itertools import combinations, pairwise, product, zip_longest
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fitter.layout import GivenPhoto
from fitter.layout import Wishes as Asked
from fitter.pages import Page
from fitter.template import Element, Template

INCH = 25_400
PLACE = 635
SIZE = 1_270
SPLIT_GAP = INCH // 8
KEPT = INCH // 8
MOST_DIVIDED = 60
"""Sizes offered to a divided slot: those nearest its own or its copies'."""
FAR = 10**12
Array = NDArray[np.float64]


@cache
def published() -> str:
    """Return the developers' guide, where costs and lattice are published."""
    return (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")


@cache
def lattice(words: str) -> tuple[float, ...]:
    """Return the numbers that follow some words of the lattice's section."""
    section = published().split("## The lattice")[1].split("\n## ")[0]
    found = re.search(re.escape(words) + r"((?:,? (?:to )?\d+(?:\.\d+)?)+)", section)
    assert found, words
    return tuple(float(n) for n in re.findall(r"\d+(?:\.\d+)?", found[1]))


@cache
def rates() -> dict[str, list[int]]:
    """Return the numbers of each row of the cost table, in the order written."""
    rows = re.findall(r"^\| `([a-z-]+)` \| (.*) \|$", published(), re.M)
    return {name: [int(n.replace(",", "")) for n in re.findall(r"\d[\d,]{3,}", row)] for name, row in rows}


def rate(name: str, number: int = 0) -> int:
    """Return one number of the cost table."""
    return rates()[name][number]


@dataclass(frozen=True)
class Spot:
    """A slot of the reference layout; lengths in micrometres."""

    name: str
    role: str
    center: tuple[int, int]
    size: tuple[int, int]
    bleeds: tuple[str, ...]
    strip: bool
    smallest: int
    may_be: tuple[str, ...] | None
    fixed: bool
    cluster: str | None

    def low(self, axis: int) -> int:
        """Near edge."""
        return self.center[axis] - self.size[axis] // 2

    def high(self, axis: int) -> int:
        """Far edge."""
        return self.center[axis] + self.size[axis] // 2


@dataclass(frozen=True)
class Filling:
    """What a slot may hold and every size for it: own cost by size, and the area of each photo."""

    role: str | None
    photos: tuple[int, ...]
    width: Array
    height: Array
    cost: Array
    areas: tuple[Array, ...]


@dataclass(frozen=True)
class Scaling:
    """A rescale: its charge, target sizes and target displacements of the slots of its group."""

    charge: int
    sizes: Mapping[str, tuple[int, int]]
    moves: Mapping[str, tuple[int, int]]


@dataclass
class Wishes:
    """What was asked: the photos, freedoms switched off, factors, and how many may be left out."""

    photos: Sequence[GivenPhoto]
    without: frozenset[str] = frozenset()
    weights: Mapping[str, int] = None  # type: ignore[assignment]
    leave_out: int = 0
    target: int = 300
    least: int = 150
    asked: Asked = field(default_factory=Asked)

    def may(self, freedom: str) -> bool:
        """Whether a freedom is on."""
        return freedom not in self.without

    def factor(self, cost: str) -> int:
        """The user's factor on a cost."""
        return (self.weights or {}).get(cost, 1)


def half_up(values: Array) -> Array:
    """Round to the nearest, halves up."""
    return np.floor(values + 0.5)


def optimum(template: Template, page: Page, wishes: Wishes) -> int | None:
    """Return the least total cost of any page, or ``None`` if there is none."""
    best = FAR
    for rotate in (0, 90, 180, 270):
        for mirror in (False, True):
            if (rotate and not wishes.may("rotate-page")) or (mirror and not wishes.may("mirror-page")):
                continue
            spots = [_turned(e, template.size, rotate, mirror) for e in template.elements]
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


def _turned(element: Element, size: tuple[int, int], rotate: int, mirror: bool) -> Spot:
    assert element.shape == "rect" and not element.tilt and element.tie is None
    (x, y), (w, h), (pw, ph) = element.center, element.size, size
    bleeds = list(element.bleeds)
    if mirror:
        x = pw - x
        swap = {"left": "right", "right": "left"}
        bleeds = [swap.get(s, s) for s in bleeds]
    for _ in range(rotate // 90):
        assert pw == ph or rotate == 180, "the enumeration turns square pages only"
        x, y, w, h, pw, ph = ph - y, x, h, w, ph, pw
        bleeds = [_NEXT[s] for s in bleeds]
    strip = element.role == "paper" and max(w, h) >= 4 * min(w, h)
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
    )


def _best_of(spots: list[Spot], page: Page, wishes: Wishes, bar: float) -> float:
    pairs = {}
    for (i, a), (j, b) in combinations(enumerate(spots), 2):
        apart = [axis for axis in (0, 1) if max(b.low(axis) - a.high(axis), a.low(axis) - b.high(axis)) > -3]
        assert len(apart) == 1, "each pair must be apart on exactly one axis"
        pairs[i, j] = apart[0]
    best = bar
    files = {*(file for file, _ in wishes.asked.pins), *wishes.asked.bigger, *wishes.asked.smaller}
    named = {n for n, photo in enumerate(wishes.photos) if photo.file in files}
    still = not wishes.may("shift")
    for scaling in [None, *_scalings(spots, wishes)]:
        options = [list(_wished(spot, wishes, _fillings(spot, page, wishes, spots, scaling))) for spot in spots]
        for still_first in [True] if still else [True, False]:
            places = _Places(spots, page, wishes, pairs, scaling, 0 if still_first else _reach(best, wishes))
            for chosen in product(*options):
                used = [p for filling in chosen for p in filling.photos]
                missing = len(wishes.photos) - len(used)
                if len(set(used)) < len(used) or missing > wishes.leave_out or not named <= set(used):
                    continue
                best = min(best, _cheapest(spots, chosen, page, wishes, places, missing, scaling))
    return best


def _reach(best: float, wishes: Wishes) -> int:
    """How many steps a slot can move before that alone costs more than the best page."""
    step = rate("shift") * PLACE / INCH * wishes.factor("shift")
    return 120 if best >= FAR or not step else min(120, math.ceil(best / step))


def _scalings(spots: list[Spot], wishes: Wishes) -> Iterator[Scaling]:
    if not wishes.may("scale"):
        return
    loose = [s for s in spots if not s.bleeds and not s.fixed]
    groups: list[tuple[list[Spot], tuple[float, ...], bool]] = [
        (loose, lattice("template"), True),
        ([s for s in loose if s.role == "photo"], lattice("photos"), False),
        ([s for s in loose if s.role != "photo"], lattice("others"), False),
    ]
    for name in sorted({s.cluster for s in loose if s.cluster}):
        groups.append(([s for s in loose if s.cluster == name], lattice("a cluster"), True))
    for members, factors, places in groups:
        if len(members) < 2:
            continue
        about = [Fraction(min(s.low(a) for s in members) + max(s.high(a) for s in members), 2) for a in (0, 1)]
        for factor in factors:
            change = Fraction(str(factor)) - 1
            sizes, moves = {}, {}
            for s in members:
                sizes[s.name] = _scaled(s.size, factor)
                far = [_moves(change * (s.center[a] - about[a])) if places else 0 for a in (0, 1)]
                moves[s.name] = (far[0], far[1])
            charge = int(rate("resize", 1) * abs(change) + Fraction(1, 2))
            yield Scaling(charge, sizes, moves)


def _steps(length: Fraction, step: int) -> int:
    return math.floor(length / step + Fraction(1, 2))


def _moves(length: Fraction) -> int:
    steps = _steps(abs(length), PLACE)
    return steps if length > 0 else -steps


def _scaled(size: tuple[int, int], factor: float) -> tuple[int, int]:
    change = Fraction(str(factor)) - 1
    return size[0] + SIZE * _steps(change * size[0], SIZE), size[1] + SIZE * _steps(change * size[1], SIZE)


def _sizes(
    spot: Spot, page: Page, wishes: Wishes, spots: list[Spot], least: int, *, free: bool
) -> list[tuple[int, int]]:
    """Every size offered to a slot."""
    left, top, right, bottom = page.safe
    room = [right - left, bottom - top]
    both = [{"left", "right"} <= set(spot.bleeds), {"top", "bottom"} <= set(spot.bleeds)]
    for axis, sides in enumerate(({"left", "right"}, {"top", "bottom"})):
        if sides & set(spot.bleeds):
            room[axis] = page.trim[axis] + page.bleed
    smallest = max(least, spot.smallest)
    factors = _factors(spot, spots, wishes)
    if spot.fixed:
        sizes = [spot.size]
    elif free and wishes.may("widen"):
        fine = min(page.trim) < 8 * INCH or min(spot.size) <= 5 * INCH // 2 or len(wishes.photos) <= 2
        step = INCH // 4 if fine else INCH // 2
        narrowest, widest = lattice("photos), from")
        axes = []
        for axis in (0, 1):
            base = spot.size[axis]
            low, high = (
                max(smallest, math.ceil(narrowest * base)),
                max(base, min(room[axis], math.floor(widest * base))),
            )
            steps = range(-200, 201)
            axes.append([base] if both[axis] else [base + k * step for k in steps if low <= base + k * step <= high])
        sizes = list(product(*axes))
        if not any(both):
            sizes += [s for s in [spot.size, *(_scaled(spot.size, f) for f in factors)] if _fits(s, room)]
    elif wishes.may("scale") and not any(both):
        sizes = [spot.size] + [
            s for s in (_scaled(spot.size, f) for f in (*factors, *_even_factors(spot))) if _fits(s, room)
        ]
    else:
        sizes = [spot.size]
    if free and wishes.may("rotate-slot") and not spot.bleeds and not spot.fixed:
        sizes.append(spot.size[::-1])
    return [s for s in dict.fromkeys(sizes) if min(s) >= smallest or (not least and s == spot.size)]


def _even_factors(spot: Spot) -> Iterator[float]:
    """The published factors, of what is so long that they were over 1/2 in apart drawn together to that."""
    longest = max(spot.size)
    for factor in lattice("everything else at"):
        steps = round((factor - 1) / 0.15)
        yield factor if 0.15 * longest <= INCH / 2 else 1 + steps * INCH / 2 / longest


def _fits(size: tuple[int, int], room: list[int]) -> bool:
    return size[0] <= room[0] and size[1] <= room[1]


def _factors(spot: Spot, spots: list[Spot], wishes: Wishes) -> tuple[float, ...]:
    if not wishes.may("scale") or spot.bleeds or spot.fixed:
        return ()
    loose = [s for s in spots if not s.bleeds and not s.fixed]
    alike = [s for s in loose if (s.role == "photo") == (spot.role == "photo")]
    found: list[float] = []
    if len(loose) > 1:
        found += lattice("template")
    if len(alike) > 1:
        found += lattice("photos") if spot.role == "photo" else lattice("others")
    if spot.cluster and len([s for s in loose if s.cluster == spot.cluster]) > 1:
        found += lattice("a cluster")
    return tuple(found)


def _fillings(spot: Spot, page: Page, wishes: Wishes, spots: list[Spot], scaling: Scaling | None) -> Iterator[Filling]:
    """Everything a slot may hold."""
    none = np.zeros(1)
    if wishes.may("drop") and not spot.fixed:
        dropped = rate("drop") * wishes.factor("drop") + _empty(spot, page, wishes)
        yield Filling(None, (), none, none, np.full(1, float(dropped)), ())
    roles = {"photo": ("photo", "paper"), "paper": ("paper", "photo")}.get(spot.role, (spot.role,))
    if spot.strip:
        roles = ("paper",)
    for role in roles:
        swap = rate("swap-role") * wishes.factor("swap-role") if role != spot.role else 0
        if role != spot.role and (not wishes.may("swap-role") or spot.fixed):
            continue
        if role != spot.role and spot.may_be is not None and role not in spot.may_be:
            continue
        if role != "photo":
            sizes = _sizes(spot, page, wishes, spots, 0, free=False)
            yield from _filling(spot, page, wishes, role, (), None, sizes, swap + _empty(spot, page, wishes), scaling)
            continue
        sizes = _sizes(spot, page, wishes, spots, INCH, free=True)
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


def _wished(spot: Spot, wishes: Wishes, offered: Iterable[Filling]) -> Iterator[Filling]:
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
        side + 1270 * math.floor((count - 1) * (side + 3175) / 1270 + 0.5)
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
            price = _photo(wishes.photos[number], (w, h), piece, spot, page, wishes, split=shape is not None)
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


def _photo(
    photo: GivenPhoto,
    slot: tuple[int, int],
    piece: tuple[int, int, int, int],
    spot: Spot,
    page: Page,
    wishes: Wishes,
    *,
    split: bool,
) -> float | None:
    """What a photo costs in a piece of a slot; ``None`` if it may not stand there."""
    assert not (split and spot.bleeds)
    (pw, ph), (w, h) = photo.pixels, piece[2:]
    if pw * h >= ph * w:
        cw, ch = max(1, min(pw, math.floor(Fraction(ph * w, h) + Fraction(1, 2)))), ph
    else:
        cw, ch = pw, max(1, min(ph, math.floor(Fraction(pw * h, w) + Fraction(1, 2))))
    out = [[0, 0], [0, 0]]
    for axis, sides in enumerate((("left", "right"), ("top", "bottom"))):
        if sides[0] in spot.bleeds:
            out[axis][0] = -spot.low(axis)
        if sides[1] in spot.bleeds:
            out[axis][1] = spot.high(axis) - page.trim[axis]
    kept = Fraction(cw * ch, pw * ph) * Fraction((w - sum(out[0])) * (h - sum(out[1])), w * h)
    ppi = min(Fraction(cw * INCH, w), Fraction(ch * INCH, h))
    if ppi < wishes.least or (split and kept < Fraction(3, 10)):
        return None
    starts = [_starts(photo, (cw, ch), axis, wishes) for axis in (0, 1)]
    if not all(starts):
        return None
    loss = math.floor(10**6 * Fraction(str(photo.weight)) * (1 - kept) + Fraction(1, 2))
    if photo.importance:
        shares = [[Fraction(side, full) for side in ends] for ends, full in zip(out, (w, h), strict=True)]
        loss = math.floor(10**6 * photo.weight * (1 - _most_kept(photo, (cw, ch), starts, shares)) + 0.5)
    return loss * wishes.factor("crop-loss") + _ppi(ppi, wishes.target) * wishes.factor("ppi")


def _starts(photo: GivenPhoto, window: tuple[int, int], axis: int, wishes: Wishes) -> range:
    """Every start of a window, in whole pixels, that shows every keep box."""
    full = photo.pixels[axis]
    low, high = 0, full - window[axis]
    if photo.keep:
        first = min(Fraction(box[axis]) * full for box in photo.keep)
        last = max((Fraction(box[axis]) + Fraction(box[axis + 2])) * full for box in photo.keep)
        low, high = max(low, math.ceil(last - window[axis])), min(high, math.floor(first))
    if not wishes.may("crop"):
        middle = (full - window[axis]) // 2
        low, high = max(low, middle), min(high, middle)
    return range(low, high + 1)


def _most_kept(photo: GivenPhoto, window: tuple[int, int], starts: list[range], beyond: list[list[Fraction]]) -> float:
    """The most importance a window keeps inside the trim: every start tried, sums read from a curve of them."""
    grid = np.array(photo.importance, np.float64)
    weights, curves = grid / grid.sum(), []
    axis = 0 if window[0] < photo.pixels[0] else 1
    for along, table in ((1 - axis, weights if axis == 0 else weights.T), (axis, None)):
        full, length = photo.pixels[along], window[along]
        at = np.array(starts[along], np.float64)
        ends = (at + float(beyond[along][0]) * length, at + (1 - float(beyond[along][1])) * length)
        if table is not None:
            edges = np.arange(table.shape[0] + 1) * full / table.shape[0]
            part = np.clip(np.minimum(edges[1:], ends[1][0]) - np.maximum(edges[:-1], ends[0][0]), 0, None)
            curves = [0.0, *np.cumsum(part / np.diff(edges) @ table)]
        else:
            edges = np.arange(len(curves)) * full / (len(curves) - 1)
            kept = np.interp(ends[1], edges, curves) - np.interp(ends[0], edges, curves)
    return float(kept.max())


def _ppi(ppi: Fraction, target: int) -> int:
    knee, half = Fraction(2 * target, 3), Fraction(target, 2)
    if ppi >= target:
        return 0
    if ppi >= knee:
        return math.floor(50_000 * (target - ppi) / (target - knee) + Fraction(1, 2))
    return math.floor(50_000 + 150_000 * (knee - ppi) / (knee - half) + Fraction(1, 2))


class _Places:
    """The cheapest places for given sizes, axis by axis: shifts, alignments and gaps."""

    def __init__(
        self,
        spots: list[Spot],
        page: Page,
        wishes: Wishes,
        pairs: dict[tuple[int, int], int],
        scaling: Scaling | None,
        reach: int,
    ) -> None:
        self.spots, self.page, self.wishes, self.pairs, self.scaling = spots, page, wishes, pairs, scaling
        self.reach = reach
        self.lines = _alignments(spots)
        self.gaps = _gaps(spots)
        self.known: dict[tuple[int, tuple[int | None, ...]], list[tuple[float, float]]] = {}

    def ways(self, axis: int, sizes: tuple[int | None, ...]) -> list[tuple[float, float]]:
        """Return the costs of places on an axis with the moment they add; ``None`` stands for a dropped slot.

        Left out are places that others beat by more than the two moments can differ in price.
        """
        key = axis, sizes
        if key not in self.known:
            self.known[key] = self._unbeaten(axis, *self._costs(axis, sizes))
        return self.known[key]

    def _unbeaten(self, axis: int, costs: Array, moments: Array) -> list[tuple[float, float]]:
        costs, moments = (part.ravel() for part in np.broadcast_arrays(costs, moments))
        costs, moments = costs[costs < FAR], moments[costs < FAR]
        factor = self.wishes.factor("balance")
        price = rate("balance") * factor / (2 * _area(self.spots) * self.page.trim[axis])
        ways: list[tuple[float, float]] = []
        while len(costs):
            cheapest = int(costs.argmin())
            cost, moment = float(costs[cheapest]), float(moments[cheapest])
            ways.append((cost, moment))
            left = cost + price * np.abs(moments - moment) + factor > costs
            left &= moments != moment
            costs, moments = costs[left], moments[left]
        return ways

    def _costs(self, axis: int, sizes: tuple[int | None, ...]) -> tuple[Array, Array]:
        there = [i for i, size in enumerate(sizes) if size is not None]
        steps: dict[int, Array] = {}
        for dim, i in enumerate(there):
            allowed = self._allowed(axis, i, sizes[i] or 0)
            if not len(allowed):
                return np.full(1, float(FAR)), np.zeros(1)
            steps[i] = allowed.reshape([-1 if d == dim else 1 for d in range(len(there))])
        near = {i: self.spots[i].center[axis] + PLACE * steps[i] - (sizes[i] or 0) // 2 for i in there}
        far = {i: near[i] + (sizes[i] or 0) for i in there}
        total: Array = np.zeros([1] * len(there))
        for i in there:
            target = 0 if self.scaling is None else self.scaling.moves.get(self.spots[i].name, (0, 0))[axis]
            price = rate("shift") * PLACE / INCH * self.wishes.factor("shift")
            total = total + price * np.abs(steps[i] - target)
        for (i, j), apart in self.pairs.items():
            if apart != axis or i not in steps or j not in steps:
                continue
            first, second = (i, j) if self.spots[i].low(axis) < self.spots[j].low(axis) else (j, i)
            gap = self.spots[second].low(axis) - self.spots[first].high(axis)
            total = total + np.where(near[second] - far[first] >= min(gap, KEPT), 0, FAR)
        for found, line, i, j in self.lines:
            if found == axis and i in steps and j in steps:
                places = [{"near": near[k], "far": far[k], "centre": (near[k] + far[k]) / 2}[line] for k in (i, j)]
                broken = np.abs(places[0] - places[1]) > 500
                total = total + rate("alignment") * self.wishes.factor("alignment") * broken
        for found, i, j, length in self.gaps:
            if found == axis and i in steps and j in steps:
                broken = np.abs(near[j] - far[i] - length) > 500
                total = total + rate("gap") * self.wishes.factor("gap") * broken
        moments: Array = np.zeros(total.shape)
        for i in there:
            moments = moments + 2 * PLACE * steps[i] * self.spots[i].size[0] * self.spots[i].size[1]
        return total, moments

    def _allowed(self, axis: int, i: int, size: int) -> Array:
        """Displacements that keep a slot inside the safe box, or its bleeding edge where it is."""
        spot, page = self.spots[i], self.page
        sides = (("left", "right"), ("top", "bottom"))[axis]
        bleeding = [s in spot.bleeds for s in sides]
        reach = 400 if any(bleeding) else 0 if spot.fixed else self.reach
        steps = np.arange(-reach, reach + 1, dtype=np.float64)
        near = spot.center[axis] + PLACE * steps - size // 2
        far = near + size
        good = near == spot.low(axis) if bleeding[0] else near >= page.safe[axis]
        good &= far == spot.high(axis) if bleeding[1] else far <= page.safe[axis + 2]
        return steps[good]


def _alignments(spots: list[Spot]) -> list[tuple[int, str, int, int]]:
    found = []
    for axis in (0, 1):
        sides = (("left", "right"), ("top", "bottom"))[axis]
        places = {
            "near": {i: s.low(axis) for i, s in enumerate(spots) if sides[0] not in s.bleeds},
            "far": {i: s.high(axis) for i, s in enumerate(spots) if sides[1] not in s.bleeds},
            "centre": {i: s.center[axis] for i, s in enumerate(spots) if not set(sides) & set(s.bleeds)},
        }
        for line, at in places.items():
            groups: list[list[int]] = []
            for i in sorted(at, key=lambda k: (at[k], spots[k].name)):
                if groups and at[i] - at[groups[-1][0]] <= 500:
                    groups[-1].append(i)
                else:
                    groups.append([i])
            for group in groups:
                group.sort(key=lambda k: (spots[k].center[1 - axis], spots[k].name))
                for i, j in pairwise(group):
                    edges = all(
                        i in places[e] and j in places[e] and abs(places[e][i] - places[e][j]) <= 500
                        for e in ("near", "far")
                    )
                    if line != "centre" or not edges:
                        found.append((axis, line, i, j))
    return found


def _gaps(spots: list[Spot]) -> list[tuple[int, int, int, int]]:
    all_gaps = []
    for axis in (0, 1):
        other = 1 - axis
        for (i, a), (j, b) in product(enumerate(spots), repeat=2):
            length = b.low(axis) - a.high(axis)
            low, high = max(a.low(other), b.low(other)), min(a.high(other), b.high(other))
            if not 0 < length <= INCH or 2 * (high - low) <= min(a.size[other], b.size[other]):
                continue
            between = [
                c
                for k, c in enumerate(spots)
                if k not in (i, j)
                and c.low(axis) < b.low(axis)
                and c.high(axis) > a.high(axis)
                and not (c.low(axis) < a.high(axis) and c.high(axis) > b.low(axis))
                and c.low(other) < high
                and c.high(other) > low
            ]
            if not between:
                all_gaps.append((length, axis, a.name, b.name, i, j))
    all_gaps.sort(key=lambda g: g[:4])
    groups: list[list[tuple[int, int, str, str, int, int]]] = []
    for gap in all_gaps:
        if groups and gap[0] - groups[-1][0][0] <= 500:
            groups[-1].append(gap)
        else:
            groups.append([gap])
    return [(g[1], g[4], g[5], g[0]) for group in groups if len(group) > 1 for g in group]


def _cheapest(
    spots: list[Spot],
    chosen: tuple[Filling, ...],
    page: Page,
    wishes: Wishes,
    places: _Places,
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
        if spot.role in ("photo", "paper"):
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
            balance = half_up(rate("balance") * beyond / (2 * _area(spots) * page.trim[axis]))
            least = np.minimum(least, cost + balance * wishes.factor("balance"))
        total = total + least
    return float(total.min())


def _area(spots: Sequence[Spot]) -> int:
    return sum(spot.size[0] * spot.size[1] for spot in spots)
