"""Branch and bound over what stands where, with certified linear bounds; CP-SAT settles the leaves.

A node is one symmetry class under one common scaling, with the columns, ranges of places and broken lines that are
still open.  Its linear relaxation bounds it; whatever that bound shows to be useless below the cutoff is dropped and
the relaxation, now tighter, solved again.  Small nodes are settled by CP-SAT, others are split: first by which
blocks are there, then by role and division, broken lines and photos, then by size.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field, replace

from solver.model import build
from solver.page import PageModel, home_of, possible, price
from solver.problem import Column, Problem
from solver.relax import SCALE, Bound, relax

Kept = tuple[tuple[int, ...], ...]
FAR = 1 << 40
WORK_PER_ENTRY = 4e-6
"""Deterministic seconds charged per entry of a relaxation that is built and solved."""


@dataclass(frozen=True)
class Node:
    """Part of the search space; ``bound`` is proved for it."""

    number: int
    problem: Problem
    group: int | None
    kept: Kept
    firm: frozenset[int] = frozenset()
    given_up: frozenset[int] = frozenset()
    bound: int = 0
    depth: int = 0

    @property
    def size(self) -> int:
        """Number of columns that are open."""
        return sum(map(len, self.kept))

    def page(self, *, keep_lines: bool = False, kept: Kept | None = None) -> PageModel:
        """Return the model of this node."""
        return build(
            self.problem,
            self.kept if kept is None else kept,
            group=self.group,
            keep_lines=keep_lines,
            firm=self.firm,
            given_up=self.given_up,
        )


@dataclass(frozen=True)
class Duals:
    """Certified bound of a whole class without common scaling and its columns' reduced costs, ``SCALE``-fold.

    With exactly one column per block, ``base`` plus the least price of every block is a bound.
    """

    base: int
    prices: tuple[tuple[int, ...], ...]


@dataclass(frozen=True)
class Judged:
    """A node after its relaxation: tightened, with the relaxation's values; ``None`` when nothing is left."""

    node: Node | None
    bound: int
    values: tuple[tuple[float, ...], ...] = ()
    prices: tuple[tuple[int, ...], ...] = ()
    broken: dict[int, float] = field(default_factory=dict)
    work: float = 0.0
    duals: Duals | None = None


def judge(node: Node, cutoff: int, prepare: Callable[[PageModel], None], rounds: int = 4) -> Judged:
    """Bound a node and drop what no page cheaper than the cutoff can use, again and again while that helps."""
    work = 0.0
    best = node.bound
    judged = Judged(node, best)
    duals: Duals | None = None
    for _ in range(rounds):
        if not all(node.kept):
            return Judged(None, FAR, work=work, duals=duals)
        page = node.page()
        prepare(page)
        relaxation = relax(page.model)
        bound = relaxation.solve()
        work += WORK_PER_ENTRY * relaxation.size
        if bound is None:
            return replace(_unknown(node, best), duals=duals, work=work)
        if bound.value is None:
            return Judged(None, FAR, work=work, duals=duals)
        best = max(best, bound.value)
        if duals is None:
            duals = _duals(page, bound)
        if best >= cutoff:
            return Judged(None, best, work=work, duals=duals)
        before = node
        node = _tightened(node, page, bound, cutoff, best)
        if not all(node.kept):
            return Judged(None, cutoff, work=work, duals=duals)
        values, prices = [], []
        for choice, kept in zip(page.columns, node.kept, strict=True):
            values.append(tuple(bound.values[choice[j].index] for j in kept))
            prices.append(tuple(max(0, bound.reduced[choice[j].index]) for j in kept))
        broken = {s: bound.values[var.index] for s, var in page.broken.items()}
        judged = Judged(node, best, tuple(values), tuple(prices), broken, work, duals)
        if cutoff >= FAR or node.size > 0.8 * before.size:
            break
    return replace(judged, work=work)


def _unknown(node: Node, bound: int) -> Judged:
    """Return what is known of a node whose relaxation could not be solved."""
    values = tuple(tuple(1 / len(k) for _ in k) for k in node.kept)
    prices = tuple(tuple(0 for _ in k) for k in node.kept)
    return Judged(node, bound, values, prices)


def _duals(page: PageModel, bound: Bound) -> Duals:
    prices = tuple(tuple(bound.reduced[var.index] for var in choice.values()) for choice in page.columns)
    return Duals(bound.exact - sum(min(0, p) for row in prices for p in row), prices)


def scaled(plain: Node, duals: Duals, group: int) -> tuple[Node, tuple[tuple[int, ...], ...]] | None:
    """Return the whole of a class under a common scaling, bounded by the duals of the class without one.

    Only prices change: a column costs its gain less, and a block's distance from its new target is at
    least that from the old one less the distance of the targets.  The second value holds each column's price above
    the bound.
    """
    problem = plain.problem
    total = duals.base + SCALE * problem.groups[group].cost
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
        above.append(tuple(p - least for p in found.values()))
    node = Node(plain.number, problem, group, tuple(kept), bound=max(0, -(-total // SCALE)))
    return node, tuple(tuple(total + p for p in row) for row in above)


def below(node: Node, prices: tuple[tuple[int, ...], ...], cutoff: int) -> Node:
    """Return a node without the columns whose price is too high for a page cheaper than the cutoff."""
    if cutoff >= FAR:
        return node
    kept = tuple(
        tuple(j for j, p in zip(columns, row, strict=True) if p <= (cutoff - 1) * SCALE)
        for columns, row in zip(node.kept, prices, strict=True)
    )
    return replace(node, kept=kept)


def _tightened(node: Node, page: PageModel, bound: Bound, cutoff: int, best: int) -> Node:
    """Return a node without the columns, places and broken lines that cost too much."""
    if cutoff >= FAR:
        return replace(node, bound=best)
    most = cutoff - 1
    kept = tuple(
        tuple(j for j, var in choice.items() if bound.allows(var.index, most)) for choice in page.columns
    )
    blocks = []
    for b, block in enumerate(node.problem.blocks):
        home = home_of(block, node.group)
        ranges = []
        for axis, (low, high) in enumerate((block.x, block.y)):
            var = page.moved.get(("x" if axis == 0 else "y", b))
            if var is not None:
                room = bound.room(var.index, most) if bound.reduced[var.index] > 0 else None
                if room is not None:
                    low, high = max(low, home[axis] - room), min(high, home[axis] + room)
                    if low > high:
                        low = high = min(max(home[axis], block.x[0] if axis == 0 else block.y[0]), high)
            ranges.append((low, high))
        blocks.append(replace(block, x=ranges[0], y=ranges[1]))
    firm = node.firm | {s for s, var in page.broken.items() if not bound.allows(var.index, most)}
    return replace(
        node, problem=replace(node.problem, blocks=tuple(blocks)), kept=kept, firm=firm, bound=best
    )


def promising(judged: Judged, count: int) -> Kept:
    """Return the columns of least reduced cost."""
    assert judged.node is not None
    kept = []
    share = max(4, count // max(1, len(judged.node.kept)))
    for columns, prices, values in zip(judged.node.kept, judged.prices, judged.values, strict=True):
        order = sorted(range(len(columns)), key=lambda i: (prices[i], -values[i], columns[i]))
        kept.append(tuple(sorted(columns[i] for i in order[:share])))
    return tuple(kept)


def split(judged: Judged) -> list[Node]:
    """Return the parts of a node, the likeliest first."""
    node = judged.node
    assert node is not None
    keys: tuple[Callable[[Column], object], ...] = (
        lambda c: c.present,
        lambda c: c.kind,
        lambda c: (c.kind, c.photos, c.texts),
    )
    for level, key in enumerate(keys):
        found = _by_key(judged, key)
        if found is not None:
            return found
        if level == 1:
            lines = _by_line(judged)
            if lines is not None:
                return lines
    return _by_size(judged)


def _masses(judged: Judged, b: int, key: Callable[[Column], object]) -> dict[object, float]:
    assert judged.node is not None
    block = judged.node.problem.blocks[b]
    masses: dict[object, float] = {}
    for j, value in zip(judged.node.kept[b], judged.values[b], strict=True):
        k = key(block.columns[j])
        masses[k] = masses.get(k, 0.0) + value
    return masses


def _by_key(judged: Judged, key: Callable[[Column], object]) -> list[Node] | None:
    """Split the block that is least decided: its likeliest value or any other."""
    node = judged.node
    assert node is not None
    best: tuple[float, int, object] | None = None
    for b in range(len(node.kept)):
        masses = _masses(judged, b, key)
        if len(masses) < 2:
            continue
        top = max(masses.values())
        choice = next(k for k, mass in masses.items() if mass == top)
        if best is None or top < best[0]:
            best = (top, b, choice)
    if best is None or best[0] > 0.999:
        return None
    _, b, choice = best
    block = node.problem.blocks[b]
    yes = tuple(j for j in node.kept[b] if key(block.columns[j]) == choice)
    no = tuple(j for j in node.kept[b] if key(block.columns[j]) != choice)
    return [_with(node, b, yes, judged.bound), _with(node, b, no, judged.bound)]


def _with(node: Node, b: int, columns: tuple[int, ...], bound: int) -> Node:
    kept = (*node.kept[:b], columns, *node.kept[b + 1 :])
    return replace(node, kept=kept, bound=bound, depth=node.depth + 1)


def _by_line(judged: Judged) -> list[Node] | None:
    """Split by the line that is broken most in the relaxation."""
    node = judged.node
    assert node is not None
    worst = max(judged.broken.items(), key=lambda item: (item[1], -item[0]), default=None)
    if worst is None or worst[1] < 0.05:
        return None
    number = worst[0]
    deeper = replace(node, bound=judged.bound, depth=node.depth + 1)
    return [
        replace(deeper, firm=node.firm | {number}),
        replace(deeper, given_up=node.given_up | {number}),
    ]


def _by_size(judged: Judged) -> list[Node]:
    """Split the block with the most columns at the middle of its widths or heights, or of its columns."""
    node = judged.node
    assert node is not None
    b = max(range(len(node.kept)), key=lambda i: (len(node.kept[i]), -i))
    block = node.problem.blocks[b]
    if len(node.kept[b]) < 2:
        return []
    order = sorted(node.kept[b], key=lambda j: (block.columns[j].dw, block.columns[j].dh, j))
    half = len(order) // 2
    parts = tuple(sorted(order[:half])), tuple(sorted(order[half:]))
    return [_with(node, b, part, judged.bound) for part in parts]


def root(number: int, problem: Problem, group: int | None, kept: Collection[Collection[int]]) -> Node:
    """Return the whole of a class under one common scaling."""
    return Node(number, problem, group, tuple(tuple(k) for k in kept))
