"""Pages next to a page: photos of two blocks exchanged, or one of them moved to another block."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from itertools import combinations

Photos = tuple[int, ...]
Holdings = tuple[Photos, ...]
"""Per block, the photos that it holds."""


def exchanged(holdings: Holdings, open_ones: Sequence[Collection[Photos]]) -> Iterator[Holdings]:
    """Yield holdings of the blocks that differ from some in two blocks, each photo in one block as before.

    Parameters
    ----------
    holdings
        The photos of each block.
    open_ones
        Per block, the photos that it may hold; no others are yielded.
    """
    closed = {block for block, photos in enumerate(holdings) if photos not in open_ones[block]}
    for one, other in combinations(range(len(holdings)), 2):
        if not closed <= {one, other}:
            continue
        for mine, theirs in dict.fromkeys(_pairs(holdings[one], holdings[other])):
            if mine in open_ones[one] and theirs in open_ones[other]:
                yield _with(_with(holdings, one, mine), other, theirs)


def _pairs(one: Photos, other: Photos) -> Iterator[tuple[Photos, Photos]]:
    """Yield all the other way round, one photo of each exchanged where there are more, and one moved."""
    if one != other:
        yield other, one
    if len(one) + len(other) > 2:
        for mine in one:
            for theirs in other:
                yield _instead(one, mine, theirs), _instead(other, theirs, mine)
    for photo in one:
        yield tuple(p for p in one if p != photo), tuple(sorted((*other, photo)))
    for photo in other:
        yield tuple(sorted((*one, photo))), tuple(p for p in other if p != photo)


def _instead(photos: Photos, out: int, photo: int) -> Photos:
    """Return photos with another one in place of one."""
    return tuple(sorted(photo if p == out else p for p in photos))


def _with(holdings: Holdings, block: int, photos: Photos) -> Holdings:
    return (*holdings[:block], photos, *holdings[block + 1 :])
