"""The search: from problems to ranked pages with their bounds.

One branch and bound runs over all symmetry classes and common scalings of the page, the part with the least bound
first.  Pages come from five places:

1. **still** – reference sizes and places only: a first page at once.
2. **dives** – contents decided by what the relaxation is nearly sure of.
3. **plunges** – now and then the tree is followed downwards instead of where the bound is least.
4. **looking around** – parts of the search space around the best page.
5. **leaves** – what CP-SAT settles exactly.

A class under a common scaling starts with the bound, and without the columns, that the duals of the class without
one rule out.  Every number depends on the problems, the seed and the deterministic limits alone.
"""

from __future__ import annotations

import heapq
import random
import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from solver.apart import is_apart, keep_apart
from solver.branching import Experience, halves, surer
from solver.descend import Wander
from solver.frame import Cut, Facts, Frame, facts_of, framed
from solver.node import FAR, Duals, Floors, Judged, Node, below, likely, promising, root, scaled
from solver.page import PageModel, possible
from solver.problem import Column, Problem
from solver.progress import Event, Progress, Stop, gap_of
from solver.run import Limits, Solved, solve
from solver.solution import Outcome, Ranked, Solution, Status

STEP = "3 solve"
DIVE_COLUMNS = 150
DIVE_STEPS = 40
DIVE_FAILURES = 10
DIVE_EVERY = 4
FRUITLESS_DIVES = 48
DIVE_EFFORT = 0.3
IMPROVE_COLUMNS = 500
IMPROVE_EFFORT = 0.5
STILL_EFFORT = 0.3
AROUND_EFFORT = 0.25
AROUND_COLUMNS = 300
AROUND_SHARE = 0.2
IDLE_NEIGHBOURHOODS = 40
LEAF_COLUMNS = 60
PLUNGE = 0.6
PLUNGE_EVERY = 4
LEAF_EFFORT = 0.5
REFRAME = 0.4
"""A node with a smaller share of its frame's columns gets a frame of its own."""


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
    vary: tuple[str, ...] = ()
    started: float = field(default_factory=time.monotonic)
    used: float = 0.0
    stopped: bool = False
    pool: list[Solution] = field(default_factory=list)
    facts: dict[str, float] = field(default_factory=dict)
    lines: dict[int, Facts] = field(default_factory=dict)
    cuts: dict[tuple[int, int | None], list[Cut]] = field(default_factory=dict)
    experience: Experience = field(default_factory=Experience)

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
    vary: Collection[str] = (),
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
    vary
        In what alternatives must differ from every better page besides, of :data:`solver.apart.VARIED`.
    effort
        Limits; the first page gets half of them, the alternatives share the rest.
    progress, stop
        Called with events; asked now and then whether to stop.

    Returns
    -------
    Outcome
    """
    state = _State(problems, effort or Effort(), progress, stop, tuple(vary))
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
        # Nothing further down the list can be cheaper than what is better.
        bound = max(bound, ranked[-1].bound if ranked else 0)
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
        self.start = state.used
        self.limit = state.used + seconds
        self.around = 0.0
        self.found = _from_pool(state, earlier)
        self.cutoff = FAR if self.found is None else self.found.cost
        self.closed = FAR
        self.told = -1
        self.all_open = False
        self.next: tuple[Node, Frame] | None = None
        self.count = 0
        self.steps = 0
        self.improved: set[tuple[int, int | None, tuple[bool, ...]]] = set()
        self.queue: list[tuple[int, int, Node, Frame | None]] = []
        self.floors: dict[tuple[int, int | None], Floors] = {}
        self.fruitless = 0
        self.chance = random.Random(state.effort.seed)
        self.way: Wander | None = None

    def over(self) -> bool:
        return self.state.over() or self.state.used >= self.limit

    def prepare(self, page: PageModel) -> None:
        """Keep away from the earlier pages."""
        for ranked in self.earlier:
            keep_apart(page, self.state.problems[ranked.solution.problem], ranked.solution, self.state.vary)

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
                self._push(whole, None)
                continue
            self._step(whole, None)
        self.all_open = True
        self._tell()
        while self.queue or self.next is not None:
            if self.over():
                break
            if self.next is not None:
                following, self.next = self.next, None
                self._step(*following, plunging=True)
            else:
                bound, _, node, frame = heapq.heappop(self.queue)
                if bound >= self.cutoff:
                    self.queue.clear()
                    break
                self._step(node, frame)
            self._tell()
            self._look_around()
        return self.found, min(self.closed, self.cutoff, self._open())

    def _open(self) -> int:
        """Return the least bound of what is open."""
        waiting = FAR if self.next is None else self.next[0].bound
        return min(waiting, self.queue[0][0] if self.queue else FAR)

    def _push(self, node: Node, frame: Frame | None) -> None:
        self.count += 1
        heapq.heappush(self.queue, (node.bound, self.count, node, frame))

    def _tell(self) -> None:
        """Report the bound once it covers every class."""
        if not self.all_open:
            return
        bound = min(self.closed, self.cutoff, self._open())
        if self.cutoff < FAR and self.told < bound:
            self.told = bound
            self.state.tell("bound", "pages cheaper than this are ruled out", self.cutoff, bound)

    def _step(self, node: Node, frame: Frame | None, *, plunging: bool = False) -> None:
        """Bound, settle or split a node."""
        whole = node.depth == 0 and frame is None
        if whole and node.group is not None:
            node = self._worthwhile(node)
        judged, frame = self._judge(node, frame)
        if whole and node.group is None:
            # Where another scaling is demanded, pages without one obey rows that those with one need not obey.
            if judged.duals is not None and not ("scale" in self.state.vary and self.earlier):
                self._scalings(node, judged.duals)
            elif judged.node is not None or judged.bound < FAR:
                self._scalings(node, None)
        if judged.node is None:
            return
        assert frame is not None
        self.steps += 1
        dive = self.steps % DIVE_EVERY == 0 and self.fruitless < FRUITLESS_DIVES
        if dive or whole:
            before = self.cutoff
            self._dive(judged, frame)
            self.fruitless = 0 if self.cutoff < before else self.fruitless + 1
            if self.cutoff < before:
                judged = frame.judge(judged.node, self.cutoff)
                self.state.used += frame.work()
        if judged.node is None:
            return
        least = self.queue[0][0] if self.queue else judged.bound
        if judged.node.size > LEAF_COLUMNS and judged.bound > least + plunging * PLUNGE * (self.cutoff - least):
            self._push(judged.node, frame)
        else:
            self._divide(judged, frame, plunging or self.steps % PLUNGE_EVERY == 0)

    def _judge(self, node: Node, frame: Frame | None) -> tuple[Judged, Frame | None]:
        """Bound a node, in a frame of its own once it has become much smaller than its frame."""
        if frame is not None:
            judged = frame.judge(node, self.cutoff)
            self.state.used += frame.work()
            if judged.node is None or not LEAF_COLUMNS < judged.node.size < REFRAME * frame.size:
                return judged, frame
            return self._framed(judged.node, frame.tight_cuts())
        # What held the same part back for an earlier page holds it back for this one.
        judged, frame = self._framed(node, self.state.cuts.get((node.number, node.group), ()))
        if frame is not None:
            self.state.cuts[node.number, node.group] = frame.tight_cuts()
        return judged, frame

    def _framed(self, node: Node, cuts: Collection[Cut] = ()) -> tuple[Judged, Frame | None]:
        if node.number not in self.state.lines:
            self.state.lines[node.number] = facts_of(node.problem)
        known = self.state.lines[node.number]
        rounds = 1 if self.cutoff >= FAR else 3
        judged, frame, work = framed(node, self.cutoff, self.prepare, known, rounds=rounds, cuts=cuts)
        self.state.used += work
        return judged, frame

    def _divide(self, judged: Judged, frame: Frame, plunging: bool) -> None:
        """Settle a small node, split a large one."""
        node = judged.node
        assert node is not None
        if node.size <= LEAF_COLUMNS and self._settle(node):
            return
        parts = self.state.experience.choose(judged, frame, self.cutoff)
        self.state.used += frame.work()
        if not parts:
            # The relaxation is content with whole columns: it is what it does not say that decides.
            self._solve(node, node.page(likely(judged)), DIVE_EFFORT)
            if node.bound >= self.cutoff or self._settle(node):
                return
            parts = halves(judged)
        if not parts:
            self.closed = min(self.closed, judged.bound)
        if parts and plunging:
            self.next = (parts.pop(0), frame)
        for part in parts:
            self._push(part, frame)

    def _settle(self, node: Node) -> bool:
        """Whether CP-SAT finds that nothing better than what is known by then is left in a node."""
        return self._solve(node, node.page(), LEAF_EFFORT).complete

    def _look_around(self) -> None:
        """Search around the best page, while that pays and has not taken more than its share."""
        state = self.state
        if self.found is None or not self.queue:
            return
        if self.around > AROUND_SHARE * (state.used - self.start) + AROUND_EFFORT:
            return
        if self.way is None or self.way.solution is not self.found:
            problem = state.problems[self.found.problem]
            self.way = Wander(problem, self.found, random.Random(state.effort.seed + self.found.cost))
        way, used = self.way, state.used
        if way.idle >= IDLE_NEIGHBOURHOODS:
            return
        kept = way.next()
        if all(kept):
            node = root(self.found.problem, way.problem, way.group, kept)
            way.tell(self._try(node, AROUND_COLUMNS, AROUND_EFFORT))
        self.around += state.used - used

    def _worthwhile(self, node: Node) -> Node:
        """Return a node without the columns that the bound of its class rules out."""
        floors = self.floors.get((node.number, node.group))
        return node if floors is None else below(node, floors, self.cutoff)

    def _scalings(self, node: Node, duals: Duals | None) -> None:
        """Queue the class under each of its common scalings."""
        problem = self.state.problems[node.number]
        for group in (None, *range(len(problem.groups))):
            if duals is not None:
                found = scaled(replace(node, problem=problem), duals, group)
                if found is not None:
                    self.floors[node.number, group] = found[1]
                    if group is not None:
                        self._push(found[0], None)
            elif group is not None:
                kept = [[j for j, c in enumerate(b.columns) if possible(c, group)] for b in problem.blocks]
                if all(kept):
                    self._push(root(node.number, problem, group, kept), None)

    def _dive(self, judged: Judged, frame: Frame) -> None:
        """Look for a page by deciding, again and again, what the relaxation is nearly sure of.

        A decision that leaves no page better than the best one is taken back, a few times.
        """
        failures, single = 0, False
        for _ in range(DIVE_STEPS):
            if judged.node is None or self.over():
                return
            decision = surer(judged, self.chance, single=single)
            if decision is None:
                self._solve(judged.node, judged.node.page(promising(judged, DIVE_COLUMNS)), DIVE_EFFORT)
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
        node = root(solution.problem, problem, solution.group, kept).all_firm()
        self._try(node, IMPROVE_COLUMNS, IMPROVE_EFFORT)

    def _try(self, node: Node, most: int, effort: float) -> bool:
        """Look for a better page in a node, among its most promising columns if it keeps too many.

        Returns
        -------
        bool
            Whether the node was searched completely.
        """
        node = self._worthwhile(node)
        judged = self._framed(node)[0] if all(node.kept) else Judged(None, FAR)
        if judged.node is None:
            return True
        some = judged.node.kept if judged.node.size <= most else promising(judged, most)
        return self._solve(judged.node, judged.node.page(some), effort).complete and judged.node.size <= most

    def _still(self, number: int, problem: Problem) -> None:
        """Reference sizes and places only; words may pick any size of their spot."""
        pinned = replace(
            problem,
            blocks=tuple(replace(b, x=(0, 0), y=(0, 0)) if b.shift else b for b in problem.blocks),
            slide=None,
        )
        kept = [
            [j for j, c in enumerate(b.columns) if _is_still(c)] or list(range(len(b.columns))) for b in problem.blocks
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
    problems = state.problems
    return is_apart(problems[one.problem], one, problems[other.problem], other, state.vary)


def _is_still(column: Column) -> bool:
    return not column.present or (column.dw == 0 and column.dh == 0)
