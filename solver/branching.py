"""How to split a node: the split whose parts are expected to cost most, by trial and by experience.

A candidate divides one block's columns (there or not, what it is, whether it holds a photo, narrow or wide, low or
tall) or says of one line whether it holds.  How much each kind of split raised the bounds is remembered; kinds
without enough experience are tried on the relaxation.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from solver.frame import Frame
from solver.node import FAR, Judged, Node, narrowed
from solver.problem import Column

LEAST_SHARE = 0.02
TOUCHED = 1e-4
LINE_SHARE = 0.3
"""A line is broken in the relaxation by however little its room for breaking needs; its share says nothing."""
TRIALS = 5
ENOUGH = 4
SMALL_GAIN = 200.0
SURE = 0.85

Key = tuple[int, str, int, int]
"""Class, kind of split, block or line, and photo or role."""


@dataclass(frozen=True)
class Branch:
    """Two parts of a node; ``share`` is the smaller of what the relaxation gives to each."""

    key: Key
    share: float
    parts: tuple[Node, Node]


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
        """Return the parts of the best split; none if there is nothing to split."""
        found = list(branches(judged))
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
        return list(best.parts)

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


def branches(judged: Judged) -> Iterator[Branch]:
    """Yield the splits that change the relaxation's answer."""
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
            yield Branch((node.number, "line", number, 0), LINE_SHARE, (holds, breaks))


def _of_block(node: Node, b: int, columns: tuple[int, ...], values: tuple[float, ...]) -> Iterator[Branch]:
    block = node.problem.blocks[b]
    listed = [block.columns[j] for j in columns]
    for kind, detail, chosen in _tests(listed, values):
        share = sum(v for v, yes in zip(values, chosen, strict=True) if yes)
        share = min(share, 1 - share)
        if share < LEAST_SHARE or all(chosen) or not any(chosen):
            continue
        yes = tuple(j for j, c in zip(columns, chosen, strict=True) if c)
        no = tuple(j for j, c in zip(columns, chosen, strict=True) if not c)
        yield Branch((node.number, kind, b, detail), share, (narrowed(node, b, yes), narrowed(node, b, no)))


def _tests(listed: list[Column], values: tuple[float, ...]) -> Iterator[tuple[str, int, list[bool]]]:
    """Yield ways to divide columns: kind, detail and which columns belong to the first part."""
    used = [c for c, v in zip(listed, values, strict=True) if v >= LEAST_SHARE / 4]
    if len({c.present for c in used}) > 1:
        yield "there", 0, [c.present for c in listed]
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
        yield side, 0, [size <= mean + 1e-6 for size in sizes]


def surer(judged: Judged) -> Node | None:
    """Return a part in which what the relaxation is nearly sure of is decided; ``None`` once all contents are.

    Contents (what a block is and holds) that have most of their block's share are decided all at once, else the
    likeliest one.
    """
    node = judged.node
    assert node is not None
    best: tuple[float, int, tuple[int, ...]] | None = None
    part = node
    for b, (columns, values) in enumerate(zip(node.kept, judged.values, strict=True)):
        shares: dict[tuple[object, ...], float] = {}
        block = node.problem.blocks[b]
        contents = [(block.columns[j].kind, block.columns[j].photos, block.columns[j].texts) for j in columns]
        for content, value in zip(contents, values, strict=True):
            shares[content] = shares.get(content, 0.0) + value
        if len(shares) < 2:
            continue
        top = max(shares, key=lambda content: shares[content])
        chosen = tuple(j for j, content in zip(columns, contents, strict=True) if content == top)
        if shares[top] > SURE:
            part = narrowed(part, b, chosen)
        elif best is None or shares[top] > best[0]:
            best = (shares[top], b, chosen)
    if part is node:
        return None if best is None else narrowed(node, best[1], best[2])
    return part


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
