"""Linear relaxation with a rigorous bound: which columns a proof still needs.

The relaxation is read off a CP-SAT model (enforced rows become big-M rows over the variables' bounds) and solved
by :mod:`solver.simplex`.  Its duals are then rounded to integers and bound and reduced costs are computed anew from
them in exact integers, so a wrong digit of the linear solver can weaken the bound but never make it false.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ortools.sat.python import cp_model

SCALE = 1 << 20
_OPEN = 1 << 58


@dataclass(frozen=True)
class RelaxedRow:
    """``low ≤ Σ coefficient · variable ≤ high``; ``None`` leaves a side open."""

    variables: tuple[int, ...]
    coefficients: tuple[int, ...]
    low: int | None
    high: int | None


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

    def variable(self, low: int, high: int) -> int:
        """Add a variable that costs nothing and return its number."""
        self.low.append(low)
        self.high.append(high)
        self.cost.append(0)
        return len(self.low) - 1

    def add(self, row: RelaxedRow) -> None:
        """Add a row."""
        self.rows.append(row)
        self.size += len(row.variables)

    def certify(self, duals: list[float], values: list[float], low: list[int], high: list[int]) -> Bound:
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
        reduced = [SCALE * cost for cost in self.cost]
        total = SCALE * self.offset
        for row, dual in zip(self.rows, duals, strict=True):
            weight = round(dual * SCALE)
            side = row.low if weight > 0 else row.high
            if not weight or side is None:
                continue
            total += weight * side
            for variable, coefficient in zip(row.variables, row.coefficients, strict=True):
                reduced[variable] -= weight * coefficient
        for price, least, most in zip(reduced, low, high, strict=True):
            total += price * (least if price > 0 else most)
        return Bound(-(-total // SCALE), reduced, total, values)

    def free(self) -> Relaxation:
        """Return the same programme without an objective; a positive bound of it proves that it is empty."""
        return Relaxation(self.low, self.high, [0] * len(self.cost), 0, self.rows, self.size)


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

    def allows(self, variable: int, cutoff: int) -> bool:
        """Whether a solution of cost ``cutoff`` or less may have a 0–1 variable at one."""
        if self.value is None:
            return False
        return self.exact + max(0, self.reduced[variable]) <= cutoff * SCALE


def relax(model: cp_model.CpModel) -> Relaxation:
    """Return the linear relaxation of a model; constraints that are not linear are left out."""
    proto = model.proto
    low, high = [], []
    for variable in proto.variables:
        domain = list(variable.domain)
        low.append(domain[0])
        high.append(domain[-1])
    cost = [0] * len(low)
    offset = round(proto.objective.offset)
    for reference, coefficient in zip(proto.objective.vars, proto.objective.coeffs, strict=True):
        if reference >= 0:
            cost[reference] += coefficient
        else:
            cost[-reference - 1] -= coefficient
            offset += coefficient
    relaxation = Relaxation(low, high, cost, offset)
    for constraint in proto.constraints:
        enforced = list(constraint.enforcement_literal)
        if constraint.has_linear():
            domain = list(constraint.linear.domain)
            _add(
                relaxation,
                list(constraint.linear.vars),
                list(constraint.linear.coeffs),
                None if domain[0] < -_OPEN else domain[0],
                None if domain[-1] > _OPEN else domain[-1],
                enforced,
            )
        elif constraint.has_exactly_one():
            literals = list(constraint.exactly_one.literals)
            _add(relaxation, literals, [1] * len(literals), 1, 1, enforced)
        elif constraint.has_at_most_one():
            literals = list(constraint.at_most_one.literals)
            _add(relaxation, literals, [1] * len(literals), None, 1, enforced)
        elif constraint.has_bool_or():
            literals = list(constraint.bool_or.literals)
            _add(relaxation, literals, [1] * len(literals), 1, None, enforced)
    return relaxation


def _add(
    relaxation: Relaxation,
    variables: list[int],
    coefficients: list[int],
    low: int | None,
    high: int | None,
    enforced: list[int],
) -> None:
    """Add a row; negated literals are rewritten, enforcement becomes the least big-M that is valid."""
    terms: dict[int, int] = {}
    shift = 0
    for variable, coefficient in zip(variables, coefficients, strict=True):
        if variable < 0:
            variable, coefficient, shift = -variable - 1, -coefficient, shift + coefficient
        terms[variable] = terms.get(variable, 0) + coefficient
    low = None if low is None else low - shift
    high = None if high is None else high - shift
    if not enforced:
        _append(relaxation, terms, low, high)
        return
    least = sum(c * (relaxation.low[v] if c > 0 else relaxation.high[v]) for v, c in terms.items())
    most = sum(c * (relaxation.high[v] if c > 0 else relaxation.low[v]) for v, c in terms.items())
    if low is not None and low > least:
        row, bound, _ = _loosened(terms, enforced, low, least - low)
        _append(relaxation, row, bound, None)
    if high is not None and high < most:
        row, _, bound = _loosened(terms, enforced, high, most - high)
        _append(relaxation, row, None, bound)


def _loosened(terms: dict[int, int], enforced: list[int], bound: int, slack: int) -> tuple[dict[int, int], int, int]:
    """Return terms and bound of "expression ≥ (≤) bound + slack · number of false literals"."""
    row = dict(terms)
    for literal in enforced:
        if literal >= 0:
            row[literal] = row.get(literal, 0) + slack
            bound += slack
        else:
            row[-literal - 1] = row.get(-literal - 1, 0) - slack
    return row, bound, bound


def _append(relaxation: Relaxation, terms: dict[int, int], low: int | None, high: int | None) -> None:
    terms = {v: c for v, c in terms.items() if c}
    if not terms:
        relaxation.empty |= (low is not None and low > 0) or (high is not None and high < 0)
    elif low is not None or high is not None:
        relaxation.add(RelaxedRow(tuple(terms), tuple(terms.values()), low, high))
