"""What a page of a problem costs, and by how much it breaks the problem's rows: NumPy on the problem itself.

Written for the annealer, without the model that CP-SAT solves.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from solver.problem import Block, Choice, Column, Lap, Lit, Problem, Row, Rule, Soft, Terms

MISSING = 600_000.0
"""Price of a photo or text not placed, and of contents that clash."""
EXACT = 1e-6
ALWAYS, NEVER = Row((), None, None), Row((), 1, None)
Array = NDArray[np.float64]
Items = frozenset[tuple[str, int]]
"""What a column holds: photos and texts by number."""


def price(column: Column, group: int | None) -> int:
    """Return what a column costs under a common scaling."""
    gain = None if group is None or not column.present or not column.gains else column.gains[group]
    return column.cost - (gain or 0)


def possible(column: Column, group: int | None) -> bool:
    """Return whether a column can be used under a common scaling."""
    return group is None or not column.present or not column.gains or column.gains[group] is not None


def home_of(block: Block, group: int | None) -> tuple[int, int]:
    """Return the displacement from which a block's shift is measured."""
    return (0, 0) if group is None or not block.targets else block.targets[group]


@dataclass(frozen=True)
class PageState:
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
        self.literals = self._literals()
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

    def _literals(self) -> dict[Lit, int]:
        """Return a number for every literal of blocks, riders and members, and for those that conditions mention."""
        problem = self.problem
        found: dict[Lit, int] = {}
        for kind, count in (("block", self.blocks), ("rider", len(problem.riders)), ("member", len(problem.members))):
            for number in range(count):
                found[kind, number, 0] = len(found)  # type: ignore[index]
        stated: list[Rule | Choice | Soft | Lap] = [*problem.rules, *problem.choices, *problem.softs, *problem.laps]
        mentioned = [lit for part in stated for lit in part.when]
        mentioned += [lit for b in problem.blocks for c in b.columns for clash in c.clashes for lit in clash]
        self.others = [lit for lit in dict.fromkeys(mentioned) if lit not in found]
        return found | {lit: len(found) + n for n, lit in enumerate(self.others)}

    def _truth(self, lit: Lit, page: PageState) -> bool:
        kind, number, column = lit
        if kind == "group":
            return page.group == number
        if kind == "not-rider":
            return not page.riders[number]
        return page.columns[number] == column

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

    def price(self, page: PageState) -> tuple[float, float, int]:
        """Return cost, how far rows are broken (in grid steps), and how many contents are missing or clash."""
        problem = self.problem
        columns = [block.columns[j] for block, j in zip(problem.blocks, page.columns, strict=True)]
        truths = [c.present for c in columns] + list(page.riders)
        truths += [m == page.member for m in range(len(problem.members))]
        truths += [self._truth(lit, page) for lit in self.others]
        cost = float(sum(price(c, page.group) for c in columns)) + problem.members[page.member].cost
        if page.group is not None:
            cost += problem.groups[page.group].cost
        cost += self._shifts(page, columns)
        for rider, there in zip(problem.riders, page.riders, strict=True):
            if not there and rider.drop and columns[rider.block].present:
                cost += rider.drop
        broken, charged = self._stated(self._values(page, columns), truths)
        cost += charged + max(0, problem.bare - sum(c.cover for c in columns if c.present))
        cost += self._tipped(page, columns)
        return cost + self._pairs(columns, page.member), broken, self._faults(page, columns, truths)

    def _shifts(self, page: PageState, columns: Sequence[Column]) -> int:
        """Return what displacements cost, the page drifted along each axis to where that is least."""
        cost, drift = 0, self.problem.drift
        for axis in (0, 1):
            there = [(b, block) for b, block in enumerate(self.problem.blocks) if columns[b].present and block.shift]
            away = [page.places[2 * b + axis] - home_of(block, page.group)[axis] for b, block in there]
            free = sorted(d for d, (_, block) in zip(away, there, strict=True) if not block.anchored[axis])
            ends = (free[(len(free) - 1) // 2], free[len(free) // 2]) if free else (0, 0)
            common = min(max(min(max(0, ends[0]), ends[1]), -drift), drift)
            cost += self.problem.drift_cost * abs(common)
            for distance, (_, block) in zip(away, there, strict=True):
                cost += block.shift * abs(distance - (0 if block.anchored[axis] else common))
        return cost

    def _values(self, page: PageState, columns: Sequence[Column]) -> Array:
        values: list[int] = []
        for b, column in enumerate(columns):
            values += (page.places[2 * b], page.places[2 * b + 1], column.dw, column.dh, column.scale)
        return np.array([*values, page.places[-1]], dtype=np.float64)

    def mending(self, page: PageState, pick: float) -> tuple[int, int] | None:
        """Return a place and how many steps it must move for one row, or line, that does not hold now.

        ``pick`` in 0…1 chooses among rows, and in each among its places; the place is numbered as in the state.
        """
        columns = [block.columns[j] for block, j in zip(self.problem.blocks, page.columns, strict=True)]
        reached = self.matrix @ self._values(page, columns)
        short = np.maximum(self.low - reached, 0) - np.maximum(reached - self.high, 0)
        rows = np.flatnonzero(np.abs(short) > EXACT)
        if not len(rows):
            return None
        row = int(rows[int(pick * len(rows))])
        places = [k for k in np.flatnonzero(self.matrix[row]) if k % 5 < 2 and k < 5 * self.blocks]
        if not places:
            return None
        place = int(places[int(pick * 997) % len(places)])
        steps = short[row] / self.matrix[row, place]
        return 2 * (place // 5) + place % 5, math.ceil(steps) if steps > 0 else math.floor(steps)

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

    def _tipped(self, page: PageState, columns: Sequence[Column]) -> float:
        """Return what a page pays for its moments beyond those allowed."""
        balance, cost = self.problem.balance, 0
        if balance is None:
            return 0.0
        for axis in (0, 1):
            moment = balance.base[axis] + balance.slide[axis] * page.places[-1]
            for b, (block, column) in enumerate(zip(self.problem.blocks, columns, strict=True)):
                if column.present:
                    moment += column.moments[axis] + block.swings[axis] * page.places[2 * b + axis]
            cost += max(0, math.ceil((abs(moment) - balance.allowed[axis]) / balance.per - 0.5))
        return float(cost)

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

    def _faults(self, page: PageState, columns: list[Column], truths: list[bool]) -> int:
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
