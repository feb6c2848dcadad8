"""Parts of the search space: which columns, places and broken lines of a class under a common scaling are open."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field, replace

from solver.model import build
from solver.page import PageModel, home_of, possible, price
from solver.problem import Problem, Way
from solver.relax import SCALE, Bound

Kept = tuple[tuple[int, ...], ...]
FAR = 1 << 40


@dataclass(frozen=True)
class Node:
    """Part of the search space; ``bound`` is proved for it.

    Parameters
    ----------
    number
        Number of the class.
    problem
        Its problem, ranges of places narrowed to what is open.
    group
        The common scaling.
    kept
        Per block, the columns that are open.
    firm, given_up
        Numbers of the lines that hold, and of those whose price is paid.
    taken, closed
        Alternatives of choices among blocks that are surely there: those that hold, and those that need not.
    drifts
        Whether relaxations let the page drift.
    """

    number: int
    problem: Problem
    group: int | None
    kept: Kept
    firm: frozenset[int] = frozenset()
    given_up: frozenset[int] = frozenset()
    bound: int = 0
    depth: int = 0
    taken: frozenset[Way] = frozenset()
    closed: frozenset[Way] = frozenset()
    drifts: bool = True

    @property
    def size(self) -> int:
        """Number of columns that are open."""
        return sum(map(len, self.kept))

    def page(self, kept: Kept | None = None, *, relaxed: bool = False) -> PageModel:
        """Return the model of this node, or of some of its columns; ``relaxed`` if it is to be relaxed."""
        return build(
            self.problem,
            self.kept if kept is None else kept,
            group=self.group,
            firm=self.firm,
            given_up=self.given_up,
            taken=self.taken,
            closed=self.closed,
            relaxed=relaxed,
        )

    def all_firm(self) -> Node:
        """Return the part in which every line holds that is not given up, and the page does not drift."""
        return replace(self, firm=frozenset(range(len(self.problem.softs))) - self.given_up, drifts=False)


@dataclass(frozen=True)
class Duals:
    """Certified bound of a whole class without common scaling and its columns' reduced costs, ``SCALE``-fold.

    With exactly one column per block, ``base`` plus the least price of every block is a bound.
    """

    base: int
    prices: tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Judged:
    """A node after its relaxation: tightened, with the relaxation's values; ``None`` when nothing is left.

    ``values`` and ``prices`` are each open column's share and reduced cost, ``broken`` each open line's share;
    ``answer`` is the relaxation's value of every variable of its frame.
    """

    node: Node | None
    bound: int
    values: tuple[tuple[float, ...], ...] = ()
    prices: tuple[tuple[int, ...], ...] = ()
    broken: dict[int, float] = field(default_factory=dict)
    duals: Duals | None = None
    answer: Sequence[float] = ()


def root(number: int, problem: Problem, group: int | None, kept: Collection[Collection[int]]) -> Node:
    """Return the whole of a class under one common scaling."""
    return Node(number, problem, group, tuple(tuple(k) for k in kept))


def whole_of(number: int, problem: Problem) -> Node:
    """Return the whole of a class without a common scaling."""
    return root(number, problem, None, [range(len(b.columns)) for b in problem.blocks])


def narrowed(node: Node, block: int, columns: tuple[int, ...]) -> Node:
    """Return a part of a node with fewer columns of one block."""
    kept = (*node.kept[:block], columns, *node.kept[block + 1 :])
    return replace(node, kept=kept, depth=node.depth + 1)


def promising(judged: Judged, count: int) -> Kept:
    """Return the columns of least reduced cost."""
    assert judged.node is not None
    kept = []
    share = max(4, count // max(1, len(judged.node.kept)))
    for columns, prices, values in zip(judged.node.kept, judged.prices, judged.values, strict=True):
        order = sorted(range(len(columns)), key=lambda i: (prices[i], -values[i], columns[i]))
        kept.append(tuple(sorted(columns[i] for i in order[:share])))
    return tuple(kept)


def likely(judged: Judged) -> Kept:
    """Return the columns that the relaxation uses."""
    assert judged.node is not None
    kept = []
    for columns, values in zip(judged.node.kept, judged.values, strict=True):
        most = max(values)
        kept.append(tuple(j for j, value in zip(columns, values, strict=True) if value > 0.01 or value == most))
    return tuple(kept)


Floors = tuple[dict[int, int], ...]
"""Per block, per column: what a page with it costs at least, ``SCALE``-fold."""


def scaled(plain: Node, duals: Duals, group: int | None) -> tuple[Node, Floors] | None:
    """Return the whole of a class under a common scaling, or none, bounded by the duals of the class without one.

    Only prices change: a column costs its gain less, and a block's distance from its new target is at
    least that from the old one less the distance of the targets.
    """
    problem = plain.problem
    total = duals.base + (0 if group is None else SCALE * problem.groups[group].cost)
    kept, above = [], []
    for block, columns, prices in zip(problem.blocks, plain.kept, duals.prices, strict=True):
        found = {
            j: p + SCALE * (price(block.columns[j], group) - block.columns[j].cost)
            for j, p in zip(columns, prices, strict=True)
            if possible(block.columns[j], group)
        }
        if not found:
            return None
        least = min(found.values())
        home = home_of(block, group)
        total += least - SCALE * block.shift * (abs(home[0]) + abs(home[1]))
        kept.append(tuple(found))
        above.append({j: p - least for j, p in found.items()})
    node = Node(plain.number, problem, group, tuple(kept), bound=max(0, -(-total // SCALE)))
    return node, tuple({j: total + p for j, p in row.items()} for row in above)


def below(node: Node, floors: Floors, cutoff: int) -> Node:
    """Return a node without the columns that cost too much for a page cheaper than the cutoff."""
    if cutoff >= FAR:
        return node
    most = (cutoff - 1) * SCALE
    kept = tuple(
        tuple(j for j in columns if floor.get(j, most + 1) <= most)
        for columns, floor in zip(node.kept, floors, strict=True)
    )
    return replace(node, kept=kept)


def tightened(node: Node, page: PageModel, bound: Bound, cutoff: int) -> Node:
    """Return a node without the columns, places and broken lines that cost too much.

    Parameters
    ----------
    page
        The model whose relaxation gave the bound; it may hold more than the node.
    """
    best = max(node.bound, bound.value or 0)
    if cutoff >= FAR:
        return replace(node, bound=best)
    most = cutoff - 1
    reduced, allowance = bound.reduced, bound.allowance(most)
    kept = tuple(
        tuple(j for j in columns if reduced[choice[j]] <= allowance)
        for choice, columns in zip(page.columns, node.kept, strict=True)
    )
    blocks = []
    for b, block in enumerate(node.problem.blocks):
        home = home_of(block, node.group)
        ranges = []
        for axis, (low, high) in enumerate((block.x, block.y)):
            var = page.moved.get(("x" if axis == 0 else "y", b))
            if var is not None and reduced[var] > 0:
                room = bound.room(var, most)
                assert room is not None
                room += 0 if block.anchored[axis] else node.problem.drift
                low, high = max(low, home[axis] - room), min(high, home[axis] + room)
                if low > high:
                    # Out of reach: only pages without this block are left, whose place counts nothing.
                    low = high = min(max(home[axis], (block.x, block.y)[axis][0]), (block.x, block.y)[axis][1])
            ranges.append((low, high))
        blocks.append(block if ranges == [block.x, block.y] else replace(block, x=ranges[0], y=ranges[1]))
    open_lines = (s for s in page.broken if s not in node.given_up)
    firm = node.firm | {s for s in open_lines if reduced[page.broken[s]] > allowance}
    problem = replace(node.problem, blocks=tuple(blocks))
    return replace(node, problem=problem, kept=kept, firm=firm, bound=best)
