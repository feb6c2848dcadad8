"""Linear relaxation with a rigorous bound: which columns a proof still needs.

The relaxation is read off a CP-SAT model (enforced rows become big-M rows over the variables' bounds) and solved
by GLOP.  Its duals are then rounded to integers and bound and reduced costs are computed anew from them in exact
integers, so a wrong digit of the linear solver can weaken the bound but never make it false.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from ortools.linear_solver import linear_solver_pb2, pywraplp
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
    """A linear programme over a model's variables; bounds can be tightened between solves."""

    low: list[int]
    high: list[int]
    cost: list[int]
    offset: int
    rows: list[RelaxedRow] = field(default_factory=list)
    size: int = 0

    def solve(self) -> Bound | None:
        """Return the rigorous bound, or ``None`` when the linear solver finds no optimum.

        An infeasible relaxation is reported as a bound without a value, once multipliers prove it in integers.
        """
        solver, scales = self._load(elastic=False)
        status = solver.Solve()
        if status == pywraplp.Solver.INFEASIBLE:
            return Bound(None, []) if self._surely_empty() else None
        if status != pywraplp.Solver.OPTIMAL:
            return None
        values = [v.solution_value() for v in solver.variables()]
        return self._certify(_duals(solver, scales), values)

    def _surely_empty(self) -> bool:
        """Whether no point satisfies all rows: Farkas multipliers from the least total violation, in integers."""
        solver, scales = self._load(elastic=True)
        if solver.Solve() != pywraplp.Solver.OPTIMAL:
            return False
        free = Relaxation(self.low, self.high, [0] * len(self.cost), 0, self.rows)
        return free._certify(_duals(solver, scales), []).exact > 0

    def _load(self, *, elastic: bool) -> tuple[pywraplp.Solver, list[int]]:
        """Return the programme in the linear solver, rows divided by their largest coefficient.

        ``elastic``: every row may be violated at a cost of 1 per unit, and nothing else costs.
        """
        programme = linear_solver_pb2.MPModelProto()
        for low, high, cost in zip(self.low, self.high, self.cost, strict=True):
            price = 0 if elastic else cost
            programme.variable.add(lower_bound=low, upper_bound=high, objective_coefficient=price)
        scales = []
        for row in self.rows:
            scale = max(map(abs, row.coefficients))
            scales.append(scale)
            variables, coefficients = list(row.variables), [c / scale for c in row.coefficients]
            if elastic:
                for sign in (1, -1):
                    variables.append(len(programme.variable))
                    coefficients.append(sign)
                    programme.variable.add(lower_bound=0, upper_bound=float("inf"), objective_coefficient=1)
            programme.constraint.add(
                var_index=variables,
                coefficient=coefficients,
                lower_bound=float("-inf") if row.low is None else row.low / scale,
                upper_bound=float("inf") if row.high is None else row.high / scale,
            )
        solver = pywraplp.Solver.CreateSolver("GLOP")
        solver.LoadModelFromProto(programme)
        return solver, scales

    def _certify(self, duals: list[float], values: list[float]) -> Bound:
        """Bound the objective below by weak duality with rounded duals, in exact integers.

        For any multipliers λ (positive ones on rows with a lower bound, negative ones on rows with an upper bound):
        c·x ≥ Σ λ·bound + Σ (c − λA)·x, and the last sum is at least its value at the cheaper bound of every variable.
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
        for price, low, high in zip(reduced, self.low, self.high, strict=True):
            total += price * (low if price > 0 else high)
        return Bound(-(-total // SCALE), reduced, total, values, self.size)


def _duals(solver: pywraplp.Solver, scales: list[int]) -> list[float]:
    return [c.dual_value() / scale for c, scale in zip(solver.constraints(), scales, strict=True)]


@dataclass(frozen=True)
class Bound:
    """A proved lower bound on the objective; ``value`` is ``None`` when there is no solution at all."""

    value: int | None
    reduced: list[int]
    exact: int = 0
    values: list[float] = field(default_factory=list)
    size: int = 0

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


def _loosened(
    terms: dict[int, int], enforced: list[int], bound: int, slack: int
) -> tuple[dict[int, int], int, int]:
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
    if terms and (low is not None or high is not None):
        relaxation.rows.append(RelaxedRow(tuple(terms), tuple(terms.values()), low, high))
        relaxation.size += len(terms)
