"""The cheapest places of slots of given sizes, axis by axis.

Of places on an axis those are kept that no others beat whatever the slots weigh: moving what is heavy by so much cannot
gain more than so much (:meth:`Places.ways`).
"""

from __future__ import annotations

from itertools import pairwise, product

import numpy as np

from fitter.pages import Page
from tests.proofs.published import DRIFT, FAR, INCH, PLACE, rate
from tests.proofs.spots import Array, Scaling, Spot, Wishes, area_of

KEPT = INCH // 8
"""What photos keep between them."""
Lap = tuple[Spot, Array, Array]
"""A slot with its near and far edges on an axis."""


class Places:
    """The cheapest places for given sizes, axis by axis: shifts, alignments and gaps."""

    def __init__(
        self,
        spots: list[Spot],
        page: Page,
        wishes: Wishes,
        pairs: dict[tuple[int, int], int | None],
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
        price = rate("balance") * factor / (2 * area_of(self.spots) * self.page.trim[axis])
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
        total = total + self._moved(axis, steps) * rate("shift") * PLACE / INCH * self.wishes.factor("shift")
        for (i, j), apart in self.pairs.items():
            if i not in steps or j not in steps:
                continue
            if apart is None:
                good = lapped((self.spots[i], near[i], far[i]), (self.spots[j], near[j], far[j]), axis)
                total = total + np.where(good, 0, FAR)
            if apart != axis:
                continue
            first, second = (i, j) if self.spots[i].low(axis) < self.spots[j].low(axis) else (j, i)
            kept = kept_between(self.spots[first], self.spots[second], axis)
            total = total + np.where(near[second] - far[first] >= kept, 0, FAR)
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

    def _moved(self, axis: int, steps: dict[int, Array]) -> Array:
        """How many steps slots are from where they belong, and a tenth of those that all are moved together before.

        Those that bleed along the axis stay; the others move by 1/2 in at most.
        """
        sides = (("left", "right"), ("top", "bottom"))[axis]
        moves = {} if self.scaling is None else self.scaling.moves
        away = {i: step - moves.get(self.spots[i].name, (0, 0))[axis] for i, step in steps.items()}
        free = [i for i in away if not any(side in self.spots[i].bleeds for side in sides)]
        fixed: Array = np.zeros([1] * len(steps))
        for i in away:
            fixed = fixed + (0 if i in free else np.abs(away[i]))
        most = DRIFT if self.wishes.may("shift") else 0
        # The sum of distances is least at one of them, at none, or as near to one as allowed.
        ways = []
        for together in [np.zeros([1] * len(steps)), *(np.clip(away[i], -most, most) for i in free)]:
            ways.append(sum((np.abs(away[j] - together) for j in free), fixed + np.abs(together) / 10))
        return np.minimum.reduce(np.broadcast_arrays(*ways))

    def _allowed(self, axis: int, i: int, size: int) -> Array:
        """Displacements that keep a slot inside the safe box, or its bleeding edge where it is."""
        spot, page = self.spots[i], self.page
        sides = (("left", "right"), ("top", "bottom"))[axis]
        bleeding = [s in spot.bleeds for s in sides]
        reach = 400 if any(bleeding) else 0 if spot.fixed else self.reach
        steps = np.arange(-reach, reach + 1, dtype=np.float64)
        near = spot.center[axis] + PLACE * steps - size // 2
        far = near + size
        good = near == spot.low(axis) if bleeding[0] else near - spot.border[axis] >= page.safe[axis]
        good &= far == spot.high(axis) if bleeding[1] else far + spot.border[axis + 2] <= page.safe[axis + 2]
        return steps[good]


def kept_between(first: Spot, second: Spot, axis: int) -> int:
    """Return the least distance of two slots: they and their mats keep away from each other, mats only do not lap."""
    gap, mats = second.low(axis) - first.high(axis), (first.border[axis + 2], second.border[axis])
    one_mat = max(min(gap - mat, KEPT) + mat for mat in (0, *mats))
    return max(one_mat, min(gap - sum(mats), 0) + sum(mats))


def lies_within(inner: Spot, outer: Spot) -> bool:
    """Whether a slot lies within another."""
    return all(_spans(outer, inner, axis) for axis in (0, 1))


def _spans(outer: Spot, inner: Spot, axis: int) -> bool:
    return outer.low(axis) <= inner.low(axis) and inner.high(axis) <= outer.high(axis)


def lapped(lower: Lap, upper: Lap, axis: int) -> Array:
    """Whether two slots that partly overlap do so on an axis as deep as drawn, or a tenth less, or one spans the other.

    None grows over the other, and no larger share of a photo slot below is covered.
    """
    (a, a_near, a_far), (b, b_near, b_far) = lower, upper
    good: Array
    for (inner, near, far), (outer, outer_near, outer_far) in ((upper, lower), (lower, upper)):
        if _spans(outer, inner, axis):
            good = (near >= outer_near) & (far <= outer_far) & (far - near <= inner.size[axis])
            if a.role == "photo" and inner is b:
                good &= (b_far - b_near) * a.size[axis] <= (a_far - a_near) * b.size[axis]
            return good
    (one, near, far), (two, after, end) = sorted((lower, upper), key=lambda slot: slot[0].low(axis))
    depth = one.high(axis) - two.low(axis)
    least = 0.9 * depth
    good = (far - after >= least) & (far - after <= depth)
    good &= (far - near >= least) & (end - after >= least) & (end - near >= least)
    if a.role == "photo":
        good &= (far - after) * a.size[axis] <= (a_far - a_near) * depth
    return good


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
