"""Neighbours of a page: small parts of the search space around it, for finding better pages quickly.

Nothing is proved here; each neighbourhood lists, per block, the columns that are open, and always holds the page it
starts from.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

from solver.page import possible
from solver.problem import Block, Column, Problem
from solver.solution import Solution

OPEN_BLOCKS = 3
"""Blocks whose content is open at a time."""
OPEN_COLUMNS = 250
"""Cheapest columns offered for a block whose content is open."""
NEAR = 12_700
"""Sizes this near to a block's present one stay open while others change their content, micrometres."""

Kept = tuple[tuple[int, ...], ...]


def neighbourhoods(problem: Problem, solution: Solution, seed: int) -> Iterator[Kept]:
    """Return neighbourhoods of a page without end: other sizes, other photos, other content of a few blocks."""
    chance = random.Random(seed)
    numbers = list(range(len(problem.blocks)))
    while True:
        yield _around(problem, solution, lambda b, now: lambda c: _same_content(c, now))
        yield _around(problem, solution, lambda b, now: lambda c: _same_shape(c, now))
        for _ in range(4):
            opened = set(chance.sample(numbers, min(OPEN_BLOCKS, len(numbers))))
            yield _opened(problem, solution, opened)


def _around(problem: Problem, solution: Solution, allow: Callable[[int, Column], Callable[[Column], bool]]) -> Kept:
    kept = []
    for b, (block, index) in enumerate(zip(problem.blocks, solution.columns, strict=True)):
        fits = allow(b, block.columns[index])
        kept.append(_listed(block, solution, index, [j for j, c in enumerate(block.columns) if fits(c)]))
    return tuple(kept)


def _opened(problem: Problem, solution: Solution, opened: set[int]) -> Kept:
    kept = []
    for b, (block, index) in enumerate(zip(problem.blocks, solution.columns, strict=True)):
        now = block.columns[index]
        if b in opened:
            near = sorted(range(len(block.columns)), key=lambda j, c=block.columns: (c[j].cost, j))  # type: ignore[misc]
            kept.append(_listed(block, solution, index, near[:OPEN_COLUMNS]))
        else:
            near = [j for j, c in enumerate(block.columns) if _same_content(c, now) and _near(c, now)]
            kept.append(_listed(block, solution, index, near))
    return tuple(kept)


def _listed(block: Block, solution: Solution, index: int, chosen: list[int]) -> tuple[int, ...]:
    found = {j for j in chosen if possible(block.columns[j], solution.group)} | {index}
    return tuple(sorted(found))


def _same_content(column: Column, now: Column) -> bool:
    return (column.kind, column.photos, column.texts) == (now.kind, now.photos, now.texts)


def _same_shape(column: Column, now: Column) -> bool:
    return (column.kind, column.dw, column.dh, column.texts) == (now.kind, now.dw, now.dh, now.texts)


def _near(column: Column, now: Column) -> bool:
    return abs(column.dw - now.dw) <= NEAR and abs(column.dh - now.dh) <= NEAR
