"""Every size of a slot, and the common scalings: the published lattice, written out again."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from itertools import product

from fitter.pages import Page
from tests.proofs.published import INCH, PLACE, SIZE, lattice, rate
from tests.proofs.spots import Scaling, Spot, Wishes


def sizes_of(spot: Spot, page: Page, wishes: Wishes, spots: list[Spot], role: str) -> list[tuple[int, int]]:
    """Every size offered to a slot for what it shall hold."""
    free = role in ("photo", "journaling")
    least = (INCH // 2 if spot.role == "journaling" == role else INCH) if free else 0
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
            s for s in (_scaled(spot.size, f) for f in (*factors, *_even_factors(spot, wishes))) if _fits(s, room)
        ]
    else:
        sizes = [spot.size]
    if role == "journaling":
        (most,) = lattice("(words: ±")
        sizes = [s for s in sizes if all(100 * abs(a - b) <= most * b for a, b in zip(s, spot.size, strict=True))]
    elif free and wishes.may("rotate-slot") and not spot.bleeds and not spot.fixed:
        sizes.append(spot.size[::-1])
    return [s for s in dict.fromkeys(sizes) if min(s) >= smallest]


def scalings(spots: list[Spot], wishes: Wishes) -> Iterator[Scaling]:
    """Every common scaling on offer: of the whole template, photos, all else, and each cluster."""
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


def _even_factors(spot: Spot, wishes: Wishes) -> list[float]:
    """The published factors; of what is so long that they were over 1/2 in apart, by steps of that between the ends."""
    published = lattice("everything else at")
    longest = max(spot.size)
    if 0.15 * longest <= INCH / 2:
        return list(published)
    low, high = (-20, 20) if len(wishes.photos) <= 4 else (-2, 1)
    steps = [1 + k * INCH / 2 / longest for k in range(low, high + 1)]
    return sorted({min(max(factor, min(published)), max(published)) for factor in steps})


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
