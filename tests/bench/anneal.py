"""Simulated annealing over the same freedoms: what every block is, how large, and where.

Enters: the problems of all symmetry classes.  Leaves: the best page met that keeps every row, or none.  The clock is
shared evenly by the classes; a page is changed by one of the moves of :class:`_Walk` at a time and priced anew, with
penalties for broken rows that grow while the temperature falls.  Moves know what pages are made of: contents are
exchanged between blocks, sizes change about a kept edge, aligned blocks change together, and a common scaling moves
all it concerns.
"""

from __future__ import annotations

import math
import random
import time
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from solver.page import home_of, possible, price
from solver.problem import Column, Lit, Problem, Row, Soft, Terms, Var
from solver.solution import Solution

HOTTEST, COLDEST = 120_000.0, 1_000.0
"""Temperatures in millionths of cost."""
SOFTEST, HARDEST = 1_000.0, 40_000.0
"""Price of one grid step of a broken row, at the start and at the end."""
MISSING = 600_000.0
"""Price of a photo or text not placed, and of contents that clash."""
HALF_STEP = 1_270
"""Micrometres a size changes by when one edge stays and the centre moves by one grid step."""
SCOUTING = 0.4
"""Share of the time in which all classes are tried."""
EXACT = 1e-6
ALWAYS, NEVER = Row((), None, None), Row((), 1, None)
Array = NDArray[np.float64]
Items = frozenset[tuple[str, int]]


@dataclass(frozen=True)
class Annealed:
    """The best page and how many were priced."""

    solution: Solution | None
    priced: int
    seconds: float


@dataclass(frozen=True)
class _Page:
    """A state: one column and place per block.  ``places`` holds x and y in turn, the slide last."""

    columns: tuple[int, ...]
    places: tuple[int, ...]
    riders: tuple[bool, ...]
    member: int
    group: int | None


class Pricing:
    """The cost of pages of one problem, and by how much they break its rows."""

    def __init__(self, problem: Problem) -> None:
        if problem.leave_out:
            raise AssertionError("the annealer places every photo")
        self.problem = problem
        self.blocks = len(problem.blocks)
        self.needs = {item: number for number, need in enumerate(problem.texts) for item in need.ids}
        rows: list[Row] = []
        self.option_starts: list[int] = []
        self.choice_starts: list[int] = []
        self.literals: dict[Lit, int] = {}
        for b in range(self.blocks):
            self.literals["block", b, 0] = len(self.literals)
        for r in range(len(problem.riders)):
            self.literals["rider", r, 0] = len(self.literals)
        for m in range(len(problem.members)):
            self.literals["member", m, 0] = len(self.literals)
        conditions: list[tuple[Lit, ...]] = []

        def state(options: Sequence[Sequence[Row]], when: tuple[Lit, ...]) -> None:
            self.choice_starts.append(len(self.option_starts))
            conditions.append(when)
            for option in options:
                self.option_starts.append(len(rows))
                rows.extend(option or (ALWAYS,))

        for rule in problem.rules:
            state([rule.rows], rule.when)
        for choice in problem.choices:
            state(choice.options, choice.when)
        self.hard = len(conditions)
        for soft in problem.softs:
            state([soft.rows], soft.when)
        self.softs = len(conditions)
        for lap in problem.laps:
            state(lap.apart or ((NEVER,),), lap.when)
        self.laps = np.arange(self.softs, len(conditions))
        self.matrix, self.low, self.high = self._rows(rows)
        sides = [part for lap in problem.laps for part in (*lap.across, *lap.down)]
        self.sides = self._stack([terms for terms, _ in sides])
        self.constants = np.array([constant for _, constant in sides], dtype=np.float64)
        widest = max((len(when) for when in conditions), default=0)
        always = len(self.literals)
        self.when = np.array(
            [[*(self.literals[lit] for lit in when), *[always] * (widest - len(when))] for when in conditions]
        ).reshape(len(conditions), widest)
        self.soft_costs = np.array([soft.cost for soft in problem.softs], dtype=np.float64)
        self.emphasis = [pair for pair in problem.emphasis if problem.emphasis_cost]
        self.early = [pair for pair in problem.early if problem.order_cost or problem.ordered]

    def _terms(self, terms: Terms) -> Array:
        found = np.zeros(5 * self.blocks + 1)
        for (kind, block), coefficient in terms:
            found[5 * self.blocks if block < 0 else 5 * block + "xywhf".index(kind)] += coefficient
        return found

    def _stack(self, expressions: Sequence[Terms]) -> Array:
        return np.array([self._terms(terms) for terms in expressions]).reshape(len(expressions), 5 * self.blocks + 1)

    def _rows(self, rows: list[Row]) -> tuple[Array, Array, Array]:
        matrix = self._stack([row.terms for row in rows])
        largest = np.abs(matrix).max(axis=1, initial=0)
        largest[largest == 0] = 1
        low = np.array([-np.inf if row.low is None else row.low for row in rows], dtype=np.float64)
        high = np.array([np.inf if row.high is None else row.high for row in rows], dtype=np.float64)
        return matrix / largest[:, None], low / largest, high / largest

    def items(self, column: Column) -> Items:
        """Return what a column holds; a text and its parts count as one."""
        return frozenset({("photo", p) for p in column.photos} | {("text", t) for t in column.texts})

    def price(self, page: _Page) -> tuple[float, float, int]:
        """Return cost, how far rows are broken (in grid steps), and how many contents are missing or clash."""
        problem = self.problem
        columns = [block.columns[j] for block, j in zip(problem.blocks, page.columns, strict=True)]
        truths = [c.present for c in columns] + list(page.riders)
        truths += [m == page.member for m in range(len(problem.members))]
        cost = float(sum(price(c, page.group) for c in columns)) + problem.members[page.member].cost
        if page.group is not None:
            cost += problem.groups[page.group].cost
        values: list[float] = []
        for b, (block, column) in enumerate(zip(problem.blocks, columns, strict=True)):
            x, y = page.places[2 * b : 2 * b + 2]
            values += (x, y, column.dw, column.dh, column.scale)
            if column.present and block.shift:
                home = home_of(block, page.group)
                cost += block.shift * (abs(x - home[0]) + abs(y - home[1]))
        values.append(page.places[-1])
        for rider, there in zip(problem.riders, page.riders, strict=True):
            if not there and rider.drop and columns[rider.block].present:
                cost += rider.drop
        broken, charged = self._stated(np.array(values, dtype=np.float64), truths)
        cost += charged + max(0, problem.bare - sum(c.cover for c in columns if c.present))
        return cost + self._pairs(columns, page.member), broken, self._faults(page, columns, truths)

    def _stated(self, values: Array, truths: list[bool]) -> tuple[float, float]:
        if not len(self.choice_starts):
            return 0.0, 0.0
        reached = self.matrix @ values
        over = np.maximum(self.low - reached, 0) + np.maximum(reached - self.high, 0)
        over[over < EXACT] = 0
        least = np.minimum.reduceat(np.add.reduceat(over, self.option_starts), self.choice_starts)
        holds = np.array([*truths, True])[self.when].all(axis=1)
        least = np.where(holds, least, 0)
        charged = float(self.soft_costs @ (least[self.hard : self.softs] > 0))
        if len(self.laps):
            sides = (self.sides @ values + self.constants).reshape(-1, 2, 4).min(axis=2)
            for lap, apart, (across, down) in zip(self.problem.laps, least[self.laps], sides, strict=True):
                if apart > 0 and min(across, down) > 0:
                    charged += math.floor(lap.price * across * down / lap.per + 0.5)
        return float(least[: self.hard].sum()), charged

    def _pairs(self, columns: list[Column], member: int) -> float:
        problem = self.problem
        areas = [0] * problem.photos
        ranks = [-1] * problem.photos
        for column, rank in zip(columns, problem.members[member].ranks, strict=True):
            for photo, area in zip(column.photos, column.areas, strict=True):
                areas[photo], ranks[photo] = area, rank
        wrong = sum(areas[p] < areas[q] for p, q in self.emphasis) * problem.emphasis_cost
        late = sum(ranks[p] > ranks[q] for p, q in self.early)
        return wrong + late * (MISSING if problem.ordered else problem.order_cost)

    def _faults(self, page: _Page, columns: list[Column], truths: list[bool]) -> int:
        problem, faults = self.problem, 0
        photos = [0] * problem.photos
        texts = [0] * len(problem.texts)
        for column in columns:
            for photo in column.photos:
                photos[photo] += 1
            for need in {self.needs[item] for item in column.texts}:
                texts[need] += 1
            if column.members != -1 and not column.members >> page.member & 1:
                faults += 1
            faults += sum(all(truths[self.literals[lit]] for lit in clash) for clash in column.clashes)
            faults += not possible(column, page.group)
        faults += sum(abs(n - 1) for n in (*photos, *texts))
        for number, (rider, there) in enumerate(zip(problem.riders, page.riders, strict=True)):
            column = columns[rider.block]
            if rider.chosen:
                faults += there != (number in column.riders)
            elif (there and not column.present) or (rider.drop is None and there != column.present):
                faults += 1
        return faults


class _Walk:
    """Moves from page to page of one problem."""

    def __init__(self, pricing: Pricing, dice: random.Random) -> None:
        self.pricing, self.problem, self.dice = pricing, pricing.problem, dice
        self.keys: list[list[Items]] = []
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

    def start(self) -> _Page:
        """Return the reference with each photo where it costs least."""
        problem = self.problem
        columns = [
            min(found.get(frozenset(), range(len(b.columns))), key=lambda j, b=b: b.columns[j].cost)
            for found, b in zip(self.holding, problem.blocks, strict=True)
        ]  # type: ignore[misc]
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
        return self.tidy(_Page(tuple(columns), places, (True,) * len(problem.riders), 0, None))

    def tidy(self, page: _Page) -> _Page:
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

    def step(self, page: _Page) -> _Page | None:
        """Return a neighbour, or ``None`` when the move drawn does not exist here."""
        roll = self.dice.random()
        if roll < 0.34:
            return self._resize(page)
        if roll < 0.44:
            return self._resize_both(page)
        if roll < 0.66:
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

    def _changed(self, page: _Page, changes: dict[int, int], keep: dict[int, tuple[int, int]]) -> _Page:
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

    def _edges(self) -> tuple[int, int]:
        return self.dice.choice((-1, 0, 0, 1)), self.dice.choice((-1, 0, 0, 1))

    def _resize(self, page: _Page) -> _Page | None:
        b = self.dice.choice(self.resizable)
        column = self.problem.blocks[b].columns[page.columns[b]]
        among = [j for j in self._alike(b, page.columns[b]) if j != page.columns[b]]
        if not among:
            return None
        if self.dice.random() < 0.1:
            return self._changed(page, {b: self.dice.choice(among)}, {b: self._edges()})
        far = [10 * HALF_STEP * self.dice.choice((-2, -1, 0, 0, 0, 1, 2)) for _ in (0, 1)]
        if self.dice.random() < 0.2:
            far = [-column.dw, -column.dh]
        return self._changed(
            page, {b: self._near(b, among, column.dw + far[0], column.dh + far[1])}, {b: self._edges()}
        )

    def _resize_both(self, page: _Page) -> _Page | None:
        if not self.tied:
            return None
        if self.equals and self.dice.random() < 0.4:
            return self._resize_all(page)
        pair = self.dice.choice(self.tied)
        far = [10 * HALF_STEP * self.dice.choice((-2, -1, 0, 0, 1, 2)) for _ in (0, 1)]
        opposite = self.dice.random() < 0.4
        edges = self._edges()
        changes = {}
        for b, sign in zip(pair, (1, -1 if opposite else 1), strict=True):
            column = self.problem.blocks[b].columns[page.columns[b]]
            changes[b] = self._near(
                b, self._alike(b, page.columns[b]), column.dw + sign * far[0], column.dh + sign * far[1]
            )
        # Neighbours that trade room keep their outer edges.
        keep = {pair[0]: edges, pair[1]: (-edges[0], -edges[1]) if opposite else edges}
        return self._changed(page, changes, keep)

    def _resize_all(self, page: _Page) -> _Page:
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

    def _exchange(self, page: _Page) -> _Page | None:
        """Divide what two blocks hold, and what is missing, anew between them."""
        one, other = self.dice.sample(range(len(self.problem.blocks)), 2)
        held = [self.pricing.items(self.problem.blocks[b].columns[page.columns[b]]) for b in (one, other)]
        pool = held[0] | held[1] | self._missing(page)
        first = [items for items in self.holding[one] if items <= pool and items != held[0]]
        if not first:
            return None
        mine = self.dice.choice(first)
        rest = pool - mine
        second = [items for items in self.holding[other] if items <= rest]
        if not second:
            return None
        most = max(len(items) for items in second)
        theirs = self.dice.choice([items for items in second if len(items) == most])
        changes = {}
        for b, items in ((one, mine), (other, theirs)):
            column = self.problem.blocks[b].columns[page.columns[b]]
            among = self.holding[b][items]
            near = self._near(b, among, column.dw, column.dh)
            changes[b] = self.dice.choice(among) if self.dice.random() < 0.25 else near
        return self._changed(page, changes, {})

    def _missing(self, page: _Page) -> Items:
        there = {
            item for b, j in enumerate(page.columns) for item in self.pricing.items(self.problem.blocks[b].columns[j])
        }
        photos = {("photo", p) for p in range(self.problem.photos)} - there
        texts = set()
        for need in self.problem.texts:
            if not any(("text", item) in there for item in need.ids):
                texts.add(("text", self.dice.choice(need.ids)))
        return frozenset(photos | texts)

    def _shift(self, page: _Page) -> _Page | None:
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

    def _rescale(self, page: _Page) -> _Page:
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
    pages: list[tuple[float, int, _Page]] = []
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


def _anneal(problem: Problem, seconds: float, dice: random.Random) -> tuple[tuple[float, _Page] | None, float, int]:
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


def _solution(number: int, cost: float, page: _Page) -> Solution:
    places: dict[Var, int] = {}
    for place, value in enumerate(page.places[:-1]):
        if value:
            places["xy"[place % 2], place // 2] = value  # type: ignore[index]
    if page.places[-1]:
        places["x", -1] = places["y", -1] = page.places[-1]
    return Solution(number, round(cost), page.columns, places, page.riders, page.member, page.group, ())
