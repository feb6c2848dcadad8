"""Rows over whole-number variables, stated once: CP-SAT and the linear relaxation both read them from here.

A variable is its number.  A literal is the number of a 0–1 variable, or ``~number`` where it has to be false;
:data:`ALWAYS` and ``~ALWAYS`` are literals that need no variable.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

ALWAYS = 1 << 60

Sum = list[tuple[int, int]]
"""Coefficients by literal or variable: pairs of a literal and its coefficient."""


@dataclass(frozen=True, slots=True)
class SheetRow:
    """``low ≤ Σ coefficient · variable ≤ high`` whenever all literals of ``when`` are true.

    ``None`` leaves a side open.  Variables ascend.
    """

    variables: tuple[int, ...]
    coefficients: tuple[int, ...]
    low: int | None
    high: int | None
    when: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Pick:
    """Exactly one of some literals is true."""

    literals: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Clause:
    """At least one of some literals is true."""

    literals: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Product:
    """A variable is the product of two others."""

    result: int
    factors: tuple[int, int]


@dataclass
class Sheet:
    """Variables, what they have to obey, and what to minimise.

    Attributes
    ----------
    low, high
        Bounds by variable.
    values
        The values that a variable may take, where not all between its bounds.
    rows
        What they have to obey, in the order stated.
    cost, offset
        The objective: coefficients by variable, and a constant.
    """

    low: list[int] = field(default_factory=list)
    high: list[int] = field(default_factory=list)
    values: dict[int, tuple[int, ...]] = field(default_factory=dict)
    rows: list[SheetRow | Pick | Clause | Product] = field(default_factory=list)
    cost: dict[int, int] = field(default_factory=dict)
    offset: int = 0

    def number(self, low: int, high: int) -> int:
        """Add a variable."""
        self.low.append(low)
        self.high.append(high)
        return len(self.low) - 1

    def flag(self) -> int:
        """Add a 0–1 variable."""
        return self.number(0, 1)

    def among(self, values: Collection[int]) -> int:
        """Add a variable that takes one of some values."""
        ordered = tuple(sorted(set(values)))
        variable = self.number(ordered[0], ordered[-1])
        if len(ordered) <= ordered[-1] - ordered[0]:
            self.values[variable] = ordered
        return variable

    def row(
        self, terms: Iterable[tuple[int, int]], low: int | None, high: int | None, when: Collection[int] = ()
    ) -> None:
        """Add a row; terms of literals that are negated or always true are rewritten.

        A condition that is always false leaves no row; what no value can satisfy rules its conditions out.
        """
        conditions = tuple(lit for lit in when if lit != ALWAYS)
        if ~ALWAYS in conditions or (low is None and high is None):
            return
        found, constant = _collected(terms)
        low = None if low is None else low - constant
        high = None if high is None else high - constant
        if found:
            self.rows.append(SheetRow(tuple(found), tuple(found.values()), low, high, conditions))
        elif (low is not None and low > 0) or (high is not None and high < 0):
            self.rows.append(Clause(tuple(~lit for lit in conditions)))

    def exactly_one(self, literals: Iterable[int]) -> None:
        """Require exactly one of some literals."""
        self.rows.append(Pick(tuple(literals)))

    def any_of(self, literals: Iterable[int]) -> None:
        """Require at least one of some literals."""
        self.rows.append(Clause(tuple(literals)))

    def product(self, result: int, one: int, other: int) -> None:
        """Require a variable to be the product of two others."""
        self.rows.append(Product(result, (one, other)))

    def charge(self, literal: int, price: int) -> None:
        """Add a term to the objective."""
        found, constant = _collected([(literal, price)])
        self.offset += constant
        for variable, coefficient in found.items():
            self.cost[variable] = self.cost.get(variable, 0) + coefficient


def negative(terms: Iterable[tuple[int, int]]) -> Sum:
    """Return a sum with all signs turned."""
    return [(lit, -coefficient) for lit, coefficient in terms]


def _collected(terms: Iterable[tuple[int, int]]) -> tuple[dict[int, int], int]:
    """Return coefficients by variable, and what is left as a constant."""
    found: dict[int, int] = {}
    constant = 0
    for literal, coefficient in terms:
        if literal < 0:
            literal, coefficient, constant = ~literal, -coefficient, constant + coefficient
        if literal == ALWAYS:
            constant += coefficient
        elif literal in found:
            found[literal] += coefficient
        else:
            found[literal] = coefficient
    return {v: found[v] for v in sorted(found) if found[v]}, constant
