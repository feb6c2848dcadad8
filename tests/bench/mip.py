"""The same problem as a mixed-integer program, solved by HiGHS.

Enters: the problems of all symmetry classes.  Leaves: the best page HiGHS finds in a number of seconds, and the bound
it proves.  One program (:mod:`tests.bench.program`) for every class and every common scaling of it, classes without a
scaling first.
"""

from __future__ import annotations

import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import highspy
import numpy as np

from solver.problem import Problem
from solver.solution import Solution
from tests.bench.program import program_of
from tests.bench.program_rows import Program

ABSOLUTE_GAP = 0.5
"""Costs are whole, so a gap below one is a proof."""
TOLERANCE = 0.01
LEAST_SECONDS = 0.5
Task = tuple[int, int | None]
"""A class and one of its common scalings."""


@dataclass(frozen=True)
class Found:
    """What HiGHS found: ``bound`` holds over all classes and scalings; ``proved`` when the page's cost meets it."""

    solution: Solution | None
    bound: float
    proved: bool
    seconds: float
    rows: int
    columns: int


def solve_mip(problems: Sequence[Problem], seconds: float, seed: int = 0) -> Found:
    """Solve all classes and scalings one after the other.

    Parameters
    ----------
    seconds
        By the clock, building included: most for the classes without a scaling, what is left over for what is
        still open.

    Returns
    -------
    Found
    """
    started = time.perf_counter()
    whole: list[Task] = [(number, None) for number in range(len(problems))]
    scaled: list[Task] = [(number, group) for number, p in enumerate(problems) for group in range(len(p.groups))]
    best: Solution | None = None
    bounds: dict[Task, float] = dict.fromkeys([*whole, *scaled], 0.0)
    rows = columns = 0

    def left() -> float:
        return seconds - (time.perf_counter() - started)

    def attempt(task: Task, until: float) -> None:
        nonlocal best, rows, columns
        program = program_of(problems[task[0]], task[1])
        if program is None:
            bounds[task] = np.inf
            return
        rows, columns = max(rows, len(program.rows)), max(columns, len(program.cost))
        cutoff = np.inf if best is None else best.cost
        found, bound = _run(program, task[0], left() - until, cutoff, seed)
        bounds[task] = max(bounds[task], bound)
        if found is not None and found.cost < cutoff:
            best = found

    for done, task in enumerate(whole):
        attempt(task, left() * (1 - 1 / (len(whole) - done + bool(scaled))))
    for done, task in enumerate(scaled):
        if left() > 0:
            attempt(task, left() * (1 - 1 / (len(scaled) - done)))
    while left() > LEAST_SECONDS and min(bounds.values()) < (np.inf if best is None else best.cost):
        attempt(min(bounds, key=lambda task: bounds[task]), 0.0)
    bound = min([*bounds.values(), *([] if best is None else [best.cost])])
    took = time.perf_counter() - started
    return Found(best, bound, best is not None and bound >= best.cost, took, rows, columns)


def _run(made: Program, number: int, seconds: float, cutoff: float, seed: int) -> tuple[Solution | None, float]:
    """Return the best page of one program and the bound proved for it; stops once nothing below the cutoff is left."""
    solver = highspy.Highs()
    solver.setOptionValue("output_flag", False)
    solver.setOptionValue("time_limit", max(0.01, seconds))
    solver.setOptionValue("random_seed", seed)
    solver.setOptionValue("mip_rel_gap", 0.0)
    solver.setOptionValue("mip_abs_gap", ABSOLUTE_GAP)
    if solver.passModel(_linear_program(made)) == highspy.HighsStatus.kError:
        raise AssertionError("HiGHS refuses the program")

    def interrupt(event: highspy.highs.HighsCallbackEvent) -> None:
        if _whole(event.data_out.mip_dual_bound) >= cutoff:
            event.interrupt()

    solver.cbMipInterrupt.subscribe(interrupt)
    solver.run()
    status = solver.getModelStatus()
    if status in (highspy.HighsModelStatus.kInfeasible, highspy.HighsModelStatus.kUnboundedOrInfeasible):
        return None, np.inf
    info = solver.getInfo()
    bound = _whole(info.mip_dual_bound)
    if info.primal_solution_status != highspy.SolutionStatus.kSolutionStatusFeasible:
        return None, bound
    return _read(made, number, np.asarray(solver.getSolution().col_value), info.objective_function_value), bound


def _whole(bound: float) -> float:
    """Round a bound up, as costs are whole; within the solver's tolerance of a whole number it is that number."""
    return max(0.0, float(np.ceil(bound - TOLERANCE))) if np.isfinite(bound) else 0.0


def _linear_program(made: Program) -> highspy.HighsLp:
    lp = highspy.HighsLp()
    lp.num_col_, lp.num_row_ = len(made.cost), len(made.rows)
    lp.offset_ = made.offset
    lp.col_cost_, lp.col_lower_, lp.col_upper_ = (
        np.array(v, dtype=np.float64) for v in (made.cost, made.low, made.high)
    )
    lp.row_lower_, lp.row_upper_ = (np.array([row[i] for row in made.rows], dtype=np.float64) for i in (0, 1))
    lp.integrality_ = [highspy.HighsVarType.kInteger if w else highspy.HighsVarType.kContinuous for w in made.whole]
    lp.a_matrix_.format_ = highspy.MatrixFormat.kRowwise
    lp.a_matrix_.start_ = np.cumsum([0, *(len(row[2]) for row in made.rows)])
    lp.a_matrix_.index_ = np.array([k for row in made.rows for k in row[2]], dtype=np.int32)
    lp.a_matrix_.value_ = np.array([c for row in made.rows for c in row[2].values()], dtype=np.float64)
    return lp


def _read(made: Program, number: int, values: np.ndarray, cost: float) -> Solution:
    def chosen(variables: Iterable[int]) -> int:
        return max(enumerate(variables), key=lambda item: values[item[1]])[0]

    return Solution(
        number,
        round(cost),
        tuple(list(pick)[chosen(pick.values())] for pick in made.picks),
        {var: round(values[k]) for var, k in made.places.items() if var[0] in "xy" and round(values[k])},
        tuple(bool(values[k] > 0.5) for k in made.riders),
        chosen(made.members),
        made.group,
        tuple(p for p, k in enumerate(made.left_out) if values[k] > 0.5),
    )
