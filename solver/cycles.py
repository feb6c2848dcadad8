"""Cycles of lines: what alignments and equal gaps that close a circle say about sizes alone.

Each line fixes the difference of two blocks' places up to their sizes.  Around a cycle the places cancel, so if every
line holds and every block is there, a sum of sizes is fixed.  A page whose sizes miss that sum breaks at least one of
the lines: a *cover* says so for the columns that reach certain sizes, and is far tighter than the lines themselves,
whose slack must be as wide as the page.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from solver.problem import Column, Problem

LONGEST = 6
MOST_CYCLES = 400
LEAST_VIOLATION = 0.05
TINY = 1e-9

Side = Literal["w", "h"]


@dataclass(frozen=True)
class Cycle:
    """Lines that close a circle.

    If all of them hold and all blocks are there, ``low ≤ Σ weight · size change ≤ high`` over the blocks.

    Parameters
    ----------
    side
        Whether widths or heights are summed.
    lines
        Numbers of the alignments and gaps.
    weights
        Weight of every block on the cycle; 0 where only its presence counts.
    """

    side: Side
    lines: tuple[int, ...]
    weights: tuple[tuple[int, int], ...]
    low: int
    high: int


@dataclass(frozen=True)
class Cover:
    """Least contributions of a cycle's blocks that together miss its sum: not all at once unless a line breaks.

    ``sign`` 1: the contributions' sum is over the cycle's ``high``; -1: their negatives' sum is over ``-low``.
    """

    cycle: Cycle
    sign: int
    least: tuple[int, ...]

    @property
    def lines(self) -> tuple[int, ...]:
        """What has to hold."""
        return self.cycle.lines


@dataclass(frozen=True)
class _Link:
    """A line as a step between blocks: place of ``to`` less place of ``start`` plus sizes is in a range."""

    line: int
    start: int
    to: int
    weights: tuple[tuple[int, int], ...]
    low: int
    high: int

    def times(self, factor: int) -> _Link:
        """Return the same line in a finer unit of place."""
        weights = tuple((b, factor * w) for b, w in self.weights)
        return _Link(self.line, self.start, self.to, weights, factor * self.low, factor * self.high)

    def reverse(self) -> _Link:
        """Return the step back."""
        return _Link(self.line, self.to, self.start, tuple((b, -w) for b, w in self.weights), -self.high, -self.low)


def cycles(problem: Problem) -> tuple[Cycle, ...]:
    """Return the cycles of up to :data:`LONGEST` lines, the shortest first."""
    found: list[Cycle] = []
    axes: tuple[tuple[Literal["x", "y"], Side], ...] = (("x", "w"), ("y", "h"))
    for axis, side in axes:
        raw = list(_links(problem, axis, side))
        unit = math.lcm(*(d for d, _ in raw))
        found += _circles([link.times(unit // d) for d, link in raw], side)
    found.sort(key=lambda c: (len(c.lines), c.side, c.lines))
    return tuple(found[:MOST_CYCLES])


def _links(problem: Problem, axis: Literal["x", "y"], side: Side) -> Iterator[tuple[int, _Link]]:
    """Yield lines between two blocks with the coefficient of their places."""
    for number, soft in enumerate(problem.softs):
        blocks = {b for _, b, _ in soft.when}
        if len(soft.rows) != 1 or any(kind != "block" for kind, _, _ in soft.when) or not soft.cost:
            continue
        row = soft.rows[0]
        places = [(b, c) for (kind, b), c in row.terms if kind == axis]
        sizes = [(b, c) for (kind, b), c in row.terms if kind == side]
        if len(places) != 2 or len(places) + len(sizes) != len(row.terms) or row.low is None or row.high is None:
            continue
        (one, c), (other, d) = sorted(places, key=lambda p: p[1])
        if c != -d or {one, other} != blocks:
            continue
        step = math.gcd(d, *(w * dv for b, w in sizes for dv in _values(problem, b, side)))
        yield d, _Link(number, one, other, tuple(sizes), -(-row.low // step) * step, row.high // step * step)


def _values(problem: Problem, b: int, side: Side) -> set[int]:
    return {change(c, side) for c in problem.blocks[b].columns}


def change(column: Column, side: Side) -> int:
    """Return a column's change of width or height."""
    return column.dw if side == "w" else column.dh


def _circles(links: Sequence[_Link], side: Side) -> list[Cycle]:
    steps: dict[int, list[_Link]] = defaultdict(list)
    for link in links:
        steps[link.start].append(link)
        steps[link.to].append(link.reverse())
    found: dict[tuple[int, ...], Cycle] = {}

    def walk(first: int, path: list[_Link], visited: set[int]) -> None:
        here = path[-1].to if path else first
        for link in steps[here]:
            if any(link.line == before.line for before in path):
                continue
            if link.to == first and path:
                key = tuple(sorted(step.line for step in [*path, link]))
                if key not in found:
                    found[key] = _cycle([*path, link], side)
            elif link.to > first and link.to not in visited and len(path) + 1 < LONGEST:
                walk(first, [*path, link], visited | {link.to})

    for first in sorted(steps):
        walk(first, [], {first})
    return list(found.values())


def _cycle(path: list[_Link], side: Side) -> Cycle:
    weights: dict[int, int] = {step.to: 0 for step in path}
    for step in path:
        for b, w in step.weights:
            weights[b] += w
    return Cycle(
        side,
        tuple(sorted(step.line for step in path)),
        tuple(sorted(weights.items())),
        sum(step.low for step in path),
        sum(step.high for step in path),
    )


Ladder = tuple[tuple[int, float], ...]
"""Changes of size, the farthest first, each with the share that does not reach it."""

Ladders = Mapping[tuple[int, Side], tuple[Ladder, Ladder]]
"""Per block and side: upwards and downwards."""


def ladders(shares: Mapping[int, float]) -> tuple[Ladder, Ladder]:
    """Return both ladders of a block from what a relaxation gives to each change of size."""
    ascending = sorted(shares.items())
    found = []
    for steps in (list(reversed(ascending)), ascending):
        missing = 1.0
        rungs = []
        for value, share in steps:
            missing -= share
            rungs.append((value, missing))
        found.append(tuple(rungs))
    return found[0], found[1]


def violated(cycle: Cycle, rungs: Ladders, broken: float) -> Iterator[Cover]:
    """Yield the worst covers that a relaxation violates.

    Parameters
    ----------
    rungs
        What the relaxation uses; small shares may be left out.
    broken
        Sum of the shares of the cycle's lines that are broken.
    """
    allowed = 1 - broken - LEAST_VIOLATION
    if allowed <= 0:
        return
    pairs = [(*rungs[block, cycle.side], weight) for block, weight in cycle.weights]
    if not all(up for up, _, _ in pairs):
        return
    # What a block lacks altogether leaves less to the others.
    absent = [max(0.0, up[-1][1]) for up, _, _ in pairs]
    left = allowed - sum(absent)
    if left <= TINY:
        return
    for sign in (1, -1):
        limit = cycle.high if sign > 0 else -cycle.low
        choices, reach = [], 0
        for (up, down, weight), lacking in zip(pairs, absent, strict=True):
            signed, most = sign * weight, left + lacking
            if signed:
                ladder = up if signed > 0 else down
                choices.append([(signed * value, missing) for value, missing in ladder if missing < most])
            else:
                choices.append([(0, lacking)])
            reach += choices[-1][0][0]
        least = _worst(choices, limit, allowed) if reach > limit else None
        if least is not None:
            yield Cover(cycle, sign, least)


def _worst(choices: list[list[tuple[int, float]]], limit: int, allowed: float) -> tuple[int, ...] | None:
    """Return thresholds whose sum is over the limit, of least missing share; ``None`` when that is not allowed.

    Each list of choices begins with the highest threshold and ends with the least missing share.
    """
    reach = [0] * (len(choices) + 1)
    spare = [0.0] * (len(choices) + 1)
    for n in range(len(choices) - 1, -1, -1):
        reach[n] = reach[n + 1] + choices[n][0][0]
        spare[n] = spare[n + 1] + choices[n][-1][1]
    best: tuple[float, tuple[int, ...]] | None = None

    def walk(n: int, total: int, missing: float, taken: tuple[int, ...]) -> None:
        nonlocal best
        if total + reach[n] <= limit:
            return
        if missing + spare[n] >= (allowed if best is None else best[0]):
            return
        if n == len(choices) - 1:
            # The lowest threshold that is enough misses least.
            last = bisect_left(descents, total - limit) - 1
            value, lacking = choices[n][last]
            if missing + lacking < (allowed if best is None else best[0]):
                best = (missing + lacking, (*taken, value))
            return
        for value, lacking in choices[n]:
            walk(n + 1, total + value, missing + lacking, (*taken, value))

    descents = [-value for value, _ in choices[-1]]
    walk(0, 0, 0.0, ())
    return None if best is None else best[1]


def widened(cover: Cover, sizes: Mapping[tuple[int, Side], Sequence[int]]) -> Cover:
    """Return a cover whose thresholds are as low as its sum allows, among the changes of size that are open."""
    cycle = cover.cycle
    limit = cycle.high if cover.sign > 0 else -cycle.low
    least = list(cover.least)
    for n, (block, weight) in enumerate(cycle.weights):
        signed, room = cover.sign * weight, sum(least) - limit
        lower = [v for size in sizes[block, cycle.side] if least[n] - room < (v := signed * size) < least[n]]
        if lower:
            least[n] = min(lower)
    return Cover(cycle, cover.sign, tuple(least))
