"""Linear expressions over the solver's variables, in exact micrometres, and the rows made of them.

Rounding is one-sided by construction: a row's integer bounds are moved inwards, so whatever
satisfies the row satisfies the exact inequality.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from fractions import Fraction

from solver.problem import Row, Var

TRIG = 4096
"""Sines, cosines and carrier scales are stated in this many parts."""


@dataclass(frozen=True)
class Expr:
    """``Σ coefficient · variable + const`` in micrometres."""

    terms: Mapping[Var, Fraction] = field(default_factory=dict)
    const: Fraction = Fraction(0)

    def __add__(self, other: Expr | Fraction | int) -> Expr:
        if not isinstance(other, Expr):
            return Expr(self.terms, self.const + other)
        terms = dict(self.terms)
        for var, value in other.terms.items():
            total = terms.get(var, Fraction(0)) + value
            if total:
                terms[var] = total
            else:
                terms.pop(var, None)
        return Expr(terms, self.const + other.const)

    def __sub__(self, other: Expr | Fraction | int) -> Expr:
        return self + other * -1

    def __mul__(self, factor: Fraction | int) -> Expr:
        factor = Fraction(factor)
        if not factor:
            return Expr()
        return Expr({var: value * factor for var, value in self.terms.items()}, self.const * factor)


def between(expr: Expr, low: Fraction | int | None, high: Fraction | int | None) -> Row:
    """Return the row ``low ≤ expr ≤ high`` with integer coefficients and inward-rounded bounds."""
    denominator = math.lcm(*(value.denominator for value in expr.terms.values())) if expr.terms else 1
    coefficients = {var: int(value * denominator) for var, value in expr.terms.items()}
    divisor = math.gcd(*coefficients.values()) if coefficients else 1
    scale = Fraction(denominator, divisor or 1)
    return Row(
        terms=tuple((var, value // (divisor or 1)) for var, value in sorted(coefficients.items())),
        low=None if low is None else math.ceil((low - expr.const) * scale),
        high=None if high is None else math.floor((high - expr.const) * scale),
    )


def at_least(expr: Expr, low: Fraction | int) -> Row:
    """Return the row ``expr ≥ low``."""
    return between(expr, low, None)


def at_most(expr: Expr, high: Fraction | int) -> Row:
    """Return the row ``expr ≤ high``."""
    return between(expr, None, high)


def trig_up(value: float) -> Fraction:
    """Round a non-negative sine or cosine up to whole parts of :data:`TRIG`."""
    return Fraction(math.ceil(value * TRIG - 1e-9), TRIG)
