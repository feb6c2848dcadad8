"""A linear relaxation kept in the linear solver and solved again and again under other bounds of its variables.

GLOP's dual simplex starts every time from its last basis, so a node of the tree costs a few pivots.  Nothing is
believed that integers do not confirm: :meth:`Simplex.bound` certifies, :meth:`Simplex.glance` only guides.
"""

from __future__ import annotations

import numpy as np
from ortools.linear_solver import linear_solver_pb2, pywraplp

from solver.relax import Bound, Numbers, Relaxation, RelaxedRow

_ANSWERS = (pywraplp.Solver.OPTIMAL, pywraplp.Solver.INFEASIBLE)
_DUAL = "use_dual_simplex: true use_preprocessing: false use_scaling: false max_number_of_iterations: {most}"
PIVOTS_LEAST, PIVOTS_PER_ROW = 1_000, 10
"""After so many pivots the simplex is taken to go round in circles (once it did so for minutes); seldom are there more
than one per row."""
WORK_LOAD = 4e-7
WORK_SOLVE = 1.2e-7
WORK_CERTIFY = 1.5e-7
WORK_PIVOT = 6e-8
"""Deterministic seconds charged per entry loaded, solved, certified, and per pivot and row."""


class Simplex:
    """A relaxation in the linear solver.

    ``work`` is what it has cost so far, in deterministic seconds; ``duals`` are the last bound's multipliers.
    """

    def __init__(self, relaxation: Relaxation) -> None:
        self.work = 0.0
        self.duals: list[float] = []
        self._relaxation = relaxation
        self._priced = _Loaded(relaxation, elastic=False)
        self._elastic: _Loaded | None = None
        self.work += WORK_LOAD * relaxation.size

    def add(self, row: RelaxedRow) -> None:
        """Add a row that every page obeys."""
        self._relaxation.add(row)
        self._priced.add(row)
        self._elastic = None
        self.work += WORK_LOAD * len(row.variables)

    def glance(self, low: Numbers, high: Numbers) -> float | None:
        """Return the least objective within bounds, infinity when empty, ``None`` when the solver finds no answer."""
        if self._relaxation.empty:
            return float("inf")
        status = self._run(self._priced, low, high)
        if status == pywraplp.Solver.OPTIMAL:
            return self._priced.objective()
        if status not in _ANSWERS:
            self._start_anew()
        return float("inf") if status == pywraplp.Solver.INFEASIBLE else None

    def bound(self, low: Numbers, high: Numbers) -> Bound | None:
        """Return the rigorous bound, or ``None`` when the linear solver finds no optimum.

        An empty relaxation is reported as a bound without a value, once multipliers prove it in integers.
        """
        if self._relaxation.empty:
            return Bound(None, [])
        status = self._run(self._priced, low, high)
        if status not in _ANSWERS:
            # Pivoting from one basis to the next can end in numerical trouble; a fresh start seldom does.
            self._start_anew()
            status = self._run(self._priced, low, high)
        if status == pywraplp.Solver.INFEASIBLE:
            return Bound(None, []) if self._surely_empty(low, high) else None
        if status != pywraplp.Solver.OPTIMAL:
            return None
        self.work += WORK_CERTIFY * self._relaxation.size
        values, self.duals = self._priced.answer()
        return self._relaxation.certify(self.duals, values, low, high)

    def _start_anew(self) -> None:
        """Forget the last basis."""
        self._priced = _Loaded(self._relaxation, elastic=False)
        self.work += WORK_LOAD * self._relaxation.size

    def _surely_empty(self, low: Numbers, high: Numbers) -> bool:
        """Whether no point satisfies all rows: Farkas multipliers from the least total violation, in integers."""
        if self._elastic is None:
            self._elastic = _Loaded(self._relaxation, elastic=True)
            self.work += WORK_LOAD * self._relaxation.size
        if self._run(self._elastic, low, high) != pywraplp.Solver.OPTIMAL:
            return False
        return self._relaxation.free().certify(self._elastic.answer()[1], [], low, high).exact > 0

    def _run(self, loaded: _Loaded, low: Numbers, high: Numbers) -> int:
        status = loaded.solve(low, high)
        size, rows = self._relaxation.size, len(self._relaxation.rows)
        self.work += WORK_SOLVE * size + WORK_PIVOT * rows * loaded.pivots()
        return status


class _Loaded:
    """A programme in the linear solver, rows divided by their largest coefficient.

    ``elastic``: every row may be violated at a cost of 1 per unit, and nothing else costs.
    """

    def __init__(self, relaxation: Relaxation, *, elastic: bool) -> None:
        programme = linear_solver_pb2.MPModelProto()
        for low, high, cost in zip(relaxation.low, relaxation.high, relaxation.cost, strict=True):
            price = 0 if elastic else cost
            programme.variable.add(lower_bound=low, upper_bound=high, objective_coefficient=price)
        self._scales = []
        for row in relaxation.rows:
            scale = max(map(abs, row.coefficients))
            self._scales.append(scale)
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
        programme.objective_offset = 0 if elastic else relaxation.offset
        self._solver = pywraplp.Solver.CreateSolver("GLOP")
        self._solver.SuppressOutput()
        self._solver.LoadModelFromProto(programme)
        most = PIVOTS_LEAST + PIVOTS_PER_ROW * len(relaxation.rows)
        self._solver.SetSolverSpecificParametersAsString(_DUAL.format(most=most))
        self._count = len(relaxation.low)
        self._variables = self._solver.variables()
        self._low, self._high = relaxation.bounds()

    def add(self, row: RelaxedRow) -> None:
        """Add a row of small coefficients."""
        low = float("-inf") if row.low is None else row.low
        high = float("inf") if row.high is None else row.high
        made = self._solver.Constraint(low, high)
        for variable, coefficient in zip(row.variables, row.coefficients, strict=True):
            made.SetCoefficient(self._variables[variable], coefficient)
        self._scales.append(1)

    def solve(self, low: Numbers, high: Numbers) -> int:
        """Solve within bounds and return the linear solver's status."""
        changed = np.flatnonzero((low != self._low) | (high != self._high))
        for i, least, most in zip(changed.tolist(), low[changed].tolist(), high[changed].tolist(), strict=True):
            self._variables[i].SetBounds(least, most)
        self._low, self._high = low, high
        return int(self._solver.Solve())

    def objective(self) -> float:
        return float(self._solver.Objective().Value())

    def pivots(self) -> int:
        return int(self._solver.iterations())

    def answer(self) -> tuple[list[float], list[float]]:
        """Return the variables' values and the rows' multipliers."""
        response = linear_solver_pb2.MPSolutionResponse()
        self._solver.FillSolutionResponseProto(response)
        duals = [dual / scale for dual, scale in zip(response.dual_value, self._scales, strict=True)]
        return list(response.variable_value[: self._count]), duals
