"""The search: from problems to ranked pages with their bounds.

Each page has a tree of its own (:mod:`solver.hunt`).  One that is not settled soon is shared between two virtual
workers (:mod:`solver.partner`), the second of which has a process of its own where there are two cores
(:mod:`solver.mate`).  Every number depends on the problems, the seed and the deterministic limits alone.
"""

from __future__ import annotations

import time
from collections.abc import Collection, Sequence
from dataclasses import dataclass

from solver.apart import is_apart
from solver.hunt import Hunt
from solver.mate import Mate
from solver.node import FAR
from solver.partner import Brief, Partner
from solver.problem import NotMadeError, Problem
from solver.progress import Event, Kind, Progress, Stop, gap_of
from solver.prospecting import LONG_COLUMNS, worth_beams
from solver.solution import Outcome, Ranked, Solution, Status
from solver.state import State
from solver.ties import plainest

STEP = "3 solve"
FURTHER_TIMES, FURTHER_LEAST = 2.25, 0.35
"""What all alternatives may take, by what the first page took and by what the whole search may."""
ALONE, WORTH = 1.0, 1.25
"""Deterministic seconds before a second worker is called in, and those that have to be left then: what two workers
give each other is known after three meetings."""
WAKE = 0.75
"""Deterministic seconds before its process is started, which takes a moment."""
MEETINGS = 0.5
"""Deterministic seconds between two meetings of the workers."""
SLACK, WIDE = 15, 0.45
"""Where the gap is wide by then and many columns are left, a page is first proved best within some slack, per cent."""
KNOWN_RATE = 0.5
"""Deterministic seconds before the time left is estimated."""
EXHAUSTED = "Memory ran out before the search was done; the best found by then was kept."


@dataclass(frozen=True)
class Effort:
    """Limits of a whole search: deterministic seconds of each virtual worker, wall-clock seconds (a safety net), seed.

    Both workers count alike and side by side, so a search takes about as long on two cores as its deterministic
    seconds say, and up to twice as long on one.
    """

    seconds: float = 20.0
    wall: float | None = 60.0
    seed: int = 0


class _Teller:
    """Turns what happens into events and facts; ``limit`` is where the deterministic seconds used end at the latest."""

    def __init__(self, state: State, effort: Effort, progress: Progress) -> None:
        self.facts: dict[str, float] = {}
        self.best: int | None = None
        self.bound = -1
        self._part = ""
        self._open: set[int] | None = None
        self._state = state
        self.limit = effort.seconds
        self._wall = effort.wall
        self._progress = progress
        self._started = time.monotonic()

    def event(self, kind: Kind, message: str, cost: int | None = None, bound: int | None = None) -> None:
        """Tell of one thing."""
        gap = None if cost is None or bound is None else gap_of(cost, bound)
        elapsed = time.monotonic() - self._started
        part = "" if kind == "done" else self._part
        self._progress(Event(STEP, message, cost, bound, gap, elapsed, kind, self._left(elapsed), part))

    def note(self, name: str) -> None:
        """Note when something was first reached."""
        self.facts.setdefault(name, time.monotonic() - self._started)

    def next_page(self, number: int, of: int) -> None:
        """Start on a page, the first being number 1."""
        self.best, self.bound, self._open = None, -1, None
        self._part = "" if number == 1 else f"page {number} of {of}"

    def page(self, cost: int, number: int) -> None:
        """A page was found, and is told of if it is better than the one before."""
        if self.best is not None and cost >= self.best:
            return
        self.note("first page at")
        kind: Kind = "first" if self.best is None else "better"
        self.best = cost
        self.event(kind, f"class {self._state.problems[number].name}", cost, self._known(cost))

    def progressed(self, hunt: Hunt, bound: int, classes: set[int]) -> None:
        """A node was settled: tell of a better bound, and of classes in which nothing better is left."""
        bound = min(hunt.cutoff, bound)
        if hunt.cutoff < FAR and self.bound < bound:
            self.bound = bound
            self.event("bound", "pages cheaper than this are ruled out", hunt.cutoff, bound)
        problems = self._state.problems
        before = self._open if self._open is not None else set(range(len(problems) - problems[-1].openings))
        for number in sorted(before - classes):
            name = problems[number].name
            cost = None if hunt.cutoff >= FAR else hunt.cutoff
            self.event("class", f"class {name} finished", cost, self._known(cost))
        self._open = before & classes

    def _known(self, cost: int | None) -> int | None:
        """Return the bound told last, where there is one and a cost to set against it."""
        return None if cost is None or self.bound < 0 else min(self.bound, cost)

    def _left(self, elapsed: float) -> float | None:
        """Return how many seconds the search may still take, at the rate it used its effort so far."""
        used = self._state.used
        if used < KNOWN_RATE:
            return None
        left = max(0.0, self.limit - used) * elapsed / used
        return left if self._wall is None else min(left, max(0.0, self._wall - elapsed))


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
        Limits; the first page gets half of them, the alternatives share what is left, but not more than 2.25
        times what the first page took, or 0.35 of the limits if that is more, while they are found in that.
    progress, stop
        Called with events; asked now and then whether to stop.

    Returns
    -------
    Outcome
    """
    effort = effort or Effort()
    until = None if effort.wall is None else time.monotonic() + effort.wall
    state = State(problems, effort.seed, until, stop, tuple(vary))
    teller = _Teller(state, effort, progress)
    state.report = teller.page
    mate = Mate(state)
    ranked: list[Ranked] = []
    status: Status = "unknown"
    proved_none = False
    total = effort.seconds
    try:
        for rank in range(top):
            if rank and state.over():
                break
            if rank == 1:
                further = max(FURTHER_TIMES * state.used, FURTHER_LEAST * effort.seconds)
                teller.limit = total = min(total, state.used + further)
            share = (total - state.used) / (top - rank) if rank or top == 1 else total / 2
            teller.next_page(rank + 1, top)
            found, bound = _best(state, ranked, share, mate, teller)
            if found is None and bound < FAR and total < effort.seconds and not state.over():
                # A page that takes longer is better than none.
                teller.limit = total = effort.seconds
                found, bound = _best(state, ranked, (total - state.used) / (top - rank), mate, teller)
            if found is None:
                proved_none = bound >= FAR and not state.over()
                break
            if not state.over():
                found = plainest(state, ranked, found)
            ranked = _placed(state, ranked, found, bound)
            teller.note(f"page {rank + 1} at")
    finally:
        mate.close()
    if ranked:
        status = "proved" if ranked[0].proved else "feasible"
        pages = f"{len(ranked)} page{'s' if len(ranked) > 1 else ''}"
        teller.event("done", pages, ranked[0].solution.cost, ranked[0].bound)
    elif proved_none:
        status = "impossible"
    return Outcome(
        status,
        tuple(ranked),
        ranked[0].bound if ranked else None,
        state.stopped,
        state.wall_hit(),
        state.used,
        teller.facts,
        tuple(mate.notices) + ((EXHAUSTED,) if state.exhausted else ()),
        proved_none,
    )


def _placed(state: State, ranked: Sequence[Ranked], found: Solution, bound: int) -> list[Ranked]:
    """Return ranked pages with one more, ahead of those that were not proved best and turn out to cost more.

    What is proved for a rank holds for every page that is far enough from those before it.
    """
    problems, place = state.problems, len(ranked)
    while place and found.cost < (after := ranked[place - 1].solution).cost:
        if not is_apart(problems[after.problem], after, problems[found.problem], found, state.vary):
            break
        place -= 1
    # Nothing further down the list can be cheaper than what is better.
    known = ranked[place].bound if place < len(ranked) else max(bound, ranked[-1].bound if ranked else 0)
    return [*ranked[:place], Ranked(found, min(known, found.cost)), *ranked[place:]]


def _best(
    state: State, earlier: list[Ranked], seconds: float, mate: Mate, teller: _Teller
) -> tuple[Solution | None, int]:
    """Return the best page far enough from the earlier ones, and the bound proved for it."""
    start, limit = state.used, state.used + seconds

    def alone(hunt: Hunt) -> None:
        if state.used - start >= WAKE:
            mate.wake()
        if hunt.begun:
            teller.progressed(hunt, hunt.bound, hunt.open_classes())

    hunt = Hunt(state, earlier, limit, alone)
    hunt.begin()
    hunt.advance(start + ALONE if seconds >= ALONE + WORTH else limit)
    floor, parts = min(hunt.cutoff, hunt.bound), hunt.parts
    # The parts with common scalings were not looked into yet.
    columns = sum(node.size for node, _ in parts if node.group is None)
    for slack in _slacks(hunt.cutoff, floor, columns):
        if not parts or hunt.over():
            break
        hunt.restart(parts, slack)
        first = Partner(hunt, state.used, MEETINGS)
        brief = Brief(
            state.seed,
            state.vary,
            tuple(earlier),
            tuple(state.pool),
            state.experience,
            tuple(hunt.floors.items()),
            slack,
            worth_beams(hunt.cutoff, floor, columns),
            state.used,
            limit,
            MEETINGS,
            first.give(hunt.mark, hunt.count),
        )
        floor = _together(first, brief, mate, teller, floor)
    hunt.tell(hunt)
    return hunt.found, floor


def _slacks(cost: int, bound: int, columns: int) -> list[int]:
    """Return the slacks to prove a page within, per cent, the last of them none."""
    return [SLACK, 0] if cost < FAR and gap_of(cost, bound) >= WIDE and columns >= LONG_COLUMNS else [0]


def _together(first: Partner, brief: Brief, mate: Mate, teller: _Teller, floor: int) -> int:
    """Share the rest of a tree with a second worker, until nothing is open or the limits are reached.

    Returns
    -------
    int
        What is proved by then: the floor known before, or more.
    """
    hunt, state = first.hunt, first.hunt.state
    hunt.finds = False

    def proved() -> int:
        # A better page lowers the mark; what was ruled out under the former one stays so.
        nonlocal floor
        floor = max(floor, min(hunt.mark, first.bound))
        return floor

    def tell(_: Hunt) -> None:
        # While there is slack, pages that are a little better may be left in every class.
        classes = set(range(len(state.problems))) if brief.slack else first.open_classes()
        teller.progressed(hunt, proved(), classes)

    hunt.tell = tell
    try:
        mate.begin(brief)
    except NotMadeError:  # it is given every problem, also openings that were not needed
        return min(hunt.cutoff, floor)
    while not (first.done or first.last or state.over()):
        mate.tell(first.work())
        if first.meeting > 1:
            _listen(first, mate, teller)
    if not first.done and not state.over():
        _listen(first, mate, teller)
    if state.over():
        found = mate.best()
        if found is not None and found.cost < hunt.cutoff:
            teller.page(found.cost, found.problem)
            hunt.take(found)
    return min(hunt.cutoff, proved())


def _listen(first: Partner, mate: Mate, teller: _Teller) -> None:
    hunt = first.hunt
    told = mate.listen()
    if told is None:
        return
    if told.best is not None and told.best.cost < hunt.cutoff:
        teller.page(told.best.cost, told.best.problem)
    hunt.state.exhausted |= told.exhausted
    first.hear(told)
    hunt.tell(hunt)
