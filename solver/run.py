"""The one place that calls CP-SAT and reads its values."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass

from ortools.sat.python import cp_model

from solver.page import PageModel
from solver.solution import Solution

_POLL_SECONDS = 0.1


@dataclass(frozen=True)
class Limits:
    """When a solve ends: deterministic seconds, and a wall-clock time (``time.monotonic``) as safety net."""

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
    solver = cp_model.CpSolver()
    parameters = solver.parameters
    parameters.num_workers = 1
    parameters.catch_sigint_signal = False  # its handler outlives the solve, and then crashes the process
    parameters.random_seed = limits.seed
    parameters.linearization_level = 1
    parameters.cp_model_presolve = False
    parameters.max_deterministic_time = max(0.001, limits.effort)
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
        status = solver.solve(page.model, _Watcher(report, limits.stop))
    finally:
        finished.set()
        watcher.join()
    effort = solver.response_proto.deterministic_time
    if status == cp_model.INFEASIBLE:
        return Solved(None, cp_model.INT32_MAX, True, effort, stopped.is_set())
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        solution = _read(page, solver, problem_number)
        bound = solution.cost if status == cp_model.OPTIMAL else round(solver.best_objective_bound)
        return Solved(solution, bound, status == cp_model.OPTIMAL, effort, stopped.is_set())
    if status == cp_model.MODEL_INVALID:
        raise AssertionError(f"invalid model: {page.model.validate()}")
    return Solved(None, round(solver.best_objective_bound), False, effort, stopped.is_set())


def _read(page: PageModel, solver: cp_model.CpSolver, problem_number: int) -> Solution:
    columns = tuple(next(j for j, var in choice.items() if solver.boolean_value(var)) for choice in page.columns)
    return Solution(
        problem_number,
        round(solver.objective_value),
        columns,
        {
            var: int(solver.value(known))
            for var, known in page.places.items()
            if var[0] in ("x", "y") and solver.value(known)
        },
        tuple(solver.boolean_value(lit) for lit in page.riders),
        next(k for k, lit in enumerate(page.members) if solver.boolean_value(lit)),
        page.group,
        tuple(p for p, lit in enumerate(page.left_out) if solver.boolean_value(lit)),
    )
