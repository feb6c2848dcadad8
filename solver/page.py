"""A model under construction: its variables, and rows over them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from solver.problem import Block, Column, Lit, Problem, Row, Terms, Var, Way
from solver.sheet import ALWAYS, Clause, Sheet, Sum


@dataclass
class PageModel:
    """A model under construction and the variables a solution is read from.

    ``kept`` lists, per block, the indices of the columns that are in the model; ``present`` says by a literal whether
    a block is there.
    """

    problem: Problem
    kept: tuple[tuple[int, ...], ...]
    sheet: Sheet = field(default_factory=Sheet)
    columns: list[dict[int, int]] = field(default_factory=list)
    places: dict[Var, int] = field(default_factory=dict)
    scales: dict[Var, int] = field(default_factory=dict)
    present: list[int] = field(default_factory=list)
    riders: list[int] = field(default_factory=list)
    members: list[int] = field(default_factory=list)
    group: int | None = None
    left_out: list[int] = field(default_factory=list)
    broken: dict[int, int] = field(default_factory=dict)
    moved: dict[Var, int] = field(default_factory=dict)
    drifts: list[int] = field(default_factory=list)
    ways: dict[Way, int] = field(default_factory=dict)

    def column(self, block: int, index: int) -> Column:
        """Return a column of a block."""
        return self.problem.blocks[block].columns[index]

    def literal(self, lit: Lit) -> int:
        """Return what stands for a literal of the problem on the sheet."""
        kind, number, _ = lit
        if kind == "block":
            return self.present[number]
        if kind == "rider":
            return self.riders[number]
        if kind == "not-rider":
            return ~self.riders[number]
        if kind == "member":
            return self.members[number]
        if kind == "column":
            return self.columns[number].get(lit[2], ~ALWAYS)
        raise KeyError(lit)

    def rank(self, photo: int) -> Sum:
        """Return the rank of a photo's area, 0 if it is nowhere, as a sum."""
        return [
            (var, column.areas[column.photos.index(photo)])
            for b, choice in enumerate(self.columns)
            for j, var in choice.items()
            if photo in (column := self.column(b, j)).photos
        ]

    def expr(self, terms: Terms) -> Sum:
        """Return a sum over places and sizes."""
        return [(self.places[v], c * self.scales.get(v, 1)) for v, c in terms if v in self.places]

    def post(self, row: Row, when: Iterable[int] = (), unless: int | None = None) -> None:
        """Add a row, enforced by literals; divided by its common factor, bounds moved inwards."""
        coefficients = {var: c * self.scales.get(var, 1) for var, c in row.terms if var in self.places}
        conditions = [*when] if unless is None else [*when, ~unless]
        divisor = math.gcd(*coefficients.values()) or 1
        low = None if row.low is None else -(-row.low // divisor)
        high = None if row.high is None else row.high // divisor
        if low is not None and high is not None and low > high:
            # No whole number lies between the bounds: what the row is for cannot be.
            self.sheet.rows.append(Clause(tuple(~lit for lit in conditions)))
        else:
            self.sheet.row([(self.places[v], c // divisor) for v, c in coefficients.items()], low, high, conditions)

    def conditions(self, when: Sequence[Lit]) -> list[int] | None:
        """Return the literals of a condition; ``None`` when one of them is never true."""
        found = [literal for lit in when if (literal := self.literal(lit)) != ALWAYS]
        return None if ~ALWAYS in found else found


def price(column: Column, group: int | None) -> int:
    """Return what a column costs under a common scaling."""
    if group is None or not column.present or not column.gains:
        return column.cost
    return column.cost - (column.gains[group] or 0)


def possible(column: Column, group: int | None) -> bool:
    """Whether a column can be used under a common scaling."""
    return group is None or not column.present or not column.gains or column.gains[group] is not None


def home_of(block: Block, group: int | None) -> tuple[int, int]:
    """Return the displacement from which a block's shift is measured."""
    return (0, 0) if group is None or not block.targets else block.targets[group]
