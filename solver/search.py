"""The search: from problems to ranked pages with their bounds.

One branch and bound runs over all symmetry classes and common scalings of the page (:mod:`solver.tree`), the part
with the least bound first.  Pages come from four places:

1. **still** – reference sizes and places only: a first page at once.
2. **plunge** – the most promising columns with all lines kept, deciding what the relaxation leaves undecided.
3. **improve** – after each better page: the same blocks under the same scaling, where relaxations are tight.
4. **leaves** – what CP-SAT settles exactly.

A class under a common scaling starts with the bound, and without the columns, that the duals of the class without
one rule out.  Every number depends on the problems, the seed and the deterministic limits alone.
"""

from __future__ import annotations

import heapq
import time
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from solver.apart import distance, keep_apart
from solver.descend import neighbourhoods
from solver.page import PageModel, possible
from solver.problem import Column, Problem
from solver.progress import Event, Progress, Stop, gap_of
from solver.run import Limits, Solved, solve
from solver.solution import Outcome, Ranked, Solution, Status
from solver.tree import FAR, Duals, Judged, Node, below, judge, promising, root, scaled, split

STEP = "3 solve"
DIVE_COLUMNS = 500
DIVE_STEPS = 16
DIVE_EFFORT = 0.3
IMPROVE_EFFORT = 0.5
STILL_EFFORT = 0.3
DESCEND_SHARE = 0.5
DESCEND_EFFORT = 0.25
IDLE_NEIGHBOURHOODS = 16
LEAF_COLUMNS = 500
SETTLED_COLUMNS = 1000
LEAF_EFFORT = 0.5


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
    facts: dict[str, float] = field(default_factory=dict)

    def elapsed(self) -> float:
        return time.monotonic() - self.started

    def limits(self, seconds: float) -> Limits:
        until = None if self.effort.wall is None else self.started + self.effort.wall
        return Limits(seconds, until, self.effort.seed, self.stop)

    def wall_hit(self) -> bool:
        return self.effort.wall is not None and self.elapsed() >= self.effort.wall

    def over(self) -> bool:
        self.stopped = self.stopped or self.stop()
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
            proved_none = bound >= FAR and not state.over()
            break
        ranked.append(Ranked(found, min(bound, found.cost)))
        state.note(f"page {rank + 1} at")
    if ranked:
        status = "proved" if ranked[0].proved else "feasible"
    elif proved_none:
        status = "impossible"
    if ranked:
        pages = f"{len(ranked)} page{'s' if len(ranked) > 1 else ''}"
        state.tell("done", pages, ranked[0].solution.cost, ranked[0].bound)
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
    return _Hunt(state, earlier, seconds).run()


class _Hunt:
    """Branch and bound over all classes and common scalings for one page."""

    def __init__(self, state: _State, earlier: list[Ranked], seconds: float) -> None:
        self.state = state
        self.earlier = earlier
        self.limit = state.used + seconds
        self.found = _from_pool(state, earlier)
        self.cutoff = FAR if self.found is None else self.found.cost
        self.closed = FAR
        self.told = -1
        self.count = 0
        self.steps = 0
        self.improved: set[tuple[int, int | None, tuple[bool, ...]]] = set()
        self.queue: list[tuple[int, int, Node]] = []
        self.prices: dict[tuple[int, int], tuple[tuple[int, ...], ...]] = {}

    def over(self) -> bool:
        return self.state.over() or self.state.used >= self.limit

    def prepare(self, page: PageModel) -> None:
        """Keep away from the earlier pages."""
        for ranked in self.earlier:
            keep_apart(page, self.state.problems[ranked.solution.problem], ranked.solution)

    def run(self) -> tuple[Solution | None, int]:
        state = self.state
        for number in range(len(state.problems)):
            # Classes are formulated when they are first asked for, so the first page does not wait for the second.
            problem = state.problems[number]
            kept = [range(len(b.columns)) for b in problem.blocks]
            if not all(kept):
                continue
            if self.cutoff == FAR:
                self._still(number, problem)
            whole = root(number, problem, None, kept)
            if self.over():
                self._push(whole)
                continue
            self._step(whole)
            self._tell()
        self._descend()
        while self.queue:
            if self.over():
                break
            bound, _, node = heapq.heappop(self.queue)
            if bound >= self.cutoff:
                self.queue.clear()
                break
            self._step(node)
            self._tell()
        open_bounds = [bound for bound, _, _ in self.queue]
        return self.found, min([self.closed, self.cutoff, *open_bounds])

    def _push(self, node: Node) -> None:
        self.count += 1
        heapq.heappush(self.queue, (node.bound, self.count, node))

    def _tell(self) -> None:
        bound = min([self.closed, self.cutoff, *(b for b, _, _ in self.queue)])
        if self.cutoff < FAR and self.told < bound:
            self.told = bound
            self.state.tell("bound", "pages cheaper than this are ruled out", self.cutoff, bound)

    def _step(self, node: Node) -> None:
        """Bound, settle or split a node."""
        state = self.state
        whole = node.depth == 0
        if whole and node.group is not None:
            node = below(node, self.prices.pop((node.number, node.group)), self.cutoff)
        judged = judge(node, self.cutoff, self.prepare, 1 if whole and self.cutoff >= FAR else 4)
        state.used += judged.work
        if whole and node.group is None:
            if judged.duals is not None:
                self._scalings(node, judged.duals)
            elif judged.node is not None or judged.bound < FAR:
                self._scalings(node, None)
        if judged.node is None:
            return
        node = judged.node
        settled = _settled(node)
        if node.size <= LEAF_COLUMNS or (settled and node.size <= SETTLED_COLUMNS):
            result = self._solve(node, node.page(), LEAF_EFFORT * (1 + node.depth % 4))
            if result.complete:
                return
            judged = replace(judged, bound=max(judged.bound, result.bound))
            if judged.bound >= self.cutoff:
                return
        elif whole or self.steps % 8 == 0:
            before = self.cutoff
            self._plunge(judged)
            if self.cutoff < before:
                judged = judge(node, self.cutoff, self.prepare)
                state.used += judged.work
                if judged.node is None:
                    return
        self.steps += 1
        parts = split(judged)
        if not parts:
            self.closed = min(self.closed, judged.bound)
            return
        for part in parts:
            self._push(part)

    def _descend(self) -> None:
        """Improve the page found by searching around it, as long as that pays."""
        if self.found is None or not self.queue:
            return
        start, idle = self.state.used, 0
        budget = DESCEND_SHARE * (self.limit - start)
        ways = self._neighbours(self.found)
        while idle < IDLE_NEIGHBOURHOODS and self.state.used - start < budget and not self.over():
            if min(bound for bound, _, _ in self.queue) >= self.cutoff:
                return
            before = self.found
            node = next(ways)
            self._solve(node, node.page(), DESCEND_EFFORT)
            idle = 0 if self.found is not before else idle + 1
            if self.found is not before and self.found is not None:
                ways = self._neighbours(self.found)

    def _neighbours(self, solution: Solution) -> Iterator[Node]:
        problem = self.state.problems[solution.problem]
        for kept in neighbourhoods(problem, solution, self.state.effort.seed + solution.cost):
            yield root(solution.problem, problem, solution.group, kept)

    def _scalings(self, node: Node, duals: Duals | None) -> None:
        """Queue the class under each of its common scalings."""
        problem = self.state.problems[node.number]
        for group in range(len(problem.groups)):
            if duals is not None:
                found = scaled(replace(node, problem=problem), duals, group)
                if found is not None:
                    self.prices[node.number, group] = found[1]
                    self._push(found[0])
                continue
            kept = [[j for j, c in enumerate(b.columns) if possible(c, group)] for b in problem.blocks]
            if all(kept):
                self.prices[node.number, group] = tuple(tuple(0 for _ in k) for k in kept)
                self._push(root(node.number, problem, group, kept))

    def _plunge(self, judged: Judged) -> None:
        """Look for a page among the promising columns, deciding what the relaxation leaves undecided."""
        stack = [_firm(replace(judged.node, kept=promising(judged, DIVE_COLUMNS)))] if judged.node else []
        for _ in range(DIVE_STEPS):
            if not stack or self.over():
                return
            node = stack.pop()
            found = judge(node, self.cutoff, self.prepare, 1)
            self.state.used += found.work
            if found.node is None:
                continue
            if found.node.size <= LEAF_COLUMNS or _settled(found.node):
                result = self._solve(found.node, found.node.page(), DIVE_EFFORT)
                if result.solution is not None:
                    return
                continue
            stack += reversed(split(found))

    def _solve(self, node: Node, page: PageModel, effort: float) -> Solved:
        state = self.state
        self.prepare(page)
        if self.cutoff < FAR:
            page.model.add(sum(page.objective) + page.offset <= self.cutoff - 1)

        def report(cost: int, bound: int) -> None:
            if cost < self.cutoff:
                kind = "first" if self.cutoff == FAR else "better"
                state.note("first page at")
                state.tell(kind, f"class {node.problem.name}", cost, None)

        result = solve(page, node.number, state.limits(min(effort, max(0.01, self.limit - state.used))), report=report)
        state.used += result.effort
        state.stopped |= result.stopped
        if result.solution is not None:
            state.pool.append(result.solution)
            if result.solution.cost < self.cutoff:
                self.found, self.cutoff = result.solution, result.solution.cost
                self._improve(result.solution)
        return result

    def _improve(self, solution: Solution) -> None:
        """Look for a better page with the same blocks under the same scaling; relaxations are tight there."""
        problem = self.state.problems[solution.problem]
        there = tuple(b.columns[j].present for b, j in zip(problem.blocks, solution.columns, strict=True))
        key = (solution.problem, solution.group, there)
        if key in self.improved or self.over():
            return
        self.improved.add(key)
        kept = [
            [j for j, c in enumerate(b.columns) if c.present == here and possible(c, solution.group)]
            for b, here in zip(problem.blocks, there, strict=True)
        ]
        judged = judge(_firm(root(solution.problem, problem, solution.group, kept)), self.cutoff, self.prepare)
        self.state.used += judged.work
        if judged.node is None:
            return
        node = judged.node
        some = node.kept if node.size <= LEAF_COLUMNS else promising(judged, LEAF_COLUMNS)
        self._solve(node, node.page(kept=some), IMPROVE_EFFORT)

    def _still(self, number: int, problem: Problem) -> None:
        """Reference sizes and places only; words may pick any size of their spot."""
        pinned = replace(
            problem,
            blocks=tuple(replace(b, x=(0, 0), y=(0, 0)) if b.shift else b for b in problem.blocks),
            slide=None,
        )
        kept = [
            [j for j, c in enumerate(b.columns) if _is_still(c)] or list(range(len(b.columns)))
            for b in problem.blocks
        ]
        node = root(number, pinned, None, kept)
        self._solve(node, node.page(), STILL_EFFORT)


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


def _firm(node: Node) -> Node:
    """Return a node in which every line holds that is not given up."""
    return replace(node, firm=frozenset(range(len(node.problem.softs))) - node.given_up)


def _settled(node: Node) -> bool:
    """Whether it is decided which blocks are there."""
    return all(
        len({block.columns[j].present for j in kept}) == 1
        for block, kept in zip(node.problem.blocks, node.kept, strict=True)
    )


def _is_still(column: Column) -> bool:
    return not column.present or (column.dw == 0 and column.dh == 0)
