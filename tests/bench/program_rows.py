"""The program of :mod:`tests.bench.program` as it grows: its columns and rows, and rows under conditions.

Conditions become big-M rows, with the smallest M that the ranges of the variables allow.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import highspy

from solver.problem import Lit, Problem, Row, Terms, Var

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


def ways_of(made: Program, options: Sequence[Sequence[Row]]) -> list[int]:
    """Return a yes-or-no variable for each option, whose rows hold when it is taken."""
    ways = []
    for rows in options:
        way = made.binary()
        ways.append(way)
        for row in rows:
            made.post(row, [({way: 1.0}, 0.0)])
    return ways


def one_of(made: Program, ways: Sequence[int], when: Sequence[Expression]) -> None:
    """At least one way is taken when all conditions hold."""
    terms: dict[int, float] = dict.fromkeys(ways, 1.0)
    for found, _ in when:
        for k, c in found.items():
            terms[k] = terms.get(k, 0.0) - c
    made.row(terms, 1 - len(when) + sum(constant for _, constant in when), highspy.kHighsInf)
