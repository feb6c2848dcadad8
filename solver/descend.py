"""Neighbours of a page: parts of the search space around it, for finding better pages quickly.

Nothing is proved here; each neighbourhood lists, per block, the columns that are open, and always holds the page it
starts from.  As relaxations rule most of a neighbourhood out at once, it may be large: it grows while nothing is found
and shrinks when it can no longer be searched completely.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from solver.page import possible
from solver.problem import Block, Column, Problem
from solver.solution import Solution

OPEN_BLOCKS = 3
"""Blocks whose content is open at first."""
NEAR = 12_700
"""Sizes this near to a block's present one stay open while others change their content, micrometres."""
PATIENCE = 3
"""Neighbourhoods without a better page before they grow."""

Kept = tuple[tuple[int, ...], ...]


@dataclass
class Wander:
    """A way around a page: which neighbourhood comes next, and how large they are.

    ``group`` is the common scaling of the neighbourhood given last.
    """

    problem: Problem
    solution: Solution
    chance: random.Random
    open_blocks: int = OPEN_BLOCKS
    turn: int = 0
    idle: int = 0
    group: int | None = None

    def next(self) -> Kept:
        """Return the next neighbourhood: other sizes, other photos, other scalings, other content of a few blocks."""
        turn, self.turn = self.turn, self.turn + 1
        self.group = self.solution.group
        scalings = [None, *range(len(self.problem.groups))]
        if turn == 0:
            return self._around(_same_content)
        if turn == 1:
            return self._around(_same_shape)
        if turn - 2 < len(scalings):
            self.group = scalings[turn - 2]
            if self.group != self.solution.group:
                return self._around(_same_content)
        numbers = range(len(self.problem.blocks))
        return self._opened(set(self.chance.sample(numbers, min(self.open_blocks, len(numbers)))))

    def tell(self, complete: bool) -> None:
        """Take note of a neighbourhood without a better page: searched completely or not."""
        self.idle += 1
        if not complete:
            self.open_blocks = max(2, self.open_blocks - 1)
        elif self.idle % PATIENCE == 0:
            self.open_blocks = min(len(self.problem.blocks), self.open_blocks + 1)

    def _around(self, fits: Callable[[Column, Column], bool]) -> Kept:
        kept = []
        for block, index in zip(self.problem.blocks, self.solution.columns, strict=True):
            now = block.columns[index]
            kept.append(self._listed(block, index, [j for j, c in enumerate(block.columns) if fits(c, now)]))
        return tuple(kept)

    def _opened(self, opened: set[int]) -> Kept:
        kept = []
        for b, (block, index) in enumerate(zip(self.problem.blocks, self.solution.columns, strict=True)):
            now = block.columns[index]
            listed = list(range(len(block.columns)))
            if b not in opened:
                listed = [j for j, c in enumerate(block.columns) if _same_content(c, now) and _near(c, now)]
            kept.append(self._listed(block, index, listed))
        return tuple(kept)

    def _listed(self, block: Block, index: int, chosen: list[int]) -> tuple[int, ...]:
        found = {j for j in chosen if possible(block.columns[j], self.group)}
        if self.group == self.solution.group:
            found.add(index)
        return tuple(sorted(found))


def _same_content(column: Column, now: Column) -> bool:
    return (column.kind, column.photos, column.texts) == (now.kind, now.photos, now.texts)


def _same_shape(column: Column, now: Column) -> bool:
    return (column.kind, column.dw, column.dh, column.texts) == (now.kind, now.dw, now.dh, now.texts)


def _near(column: Column, now: Column) -> bool:
    return abs(column.dw - now.dw) <= NEAR and abs(column.dh - now.dh) <= NEAR
