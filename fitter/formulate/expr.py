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


@dataclass(frozen=True, slots=True)
class Expr:
    """``(Σ coefficient · variable + const) / over`` in micrometres, all in whole numbers, none of the terms zero."""

    terms: Mapping[Var, int] = field(default_factory=dict)
    const: int = 0
    over: int = 1

    @classmethod
    def of(cls, var: Var, coefficient: Fraction | int, const: Fraction | int = 0) -> Expr:
        """Return ``coefficient · var + const``."""
        over = math.lcm(coefficient.denominator, const.denominator)
        return cls({var: int(coefficient * over)} if coefficient else {}, int(const * over), over)

    def __add__(self, other: Expr | Fraction | int) -> Expr:
        if not isinstance(other, Expr):
            other = Expr({}, other.numerator, other.denominator)
        over = self.over if self.over == other.over else math.lcm(self.over, other.over)
        mine, theirs = over // self.over, over // other.over
        terms = dict(self.terms) if mine == 1 else {var: value * mine for var, value in self.terms.items()}
        for var, value in other.terms.items():
            total = terms.get(var, 0) + value * theirs
            if total:
                terms[var] = total
            else:
                del terms[var]
        return Expr(terms, self.const * mine + other.const * theirs, over)

    def __sub__(self, other: Expr | Fraction | int) -> Expr:
        return self + other * -1

    def __mul__(self, factor: Fraction | int) -> Expr:
        if not factor:
            return Expr()
        by = factor.numerator
        return Expr(
            {var: value * by for var, value in self.terms.items()}, self.const * by, self.over * factor.denominator
        )


def between(expr: Expr, low: Fraction | int | None, high: Fraction | int | None) -> Row:
    """Return the row ``low ≤ expr ≤ high`` with integer coefficients and inward-rounded bounds."""
    divisor = math.gcd(*expr.terms.values()) or expr.over
    return Row(
        terms=tuple((var, value // divisor) for var, value in sorted(expr.terms.items())),
        low=None if low is None else math.ceil(Fraction(low * expr.over - expr.const, divisor)),
        high=None if high is None else math.floor(Fraction(high * expr.over - expr.const, divisor)),
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
