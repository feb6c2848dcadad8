"""A model under construction: its variables, and rows over them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from solver.problem import Block, Column, Lit, Problem, Row, Terms, Var

LinearExpr = cp_model.LinearExprT
_OPEN_LOW, _OPEN_HIGH = -(2**60), 2**60


@dataclass
class PageModel:
    """A model under construction and the variables a solution is read from.

    ``kept`` lists, per block, the indices of the columns that are in the model.
    """

    problem: Problem
    kept: tuple[tuple[int, ...], ...]
    model: cp_model.CpModel = field(default_factory=cp_model.CpModel)
    columns: list[dict[int, cp_model.IntVar]] = field(default_factory=list)
    places: dict[Var, cp_model.IntVar] = field(default_factory=dict)
    scales: dict[Var, int] = field(default_factory=dict)
    present: list[LinearExpr] = field(default_factory=list)
    riders: list[cp_model.IntVar] = field(default_factory=list)
    members: list[cp_model.IntVar] = field(default_factory=list)
    group: int | None = None
    left_out: list[cp_model.IntVar] = field(default_factory=list)
    broken: dict[int, cp_model.IntVar] = field(default_factory=dict)
    moved: dict[Var, cp_model.IntVar] = field(default_factory=dict)
    objective: list[LinearExpr] = field(default_factory=list)
    offset: int = 0

    def column(self, block: int, index: int) -> Column:
        """Return a column of a block."""
        return self.problem.blocks[block].columns[index]

    def literal(self, lit: Lit) -> cp_model.IntVar | None:
        """Return the variable of a literal, or ``None`` when it is always true."""
        kind, number, _ = lit
        if kind == "block":
            found = self.present[number]
            return None if isinstance(found, int) else found  # type: ignore[return-value]
        if kind == "rider":
            return self.riders[number]
        if kind == "member":
            return self.members[number]
        if kind == "column":
            return self.columns[number][lit[2]]
        raise KeyError(lit)

    def expr(self, terms: Terms) -> LinearExpr:
        """Return a linear expression over places and sizes."""
        variables, coefficients = [], []
        for var, coefficient in terms:
            known = self.places.get(var)
            if known is None:
                continue
            variables.append(known)
            coefficients.append(coefficient * self.scales.get(var, 1))
        return cp_model.LinearExpr.weighted_sum(variables, coefficients)

    def post(self, row: Row, when: Iterable[cp_model.IntVar] = (), unless: cp_model.IntVar | None = None) -> None:
        """Add a row, enforced by literals; divided by its common factor, bounds moved inwards."""
        coefficients: dict[Var, int] = {}
        for var, coefficient in row.terms:
            if var in self.places:
                coefficients[var] = coefficient * self.scales.get(var, 1)
        conditions: list[cp_model.BoolVarT] = list(when)
        if unless is not None:
            conditions.append(unless.negated())
        divisor = math.gcd(*coefficients.values()) or 1
        low = _OPEN_LOW if row.low is None else -(-row.low // divisor)
        high = _OPEN_HIGH if row.high is None else row.high // divisor
        if low > high or (not coefficients and not low <= 0 <= high):
            # No whole number lies between the bounds: what the row is for cannot be.
            self.model.add_bool_or([~lit for lit in conditions])
        elif coefficients:
            variables = [self.places[var] for var in coefficients]
            expr = cp_model.LinearExpr.weighted_sum(variables, [c // divisor for c in coefficients.values()])
            constraint = self.model.add_linear_expression_in_domain(expr, cp_model.Domain(low, high))
            if conditions:
                constraint.only_enforce_if(conditions)

    def conditions(self, when: Sequence[Lit]) -> list[cp_model.IntVar] | None:
        """Return the variables of literals; ``None`` when one of them is never true."""
        found = []
        for lit in when:
            if lit[0] == "block" and isinstance(self.present[lit[1]], int) and not self.present[lit[1]]:
                return None
            if lit[0] == "column" and lit[2] not in self.columns[lit[1]]:
                return None
            variable = self.literal(lit)
            if variable is not None:
                found.append(variable)
        return found


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
