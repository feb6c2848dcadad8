"""What lines that surely hold say about the sizes of blocks that are surely there.

A relaxation lets blocks that must have one size agree on the average only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from solver.cycles import Cycle, Side, change
from solver.node import Kept, Node
from solver.problem import Problem

Sizes = dict[tuple[int, Side], set[int]]
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
    sizes[b, "w"], sizes[b, "h"] = {c.dw for c in there}, {c.dh for c in there}
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
        fits = _fitting(cycle, b, weight, sizes)
        if len(fits) < len(sizes[b, cycle.side]):
            columns = problem.blocks[b].columns
            left = (j for j in kept[b] if not columns[j].present or change(columns[j], cycle.side) in fits)
            found.append((b, tuple(left)))
    return found


def _fitting(cycle: Cycle, block: int, weight: int, sizes: Sizes) -> set[int]:
    """Return the sizes of a block with which some sizes of the others meet the cycle's sum."""
    sums = {0}
    for b, w in cycle.weights:
        if b != block and w:
            sums = {total + w * size for total in sums for size in sizes[b, cycle.side]}
    return {
        size
        for size in sizes[block, cycle.side]
        if any(cycle.low <= total + weight * size <= cycle.high for total in sums)
    }
