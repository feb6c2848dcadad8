"""Branch and bound over all classes and common scalings of the page, the part with the least bound first.

Pages come from nine places:

1. **openings** – sizes and places as drawn, from problems of their own that are quickly put together.
2. **near** – what is nearest to a page that is known already, if there is one.
3. **still** – reference sizes and places only.
4. **beams** – contents decided block by block, several pages side by side, where every line holds.
5. **exchanges** – photos of two blocks of the best page exchanged, or moved from one to the other.
6. **dives** – contents decided by what the relaxation is nearly sure of.
7. **plunges** – now and then the tree is followed downwards instead of where the bound is least.
8. **looking around** – parts of the search space around the best page.
9. **leaves** – what CP-SAT settles exactly.

A class under a common scaling starts with the bound, and without the columns, that the duals of the class without
one rule out.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace

from solver.branching import halves
from solver.cutting import Cut
from solver.finding import DIVE_EFFORT
from solver.frame import Frame
from solver.node import FAR, Duals, Judged, Node, likely, root, scaled, whole_of
from solver.page import possible
from solver.problem import Column, NotMadeError, Problem
from solver.prospecting import Prospector
from solver.solution import Ranked, Solution
from solver.state import State
from solver.waiting import Home, Waiting

DIVE_EVERY = 8
FRUITLESS_DIVES = 48
STILL_EFFORT = 0.3
AROUND_SHARE = 0.1
LEAF_COLUMNS = 60
PLUNGE = 0.6
PLUNGE_EVERY = 4
LEAF_EFFORT = 0.5
REFRAME = 0.4
"""A node with a smaller share of its frame's columns gets a frame of its own."""
UNLOAD_EVERY = 8
SOURCES = 4
"""Parts from which dives start while there is slack."""


class Hunt(Prospector):
    """The tree of one page, or the part of it that one virtual worker has.

    Parameters
    ----------
    state, earlier, limit
        See :class:`solver.finding.Finder`.
    tell
        Called after every class and node, with this hunt.

    Attributes
    ----------
    finds
        Whether effort is spent on dives and on looking around.
    leads
        Where to look for good pages before the tree is gone on with, a bit at a time.
    begun
        Whether all classes are open: before, the bound speaks of some of the pages only.
    """

    def __init__(
        self,
        state: State,
        earlier: Collection[Ranked],
        limit: float,
        tell: Callable[[Hunt], None] = lambda hunt: None,
    ) -> None:
        super().__init__(state, earlier, limit)
        self.finds = True
        self.leads: Iterator[None] = iter(())
        self.begun = False
        self.tell = tell
        self._slack = 0
        self._sources: list[tuple[Node, Home]] = []
        self._start = state.used
        self._around = 0.0
        self._closed = FAR
        self._unsettled: set[int] = set()
        self._unopened = set[int]()
        self._steps = 0
        self._waiting = Waiting()
        self._fruitless = 0

    @property
    def mark(self) -> int:
        """What pages have to cost less than for the tree to look for them: the cutoff less the slack."""
        return self.cutoff if self.cutoff >= FAR else -(-self.cutoff * (100 - self._slack) // 100)

    @property
    def parts(self) -> list[tuple[Node, Home]]:
        """What is open, the least bound first."""
        return self._waiting.parts

    def restart(self, parts: Collection[tuple[Node, Home]], slack: int) -> None:
        """Start anew with some parts.

        Parameters
        ----------
        slack
            Per cent of the best page's cost: the tree rules out pages that are cheaper by more than that, no others.
        """
        self._waiting.refill(parts)
        self._slack = slack
        self._sources = self.parts[:SOURCES] if slack else []

    def begin(self) -> None:
        """Start with all pages there are, or those of the classes that are made in time."""
        state, opening = self.state, None
        count = len(state.problems)
        self._unopened = set(range(count))
        try:
            openings = state.problems[count - 1].openings if count else 0
            self._unopened = set(range(count - openings))
            opening = self._open_up(openings)
            self._begin_classes(openings, openless=opening is None and self.cutoff == FAR)
            self.begun = True
        except NotMadeError:
            # Of the classes that are left nothing is known but that no page costs less than nothing.
            self._closed = 0
            self._unsettled |= self._unopened
        if opening is not None:
            self.take(opening)
        self.tell(self)

    def _begin_classes(self, openings: int, *, openless: bool) -> None:
        """Open one class after the other."""
        state = self.state
        for number in self._order(openings) if openless else sorted(self._unopened):
            if self.over():
                raise NotMadeError
            # Classes are formulated when they are first asked for, so the first page does not wait for the second.
            problem = state.problems[number]
            whole = whole_of(number, problem)
            self._unopened.remove(number)
            if not all(whole.kept):
                continue
            if problem.near:
                self._first(root(number, problem, None, problem.near))
            if self.cutoff == FAR:
                self._still(number, problem)
            if self.over():
                self._waiting.push(whole, ())
                continue
            self._step(whole, (), opening=True)
            if self.cutoff == FAR and openless:
                self.advance(state.used + STILL_EFFORT)
            self.tell(self)

    def advance(self, until: float) -> None:
        """Go on until so many deterministic seconds are used, or nothing is open."""
        waiting = self._waiting
        while len(waiting) and self.state.used < until and not self.over():
            if self._follow_lead():
                self.tell(self)
                continue
            if waiting.next is not None:
                following, waiting.next = waiting.next, None
                self._step(*following, plunging=True)
            elif waiting.least < self.mark:
                self._step(*waiting.pop())
            else:
                waiting.refill([])
                break
            self.tell(self)
            self._look_around()

    def _follow_lead(self) -> bool:
        """Look for better pages for a bit; return whether there was any lead left."""
        try:
            for _ in self.leads:
                return True
        except MemoryError:
            self.state.exhausted = True
        return False

    @property
    def count(self) -> int:
        """How many nodes are open."""
        return len(self._waiting)

    @property
    def bound(self) -> int:
        """What every page costs that is not ruled out here; the cutoff or more when nothing is open."""
        return min(self._closed, self._waiting.bound)

    def open_classes(self) -> set[int]:
        """Return the numbers of the classes that may hold a better page."""
        found = self._waiting.classes(self.mark) | self._unopened
        return found | self._unsettled if self._closed < self.mark else found

    def give(self, below: int, most: int) -> list[tuple[Node, tuple[Cut, ...]]]:
        """Part with some of the open nodes of least bound, those under a bound."""
        return [(self.worthwhile(node, self.mark), cuts) for node, cuts in self._waiting.give(below, most)]

    def receive(self, node: Node, cuts: tuple[Cut, ...]) -> None:
        """Take over an open node."""
        self._waiting.push(node, cuts)

    def _step(self, node: Node, home: Home, *, plunging: bool = False, opening: bool = False) -> None:
        """Bound, settle or split a node; without memory for that it stays open, and the hunt ends."""
        try:
            self._treat(node, home, plunging=plunging, opening=opening)
        except MemoryError:
            self.state.exhausted = True
            self._closed = min(self._closed, node.bound)
            self._unsettled.add(node.number)

    def _treat(self, node: Node, home: Home, *, plunging: bool, opening: bool) -> None:
        whole = node.depth == 0 and not isinstance(home, Frame)
        if whole and node.group is not None:
            node = self.worthwhile(node, self.mark)
        judged, frame = self._judge(node, home)
        if opening:
            # Where another scaling is demanded, pages without one obey rows that those with one need not obey.
            if judged.duals is not None and not ("scale" in self.state.vary and self.earlier):
                self._scalings(node, judged.duals)
            elif judged.node is not None or judged.bound < FAR:
                self._scalings(node, None)
        if judged.node is None:
            return
        assert frame is not None
        self._steps += 1
        if self._steps % UNLOAD_EVERY == 0:
            self._waiting.unload()
        dive = self.finds and self._steps % DIVE_EVERY == 0 and self._fruitless < FRUITLESS_DIVES
        if dive or whole:
            before = self.cutoff
            if whole and node.group is None:
                self.explore(judged.node, frame)
            elif self._sources and not whole:
                self._dive_elsewhere()
            else:
                self.dive(judged, frame)
            self._fruitless = 0 if self.cutoff < before else self._fruitless + 1
            if self.cutoff < before:
                judged = frame.judge(judged.node, self.mark)
                self.state.used += frame.work()
        if judged.node is None:
            return
        least = self._waiting.least if self._waiting.queued else judged.bound
        if judged.node.size > LEAF_COLUMNS and judged.bound > least + plunging * PLUNGE * (self.mark - least):
            self._waiting.push(judged.node, frame)
        else:
            self._divide(judged, frame, plunging or self._steps % PLUNGE_EVERY == 0)

    def _dive_elsewhere(self) -> None:
        """Dive from a part as it was before the slack took from it what is only a little better."""
        node, home = self._sources.pop(0)
        if isinstance(home, Frame):
            judged, frame = home.judge(node, self.cutoff), home
            self.state.used += home.work()
        else:
            judged, found = self.framed(node, self.cutoff, home)
            if found is None:
                return
            frame = found
        if judged.node is not None:
            self._sources.append((judged.node, frame))
            self.dive(judged, frame)

    def _judge(self, node: Node, home: Home) -> tuple[Judged, Frame | None]:
        """Bound a node, in a frame of its own once it has become much smaller than its frame."""
        if isinstance(home, Frame):
            judged = home.judge(node, self.mark)
            self.state.used += home.work()
            if judged.node is None or not LEAF_COLUMNS < judged.node.size < REFRAME * home.size:
                return judged, home
            return self.framed(judged.node, self.mark, home.tight_cuts())
        if node.depth:
            return self.framed(node, self.mark, home)
        # What held the same part back for an earlier page holds it back for this one.
        judged, frame = self.framed(node, self.mark, self._known_cuts(node))
        if frame is not None:
            self.state.cuts[node.number, node.group] = frame.tight_cuts()
        return judged, frame

    def _known_cuts(self, node: Node) -> Sequence[Cut]:
        """Return cuts that held back the same part, or the class without a scaling."""
        known = self.state.cuts
        return known.get((node.number, node.group), known.get((node.number, None), ()))

    def _divide(self, judged: Judged, frame: Frame, plunging: bool) -> None:
        """Settle a small node, split a large one."""
        node = judged.node
        assert node is not None
        if node.size <= LEAF_COLUMNS and self._settle(node):
            return
        parts = self.state.experience.choose(judged, frame, self.mark)
        self.state.used += frame.work()
        if not parts:
            # The relaxation is content with whole columns: it is what it does not say that decides.
            self.solve(node, node.page(likely(judged)), DIVE_EFFORT)
            if node.bound >= self.mark or self._settle(node):
                return
            parts = halves(judged)
        if not parts:
            self._closed = min(self._closed, judged.bound)
            self._unsettled.add(node.number)
        if parts and plunging:
            self._waiting.next = (parts.pop(0), frame)
        for part in parts:
            self._waiting.push(part, frame)

    def _settle(self, node: Node) -> bool:
        """Whether CP-SAT finds that nothing better than what is known by then is left in a node."""
        return self.solve(node, node.page(), LEAF_EFFORT, self.mark).complete

    def _look_around(self) -> None:
        """Search around the best page, while that pays and has not taken more than its share."""
        used = self.state.used
        if self.finds and self._waiting.queued and self._around <= AROUND_SHARE * (used - self._start):
            try:
                self.look_around()
            except MemoryError:
                self.state.exhausted = True
            self._around += self.state.used - used

    def _scalings(self, node: Node, duals: Duals | None) -> None:
        """Queue the class under each of its common scalings."""
        problem = self.state.problems[node.number]
        for group in (None, *range(len(problem.groups))):
            if duals is not None:
                found = scaled(replace(node, problem=problem), duals, group)
                if found is not None:
                    self.floors[node.number, group] = found[1]
                    if group is not None:
                        self._waiting.push(found[0], ())
            elif group is not None:
                kept = [[j for j, c in enumerate(b.columns) if possible(c, group)] for b in problem.blocks]
                if all(kept):
                    self._waiting.push(root(node.number, problem, group, kept), ())

    def _open_up(self, openings: int) -> Solution | None:
        """Return a first page from where it is quickly had, for as long as there is no other."""
        if self.cutoff < FAR:
            return None
        problems = self.state.problems
        for number in range(len(problems) - 1, len(problems) - 1 - openings, -1):
            node = whole_of(number, problems[number])
            if all(node.kept):
                found = self.ask(number, node.page(), STILL_EFFORT).solution
                if found is not None:
                    return found
        return None

    def _order(self, openings: int) -> list[int]:
        """Return the classes in the order to begin them.

        Where no opening had a page, the next one comes soonest from the class with most to choose from in its opening.
        """
        problems = self.state.problems
        classes = list(range(len(problems) - openings))

        def choice(number: int) -> int:
            return sum(len(block.columns) for block in problems[len(problems) - 1 - number].blocks)

        return [*sorted(classes[:openings], key=choice, reverse=True), *classes[openings:]]

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
        self._first(root(number, pinned, None, kept))

    def _first(self, node: Node) -> None:
        """Look for a first page in a part of a class."""
        self.solve(node, node.page(), STILL_EFFORT)


def _is_still(column: Column) -> bool:
    return not column.present or (column.dw == 0 and column.dh == 0)
