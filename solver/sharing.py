"""Blocks of one size and photos that only one of them can hold.

While two blocks line up on both sides they have the same size.  A relaxation that mixes pages likes to give a photo in
its own shape half to the one and half to the other.  But if one holds a photo at some size, the other has that size
*with another photo*, or is not there, or a line is broken.  What one block has at some sizes, with some photos at each,
cannot be more than what the other has at these sizes without those photos (Hall, 1935: both can be mixed from the same
pages only if that holds for all such choices).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.cycles import LEAST_VIOLATION, TINY, Cycle, Side


@dataclass(frozen=True)
class Twins:
    """Two blocks that have one size while the lines hold."""

    side: Side
    one: int
    other: int
    lines: tuple[int, ...]


Picks = tuple[tuple[int, tuple[int, ...]], ...]
"""Changes of size and photos with them, each size once; all columns of a size where no photos are named."""


@dataclass(frozen=True)
class Sharing:
    """Whenever ``holder`` has one of some sizes and all the photos named with it, its twin has that size without any.

    On a whole page the holder has one size, so one row speaks for all picks.
    """

    twins: Twins
    holder: int
    picks: Picks

    @property
    def lines(self) -> tuple[int, ...]:
        """What has to hold."""
        return self.twins.lines

    @property
    def twin(self) -> int:
        """The other block."""
        return self.twins.other if self.holder == self.twins.one else self.twins.one


def all_twins(cycles: Sequence[Cycle]) -> tuple[Twins, ...]:
    """Return the pairs of blocks that two lines give one size."""
    found = []
    for cycle in cycles:
        if len(cycle.weights) == 2 and cycle.low == cycle.high == 0:
            (one, weight), (other, opposite) = cycle.weights
            if weight == -opposite and weight:
                found.append(Twins(cycle.side, one, other, cycle.lines))
    return tuple(found)


Held = Mapping[tuple[int, ...], float]
"""Shares by the photos held together, in their order."""


@dataclass(frozen=True)
class Shares:
    """What a relaxation gives to columns that are there.

    Parameters
    ----------
    held
        Per block and side: by change of size and photos.
    there
        Per block: all of them.
    """

    held: Mapping[tuple[int, Side], Mapping[int, Held]]
    there: Sequence[float]

    def gone(self, block: int) -> float:
        """Return the share of a block that is not there."""
        return 1 - self.there[block]


def shared(twins: Twins, shares: Shares, broken: float) -> Iterator[Sharing]:
    """Yield what a relaxation gives to both twins though only one can have it.

    Parameters
    ----------
    broken
        Sum of the shares of the twins' lines that are broken.
    """
    side = twins.side
    for holder, twin in ((twins.one, twins.other), (twins.other, twins.one)):
        slack = broken + shares.gone(twin) + LEAST_VIOLATION
        if slack >= 1:
            continue
        picks, over = [], 0.0
        for value, held in sorted(shares.held[holder, side].items()):
            excess, photos = _most(held, shares.held[twin, side].get(value, {}))
            if excess > TINY:
                picks.append((value, photos))
                over += excess
        if over > slack:
            yield Sharing(twins, holder, tuple(picks))


def _most(held: Held, other: Held) -> tuple[float, tuple[int, ...]]:
    """Return how much more one block holds some photos at a size than its twin has that size without them, at most."""
    named = {()} | {(photo,) for photos in held for photo in photos} | set(held)
    return max((_over(held, other, set(photos)), photos) for photos in named)


def _over(held: Held, other: Held, named: set[int]) -> float:
    mine = sum(share for photos, share in held.items() if named.issubset(photos))
    return mine - sum(share for photos, share in other.items() if named.isdisjoint(photos))
