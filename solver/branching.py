"""How to split a node: the split whose parts are expected to cost most, by trial and by experience.

First it is decided how many photos each block holds.  Then a candidate divides one block's columns (there or not, what
it is, whether it holds a photo, narrow or wide, low or tall) or says of one line whether it holds.  How much each kind
of split raised the bounds is remembered; kinds without enough experience are tried on the relaxation.
"""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import TypeVar

from solver.frame import Frame
from solver.node import FAR, Judged, Node, narrowed
from solver.problem import Column, Way

LEAST_SHARE = 0.02
TOUCHED = 1e-4
LINE_SHARE = 0.3
"""A line is broken in the relaxation by however little its room for breaking needs; its share says nothing."""
TRIALS = 3
ENOUGH = 2
SMALL_GAIN = 200.0
SURE = 0.85

Told = TypeVar("Told")

Key = tuple[str, int, int]
"""Kind of split; the photo, content, block or line it is about; and of a line its class.

What a photo or a content gains is learnt whichever block is asked: few splits are tried often enough otherwise.
"""


@dataclass(frozen=True)
class Branch:
    """Two parts of a node.

    ``share`` is the smaller of what the relaxation gives to each; ``second`` says that it prefers the second one.
    ``others`` are parts besides, of which it thinks nothing.
    """

    key: Key
    share: float
    parts: tuple[Node, Node]
    second: bool
    others: tuple[Node, ...] = ()

    def likelier_first(self) -> list[Node]:
        """Return the parts, the one that the relaxation prefers first."""
        return [*(reversed(self.parts) if self.second else self.parts), *self.others]


@dataclass
class _Seen:
    """Sum of the gains per share of both parts, and how often they were seen."""

    one: float = 0.0
    other: float = 0.0
    times: int = 0


@dataclass
class Experience:
    """What splits of each kind have gained so far."""

    seen: dict[Key, _Seen] = field(default_factory=dict)

    def choose(self, judged: Judged, frame: Frame, cutoff: int) -> list[Node]:
        """Return the parts of the best split, the likelier first; none if there is nothing to split.

        How many photos each block holds is decided first.
        """
        counted = by_count(judged)
        if counted:
            return counted
        found = list(branches(judged, frame.missed(judged)))
        if not found:
            return []
        ranked = sorted(found, key=self._rank, reverse=True)[:TRIALS]
        known = [b for b in ranked if self._known(b)]
        fresh = [b for b in ranked if not self._known(b)]
        best, score = (known[0], self._expected(known[0])) if known else (None, -1.0)
        for branch in fresh[: 2 if known else TRIALS]:
            gains = self._try(branch, judged, frame, cutoff)
            product = max(gains[0], SMALL_GAIN) * max(gains[1], SMALL_GAIN)
            if product > score:
                best, score = branch, product
        assert best is not None
        return best.likelier_first()

    def _try(self, branch: Branch, judged: Judged, frame: Frame, cutoff: int) -> tuple[float, float]:
        top = min(cutoff, FAR)
        one, other = (max(0.0, min(top, frame.glance(part)) - judged.bound) for part in branch.parts)
        seen = self.seen.setdefault(branch.key, _Seen())
        seen.one += one / branch.share
        seen.other += other / branch.share
        seen.times += 1
        return one, other

    def _known(self, branch: Branch) -> bool:
        seen = self.seen.get(branch.key)
        return seen is not None and seen.times >= ENOUGH

    def _expected(self, branch: Branch) -> float:
        seen = self.seen[branch.key]
        one, other = (branch.share * gain / seen.times for gain in (seen.one, seen.other))
        return max(one, SMALL_GAIN) * max(other, SMALL_GAIN)

    def _rank(self, branch: Branch) -> tuple[bool, float]:
        """What was never tried comes first, the least decided foremost."""
        return (True, branch.share) if branch.key not in self.seen else (False, self._expected(branch))


def by_count(judged: Judged) -> list[Node]:
    """Return the parts of a node by how many photos one block holds, the likeliest first; none if all are sure.

    It is the block of whose number the relaxation is least sure.  A photo too many for the slots is shared out among
    blocks that hold several photos by halves; with the numbers decided the bound rises a lot, and most parts are gone.
    """
    node = judged.node
    assert node is not None
    least: tuple[float, int, dict[int, float]] | None = None
    for b, shares in enumerate(shares_of(judged, count_of)):
        top = max(shares.values())
        if len(shares) > 1 and top < 1 - LEAST_SHARE and (least is None or top < least[0]):
            least = top, b, shares
    if least is None:
        return []
    _, b, shares = least
    listed = node.problem.blocks[b].columns
    return [
        narrowed(node, b, tuple(j for j in node.kept[b] if count_of(listed[j]) == count))
        for count in sorted(shares, key=lambda count: (-shares[count], count))
    ]


def branches(judged: Judged, missed: Iterable[Way]) -> Iterator[Branch]:
    """Yield the splits that change the relaxation's answer; for ``missed`` see :meth:`Frame.missed`."""
    node = judged.node
    assert node is not None
    for b, (columns, values) in enumerate(zip(node.kept, judged.values, strict=True)):
        if len(columns) > 1:
            yield from _of_block(node, b, columns, values)
    for number, value in judged.broken.items():
        if TOUCHED <= value <= 1 - LEAST_SHARE:
            deeper = replace(node, depth=node.depth + 1)
            holds = replace(deeper, firm=node.firm | {number})
            breaks = replace(deeper, given_up=node.given_up | {number})
            yield Branch(("line", number, node.number), LINE_SHARE, (holds, breaks), value > 0.5)
    yield from (of_choice(node, way) for way in missed)


def of_choice(node: Node, way: Way) -> Branch:
    """Return the split by an alternative of a choice, and by whether the blocks it is about are there."""
    there, without = node, list[Node]()
    for _, b, _ in node.problem.choices[way[0]].when:
        columns = there.kept[b]
        yes = tuple(j for j in columns if node.problem.blocks[b].columns[j].present)
        if len(yes) < len(columns):
            without.append(narrowed(there, b, tuple(j for j in columns if j not in yes)))
            there = narrowed(there, b, yes)
    there = replace(there, depth=node.depth + 1)
    taken, closed = replace(there, taken=node.taken | {way}), replace(there, closed=node.closed | {way})
    return Branch(("way", way[0], node.number), LINE_SHARE, (taken, closed), False, tuple(without))


def _of_block(node: Node, b: int, columns: tuple[int, ...], values: tuple[float, ...]) -> Iterator[Branch]:
    block = node.problem.blocks[b]
    listed = [block.columns[j] for j in columns]
    for kind, detail, chosen in _tests(b, listed, values):
        share = sum(v for v, yes in zip(values, chosen, strict=True) if yes)
        if min(share, 1 - share) < LEAST_SHARE or all(chosen) or not any(chosen):
            continue
        yes = narrowed(node, b, tuple(j for j, c in zip(columns, chosen, strict=True) if c))
        no = narrowed(node, b, tuple(j for j, c in zip(columns, chosen, strict=True) if not c))
        yield Branch((kind, detail, 0), min(share, 1 - share), (yes, no), share < 0.5)


def _tests(b: int, listed: list[Column], values: tuple[float, ...]) -> Iterator[tuple[str, int, list[bool]]]:
    """Yield ways to divide a block's columns: kind, what it is about and which columns belong to the first part."""
    used = [c for c, v in zip(listed, values, strict=True) if v >= LEAST_SHARE / 4]
    if len({c.present for c in used}) > 1:
        yield "there", b, [c.present for c in listed]
    kinds = sorted({c.kind for c in used})
    if len(kinds) > 1:
        for kind in kinds:
            yield "kind", kind, [c.kind == kind for c in listed]
    photos = sorted({p for c in used for p in c.photos})
    for photo in photos:
        yield "photo", photo, [photo in c.photos for c in listed]
    for side in ("dw", "dh"):
        sizes = [getattr(c, side) for c in listed]
        mean = sum(size * v for size, v in zip(sizes, values, strict=True))
        yield side, b, [size <= mean + 1e-6 for size in sizes]


Content = tuple[int, tuple[int, ...], tuple[int, ...]]
"""What a block is and holds: kind, photos and texts."""


def content_of(column: Column) -> Content:
    """Return what a block is and holds in a column."""
    return column.kind, column.photos, column.texts


def count_of(column: Column) -> int:
    """Return how many photos a block holds in a column."""
    return len(column.photos)


def with_content(node: Node, b: int, content: Content) -> tuple[int, ...]:
    """Return the open columns of a block that have a content."""
    return tuple(j for j in node.kept[b] if content_of(node.problem.blocks[b].columns[j]) == content)


def columns_by_photos(node: Node) -> list[dict[tuple[int, ...], tuple[int, ...]]]:
    """Return, block by block, the open columns that hold the same photos."""
    found = []
    for block, columns in zip(node.problem.blocks, node.kept, strict=True):
        listed: dict[tuple[int, ...], list[int]] = defaultdict(list)
        for j in columns:
            listed[block.columns[j].photos].append(j)
        found.append({photos: tuple(numbers) for photos, numbers in listed.items()})
    return found


def shares_of(judged: Judged, told: Callable[[Column], Told]) -> Iterator[dict[Told, float]]:
    """Yield, block by block, how much the relaxation gives to each thing that is told of columns."""
    node = judged.node
    assert node is not None
    for block, columns, values in zip(node.problem.blocks, node.kept, judged.values, strict=True):
        shares: dict[Told, float] = defaultdict(float)
        for j, value in zip(columns, values, strict=True):
            shares[told(block.columns[j])] += max(0.0, value)
        yield shares


@dataclass(frozen=True)
class Decision:
    """What a dive decides next: the part, and what is left when its last decision is taken back."""

    part: Node
    otherwise: Node


def surer(judged: Judged, chance: random.Random, *, single: bool = False) -> Decision | None:
    """Return a part in which what the relaxation is nearly sure of is decided; ``None`` once all contents are.

    Contents (what a block is and holds) that have most of their block's share are decided all at once, else, or if a
    ``single`` decision is asked for, those of the surest block are drawn by their shares.
    """
    node = judged.node
    assert node is not None
    surest: tuple[float, int, dict[Content, float]] | None = None
    part = node
    for b, shares in enumerate(shares_of(judged, content_of)):
        if len(shares) < 2:
            continue
        top = max(shares, key=lambda content: shares[content])
        if surest is None or shares[top] > surest[0]:
            surest = (shares[top], b, shares)
        if shares[top] > SURE and not single:
            part = narrowed(part, b, with_content(node, b, top))
    if surest is None:
        return None
    _, b, shares = surest
    (drawn,) = chance.choices(list(shares), [s + 1e-6 for s in shares.values()])
    chosen = with_content(node, b, drawn)
    otherwise = narrowed(node, b, tuple(sorted(set(node.kept[b]) - set(chosen))))
    return Decision(narrowed(node, b, chosen) if part is node else part, otherwise)


def halves(judged: Judged) -> list[Node]:
    """Return two halves of a node: the block with the most columns, divided by size."""
    node = judged.node
    assert node is not None
    b = max(range(len(node.kept)), key=lambda i: (len(node.kept[i]), -i))
    block = node.problem.blocks[b]
    if len(node.kept[b]) < 2:
        return []
    order = sorted(node.kept[b], key=lambda j: (block.columns[j].dw, block.columns[j].dh, j))
    half = len(order) // 2
    return [narrowed(node, b, tuple(sorted(part))) for part in (order[:half], order[half:])]
