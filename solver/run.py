"""The one place that knows CP-SAT: writes a sheet as its model, calls it and reads its values."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from solver.page import PageModel
from solver.sheet import Pick, Product, Sheet, SheetRow
from solver.solution import Solution

_POLL_SECONDS = 0.1
_OPEN = 1 << 60
_WEIGHT = 3.0
"""CP-SAT's deterministic second takes about three times as long as one charged for relaxations."""
_CALL = 0.008
"""Deterministic seconds charged for writing and loading a model."""


@dataclass(frozen=True)
class Limits:
    """When a solve ends: deterministic seconds as charged here, and a wall-clock time (``time.monotonic``) for safety.

    A deterministic second of CP-SAT's own counts for several.
    """

    effort: float
    until: float | None
    seed: int
    stop: Callable[[], bool]


@dataclass(frozen=True)
class Solved:
    """What one solve proved.

    ``solution`` is the best found, ``bound`` a proved lower bound; ``complete`` means nothing better exists in
    the model.
    """

    solution: Solution | None
    bound: int
    complete: bool
    effort: float
    stopped: bool


class _Watcher(cp_model.CpSolverSolutionCallback):
    """Reports every better page and stops the search when asked to."""

    def __init__(self, report: Callable[[int, int], None], stop: Callable[[], bool]) -> None:
        super().__init__()
        self._report = report
        self._stop = stop

    def on_solution_callback(self) -> None:
        """Report cost and bound; called by the solver, perhaps off the main thread."""
        self._report(round(self.objective_value), round(self.best_objective_bound))
        if self._stop():
            self.stop_search()


def solve(
    page: PageModel,
    problem_number: int,
    limits: Limits,
    *,
    report: Callable[[int, int], None] = lambda cost, bound: None,
) -> Solved:
    """Solve a page model with one worker, so that the result depends on nothing but the model and the limits."""
    model, variables = _written(page.sheet)
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.catch_sigint_signal = False  # its handler outlives the solve, and then crashes the process
    parameters.random_seed = limits.seed
    parameters.linearization_level = 1
    parameters.cp_model_presolve = False
    parameters.max_deterministic_time = max(0.001, limits.effort / _WEIGHT)
    if limits.until is not None:
        parameters.max_time_in_seconds = max(0.001, limits.until - time.monotonic())
    stopped = threading.Event()
    finished = threading.Event()

    def watch() -> None:
        while not finished.wait(_POLL_SECONDS):
            if limits.stop():
                stopped.set()
                solver.stop_search()
                return

    watcher = threading.Thread(target=watch, daemon=True)
    watcher.start()
    try:
        status = solver.solve(model, _Watcher(report, limits.stop))
    finally:
        finished.set()
        watcher.join()
    effort = _CALL + _WEIGHT * solver.response_proto.deterministic_time
    if status == cp_model.INFEASIBLE:
        return Solved(None, cp_model.INT32_MAX, True, effort, stopped.is_set())
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        solution = _read(page, solver, variables, problem_number)
        bound = solution.cost if status == cp_model.OPTIMAL else round(solver.best_objective_bound)
        return Solved(solution, bound, status == cp_model.OPTIMAL, effort, stopped.is_set())
    if status == cp_model.MODEL_INVALID:
        raise AssertionError(f"invalid model: {model.validate()}")
    return Solved(None, round(solver.best_objective_bound), False, effort, stopped.is_set())


def _written(sheet: Sheet) -> tuple[cp_model.CpModel, list[cp_model.IntVar]]:
    """Return a sheet as a model, and its variables."""
    model = cp_model.CpModel()
    variables = []
    for number, (low, high) in enumerate(zip(sheet.low, sheet.high, strict=True)):
        values = sheet.values.get(number)
        domain = cp_model.Domain(low, high) if values is None else cp_model.Domain.from_values(values)
        variables.append(model.new_int_var_from_domain(domain, ""))

    def literals(numbers: tuple[int, ...]) -> list[cp_model.LiteralT]:
        return [variables[lit] if lit >= 0 else ~variables[~lit] for lit in numbers]

    def weighted(numbers: Iterable[int], coefficients: Iterable[int]) -> cp_model.LinearExprT:
        return cp_model.LinearExpr.weighted_sum([variables[v] for v in numbers], list(coefficients))

    for row in sheet.rows:
        if isinstance(row, SheetRow):
            low, high = -_OPEN if row.low is None else row.low, _OPEN if row.high is None else row.high
            posted = model.add_linear_expression_in_domain(
                weighted(row.variables, row.coefficients), cp_model.Domain(low, high)
            )
            if row.when:
                posted.only_enforce_if(literals(row.when))
        elif isinstance(row, Product):
            model.add_multiplication_equality(variables[row.result], [variables[v] for v in row.factors])
        elif isinstance(row, Pick):
            model.add_exactly_one(literals(row.literals))
        else:
            model.add_bool_or(literals(row.literals))
    model.minimize(weighted(sheet.cost, sheet.cost.values()) + sheet.offset)
    return model, variables


def _read(
    page: PageModel, solver: cp_model.CpSolver, variables: list[cp_model.IntVar], problem_number: int
) -> Solution:
    def value(number: int) -> int:
        return int(solver.value(variables[number]))

    columns = tuple(next(j for j, var in choice.items() if value(var)) for choice in page.columns)
    return Solution(
        problem_number,
        round(solver.objective_value),
        columns,
        {var: found for var, known in page.places.items() if var[0] in ("x", "y") and (found := value(known))},
        tuple(bool(value(lit)) for lit in page.riders),
        next(k for k, lit in enumerate(page.members) if value(lit)),
        page.group,
        tuple(p for p, lit in enumerate(page.left_out) if value(lit)),
    )
