"""The search: from problems to ranked pages with their bounds.

Per symmetry class, in turn, the best page so far being the next one's cutoff:

1. **still** – reference sizes and places only: a first page at once.
2. **relax** – the linear relaxation over all columns: a bound, and what each column would cost more.
3. **dive** – the most promising columns with all alignments kept: a good page.
4. **filter** – drop every column that no better page can use.
5. **prove** – all that is left, alignments breakable: a better page, or the proof that there is none.

Every number depends on the problem, the seed and the deterministic limits alone.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

from solver.apart import distance, keep_apart
from solver.model import PageModel, build
from solver.problem import Column, Problem
from solver.progress import Event, Progress, Stop, gap_of
from solver.relax import Bound, relax
from solver.run import Limits, Solved, hint, solve
from solver.solution import Outcome, Ranked, Solution, Status

STEP = "3 solve"
DIVE_COLUMNS = 400
DIVE_EFFORT = 1.5
STILL_EFFORT = 0.5
_FAR = 1 << 40


@dataclass(frozen=True)
class Effort:
    """Limits of a whole search: deterministic seconds, wall-clock seconds (a safety net), seed."""

    seconds: float = 20.0
    wall: float | None = 60.0
    seed: int = 0


@dataclass
class _State:
    """What the search knows while it runs."""

    problems: Sequence[Problem]
    effort: Effort
    progress: Progress
    stop: Stop
    started: float = field(default_factory=time.monotonic)
    used: float = 0.0
    stopped: bool = False
    pool: list[Solution] = field(default_factory=list)
    bounds: dict[int, Bound | None] = field(default_factory=dict)
    facts: dict[str, float] = field(default_factory=dict)

    def elapsed(self) -> float:
        return time.monotonic() - self.started

    def limits(self, seconds: float) -> Limits:
        until = None if self.effort.wall is None else self.started + self.effort.wall
        return Limits(seconds, until, self.effort.seed, self.stop)

    def wall_hit(self) -> bool:
        return self.effort.wall is not None and self.elapsed() >= self.effort.wall

    def over(self) -> bool:
        return self.stopped or self.wall_hit()

    def tell(self, kind: str, message: str, cost: int | None, bound: int | None) -> None:
        gap = None if cost is None or bound is None else gap_of(cost, bound)
        self.progress(Event(STEP, message, cost, bound, gap, self.elapsed(), kind))  # type: ignore[arg-type]

    def note(self, name: str) -> None:
        self.facts.setdefault(name, self.elapsed())


def search(
    problems: Sequence[Problem],
    *,
    top: int = 1,
    effort: Effort | None = None,
    progress: Progress = lambda event: None,
    stop: Stop = lambda: False,
) -> Outcome:
    """Find the best pages of a set of symmetry classes.

    Parameters
    ----------
    problems
        One per class; together they are all pages there are.
    top
        How many pages, each at least :data:`solver.apart.LEAST` tenths apart from the better ones.
    effort
        Limits; the first page gets half of them, the alternatives share the rest.
    progress, stop
        Called with events; asked now and then whether to stop.

    Returns
    -------
    Outcome
    """
    state = _State(problems, effort or Effort(), progress, stop)
    ranked: list[Ranked] = []
    status: Status = "unknown"
    proved_none = False
    for rank in range(top):
        if rank and state.over():
            break
        total = state.effort.seconds
        share = total if top == 1 else (total / 2 if rank == 0 else total / 2 / (top - 1))
        found, bound = _best(state, ranked, share)
        if found is None:
            proved_none = bound >= _FAR and not state.over()
            break
        ranked.append(Ranked(found, min(bound, found.cost)))
        state.note(f"page {rank + 1} at")
    if ranked:
        status = "proved" if ranked[0].proved else "feasible"
    elif proved_none:
        status = "impossible"
    if ranked:
        state.tell("done", f"{len(ranked)} page{'s' if len(ranked) > 1 else ''}", ranked[0].solution.cost, ranked[0].bound)
    return Outcome(
        status,
        tuple(ranked),
        ranked[0].bound if ranked else None,
        state.stopped,
        state.wall_hit(),
        state.used,
        state.facts,
    )


def _best(state: _State, earlier: list[Ranked], seconds: float) -> tuple[Solution | None, int]:
    """Return the best page far enough from the earlier ones, and the bound proved for it."""
    best = _from_pool(state, earlier)
    bounds = []
    budget = seconds
    for number, problem in enumerate(state.problems):
        rest = len(state.problems) - number
        before = state.used
        found, bound = _class(state, number, problem, earlier, best, budget / rest)
        budget -= state.used - before
        bounds.append(bound)
        if found is not None and (best is None or found.cost < best.cost):
            best = found
        state.tell(
            "class",
            f"class {problem.name} finished",
            None if best is None else best.cost,
            min(bounds) if number + 1 == len(state.problems) else None,
        )
        if state.over():
            bounds += [_floor(state, n, p) for n, p in enumerate(state.problems) if n > number]
            break
    return best, min(bounds)


def _from_pool(state: _State, earlier: list[Ranked]) -> Solution | None:
    """Return the cheapest page met so far that is far enough from the earlier ones."""
    for solution in sorted(state.pool, key=lambda s: s.cost):
        if all(_apart(state, solution, e.solution) for e in earlier):
            return solution
    return None


def _apart(state: _State, one: Solution, other: Solution) -> bool:
    from solver.apart import LEAST

    problem = state.problems[one.problem]
    return (
        distance(problem, one.columns, one.member, state.problems[other.problem], other) >= LEAST
    )


def _floor(state: _State, number: int, problem: Problem) -> int:
    """Return the bound of the relaxation of a whole class."""
    if number not in state.bounds:
        everything = [range(len(block.columns)) for block in problem.blocks]
        if not all(len(kept) for kept in everything):
            state.bounds[number] = Bound(None, [])
        else:
            state.bounds[number] = relax(build(problem, everything).model).solve()
    found = state.bounds[number]
    if found is None:
        return 0
    return _FAR if found.value is None else max(0, found.value)


def _class(
    state: _State,
    number: int,
    problem: Problem,
    earlier: list[Ranked],
    best: Solution | None,
    seconds: float,
) -> tuple[Solution | None, int]:
    """Search one class for a page cheaper than ``best``; return it and the class's bound."""
    cutoff = _FAR if best is None else best.cost
    found: Solution | None = None

    def improve(result: Solved) -> None:
        nonlocal found, cutoff
        state.used += result.effort
        state.stopped |= result.stopped
        if result.solution is not None:
            state.pool.append(result.solution)
            if result.solution.cost < cutoff:
                found, cutoff = result.solution, result.solution.cost

    def report(cost: int, bound: int) -> None:
        if cost < min(cutoff, _FAR):
            kind = "first" if cutoff == _FAR else "better"
            state.note("first page at")
            state.tell(kind, f"class {problem.name}", cost, None)

    def attempt(page: PageModel, effort: float, start: Solution | None = None) -> Solved:
        for ranked in earlier:
            keep_apart(page, state.problems[ranked.solution.problem], ranked.solution)
        if cutoff < _FAR:
            page.model.add(sum(page.objective) + page.offset <= cutoff - 1)
        if start is not None:
            hint(page, start)
        result = solve(page, number, state.limits(effort), report=report)
        improve(result)
        return result

    if not all(block.columns for block in problem.blocks):
        return None, _FAR
    if cutoff == _FAR and not earlier:
        _still(problem, attempt)
        if state.over():
            return found, 0
    floor = _floor(state, number, problem)
    if floor >= cutoff:
        return found, floor
    bound = state.bounds[number]
    if bound is not None and cutoff > floor:
        dive = _promising(state, number, problem, bound, cutoff)
        if all(dive):
            attempt(build(problem, dive, keep_lines=True), min(DIVE_EFFORT, seconds / 4), found)
        if state.over():
            return found, min(floor, cutoff)
    kept = _needed(state, number, problem, cutoff)
    if not all(kept):
        return found, cutoff
    spent = 0.0
    result = attempt(build(problem, kept), seconds - spent, found)
    if result.complete:
        return found, cutoff
    return found, min(cutoff, max(floor, result.bound))


def _still(problem: Problem, attempt: Callable[..., Solved]) -> None:
    """Reference sizes and places only; words may pick any size of their spot."""
    pinned = replace(
        problem,
        blocks=tuple(
            replace(b, x=(0, 0), y=(0, 0), targets=()) if b.shift else replace(b, targets=())
            for b in problem.blocks
        ),
        groups=(),
        slide=None,
    )
    kept = [
        [j for j, c in enumerate(b.columns) if _is_still(c)] or list(range(len(b.columns)))
        for b in problem.blocks
    ]
    attempt(build(pinned, kept), STILL_EFFORT)


def _is_still(column: Column) -> bool:
    return not column.present or (column.dw == 0 and column.dh == 0)


def _variables(problem: Problem) -> list[list[int]]:
    """Return the index of every column's variable in a model over all columns."""
    everything = [range(len(block.columns)) for block in problem.blocks]
    page = build(problem, everything)
    return [[var.index for var in choice.values()] for choice in page.columns]


def _promising(
    state: _State, number: int, problem: Problem, bound: Bound, cutoff: int
) -> list[list[int]]:
    """Return the columns of least reduced cost, and those of reference size."""
    share = max(20, DIVE_COLUMNS // max(1, len(problem.blocks)))
    variables = _variables(problem)
    kept = []
    for block, indices in zip(problem.blocks, variables, strict=True):
        order = sorted(range(len(indices)), key=lambda j: (max(0, bound.reduced[indices[j]]), j))
        chosen = set(order[:share])
        chosen |= {j for j, c in enumerate(block.columns) if _is_still(c)}
        kept.append(sorted(j for j in chosen if bound.allows(indices[j], cutoff)))
    return kept


def _needed(state: _State, number: int, problem: Problem, cutoff: int) -> list[list[int]]:
    """Return every column that a page cheaper than the cutoff could use."""
    bound = state.bounds[number]
    if bound is None or cutoff >= _FAR:
        return [list(range(len(block.columns))) for block in problem.blocks]
    variables = _variables(problem)
    return [
        [j for j, index in enumerate(indices) if bound.allows(index, cutoff - 1)] for indices in variables
    ]
