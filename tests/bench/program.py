"""The program behind :mod:`tests.bench.mip`: one function per part of a problem, each adding columns and rows.

Conditions become big-M rows, with the smallest M that the ranges of the variables allow.  All costs are stated
exactly but one: the price of an overlap goes by area, a product of two lengths.  It is stated from below, in
:data:`PIECES` steps of the shallower side, so that bounds stay bounds; what a page really costs is for the checker.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal

import highspy

from solver.problem import Lap, Lit, Problem, Row, Terms, Var
from tests.bench.pricing import home_of, possible, price

PIECES = 6
"""Steps in which the shallower side of an overlap is priced."""
UNSTATED = "overlap (bounded from below)"
Expression = tuple[dict[int, float], float]
"""Coefficients by column, and a constant."""


@dataclass
class Program:
    """Columns and rows being collected, and where a solution is read from."""

    problem: Problem
    group: int | None
    cost: list[float] = field(default_factory=list)
    low: list[float] = field(default_factory=list)
    high: list[float] = field(default_factory=list)
    whole: list[bool] = field(default_factory=list)
    rows: list[tuple[float, float, dict[int, float]]] = field(default_factory=list)
    offset: float = 0.0
    picks: list[dict[int, int]] = field(default_factory=list)
    present: list[int | bool] = field(default_factory=list)
    places: dict[Var, int] = field(default_factory=dict)
    riders: list[int] = field(default_factory=list)
    members: list[int] = field(default_factory=list)
    left_out: list[int] = field(default_factory=list)
    broken: dict[int, int] = field(default_factory=dict)

    def add(self, low: float, high: float, *, cost: float = 0.0, whole: bool = False) -> int:
        """Add a variable."""
        self.low.append(low)
        self.high.append(high)
        self.cost.append(cost)
        self.whole.append(whole)
        return len(self.cost) - 1

    def binary(self, cost: float = 0.0) -> int:
        """Add a yes-or-no variable."""
        return self.add(0, 1, cost=cost, whole=True)

    def row(self, terms: Mapping[int, float], low: float, high: float) -> None:
        """Add ``low ≤ Σ coefficient · variable ≤ high``."""
        self.rows.append((low, high, {k: v for k, v in terms.items() if v}))

    def expression(self, terms: Terms) -> dict[int, float]:
        """Return the coefficients of a linear expression over places and sizes."""
        found: dict[int, float] = defaultdict(float)
        for var, coefficient in terms:
            if var in self.places:
                found[self.places[var]] += coefficient
        return dict(found)

    def span(self, terms: Mapping[int, float]) -> tuple[float, float]:
        """Return the least and the largest value of an expression."""
        ends = [(c * self.low[k], c * self.high[k]) for k, c in terms.items()]
        return sum(min(pair) for pair in ends), sum(max(pair) for pair in ends)

    def post(self, row: Row, conditions: Sequence[Expression]) -> None:
        """Add a row that holds when all conditions are 1."""
        terms = self.expression(row.terms)
        # Rows of tilted shapes have coefficients far beyond what floating point takes: a largest one of 1 suits all.
        largest = max((abs(c) for c in terms.values()), default=0.0) or 1.0
        terms = {k: c / largest for k, c in terms.items()}
        least, most = self.span(terms)
        for wanted, reach, side in ((row.high, most, 1), (row.low, least, -1)):
            if wanted is None or side * (reach - wanted / largest) <= 0:
                continue
            bound = wanted / largest
            # side·terms ≤ side·bound + M·Σ(1 − condition)
            big = side * (reach - bound)
            made: dict[int, float] = defaultdict(float)
            for k, c in terms.items():
                made[k] += side * c
            room = side * bound + big * len(conditions)
            for condition, constant in conditions:
                for k, c in condition.items():
                    made[k] += big * c
                room -= big * constant
            self.row(made, -highspy.kHighsInf, room)

    def truth(self, lit: Lit) -> Expression | None:
        """Return a literal as an expression of value 0 or 1; ``None`` when it is never true."""
        kind, number, column = lit
        if kind == "block":
            found = self.present[number]
            if found is False:
                return None
            return ({}, 1.0) if found is True else ({found: 1.0}, 0.0)
        if kind == "group":
            return ({}, 1.0) if number == self.group else None
        if kind == "column":
            return ({self.picks[number][column]: 1.0}, 0.0) if column in self.picks[number] else None
        if kind == "not-rider":
            return {self.riders[number]: -1.0}, 1.0
        return {{"rider": self.riders, "member": self.members}[kind][number]: 1.0}, 0.0

    def truths(self, when: Iterable[Lit]) -> list[Expression] | None:
        """Return literals as expressions, those left out that are always true; ``None`` when one is never true."""
        made = []
        for lit in when:
            found = self.truth(lit)
            if found is None:
                return None
            if found[0]:
                made.append(found)
        return made


def program_of(problem: Problem, group: int | None) -> Program | None:
    """Return the whole program, or ``None`` when a block has nothing to pick."""
    made = Program(problem, group)
    if group is not None:
        made.offset += problem.groups[group].cost
    for part in (_blocks, _riders, _members, _photos, _texts, _clashes, _shifts, _rules, _lines, _laps):
        if part(made) is False:
            return None
    _bare(made)
    _balance(made)
    _emphasis(made)
    _order(made)
    return made


def _blocks(made: Program) -> bool:
    for b, block in enumerate(made.problem.blocks):
        kept = [j for j, c in enumerate(block.columns) if possible(c, made.group)]
        if not kept:
            return False
        pick = {j: made.binary(price(block.columns[j], made.group)) for j in kept}
        made.picks.append(pick)
        made.row(dict.fromkeys(pick.values(), 1.0), 1, 1)
        there = [v for j, v in pick.items() if block.columns[j].present]
        if len(there) in (0, len(pick)):
            made.present.append(bool(there))
        else:
            present = made.add(0, 1)
            made.row({**dict.fromkeys(there, 1.0), present: -1.0}, 0, 0)
            made.present.append(present)
        for axis, bounds in (("x", block.x), ("y", block.y)):
            if bounds != (0, 0):
                made.places[(axis, b)] = made.add(*bounds, whole=True)  # type: ignore[index]
        riding = any(rider.block == b for rider in made.problem.riders)
        kinds: tuple[Literal["w", "h", "f"], ...] = ("w", "h", "f")
        for kind in kinds:
            values = {j: {"w": c.dw, "h": c.dh, "f": c.scale}[kind] for j, c in enumerate(block.columns) if j in pick}
            if any(values.values()) and (kind != "f" or riding):
                size = made.add(min(values.values()), max(values.values()))
                made.row({**{pick[j]: float(v) for j, v in values.items()}, size: -1.0}, 0, 0)
                made.places[(kind, b)] = size
    if made.problem.slide is not None:
        slide = made.add(min(made.problem.slide), max(made.problem.slide))
        ends = {made.binary(): float(value) for value in made.problem.slide}
        made.row(dict.fromkeys(ends, 1.0), 1, 1)
        made.row({**ends, slide: -1.0}, 0, 0)
        made.places[("x", -1)] = made.places[("y", -1)] = slide
    return True


def _riders(made: Program) -> None:
    for number, rider in enumerate(made.problem.riders):
        there = made.binary()
        made.riders.append(there)
        present = made.truth(("block", rider.block, 0)) or ({}, 0.0)
        if rider.chosen:
            columns = made.problem.blocks[rider.block].columns
            listing = [v for j, v in made.picks[rider.block].items() if number in columns[j].riders]
            made.row({**dict.fromkeys(listing, 1.0), there: -1.0}, 0, 0)
            continue
        tied = {k: -c for k, c in present[0].items()}
        made.row({there: 1.0, **tied}, present[1] if rider.drop is None else -highspy.kHighsInf, present[1])
        if rider.drop:
            made.cost[there] -= rider.drop
            for k, c in present[0].items():
                made.cost[k] += rider.drop * c
            made.offset += rider.drop * present[1]


def _members(made: Program) -> None:
    made.members += [made.binary(member.cost) for member in made.problem.members]
    made.row(dict.fromkeys(made.members, 1.0), 1, 1)


def _holders(made: Program, what: Callable[[int, int], Iterable[int]]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = defaultdict(list)
    for b, pick in enumerate(made.picks):
        for j, variable in pick.items():
            for item in what(b, j):
                found[item].append(variable)
    return found


def _photos(made: Program) -> bool:
    problem = made.problem
    holders = _holders(made, lambda b, j: problem.blocks[b].columns[j].photos)
    for photo in range(problem.photos):
        terms = dict.fromkeys(holders[photo], 1.0)
        if problem.leave_out:
            made.left_out.append(made.binary(problem.left_out_cost))
            terms[made.left_out[-1]] = 1.0
        if not terms:
            return False
        made.row(terms, 1, 1)
    if problem.leave_out:
        made.row(dict.fromkeys(made.left_out, 1.0), 0, problem.leave_out)
    return True


def _texts(made: Program) -> bool:
    problem = made.problem
    for need in problem.texts:
        wanted = set(need.ids)
        holders = _holders(made, lambda b, j: [1] if wanted & set(problem.blocks[b].columns[j].texts) else [])  # noqa: B023
        if not holders[1]:
            return False
        made.row(dict.fromkeys(holders[1], 1.0), 1, 1)
    return True


def _clashes(made: Program) -> None:
    for b, pick in enumerate(made.picks):
        clashing: dict[tuple[Lit, ...], list[int]] = defaultdict(list)
        masked: dict[int, list[int]] = defaultdict(list)
        for j, variable in pick.items():
            column = made.problem.blocks[b].columns[j]
            for clash in column.clashes:
                clashing[clash].append(variable)
            if column.members != -1:
                masked[column.members].append(variable)
        for clash, columns in clashing.items():
            lits = made.truths(clash)
            if lits is None:
                continue
            terms: dict[int, float] = dict.fromkeys(columns, 1.0)
            for found, _ in lits:
                for k, c in found.items():
                    terms[k] = terms.get(k, 0.0) + c
            made.row(terms, -highspy.kHighsInf, len(lits) - sum(constant for _, constant in lits))
        for mask, columns in masked.items():
            barred = [v for k, v in enumerate(made.members) if not mask >> k & 1]
            if barred:
                made.row(dict.fromkeys([*columns, *barred], 1.0), -highspy.kHighsInf, 1)


def _shifts(made: Program) -> None:
    for b, block in enumerate(made.problem.blocks):
        if not block.shift:
            continue
        here, always = made.truth(("block", b, 0)) or ({}, 0.0)
        for axis, target, bounds in zip("xy", home_of(block, made.group), (block.x, block.y), strict=True):
            place = made.places.get((axis, b))  # type: ignore[arg-type]
            if place is None:
                for k, c in here.items():
                    made.cost[k] += block.shift * abs(target) * c
                made.offset += block.shift * abs(target) * always
                continue
            far = max(abs(bounds[0] - target), abs(bounds[1] - target))
            distance = made.add(0, far, cost=block.shift)
            for sign in (1, -1):
                # distance ≥ ±(place − target) − far·(1 − present)
                terms = {distance: 1.0, place: -float(sign), **{k: -far * c for k, c in here.items()}}
                made.row(terms, -sign * target - far * (1 - always), highspy.kHighsInf)


def _rules(made: Program) -> None:
    for rule in made.problem.rules:
        when = made.truths(rule.when)
        for row in rule.rows if when is not None else ():
            made.post(row, when or [])
    for choice in made.problem.choices:
        when = made.truths(choice.when)
        if when is not None:
            made_ways = _ways(made, choice.options)
            _one_of(made, made_ways, when)


def _ways(made: Program, options: Sequence[Sequence[Row]]) -> list[int]:
    ways = []
    for rows in options:
        way = made.binary()
        ways.append(way)
        for row in rows:
            made.post(row, [({way: 1.0}, 0.0)])
    return ways


def _one_of(made: Program, ways: Sequence[int], when: Sequence[Expression]) -> None:
    """At least one way is taken when all conditions hold."""
    terms: dict[int, float] = dict.fromkeys(ways, 1.0)
    for found, _ in when:
        for k, c in found.items():
            terms[k] = terms.get(k, 0.0) - c
    made.row(terms, 1 - len(when) + sum(constant for _, constant in when), highspy.kHighsInf)


def _lines(made: Program) -> None:
    problem = made.problem
    for number, soft in enumerate(problem.softs):
        when = made.truths(soft.when)
        if when is None or not soft.cost:
            continue
        broken = made.binary(soft.cost)
        made.broken[number] = broken
        for row in soft.rows:
            made.post(row, [*when, ({broken: -1.0}, 1.0)])
    for track in problem.tracks:
        if not set(track.softs) <= made.broken.keys():
            continue
        loose = [made.broken[s] for s in track.softs]
        sizes = []
        for b in (track.first, track.second):
            by_size: dict[int, list[int]] = defaultdict(list)
            for j, variable in made.picks[b].items():
                column = problem.blocks[b].columns[j]
                if column.present:
                    by_size[column.dw if track.axis == 0 else column.dh].append(variable)
            sizes.append(by_size)
        for one, other, b in ((sizes[0], sizes[1], track.second), (sizes[1], sizes[0], track.first)):
            here, always = made.truth(("block", b, 0)) or ({}, 0.0)
            for value, columns in one.items():
                terms = {**dict.fromkeys(columns, 1.0), **dict.fromkeys(other.get(value, []), -1.0)}
                terms |= dict.fromkeys(loose, -1.0) | dict(here)
                made.row(terms, -highspy.kHighsInf, 1 - always)


def _laps(made: Program) -> None:
    for lap in made.problem.laps:
        when = made.truths(lap.when)
        if when is None or not lap.price:
            continue
        ways = _ways(made, lap.apart)
        ways += _overlaps(made, lap)
        _one_of(made, ways, when)


def _overlaps(made: Program, lap: Lap) -> list[int]:
    """Return one way for each step of the shallower side: its far end bounds it, its near end prices the other side."""
    sides = []
    for parts in (lap.across, lap.down):
        side = made.add(0, lap.longest)
        smallest = []
        for terms, constant in parts:
            least = made.binary()
            smallest.append(least)
            # side ≥ terms + constant when this difference is the smallest
            expr = made.expression(terms)
            big = max(0.0, made.span(expr)[1] + constant)
            made.row({side: 1.0, least: -big, **{k: -c for k, c in expr.items()}}, constant - big, highspy.kHighsInf)
        made.row(dict.fromkeys(smallest, 1.0), 1, len(smallest))
        sides.append(side)
    rate = lap.price / lap.per
    cost = made.add(0, rate * lap.longest * lap.deepest + 1, cost=1.0)
    ways = []
    for shallow, long in (sides, sides[::-1]):
        for step in range(PIECES):
            way = made.binary()
            ways.append(way)
            near, far = (lap.deepest * n / PIECES for n in (step, step + 1))
            made.row({shallow: 1.0, way: lap.longest - far}, -highspy.kHighsInf, lap.longest)
            big = rate * near * lap.longest
            made.row({cost: 1.0, long: -rate * near, way: -big}, -big - 0.5, highspy.kHighsInf)
    return ways


def _bare(made: Program) -> None:
    problem = made.problem
    if not problem.bare:
        return
    hole = made.add(0, problem.bare, cost=1.0)
    terms = {hole: 1.0}
    for b, pick in enumerate(made.picks):
        for j, variable in pick.items():
            column = problem.blocks[b].columns[j]
            if column.cover and column.present:
                terms[variable] = float(column.cover)
    made.row(terms, problem.bare, highspy.kHighsInf)


def _balance(made: Program) -> None:
    problem = made.problem
    balance = problem.balance
    if balance is None:
        return
    sides: tuple[Literal["x", "y"], ...] = ("x", "y")
    for axis, side in enumerate(sides):
        terms: dict[int, float] = {}
        if (side, -1) in made.places:
            terms[made.places[side, -1]] = float(balance.slide[axis])
        for b, (pick, block) in enumerate(zip(made.picks, problem.blocks, strict=True)):
            terms |= {v: float(block.columns[j].moments[axis]) for j, v in pick.items() if block.columns[j].present}
            place, there = made.places.get((side, b)), made.truth(("block", b, 0))
            if place is None or there is None or not block.swings[axis]:
                continue
            if there[0]:
                # The displacement while the block is there, else 0.
                low, high = min(0.0, made.low[place]), max(0.0, made.high[place])
                counted, (present,) = made.add(low, high), there[0]
                made.row({counted: 1.0, present: -high}, -highspy.kHighsInf, 0)
                made.row({counted: 1.0, present: -low}, 0, highspy.kHighsInf)
                span = high - low
                made.row({counted: 1.0, place: -1.0, present: span}, -highspy.kHighsInf, span)
                made.row({counted: 1.0, place: -1.0, present: -span}, -span, highspy.kHighsInf)
                place = counted
            terms[place] = float(block.swings[axis])
        # In whole units, as the others: rounded to the nearest, so half a unit is allowed besides.
        tipped = made.add(0, highspy.kHighsInf, cost=1.0, whole=True)
        terms = {k: c / balance.per for k, c in terms.items()}
        base, most = balance.base[axis] / balance.per, balance.allowed[axis] / balance.per + 0.5
        made.row({**terms, tipped: -1.0}, -highspy.kHighsInf, most - base)
        made.row({**terms, tipped: 1.0}, -most - base, highspy.kHighsInf)


def _emphasis(made: Program) -> None:
    problem = made.problem
    if not problem.emphasis_cost:
        return
    most = float(len(problem.areas))
    for more, less in problem.emphasis:
        terms = {made.binary(problem.emphasis_cost): most}
        for sign, photo in ((1.0, more), (-1.0, less)):
            for b, pick in enumerate(made.picks):
                for j, variable in pick.items():
                    column = problem.blocks[b].columns[j]
                    if photo in column.photos:
                        rank = column.areas[column.photos.index(photo)]
                        terms[variable] = terms.get(variable, 0.0) + sign * rank
        for left in (made.left_out[p] for p in (more, less) if made.left_out):
            terms[left] = most
        made.row(terms, 0, highspy.kHighsInf)


def _order(made: Program) -> None:
    problem = made.problem
    if not problem.early or not (problem.order_cost or problem.ordered):
        return
    most = float(len(problem.blocks))
    ranks = [made.add(0, most) for _ in range(problem.photos)]
    for photo, rank in enumerate(ranks):
        holds = {
            variable: b
            for b, pick in enumerate(made.picks)
            for j, variable in pick.items()
            if photo in problem.blocks[b].columns[j].photos
        }
        for k, member in enumerate(problem.members):
            for sign in (1.0, -1.0):
                terms = {variable: -sign * member.ranks[b] for variable, b in holds.items()}
                terms |= {rank: sign, made.members[k]: most}
                if made.left_out:
                    terms[made.left_out[photo]] = -most
                made.row(terms, -highspy.kHighsInf, most)
    for early, late in problem.early:
        terms = {ranks[early]: 1.0, ranks[late]: -1.0}
        if not problem.ordered:
            terms[made.binary(problem.order_cost)] = -most
        for left in (made.left_out[p] for p in (early, late) if made.left_out):
            terms[left] = -most
        made.row(terms, -highspy.kHighsInf, 0)
