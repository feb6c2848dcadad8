"""Ways to find pages, which prove nothing beyond the part they search: dives, and parts around the best page."""

from __future__ import annotations

import random
from collections.abc import Collection, Sequence

from solver.apart import is_apart, keep_apart
from solver.branching import surer
from solver.cutting import Cut, facts_of
from solver.descend import Wander
from solver.frame import Frame, framed
from solver.node import FAR, Floors, Judged, Node, below, promising, root
from solver.page import PageModel
from solver.run import Solved, solve
from solver.solution import Ranked, Solution
from solver.state import State

DIVE_COLUMNS = 150
DIVE_STEPS = 40
DIVE_FAILURES = 10
DIVE_EFFORT = 0.3
AROUND_EFFORT = 0.25
AROUND_COLUMNS = 300
IDLE_NEIGHBOURHOODS = 40


class Finder:
    """The best page far enough from the earlier ones, and ways to find better ones.

    Parameters
    ----------
    state
        What the worker knows.
    earlier
        Pages to stay away from.
    limit
        Where the deterministic seconds used end.
    """

    def __init__(self, state: State, earlier: Collection[Ranked], limit: float) -> None:
        self.state = state
        self.earlier = earlier
        self.limit = limit
        self.found = _from_pool(state, earlier)
        self.cutoff = FAR if self.found is None else self.found.cost
        self.floors: dict[tuple[int, int | None], Floors] = {}
        self.chance = random.Random(state.seed + state.worker)
        self._way: Wander | None = None
        self._searched: dict[tuple[int, int | None, frozenset[int]], list[list[set[int]]]] = {}

    def over(self) -> bool:
        """Whether the search for this page has to end."""
        return self.state.over() or self.state.used >= self.limit

    def take(self, solution: Solution) -> None:
        """Take note of a page."""
        self.state.pool.append(solution)
        if solution.cost < self.cutoff:
            self.found, self.cutoff = solution, solution.cost

    def prepare(self, page: PageModel) -> None:
        """Keep away from the earlier pages."""
        for ranked in self.earlier:
            keep_apart(page, self.state.problems[ranked.solution.problem], ranked.solution, self.state.vary)

    def framed(self, node: Node, cutoff: int, cuts: Collection[Cut] = ()) -> tuple[Judged, Frame | None]:
        """Judge a node in a frame of its own; what costs the cutoff or more is of no interest."""
        if node.number not in self.state.lines:
            self.state.lines[node.number] = facts_of(node.problem)
        known = self.state.lines[node.number]
        rounds = 1 if cutoff >= FAR else 3
        judged, frame, work = framed(node, cutoff, self.prepare, known, rounds=rounds, cuts=cuts)
        self.state.used += work
        return judged, frame

    def worthwhile(self, node: Node, cutoff: int) -> Node:
        """Return a node without the columns that the bound of its class rules out for pages under a cutoff."""
        floors = self.floors.get((node.number, node.group))
        return node if floors is None else below(node, floors, cutoff)

    def solve(self, node: Node, page: PageModel, effort: float, cutoff: int | None = None) -> Solved:
        """Look for a page in a model.

        Parameters
        ----------
        cutoff
            What it has to cost less than; the best page's cost if none is given.
        """
        result = self.ask(node.number, page, effort, self.cutoff if cutoff is None else cutoff)
        if result.solution is not None:
            self.take(result.solution)
        return result

    def ask(self, number: int, page: PageModel, effort: float, cutoff: int = FAR) -> Solved:
        """Look for a page in a model, one that costs less than a cutoff; better ones are reported as they are met."""
        state = self.state
        self.prepare(page)
        if cutoff < FAR:
            page.sheet.row(list(page.sheet.cost.items()), None, cutoff - 1 - page.sheet.offset)

        def report(cost: int, bound: int) -> None:
            if cost < self.cutoff:
                state.report(cost, number)

        result = solve(page, number, state.limits(min(effort, max(0.01, self.limit - state.used))), report=report)
        state.used += result.effort
        state.stopped |= result.stopped
        return result

    def dive(self, judged: Judged, frame: Frame) -> None:
        """Look for a page by deciding, again and again, what the relaxation is nearly sure of.

        A decision that leaves no page better than the best one is taken back, a few times.
        """
        failures, single = 0, False
        for _ in range(DIVE_STEPS):
            if judged.node is None or self.over():
                return
            decision = surer(judged, self.chance, single=single)
            if decision is None:
                self.solve(judged.node, judged.node.page(promising(judged, DIVE_COLUMNS)), DIVE_EFFORT)
                return
            found = frame.judge(decision.part, self.cutoff, rounds=1)
            if found.node is None:
                failures += 1
                if failures > DIVE_FAILURES:
                    return
                found = frame.judge(decision.otherwise, self.cutoff, rounds=1) if single else judged
                single = True
            else:
                single = False
            judged = found
            self.state.used += frame.work()

    def look_around(self) -> bool:
        """Search the next part around the best page; return whether that is worth its effort."""
        state = self.state
        if self.found is None:
            return False
        if self._way is None or self._way.solution is not self.found:
            problem = state.problems[self.found.problem]
            self._way = Wander(problem, self.found, random.Random(state.seed + state.worker + self.found.cost))
        way = self._way
        if way.idle >= IDLE_NEIGHBOURHOODS:
            return False
        kept = way.next()
        if all(kept):
            node = root(self.found.problem, way.problem, way.group, kept)
            way.tell(self._try(node, AROUND_COLUMNS, AROUND_EFFORT))
        return True

    def _try(self, node: Node, most: int, effort: float) -> bool:
        """Look for a better page in a node, among its most promising columns if it keeps too many.

        Returns
        -------
        bool
            Whether the node was searched completely.
        """
        node = self.worthwhile(node, self.cutoff)
        judged = self.framed(node, self.cutoff)[0] if all(node.kept) else Judged(None, FAR)
        # Searched parts by class, scaling and the lines that had to hold.
        searched = self._searched.setdefault((node.number, node.group, node.firm), [])
        if judged.node is None or _within(judged.node, searched):
            return True
        if judged.node.size > most:
            self.solve(judged.node, judged.node.page(promising(judged, most)), effort)
            return False
        complete = self.solve(judged.node, judged.node.page(), effort).complete
        if complete:
            searched.append([set(k) for k in judged.node.kept])
        return complete


def _within(node: Node, parts: Collection[Sequence[set[int]]]) -> bool:
    """Whether all columns of a node are among those of one of some parts."""
    return any(all(whole.issuperset(k) for whole, k in zip(part, node.kept, strict=True)) for part in parts)


def _from_pool(state: State, earlier: Collection[Ranked]) -> Solution | None:
    """Return the cheapest page met so far that is far enough from the earlier ones."""
    for solution in sorted(state.pool, key=lambda s: s.cost):
        if all(_apart(state, solution, e.solution) for e in earlier):
            return solution
    return None


def _apart(state: State, one: Solution, other: Solution) -> bool:
    problems = state.problems
    return is_apart(problems[one.problem], one, problems[other.problem], other, state.vary)
