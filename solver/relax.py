"""Linear relaxation with a rigorous bound: which columns a proof still needs.

The relaxation is read off a sheet (enforced rows become big-M rows over the variables' bounds) and solved by
:mod:`solver.simplex`.  Its duals are then rounded to integers and bound and reduced costs are computed anew from
them in exact integers, so a wrong digit of the linear solver can weaken the bound but never make it false.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from itertools import chain
from typing import Any

import numpy as np
import numpy.typing as npt

from solver.sheet import Clause, Pick, Product, Sheet, SheetRow

SCALE = 1 << 20
NOTHING = -(1 << 200)
"""Less than any reduced cost."""
_MOST = 1 << 61
Numbers = npt.NDArray[Any]


@dataclass(frozen=True)
class RelaxedRow:
    """``low ≤ Σ coefficient · variable ≤ high``; ``None`` leaves a side open."""

    variables: tuple[int, ...]
    coefficients: tuple[int, ...]
    low: int | None
    high: int | None


class _Entries:
    """The entries of rows, sorted by variable, and the rows' bounds.

    Attributes
    ----------
    count
        How many rows these are.
    rows, coefficients
        Row and coefficient of each entry.
    variables, starts
        Variables that have entries, and where theirs start.
    most
        The coefficients of one variable have no larger sum than this, whatever their signs.
    sides
        The lower and the upper bound of each row, 0 where a side is open.
    closed
        Whether each row has a lower bound, and an upper one.
    """

    def __init__(self, rows: list[RelaxedRow]) -> None:
        self.count = len(rows)
        lengths = [len(row.variables) for row in rows]
        variables = np.fromiter(chain.from_iterable(row.variables for row in rows), np.int64, sum(lengths))
        order = np.argsort(variables, kind="stable")
        coefficients = np.fromiter(chain.from_iterable(row.coefficients for row in rows), np.int64, sum(lengths))
        self.rows: Numbers = np.repeat(np.arange(self.count), lengths)[order]
        self.coefficients: Numbers = coefficients[order]
        self.variables, self.starts = np.unique(variables[order], return_index=True)
        self.most = 0
        if order.size:
            self.most = int(np.add.reduceat(np.abs(self.coefficients), self.starts).max())
        sides = [[row.low for row in rows], [row.high for row in rows]]
        bounds = [[side or 0 for side in listed] for listed in sides]
        fits = all(abs(side) < _MOST for listed in bounds for side in listed)
        self.sides: Numbers = np.array(bounds, np.int64 if fits else object)
        self.closed: Numbers = np.array([[side is not None for side in listed] for listed in sides], bool)

    def weighed(self, duals: Numbers) -> Numbers:
        """Return whole multipliers, 0 where the side that one speaks of is open."""
        return np.where(np.where(duals > 0, self.closed[0], self.closed[1]), duals, 0)

    def total(self, weights: Numbers) -> int:
        """Return the sum of multiplier times bound."""
        return _dot(weights, np.where(weights > 0, self.sides[0], self.sides[1]))

    def subtract(self, weights: Numbers, reduced: Numbers) -> None:
        """Take multiplier times coefficient from each variable's cost."""
        if self.starts.size:
            products: Numbers = weights[self.rows] * self.coefficients.astype(weights.dtype)
            reduced[self.variables] -= np.add.reduceat(products, self.starts)


def _dot(one: Numbers, other: Numbers) -> int:
    """Return a scalar product of whole numbers, exactly."""
    if object not in (one.dtype, other.dtype) and np.abs(one.astype(float)) @ np.abs(other.astype(float)) >= _MOST:
        one = one.astype(object)
    return int(one @ other)


@dataclass
class Relaxation:
    """A linear programme over a model's variables; ``size`` counts the entries of its rows.

    ``empty`` says that a row without variables cannot hold.
    """

    low: list[int]
    high: list[int]
    cost: list[int]
    offset: int
    rows: list[RelaxedRow] = field(default_factory=list)
    size: int = 0
    empty: bool = False
    _entries: list[_Entries] = field(default_factory=list, repr=False, compare=False)

    def variable(self, low: int, high: int) -> int:
        """Add a variable that costs nothing and return its number."""
        self.low.append(low)
        self.high.append(high)
        self.cost.append(0)
        return len(self.low) - 1

    def bounds(self) -> tuple[Numbers, Numbers]:
        """Return lower and upper bounds of the variables, to be changed at will."""
        return np.array(self.low, np.int64), np.array(self.high, np.int64)

    def add(self, row: RelaxedRow) -> None:
        """Add a row."""
        self.rows.append(row)
        self.size += len(row.variables)

    def certify(self, duals: list[float], values: list[float], low: Numbers, high: Numbers) -> Bound:
        """Bound the objective below by weak duality with rounded duals, in exact integers.

        For any multipliers λ (positive ones on rows with a lower bound, negative ones on rows with an upper bound):
        c·x ≥ Σ λ·bound + Σ (c − λA)·x, and the last sum is at least its value at the cheaper bound of every variable.

        Parameters
        ----------
        duals, values
            A multiplier per row and a value per variable, from the linear solver.
        low, high
            The variables' bounds for which the result holds.
        """
        scaled = np.rint(np.nan_to_num(np.array(duals, float), posinf=0.0, neginf=0.0) * SCALE)
        fits = not scaled.size or np.abs(scaled).max() < _MOST
        whole: Numbers = scaled.astype(np.int64) if fits else np.array([int(dual) for dual in scaled], object)
        total, parts, first = SCALE * self.offset, [], 0
        for entries in self._listed():
            weights = entries.weighed(whole[first : first + entries.count])
            total += entries.total(weights)
            parts.append((entries, weights))
            first += entries.count
        reduced = self._priced(parts)
        cheaper = np.where(reduced > 0, low, high)
        total += _dot(reduced, cheaper)
        return Bound(-(-total // SCALE), reduced.tolist(), total, values)

    def _listed(self) -> list[_Entries]:
        """Return the entries of the rows there were at first, and of those that came later."""
        if not self._entries:
            self._entries = [_Entries(self.rows)]
        later = self.rows[self._entries[0].count :]
        if len(later) != sum(entries.count for entries in self._entries[1:]):
            self._entries[1:] = [_Entries(later)]
        return self._entries

    def _priced(self, parts: list[tuple[_Entries, Numbers]]) -> Numbers:
        """Return the reduced cost of every variable, ``SCALE``-fold: 64-bit integers if they surely suffice."""
        highest = SCALE * max(map(abs, self.cost), default=0)
        highest += sum(int(np.abs(weights).max(initial=0)) * entries.most for entries, weights in parts)
        kind: type = np.int64 if highest < _MOST else object
        reduced: Numbers = np.array(self.cost, kind) * SCALE
        for entries, weights in parts:
            entries.subtract(weights.astype(kind), reduced)
        return reduced

    def free(self) -> Relaxation:
        """Return the same programme without an objective; a positive bound of it proves that it is empty."""
        self._listed()
        return Relaxation(self.low, self.high, [0] * len(self.cost), 0, self.rows, self.size, _entries=self._entries)


@dataclass(frozen=True)
class Bound:
    """A proved lower bound on the objective; ``value`` is ``None`` when there is no solution at all."""

    value: int | None
    reduced: list[int]
    exact: int = 0
    values: list[float] = field(default_factory=list)

    def room(self, variable: int, cutoff: int) -> int | None:
        """Return how far a variable may lie from its cheaper bound at a cost of ``cutoff`` or less."""
        price = abs(self.reduced[variable])
        return None if not price else max(0, (cutoff * SCALE - self.exact) // price)

    def allowance(self, cutoff: int) -> int:
        """Return the most a 0–1 variable's reduced cost may be for it to be one at a cost of ``cutoff`` or less."""
        left = cutoff * SCALE - self.exact
        return left if self.value is not None and left >= 0 else NOTHING


def relax(sheet: Sheet) -> Relaxation:
    """Return the linear relaxation of a sheet; what is not linear is left out."""
    cost = [0] * len(sheet.low)
    for variable, price in sheet.cost.items():
        cost[variable] = price
    relaxation = Relaxation(list(sheet.low), list(sheet.high), cost, sheet.offset)
    for row in sheet.rows:
        if isinstance(row, SheetRow):
            if row.when:
                _enforced(relaxation, row)
            else:
                relaxation.add(RelaxedRow(row.variables, row.coefficients, row.low, row.high))
        elif not isinstance(row, Product):
            _literals(relaxation, row)
    return relaxation


def _literals(relaxation: Relaxation, row: Pick | Clause) -> None:
    """Add a row over literals; a clause of none cannot hold."""
    terms: dict[int, int] = {}
    bound = 1
    for literal in row.literals:
        variable, sign = (literal, 1) if literal >= 0 else (~literal, -1)
        bound -= literal < 0
        terms[variable] = terms.get(variable, 0) + sign
    _append(relaxation, terms, bound, bound if isinstance(row, Pick) else None)


def _enforced(relaxation: Relaxation, row: SheetRow) -> None:
    """Add a row that holds under conditions: it becomes one with the least big-M that is valid."""
    lows, highs = relaxation.low, relaxation.high
    least = most = 0
    for v, c in zip(row.variables, row.coefficients, strict=True):
        least += c * (lows[v] if c > 0 else highs[v])
        most += c * (highs[v] if c > 0 else lows[v])
    terms = dict(zip(row.variables, row.coefficients, strict=True))
    if row.low is not None and row.low > least:
        loosened, bound = _loosened(terms, row.when, row.low, least - row.low)
        _append(relaxation, loosened, bound, None)
    if row.high is not None and row.high < most:
        loosened, bound = _loosened(terms, row.when, row.high, most - row.high)
        _append(relaxation, loosened, None, bound)


def _loosened(terms: dict[int, int], enforced: tuple[int, ...], bound: int, slack: int) -> tuple[dict[int, int], int]:
    """Return terms and bound of "expression ≥ (≤) bound + slack · number of false literals"."""
    row = dict(terms)
    for literal in enforced:
        if literal >= 0:
            row[literal] = row.get(literal, 0) + slack
            bound += slack
        else:
            row[~literal] = row.get(~literal, 0) - slack
    return row, bound


def _append(relaxation: Relaxation, terms: dict[int, int], low: int | None, high: int | None) -> None:
    terms = {v: c for v, c in terms.items() if c}
    if not terms:
        relaxation.empty |= (low is not None and low > 0) or (high is not None and high < 0)
    elif low is not None or high is not None:
        relaxation.add(RelaxedRow(tuple(terms), tuple(terms.values()), low, high))
