"""A node's relaxation, loaded once; its parts are judged by changing bounds of variables.

Enforced rows are as tight as the ranges they were built from, so a part much smaller than its frame gets a frame of
its own.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import replace

from solver.agreeing import agreeing
from solver.cutting import SEEN, Cut, Facts, violated_cuts
from solver.levels import add_levels
from solver.node import FAR, Duals, Judged, Node, tightened
from solver.page import PageModel
from solver.problem import Lit, Row, Var, Way
from solver.ranges import narrow_places
from solver.relax import Bound, Numbers, relax
from solver.simplex import Simplex

WORK_BUILD = 2e-6
"""Deterministic seconds charged per entry of a relaxation that is built."""
CUT_ROUNDS = 5
NEARLY = 0.98
"""What a relaxation gives so much to is there."""
MISSED = 0.5
"""Alternatives that are not kept by no more than this, in steps of places, are as good as kept."""
SHRUNK = 0.75
"""A relaxation is built anew at the root while it loses this share of its columns."""

Prepare = Callable[[PageModel], None]


class Frame:
    """The relaxation of a node.

    Parameters
    ----------
    node
        Everything judged here is a part of it.
    prepare
        Adds what the page must obey besides.
    facts
        What is known of the class's lines.
    cuts
        Rows found useful for a larger node of the same class.
    """

    def __init__(self, node: Node, prepare: Prepare, facts: Facts, cuts: Collection[Cut]) -> None:
        self._node = node
        self._page = node.page(relaxed=True)
        prepare(self._page)
        self._relaxation = relax(self._page.sheet)
        self._levels = add_levels(self._page, self._relaxation)
        self._low, self._high = self._relaxation.bounds()
        self._simplex = Simplex(self._relaxation)
        self._facts = facts
        self._told = -WORK_BUILD * self._relaxation.size
        self.size = node.size
        self.cuts: dict[Cut, None] = {}
        for cut in cuts:
            self._add(cut)

    def work(self) -> float:
        """Return the deterministic seconds used since this was last asked."""
        new = self._simplex.work - self._told
        self._told = self._simplex.work
        return new

    def tight_cuts(self) -> list[Cut]:
        """Return the cuts that held the last answer back."""
        first = len(self._relaxation.rows) - len(self.cuts)
        duals = dict(zip(self.cuts, self._simplex.duals[first:], strict=False))
        return [cut for cut in self.cuts if abs(duals.get(cut, 1.0)) > SEEN]

    def glance(self, node: Node) -> float:
        """Return about what the relaxation of a part costs; nothing is proved."""
        if not all(node.kept):
            return FAR
        node = agreeing(node, self._facts.cycles)
        if not all(node.kept):
            return FAR
        value = self._simplex.glance(*self._bounds(node))
        return node.bound if value is None else min(value, FAR)

    def judge(self, node: Node, cutoff: int, *, rounds: int = 3, cuts: int = 0) -> Judged:
        """Bound a part and drop what no page cheaper than the cutoff can use, again while that helps."""
        judged = Judged(None, FAR)
        duals: Duals | None = None
        for _ in range(rounds):
            if all(node.kept):
                node = agreeing(node, self._facts.cycles)
            if not all(node.kept):
                return Judged(None, FAR, duals=duals)
            bound = self._bound(node, cutoff, cuts)
            if bound is None:
                return replace(_unknown(node), duals=duals)
            if bound.value is None:
                return Judged(None, FAR, duals=duals)
            duals = duals or self._duals(bound)
            if max(node.bound, bound.value) >= cutoff:
                return Judged(None, max(node.bound, bound.value), duals=duals)
            before, node = node, tightened(node, self._page, bound, cutoff)
            if not all(node.kept):
                return Judged(None, cutoff, duals=duals)
            judged = self._read(node, bound, duals)
            if cutoff >= FAR or node.size > 0.8 * before.size:
                break
        return judged

    def _bound(self, node: Node, cutoff: int, cuts: int) -> Bound | None:
        """Return the bound of a part, after adding the covers that its relaxation violates."""
        low, high = self._bounds(node)
        for number in range(cuts + 1):
            bound = self._simplex.bound(low, high)
            if bound is None or bound.value is None or bound.value >= cutoff or number == cuts:
                return bound
            if not self._cut(node, bound):
                return bound
        raise AssertionError("unreachable")

    def _cut(self, node: Node, bound: Bound) -> bool:
        """Add the cuts violated by a relaxation's answer; return whether there are any."""
        before = len(self.cuts)
        for cut in violated_cuts(self._facts, self._page, node, bound.values, self._levels.sizes):
            self._add(cut)
        return len(self.cuts) > before

    def _add(self, cut: Cut) -> None:
        """State a cut, unless one of its lines is given up."""
        if cut in self.cuts or not self._node.given_up.isdisjoint(cut.lines):
            return
        row = self._levels.row(cut)
        if row.variables:
            self._simplex.add(row)
            self.cuts[cut] = None

    def _bounds(self, node: Node) -> tuple[Numbers, Numbers]:
        low, high = self._low.copy(), self._high.copy()
        page = self._page
        for choice, columns, mine in zip(page.columns, node.kept, self._node.kept, strict=True):
            if len(columns) < len(mine):
                kept = set(columns)
                high[[var for j, var in choice.items() if j not in kept]] = 0
        for number, var in page.broken.items():
            if number in node.firm:
                high[var] = 0
            elif number in node.given_up:
                low[var] = 1
        if not node.drifts:
            low[page.drifts] = high[page.drifts] = 0
        for way, var in page.ways.items():
            if way in node.taken:
                low[var] = 1
            elif way in node.closed:
                high[var] = 0
        for b, (block, whole) in enumerate(zip(node.problem.blocks, self._node.problem.blocks, strict=True)):
            sides: tuple[tuple[Var, tuple[int, int], tuple[int, int]], ...]
            sides = ((("x", b), block.x, whole.x), (("y", b), block.y, whole.y))
            for name, now, before in sides:
                place = page.places.get(name)
                if now != before and place is not None:
                    low[place], high[place] = now
        return low, high

    def _duals(self, bound: Bound) -> Duals:
        prices = tuple(tuple(bound.reduced[var] for var in choice.values()) for choice in self._page.columns)
        return Duals(bound.exact - sum(min(0, p) for row in prices for p in row), prices)

    def _read(self, node: Node, bound: Bound, duals: Duals | None) -> Judged:
        values, prices = [], []
        for choice, columns in zip(self._page.columns, node.kept, strict=True):
            numbers = [choice[j] for j in columns]
            values.append(tuple(bound.values[n] for n in numbers))
            prices.append(tuple(max(0, bound.reduced[n]) for n in numbers))
        decided = node.firm | node.given_up
        broken = {s: bound.values[var] for s, var in self._page.broken.items() if s not in decided}
        return Judged(node, node.bound, tuple(values), tuple(prices), broken, duals, bound.values)

    def missed(self, judged: Judged) -> Iterator[Way]:
        """Yield, for each choice among blocks that are there of which no alternative holds, the one most nearly so."""
        node, values = judged.node, judged.answer
        if node is None or not values:
            return
        decided = {number for number, _ in node.taken}
        ways = defaultdict(list)
        for number, option in self._page.ways:
            if number not in decided and (number, option) not in node.closed:
                ways[number].append(option)
        for number, options in ways.items():
            choice = node.problem.choices[number]
            if len(options) < 2 or not all(self._is_there(lit, values) for lit in choice.when):
                continue
            lacks = [(max(self._lack(row, values) for row in choice.options[o]), o) for o in options]
            least, option = min(lacks)
            if least > MISSED:
                yield number, option

    def _is_there(self, lit: Lit, values: Sequence[float]) -> bool:
        """Whether a literal says that a block is there which the relaxation has."""
        kind, number, _ = lit
        if kind != "block":
            return False
        columns = self._page.columns[number]
        block = self._page.problem.blocks[number]
        return sum(values[var] for j, var in columns.items() if block.columns[j].present) > NEARLY

    def _lack(self, row: Row, values: Sequence[float]) -> float:
        """Return by how much a row is not kept, grid units."""
        total = sum(c * values[var] for var, c in self._page.expr(row.terms))
        largest = max((abs(c) for _, c in row.terms), default=1)
        low = 0.0 if row.low is None else row.low - total
        high = 0.0 if row.high is None else total - row.high
        return max(low, high) / largest


def framed(
    node: Node,
    cutoff: int,
    prepare: Prepare,
    facts: Facts,
    *,
    rounds: int = 3,
    cuts: Collection[Cut] = (),
) -> tuple[Judged, Frame | None, float]:
    """Judge a node in a frame of its own, built anew while it shrinks; return the work as well."""
    work = 0.0
    judged, frame = Judged(node, node.bound), None
    duals: Duals | None = None
    for _ in range(rounds):
        assert judged.node is not None
        node = replace(judged.node, problem=narrow_places(judged.node.problem, judged.node.kept, judged.node.taken))
        frame = Frame(node, prepare, facts, cuts)
        judged = frame.judge(node, cutoff, cuts=CUT_ROUNDS)
        cuts = frame.tight_cuts()
        work += frame.work()
        duals = duals or judged.duals
        if judged.node is None or judged.node.size > SHRUNK * frame.size:
            break
    return replace(judged, duals=duals), frame, work


def _unknown(node: Node) -> Judged:
    """Return what is known of a node whose relaxation could not be solved."""
    values = tuple(tuple(1 / len(k) for _ in k) for k in node.kept)
    prices = tuple(tuple(0 for _ in k) for k in node.kept)
    return Judged(node, node.bound, values, prices)
