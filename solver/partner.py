"""The two virtual workers of a search: what they tell each other, and when.

Each has a part of the tree.  They meet whenever each has used so much deterministic effort; at a meeting each tells
its best page and its least bound, gives away nodes that are more urgent than what the other has, and hears what the
other told at the meeting before, so that neither waits while the other is less than a round behind.  The course is
the same whether the second worker runs in a process of its own or in this one by turns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from solver.branching import Experience
from solver.cutting import Cut
from solver.hunt import Hunt
from solver.node import FAR, Floors, Node
from solver.problem import Problem, Way
from solver.solution import Ranked, Solution
from solver.state import State

UNDER_WAY = 3
"""What was given away at so many last meetings is not yet in the bound that the other told last."""
MOST_GIVEN = 8
HEAD_START = 0.75
"""Deterministic seconds in which the second worker looks for good pages before it joins in a long proof."""

Span = tuple[int, int]


@dataclass(frozen=True)
class Part:
    """An open node without its problem; ``ranges`` are the blocks' places, ``cuts`` are known to hold it back."""

    number: int
    group: int | None
    kept: tuple[tuple[int, ...], ...]
    firm: tuple[int, ...]
    given_up: tuple[int, ...]
    ranges: tuple[tuple[Span, Span], ...]
    bound: int
    depth: int
    taken: tuple[Way, ...]
    closed: tuple[Way, ...]
    cuts: tuple[Cut, ...]


@dataclass(frozen=True)
class Message:
    """What a worker tells at a meeting.

    Parameters
    ----------
    best
        Its best page.
    bound
        What every page in its part of the tree costs at least, what it gives away apart.
    count
        How many nodes it has open.
    classes
        Numbers of the classes they belong to.
    exhausted
        Whether its memory ran out.
    parts
        Nodes it gives away.
    """

    best: Solution | None
    bound: int
    count: int
    classes: frozenset[int]
    exhausted: bool = False
    parts: tuple[Part, ...] = ()


@dataclass(frozen=True)
class Brief:
    """What the second worker starts from: what the first one knows, and a share of its nodes.

    ``slack`` is that of :meth:`solver.hunt.Hunt.restart`, ``prospects`` whether it looks for good pages first.
    Deterministic seconds: ``used`` and ``limit`` are where its count starts and ends, ``every`` lie between meetings.
    """

    seed: int
    vary: tuple[str, ...]
    earlier: tuple[Ranked, ...]
    pool: tuple[Solution, ...]
    experience: Experience
    floors: tuple[tuple[tuple[int, int | None], Floors], ...]
    slack: int
    prospects: bool
    used: float
    limit: float
    every: float
    parts: tuple[Part, ...]


class Partner:
    """One worker and its part of the tree.

    Parameters
    ----------
    hunt
        Its part.
    start
        Deterministic seconds used when the two parted.
    every
        Deterministic seconds between two meetings.
    """

    def __init__(self, hunt: Hunt, start: float, every: float) -> None:
        self.hunt = hunt
        self.meeting = 0
        self.other = Message(None, FAR, 1, frozenset())
        self._start = start
        self._every = every
        self._given: list[tuple[int, frozenset[int]]] = []

    def work(self) -> Message:
        """Go on until the next meeting, and return what is told there."""
        self.meeting += 1
        hunt = self.hunt
        until = min(self._start + self._every * self.meeting, hunt.limit)
        hunt.advance(until)
        if not hunt.count:
            hunt.state.used = max(hunt.state.used, until)
        below = min(hunt.mark, self.other.bound) if self.other.count else hunt.mark
        parts = self.give(below, MOST_GIVEN)
        classes = frozenset(hunt.open_classes())
        return Message(hunt.found, hunt.bound, hunt.count, classes, hunt.state.exhausted, parts)

    def give(self, below: int, most: int) -> tuple[Part, ...]:
        """Part with open nodes whose bound is under one, at most so many."""
        parts = tuple(_part_of(*pair) for pair in self.hunt.give(below, most))
        self._given.append((min((p.bound for p in parts), default=FAR), frozenset(p.number for p in parts)))
        return parts

    def hear(self, message: Message) -> None:
        """Take note of what the other one told."""
        self.other = message
        del self._given[:-UNDER_WAY]
        if message.best is not None and message.best.cost < self.hunt.cutoff:
            self.hunt.take(message.best)
        receive(self.hunt, message.parts)

    @property
    def last(self) -> bool:
        """Whether the last meeting is over."""
        return self._start + self._every * self.meeting >= self.hunt.limit

    @property
    def bound(self) -> int:
        """What every page costs at least that either may still find."""
        return min(self.hunt.bound, self.other.bound, *(bound for bound, _ in self._given))

    @property
    def done(self) -> bool:
        """Whether neither may find a better page, or has anything open."""
        under_way = any(numbers for _, numbers in self._given)
        return self.bound >= self.hunt.mark or not (self.hunt.count or self.other.count or under_way)

    def open_classes(self) -> set[int]:
        """Return the numbers of the classes in which either may still find a better page."""
        elsewhere = [(self.other.bound, self.other.classes), *self._given]
        numbers = (classes for bound, classes in elsewhere if bound < self.hunt.cutoff)
        return self.hunt.open_classes().union(*numbers)


def receive(hunt: Hunt, parts: Sequence[Part]) -> None:
    """Hand nodes to a hunt."""
    for part in parts:
        hunt.receive(_node_of(part, hunt.state.problems), part.cuts)


def second(brief: Brief, state: State) -> Partner:
    """Return the second worker at its start."""
    state.pool = list(brief.pool)
    state.experience = brief.experience
    state.used = brief.used
    hunt = Hunt(state, brief.earlier, brief.limit)
    hunt.floors = dict(brief.floors)
    hunt.restart([(_node_of(part, state.problems), part.cuts) for part in brief.parts], brief.slack)
    if brief.prospects:
        hunt.leads = hunt.prospect(HEAD_START)
    return Partner(hunt, brief.used, brief.every)


def _part_of(node: Node, cuts: tuple[Cut, ...]) -> Part:
    return Part(
        node.number,
        node.group,
        node.kept,
        tuple(sorted(node.firm)),
        tuple(sorted(node.given_up)),
        tuple((b.x, b.y) for b in node.problem.blocks),
        node.bound,
        node.depth,
        tuple(sorted(node.taken)),
        tuple(sorted(node.closed)),
        cuts,
    )


def _node_of(part: Part, problems: Sequence[Problem]) -> Node:
    problem = problems[part.number]
    blocks = tuple(replace(b, x=x, y=y) for b, (x, y) in zip(problem.blocks, part.ranges, strict=True))
    return Node(
        part.number,
        replace(problem, blocks=blocks),
        part.group,
        part.kept,
        frozenset(part.firm),
        frozenset(part.given_up),
        part.bound,
        part.depth,
        frozenset(part.taken),
        frozenset(part.closed),
    )
