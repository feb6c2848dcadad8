"""Beam search over contents: several pages decided side by side, a block at a time, the relaxation's best kept.

What a block is and holds is its content.  Once all contents are decided, the relaxation in which every line holds is
near to what the page will cost, so its value tells good contents from bad ones long before sizes and places are known.
"""

from __future__ import annotations

from collections.abc import Callable

from solver.branching import Content, content_of, shares_of, with_content
from solver.frame import Frame
from solver.node import Judged, Node, narrowed

CHOICES = 3
"""Contents of a block that are looked at."""
LEAST_SHARE = 0.02
"""The relaxation gives at least this much to a content that is."""


def decided(
    judged: Judged, frame: Frame, cutoff: int, *, width: int, surest_first: bool, over: Callable[[], bool]
) -> list[Judged]:
    """Return parts of a node in which all contents are decided, the least bound first.

    Parameters
    ----------
    judged
        The node and its relaxation's answer.
    frame
        Where its parts are judged.
    cutoff
        What costs as much is of no interest.
    width
        How many parts are gone on with side by side.
    surest_first
        Whether the block that the relaxation is surest of is decided first, or the one it is least sure of.
    over
        Asked after every step whether to end.
    """
    front, ends = [judged], list[Judged]()
    while front and not over():
        parts = list[Node]()
        for one in front:
            assert one.node is not None
            block = _next_block(one, surest_first=surest_first)
            if block is None:
                ends.append(one)
            else:
                parts += _parts(one, *block)
        # What was decided in another order comes to the same.
        valued = {round(value): number for number, value in reversed(list(enumerate(map(frame.glance, parts))))}
        front = []
        for value in sorted(valued):
            if value >= cutoff or len(front) == width:
                break
            found = frame.judge(parts[valued[value]], cutoff, rounds=1)
            if found.node is not None:
                front.append(found)
    return sorted(ends, key=lambda end: end.bound)


def _next_block(judged: Judged, *, surest_first: bool) -> tuple[int, dict[Content, float]] | None:
    """Return the block to decide next and the share of each of its contents, ``None`` once all are decided."""
    open_blocks = [(b, shares) for b, shares in enumerate(shares_of(judged, content_of)) if len(shares) > 1]
    if not open_blocks:
        return None
    chosen = max if surest_first else min
    return chosen(open_blocks, key=lambda entry: max(entry[1].values()))


def _parts(judged: Judged, block: int, shares: dict[Content, float]) -> list[Node]:
    node = judged.node
    assert node is not None
    likeliest = sorted(shares, key=lambda content: -shares[content])[:CHOICES]
    return [narrowed(node, block, with_content(node, block, c)) for c in likeliest if shares[c] > LEAST_SHARE]
