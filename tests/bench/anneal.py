"""Simulated annealing over the same freedoms: what every block is, how large, and where.

Enters: the problems of all symmetry classes.  Leaves: the best page met that keeps every row, or none.  All classes
are tried for a while, then the one that came out best.  A page is changed by one of the moves of :class:`_Walk` at a
time and priced anew (:mod:`tests.bench.pricing`), with penalties for broken rows that grow while the temperature falls.
Moves know what pages are made of: contents are exchanged between blocks, sizes change about a kept edge, aligned blocks
change together, and a common scaling moves all it concerns.
"""

from __future__ import annotations

import math
import random
import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
from scipy.optimize import linear_sum_assignment

from solver.problem import Problem, Soft, Var
from solver.solution import Solution
from tests.bench.pricing import EXACT, MISSING, Items, PageState, Pricing, home_of, possible, price

Side = Literal["x", "y", "w", "h"]
HOTTEST, COLDEST = 120_000.0, 2_000.0
"""Temperatures in millionths of cost."""
SOFTEST, HARDEST = 1_000.0, 40_000.0
"""Price of one grid step of a broken row, at the start and at the end."""
SIDES: tuple[tuple[Side, Side], ...] = (("x", "w"), ("y", "h"))
"""Place and size on either axis."""
HALF_STEP = 1_270
"""Micrometres a size changes by when one edge stays and the centre moves by one grid step."""
SCOUTING = 0.4
"""Share of the time in which all classes are tried."""


@dataclass(frozen=True)
class Annealed:
    """The best page and how many were priced."""

    solution: Solution | None
    priced: int
    seconds: float


class _Walk:
    """Moves from page to page of one problem."""

    def __init__(self, pricing: Pricing, dice: random.Random) -> None:
        self.pricing, self.problem, self.dice = pricing, pricing.problem, dice
        self.holding: list[dict[Items, list[int]]] = []
        """Per block: its columns by what they hold."""
        for block in self.problem.blocks:
            found: dict[Items, list[int]] = defaultdict(list)
            for j, column in enumerate(block.columns):
                found[pricing.items(column)].append(j)
            self.holding.append(dict(found))
        self.resizable = [b for b, block in enumerate(self.problem.blocks) if len(block.columns) > 2]
        self.movable = [
            (b, a) for b, block in enumerate(self.problem.blocks) for a in (0, 1) if (block.x, block.y)[a] != (0, 0)
        ]
        lines = [(_axis(s), s.when[0][1], s.when[1][1]) for s in self.problem.softs if len(s.when) == 2]
        tracks = [(t.axis, t.first, t.second) for t in self.problem.tracks]
        self.tied = sorted({(a, b) for _, a, b in lines})
        """Pairs that share a line or an equal gap."""
        self.rows = _chains(lines)
        """Axis and blocks that line up on it, directly or through others."""
        self.equals = _chains(tracks)
        """Axis and blocks of equal size on it."""
        self.edges = [*_edges(self.problem, "alignment"), *_edges(self.problem, "alignment", "gap")]
        """Edges that lie on one line, or on two with a gap between them."""

    def start(self) -> PageState:
        """Return the reference with each photo where it costs least."""
        problem = self.problem
        columns = [
            min(found.get(frozenset(), range(len(b.columns))), key=lambda j, b=b: b.columns[j].cost)
            for found, b in zip(self.holding, problem.blocks, strict=True)
        ]
        items = [("photo", p) for p in range(problem.photos)] + [("text", need.ids[0]) for need in problem.texts]
        table = np.full((len(items), len(problem.blocks)), 1e9)
        chosen = {}
        for (n, item), b in ((pair, b) for pair in enumerate(items) for b in range(len(problem.blocks))):
            for j in self.holding[b].get(frozenset({item}), ()):
                column = problem.blocks[b].columns[j]
                cost = column.cost + 40 * (abs(column.dw) + abs(column.dh)) / HALF_STEP - column.cover
                if cost < table[n, b]:
                    table[n, b], chosen[n, b] = cost, j
        for n, b in zip(*linear_sum_assignment(table), strict=True):
            if (n, b) in chosen:
                columns[b] = chosen[n, b]
        places = (0,) * (2 * len(problem.blocks) + 1)
        return self.tidy(PageState(tuple(columns), places, (True,) * len(problem.riders), 0, None))

    def tidy(self, page: PageState) -> PageState:
        """Return the page with riders as its columns want them, where they have no choice."""
        riders = []
        for number, (rider, there) in enumerate(zip(self.problem.riders, page.riders, strict=True)):
            column = self.problem.blocks[rider.block].columns[page.columns[rider.block]]
            if rider.chosen:
                there = number in column.riders
            elif not column.present or rider.drop is None:
                there = column.present
            riders.append(there)
        return replace(page, riders=tuple(riders))

    def step(self, page: PageState) -> PageState | None:
        """Return a neighbour, or ``None`` when the move drawn does not exist here."""
        roll = self.dice.random()
        if roll < 0.22:
            return self._resize(page)
        if roll < 0.32:
            return self._resize_both(page)
        if roll < 0.44:
            return self._move_line(page)
        if roll < 0.54:
            return self._mend(page)
        if roll < 0.70:
            return self._exchange(page)
        if roll < 0.88:
            return self._shift(page)
        if roll < 0.91 and len(self.problem.members) > 1:
            return replace(page, member=self.dice.randrange(len(self.problem.members)))
        if roll < 0.95 and self.problem.riders:
            at = self.dice.randrange(len(self.problem.riders))
            return self.tidy(replace(page, riders=tuple(t != (n == at) for n, t in enumerate(page.riders))))
        if roll < 0.97 and self.problem.slide:
            return replace(page, places=(*page.places[:-1], self.dice.choice(self.problem.slide)))
        return self._rescale(page) if self.problem.groups else None

    def _alike(self, b: int, index: int) -> list[int]:
        return self.holding[b][self.pricing.items(self.problem.blocks[b].columns[index])]

    def _near(self, b: int, among: Sequence[int], dw: float, dh: float) -> int:
        columns = self.problem.blocks[b].columns
        return min(among, key=lambda j: abs(columns[j].dw - dw) + abs(columns[j].dh - dh) + self.dice.random())

    def _changed(self, page: PageState, changes: dict[int, int], keep: dict[int, tuple[int, int]]) -> PageState:
        """Return a page with other columns; ``keep`` says per block and axis which edge stays: -1, 0 (centre), 1."""
        columns, places = list(page.columns), list(page.places)
        for b, j in changes.items():
            old, new = self.problem.blocks[b].columns[columns[b]], self.problem.blocks[b].columns[j]
            for axis, change in enumerate((new.dw - old.dw, new.dh - old.dh)):
                moved = places[2 * b + axis] - keep.get(b, (0, 0))[axis] * round(change / HALF_STEP)
                low, high = (self.problem.blocks[b].x, self.problem.blocks[b].y)[axis]
                places[2 * b + axis] = min(high, max(low, moved))
            columns[b] = j
        return self.tidy(replace(page, columns=tuple(columns), places=tuple(places)))

    def _sides(self) -> tuple[int, int]:
        return self.dice.choice((-1, 0, 0, 1)), self.dice.choice((-1, 0, 0, 1))

    def _resize(self, page: PageState) -> PageState | None:
        b = self.dice.choice(self.resizable)
        column = self.problem.blocks[b].columns[page.columns[b]]
        among = [j for j in self._alike(b, page.columns[b]) if j != page.columns[b]]
        if not among:
            return None
        if self.dice.random() < 0.1:
            return self._changed(page, {b: self.dice.choice(among)}, {b: self._sides()})
        far = [10 * HALF_STEP * self.dice.choice((-2, -1, 0, 0, 0, 1, 2)) for _ in (0, 1)]
        if self.dice.random() < 0.2:
            far = [-column.dw, -column.dh]
        return self._changed(
            page, {b: self._near(b, among, column.dw + far[0], column.dh + far[1])}, {b: self._sides()}
        )

    def _resize_both(self, page: PageState) -> PageState | None:
        if not self.tied:
            return None
        if self.equals and self.dice.random() < 0.4:
            return self._resize_all(page)
        pair = self.dice.choice(self.tied)
        far = [10 * HALF_STEP * self.dice.choice((-2, -1, 0, 0, 1, 2)) for _ in (0, 1)]
        opposite = self.dice.random() < 0.4
        edges = self._sides()
        changes = {}
        for b, sign in zip(pair, (1, -1 if opposite else 1), strict=True):
            column = self.problem.blocks[b].columns[page.columns[b]]
            changes[b] = self._near(
                b, self._alike(b, page.columns[b]), column.dw + sign * far[0], column.dh + sign * far[1]
            )
        # Neighbours that trade room keep their outer edges.
        keep = {pair[0]: edges, pair[1]: (-edges[0], -edges[1]) if opposite else edges}
        return self._changed(page, changes, keep)

    def _move_line(self, page: PageState) -> PageState | None:
        """Move a line and all edges on it; blocks with both edges on it move as a whole."""
        if not self.edges:
            return None
        line = self.dice.choice(self.edges)
        far = 5 * HALF_STEP * self.dice.choice((-4, -2, -1, 1, 2, 4))
        changes, keep, places = {}, {}, list(page.places)
        for (axis, b), ends in line.items():
            if len(ends) > 1:
                places[2 * b + axis] += round(2 * far / HALF_STEP)
                continue
            column = self.problem.blocks[b].columns[page.columns[b]]
            wanted = [column.dw, column.dh]
            wanted[axis] += ends[0] * far
            changes[b] = self._near(b, self._alike(b, page.columns[b]), *wanted)
            keep[b] = (-ends[0], 0) if axis == 0 else (0, -ends[0])
        return self._changed(replace(page, places=tuple(places)), changes, keep)

    def _resize_all(self, page: PageState) -> PageState:
        """Change all of equal size by the same."""
        axis, blocks = self.dice.choice(self.equals)
        far = 10 * HALF_STEP * self.dice.choice((-2, -1, 1, 2))
        edge = self.dice.choice((-1, 0, 1))
        changes = {}
        for b in blocks:
            column = self.problem.blocks[b].columns[page.columns[b]]
            wanted = (column.dw + far, column.dh) if axis == 0 else (column.dw, column.dh + far)
            changes[b] = self._near(b, self._alike(b, page.columns[b]), *wanted)
        return self._changed(page, changes, dict.fromkeys(blocks, (edge, 0) if axis == 0 else (0, edge)))

    def _exchange(self, page: PageState) -> PageState | None:
        """Divide what two blocks hold, and what is missing, anew between them."""
        blocks = self.dice.sample(range(len(self.problem.blocks)), min(2, len(self.problem.blocks)))
        held = [self.pricing.items(self.problem.blocks[b].columns[page.columns[b]]) for b in blocks]
        pool = self._missing(page).union(*held)
        changes = {}
        for last, b in enumerate(blocks, 2 - len(blocks)):
            could = [items for items in self.holding[b] if items <= pool and (last or items != held[0])]
            if not could:
                return None
            # The first takes whatever comes, the second as much as it can of the rest.
            most = max(len(items) for items in could) if last else 0
            taken = self.dice.choice([items for items in could if len(items) >= most])
            pool -= taken
            column = self.problem.blocks[b].columns[page.columns[b]]
            near = self._near(b, self.holding[b][taken], column.dw, column.dh)
            changes[b] = self.dice.choice(self.holding[b][taken]) if self.dice.random() < 0.25 else near
        return self._changed(page, changes, {})

    def _missing(self, page: PageState) -> Items:
        there = {
            item for b, j in enumerate(page.columns) for item in self.pricing.items(self.problem.blocks[b].columns[j])
        }
        photos = {("photo", p) for p in range(self.problem.photos)} - there
        texts = set()
        for need in self.problem.texts:
            if not any(("text", item) in there for item in need.ids):
                texts.add(("text", self.dice.choice(need.ids)))
        return frozenset(photos | texts)

    def _shift(self, page: PageState) -> PageState | None:
        if not self.movable:
            return None
        b, axis = self.dice.choice(self.movable)
        places = list(page.places)
        home = home_of(self.problem.blocks[b], page.group)[axis]
        step = self.dice.choice((1, 2, 5, 10, 20)) * self.dice.choice((-1, 1))
        together = [b]
        if self.rows and self.dice.random() < 0.3:
            axis, blocks = self.dice.choice(self.rows)
            together = list(blocks)
        for block in together:
            low, high = (self.problem.blocks[block].x, self.problem.blocks[block].y)[axis]
            at = places[2 * block + axis]
            wanted = home if len(together) == 1 and self.dice.random() < 0.25 else at + step
            places[2 * block + axis] = min(high, max(low, wanted))
        return replace(page, places=tuple(places))

    def _mend(self, page: PageState) -> PageState | None:
        """Move one block so that a row that is broken, or a line or gap, holds just so."""
        found = self.pricing.mending(page, self.dice.random())
        if found is None:
            return None
        places = list(page.places)
        at, steps = found
        block = self.problem.blocks[at // 2]
        low, high = (block.x, block.y)[at % 2]
        places[at] = min(high, max(low, places[at] + steps))
        return replace(page, places=tuple(places))

    def _rescale(self, page: PageState) -> PageState:
        """Apply another common scaling, or none: every block as it costs least, at its target."""
        group = self.dice.choice([g for g in (None, *range(len(self.problem.groups))) if g != page.group])
        columns, places = [], []
        for b, block in enumerate(self.problem.blocks):
            among = [j for j in self._alike(b, page.columns[b]) if possible(block.columns[j], group)]
            among = among or [j for j, c in enumerate(block.columns) if possible(c, group)] or [page.columns[b]]
            columns.append(min(among, key=lambda j, block=block: price(block.columns[j], group)))  # type: ignore[misc]
            for at, (low, high) in zip(home_of(block, group), (block.x, block.y), strict=True):
                places.append(min(high, max(low, at)))
        return self.tidy(replace(page, columns=tuple(columns), places=(*places, page.places[-1]), group=group))


def _axis(soft: Soft) -> int:
    """Return the axis along which a line or gap is measured."""
    return int(any(var[0] in "yh" for row in soft.rows for var, _ in row.terms))


def _edges(problem: Problem, *names: str) -> list[dict[tuple[int, int], tuple[int, ...]]]:
    """Return what lines and gaps tie together: per axis and block its near (-1) and far (1) edge."""
    joined: list[set[tuple[int, int, int]]] = []
    for soft in problem.softs:
        if soft.name not in names or len(soft.rows) != 1:
            continue
        axis, factors = _axis(soft), {var: c for var, c in soft.rows[0].terms}
        blocks = {var[1] for var in factors if var[0] in "xy" and var[1] >= 0}
        ends = set()
        for b in blocks:
            place, size = SIDES[axis]
            growing = factors.get((size, b), 0) * factors[place, b]
            if growing:
                ends.add((axis, b, 1 if growing > 0 else -1))
        for known in [j for j in joined if j & ends]:
            ends |= known
            joined.remove(known)
        if ends:
            joined.append(ends)
    found = []
    for ends in joined:
        line: dict[tuple[int, int], tuple[int, ...]] = {}
        for axis, b, end in sorted(ends):
            line[axis, b] = (*line.get((axis, b), ()), end)
        found.append(line)
    return found


def _chains(pairs: Sequence[tuple[int, int, int]]) -> list[tuple[int, tuple[int, ...]]]:
    """Return, per axis, the sets of blocks that pairs connect."""
    found: list[tuple[int, set[int]]] = []
    for axis, one, other in pairs:
        joined = {one, other}
        for known in [f for f in found if f[0] == axis and f[1] & joined]:
            joined |= known[1]
            found.remove(known)
        found.append((axis, joined))
    return [(axis, tuple(sorted(blocks))) for axis, blocks in found]


def anneal(problems: Sequence[Problem], seconds: float, seed: int = 0) -> Annealed:
    """Anneal every class for a short while, then the one that came out best for the rest of the time.

    Parameters
    ----------
    seconds
        By the clock, preparation included.
    """
    started = time.perf_counter()
    pages: list[tuple[float, int, PageState]] = []
    priced = 0

    def walk(number: int, share: float) -> float:
        nonlocal priced
        budget = share * (seconds - (time.perf_counter() - started))
        found, last, count = _anneal(problems[number], budget, random.Random(f"{seed} {number} {len(pages)}"))
        priced += count
        if found is not None:
            pages.append((found[0], number, found[1]))
        return last if found is None else found[0]

    open_classes = [n for n, problem in enumerate(problems) if all(block.columns for block in problem.blocks)]
    if open_classes:
        ends = {n: walk(n, SCOUTING / len(open_classes)) for n in open_classes} if len(open_classes) > 1 else {}
        walk(min(open_classes, key=lambda n: ends.get(n, 0.0)), 1.0)
    best = min(pages, key=lambda page: page[:2], default=None)
    solution = None if best is None else _solution(best[1], best[0], best[2])
    return Annealed(solution, priced, time.perf_counter() - started)


def _anneal(problem: Problem, seconds: float, dice: random.Random) -> tuple[tuple[float, PageState] | None, float, int]:
    """Return the best page that keeps every row, the penalised cost at the end, and how many pages were priced."""
    started = time.perf_counter()
    pricing = Pricing(problem)
    walk = _Walk(pricing, dice)
    page = walk.start()
    cost, broken, faults = pricing.price(page)
    best = (cost, page) if broken == 0 and faults == 0 else None
    count, share, strict = 1, 0.0, HARDEST
    while share < 1:
        share = min(1.0, (time.perf_counter() - started) / max(seconds, EXACT))
        heat = HOTTEST * (COLDEST / HOTTEST) ** share
        strict = SOFTEST * (HARDEST / SOFTEST) ** share
        other = walk.step(page)
        if other is None:
            continue
        new, over, wrong = pricing.price(other)
        count += 1
        change = new - cost + strict * (over - broken) + MISSING * (wrong - faults)
        if change <= 0 or dice.random() < math.exp(-change / heat):
            page, cost, broken, faults = other, new, over, wrong
            if broken == 0 and faults == 0 and (best is None or cost < best[0]):
                best = (cost, page)
    return best, cost + strict * broken + MISSING * faults, count


def _solution(number: int, cost: float, page: PageState) -> Solution:
    places: dict[Var, int] = {}
    for place, value in enumerate(page.places[:-1]):
        if value:
            places["xy"[place % 2], place // 2] = value  # type: ignore[index]
    if page.places[-1]:
        places["x", -1] = places["y", -1] = page.places[-1]
    return Solution(number, round(cost), page.columns, places, page.riders, page.member, page.group, ())
