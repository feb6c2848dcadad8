"""Ways to find pages in a whole class, which prove nothing: beams over contents, and exchanges of photos.

The first worker begins a class with a narrow beam; the rest is for the second one, before it joins in a long proof.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator
from dataclasses import replace
from functools import partial

from solver.beams import decided
from solver.branching import columns_by_photos
from solver.exchanges import Holdings, exchanged
from solver.finding import DIVE_COLUMNS, DIVE_EFFORT, Finder
from solver.frame import Frame
from solver.node import FAR, Judged, Node, promising, whole_of
from solver.page import PageModel
from solver.progress import gap_of
from solver.run import Solved
from solver.solution import Ranked, Solution
from solver.state import State

WIDTH = 4
WIDE_COLUMNS, WIDE_GAP = 600, 0.3
"""Where so many columns are left and the gap is so wide, beams are worth their effort."""
LONG_COLUMNS = 1_150
"""With so many columns left in a class, beams take long."""
HOPES = ((True, 0.5), (False, 0.7))
"""First beams, until one has found something: whether the surest block comes first, and the share of the gap hoped for.
"""
WAYS = ((4, False, True), (4, True, False), (8, True, True), (4, False, False))
"""Later beams: how wide, whether the surest block comes first, whether every line holds."""
EXCHANGES = 8
"""Exchanges of photos that are looked into at once."""
STRAIGHT_CUTS = 3
"""Rounds of cuts in the part of a class in which every line holds."""


def worth_beams(cost: int, bound: int, columns: int) -> bool:
    """Return whether it is worth while to look for better pages before the tree is gone on with."""
    return cost < FAR and columns >= WIDE_COLUMNS and gap_of(cost, bound) >= WIDE_GAP


class Prospector(Finder):
    """A finder that looks through whole classes.

    Parameters
    ----------
    state, earlier, limit
        See :class:`solver.finding.Finder`.
    """

    def __init__(self, state: State, earlier: Collection[Ranked], limit: float) -> None:
        super().__init__(state, earlier, limit)
        self._bases: dict[int, tuple[Node, Frame]] = {}
        self._exchanged: set[tuple[int, Holdings]] = set()

    def solve(self, node: Node, page: PageModel, effort: float, cutoff: int | None = None) -> Solved:
        """Look for a page in a model, and next to what is found."""
        before = self.cutoff
        result = super().solve(node, page, effort, cutoff)
        if self.cutoff < before:
            self.exchange()
        return result

    def explore(self, node: Node, frame: Frame) -> None:
        """Look for pages in the whole of a class, side by side where that is quickly done."""
        self._bases[node.number] = node, frame
        self.beam(node, frame, 1)
        if node.size >= LONG_COLUMNS:
            # The second worker looks further while the first one goes on.
            judged = frame.judge(node, self.cutoff)
            self.state.used += frame.work()
            self.dive(judged, frame)
        elif worth_beams(self.cutoff, node.bound, node.size):
            self._beams(node, frame)

    def _beams(self, node: Node, frame: Frame) -> None:
        """Look for better pages side by side, and next to what was found."""
        before = self.cutoff
        for surest_first, hope in HOPES:
            if self.cutoff == before:
                self.beam(node, frame, WIDTH, surest_first=surest_first, hope=hope)
        self.exchange()

    def beam(
        self,
        node: Node,
        frame: Frame,
        width: int,
        *,
        surest_first: bool = True,
        straight: bool = True,
        hope: float = 1.0,
    ) -> None:
        """Look for a page by a beam search over contents.

        Parameters
        ----------
        node, frame
            Where, and the relaxation of it.
        width, surest_first
            See :func:`solver.beams.decided`.
        straight
            Whether every line has to hold.
        hope
            What costs more than this share of the way from the bound to the best page is not gone on with: the less,
            the quicker.
        """

        def over() -> bool:
            self.state.used += frame.work()
            return self.over()

        part = node.all_firm() if straight else node
        judged = frame.judge(part, self.cutoff, rounds=1, cuts=STRAIGHT_CUTS if straight else 0)
        aim = self.cutoff
        if hope < 1 and aim < FAR and judged.node is not None:
            aim = judged.bound + round(hope * (aim - judged.bound))
            judged = frame.judge(judged.node, aim, rounds=1)
        if judged.node is None or over():
            return
        for end in decided(judged, frame, aim, width=width, surest_first=surest_first, over=over):
            if end.bound >= self.cutoff or over():
                return
            self._decide(end)

    def _decide(self, judged: Judged) -> None:
        """Look for a page where contents are decided."""
        node = judged.node
        assert node is not None
        super().solve(node, node.page(promising(judged, DIVE_COLUMNS)), DIVE_EFFORT)

    def exchange(self) -> None:
        """Exchange photos of the best page's blocks two at a time, while that makes it better."""
        before = FAR
        while self.found is not None and self.cutoff < before and not self.over():
            base = self._bases.get(self.found.problem)
            if base is None:
                return
            before = self.cutoff
            self._exchange(self.found, *base)

    def _exchange(self, solution: Solution, node: Node, frame: Frame) -> None:
        blocks = node.problem.blocks
        base = frame.judge(node.all_firm(), self.cutoff, rounds=1).node
        self.state.used += frame.work()
        if base is None:
            return
        open_ones = columns_by_photos(base)
        now = tuple(b.columns[j].photos for b, j in zip(blocks, solution.columns, strict=True))
        valued = []
        for holdings in exchanged(now, open_ones):
            if (node.number, holdings) in self._exchanged:
                continue
            columns = tuple(listed[photos] for listed, photos in zip(open_ones, holdings, strict=True))
            part = replace(base, kept=columns)
            value = frame.glance(part)
            if value < self.cutoff:
                valued.append((value, holdings, part))
        self.state.used += frame.work()
        for value, holdings, part in sorted(valued, key=lambda entry: entry[:2])[:EXCHANGES]:
            if value >= self.cutoff or self.over():
                return
            self._exchanged.add((node.number, holdings))
            judged = frame.judge(part, self.cutoff, rounds=1)
            self.state.used += frame.work()
            if judged.node is not None:
                self._decide(judged)

    def prospect(self, seconds: float) -> Iterator[None]:
        """Look for good pages in all classes for a while, pausing after every bit: by beams, in the end by dives."""
        state, start = self.state, self.state.used
        for number, problem in enumerate(state.problems):
            if problem.openings or state.used >= start + seconds / 2:
                break
            whole = whole_of(number, problem)
            if not all(whole.kept):
                continue
            judged, frame = self.framed(self.worthwhile(whole, self.cutoff), self.cutoff)
            if judged.node is not None and frame is not None:
                state.cuts[number, None] = frame.tight_cuts()
                self._bases[number] = judged.node, frame
            yield
        for bit in self._ways(list(self._bases.values())):
            if state.used >= start + seconds:
                return
            bit()
            yield

    def _ways(self, sources: list[tuple[Node, Frame]]) -> Iterator[Callable[[], None]]:
        """Yield ways to look for good pages, one bit after the other, without end."""
        for node, frame in sources:
            yield partial(self._beams, node, frame)
        for width, surest_first, straight in WAYS:
            for node, frame in sources:
                before = self.cutoff
                yield partial(self.beam, node, frame, width, surest_first=surest_first, straight=straight)
                if self.cutoff < before:
                    yield self.exchange
        while sources:
            for node, frame in sources:
                judged = frame.judge(node, self.cutoff)
                self.state.used += frame.work()
                yield partial(self.dive, judged, frame)
