"""The open nodes of a tree, and where each of them is judged."""

from __future__ import annotations

import heapq
from collections.abc import Collection

from solver.cutting import Cut
from solver.frame import Frame
from solver.node import FAR, Node

MOST_LOADED = 6_000
"""Columns in frames that stay loaded while their nodes wait: about 50 MB."""

Home = Frame | tuple[Cut, ...]
"""Where a node is judged: in a loaded frame, or in one still to be built, with cuts known to hold it back."""


class Waiting:
    """Open nodes, the least bound first; of equal bounds the one that came first.

    Attributes
    ----------
    next
        A node that is gone on with before all others, whatever its bound.
    """

    def __init__(self) -> None:
        self.next: tuple[Node, Home] | None = None
        self._heap: list[tuple[int, int, Node, Home]] = []
        self._count = 0

    def __len__(self) -> int:
        return len(self._heap) + (self.next is not None)

    @property
    def queued(self) -> bool:
        """Whether any are open besides the next one."""
        return bool(self._heap)

    @property
    def least(self) -> int:
        """The least bound of all but the next one; far if there are none."""
        return self._heap[0][0] if self._heap else FAR

    @property
    def bound(self) -> int:
        """The least bound."""
        return self.least if self.next is None else min(self.least, self.next[0].bound)

    @property
    def parts(self) -> list[tuple[Node, Home]]:
        """All of them, the next one first."""
        queued = [(node, home) for _, _, node, home in sorted(self._heap, key=_place)]
        return queued if self.next is None else [self.next, *queued]

    def push(self, node: Node, home: Home) -> None:
        """Add a node."""
        self._count += 1
        heapq.heappush(self._heap, (node.bound, self._count, node, home))

    def pop(self) -> tuple[Node, Home]:
        """Part with the node of least bound."""
        return heapq.heappop(self._heap)[2:]

    def refill(self, parts: Collection[tuple[Node, Home]]) -> None:
        """Have these and no others."""
        self._heap, self.next = [], None
        for node, home in parts:
            self.push(node, home)

    def classes(self, below: int) -> set[int]:
        """Return the numbers of the classes of the next node and of those whose bound is under one."""
        found = {node.number for bound, _, node, _ in self._heap if bound < below}
        return found if self.next is None else found | {self.next[0].number}

    def give(self, below: int, most: int) -> list[tuple[Node, tuple[Cut, ...]]]:
        """Part with every second node of least bound, of those under a bound, at most so many."""
        chosen = [entry for entry in sorted(self._heap, key=_place) if entry[0] < below]
        given = chosen[1 : 2 * most : 2]
        gone = {entry[1] for entry in given}
        self._heap = [entry for entry in self._heap if entry[1] not in gone]
        heapq.heapify(self._heap)
        return [(node, cuts_of(home)) for _, _, node, home in given]

    def unload(self) -> None:
        """Keep the frames of the nodes of least bound only; of the others what held them back is kept."""
        total, loaded, gone = 0, set[int](), dict[int, tuple[Cut, ...]]()
        waiting = []
        for bound, count, node, home in sorted(self._heap, key=_place):
            if isinstance(home, Frame):
                if id(home) not in loaded and id(home) not in gone:
                    total += home.size
                    if total > MOST_LOADED:
                        gone[id(home)] = cuts_of(home)
                    else:
                        loaded.add(id(home))
                home = gone.get(id(home), home)
            waiting.append((bound, count, node, home))
        self._heap = waiting


def cuts_of(home: Home) -> tuple[Cut, ...]:
    """Return the cuts that are known to hold a node back."""
    return tuple(home.tight_cuts()) if isinstance(home, Frame) else home


def _place(entry: tuple[int, int, Node, Home]) -> tuple[int, int]:
    return entry[:2]
