"""What lines that surely hold say about the sizes of blocks that are surely there.

A relaxation lets blocks that must have one size agree on the average only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from solver.cycles import Cycle, Side, change
from solver.node import Kept, Node
from solver.problem import Problem

Sizes = dict[tuple[int, Side], frozenset[int]]
"""Per block and side, the changes of size on offer."""


def agreeing(node: Node, cycles: Sequence[Cycle]) -> Node:
    """Return a node without the columns whose size breaks a cycle of lines that hold, whatever the other blocks are.

    Lines hold only between blocks that are there, so a size is left out only where all other blocks of the cycle
    surely are.  Once a block has no columns left, nothing is in the node, and the rest is not looked at.
    """
    holding = [cycle for cycle in cycles if node.firm.issuperset(cycle.lines)]
    if not holding:
        return node
    kept = list(node.kept)
    sizes: Sizes = {}
    doubtful: set[int] = set()
    for b in range(len(kept)):
        _look(node.problem, b, kept[b], sizes, doubtful)
    changed = set(range(len(kept)))
    while changed:
        before, changed = changed, set()
        for cycle in holding:
            if before.isdisjoint(b for b, _ in cycle.weights):
                continue
            for b, columns in _left(node.problem, cycle, kept, sizes, doubtful):
                kept[b] = columns
                if not columns:
                    return replace(node, kept=tuple(kept))
                _look(node.problem, b, columns, sizes, doubtful)
                changed.add(b)
    found: Kept = tuple(kept)
    return node if found == node.kept else replace(node, kept=found)


def _look(problem: Problem, b: int, columns: Sequence[int], sizes: Sizes, doubtful: set[int]) -> None:
    """Take note of which sizes a block has and whether it is surely there."""
    there = [c for j in columns if (c := problem.blocks[b].columns[j]).present]
    sizes[b, "w"], sizes[b, "h"] = frozenset(c.dw for c in there), frozenset(c.dh for c in there)
    if len(there) == len(columns):
        doubtful.discard(b)
    else:
        doubtful.add(b)


def _left(
    problem: Problem, cycle: Cycle, kept: Sequence[tuple[int, ...]], sizes: Sizes, doubtful: set[int]
) -> list[tuple[int, tuple[int, ...]]]:
    """Return the blocks of a cycle that lose columns, with those they keep."""
    unsure = [b for b, _ in cycle.weights if b in doubtful]
    if len(unsure) > 1:
        return []
    found = []
    for b, weight in cycle.weights:
        if unsure and b != unsure[0]:
            continue
        others = tuple((w, sizes[other, cycle.side]) for other, w in cycle.weights if other != b and w)
        own = sizes[b, cycle.side]
        fits = _fitting(cycle.low, cycle.high, weight, own, others)
        if len(fits) < len(own):
            columns = problem.blocks[b].columns
            left = (j for j in kept[b] if not columns[j].present or change(columns[j], cycle.side) in fits)
            found.append((b, tuple(left)))
    return found


@lru_cache(maxsize=1 << 12)
def _fitting(
    low: int, high: int, weight: int, own: frozenset[int], others: tuple[tuple[int, frozenset[int]], ...]
) -> frozenset[int]:
    """Return those of a block's own sizes with which some sizes of the others have a weighted sum within limits."""
    sums = {0}
    for other_weight, sizes in others:
        sums = {total + other_weight * size for total in sums for size in sizes}
    return frozenset(size for size in own if any(low <= total + weight * size <= high for total in sums))
