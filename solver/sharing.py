"""Blocks of one size and a photo that only one of them can hold.

While two blocks line up on both sides they have the same size.  A relaxation that mixes pages likes to give a photo in
its own shape half to the one and half to the other.  But if one holds a photo at some size, the other has that size
*with another photo*, or is not there, or a line is broken.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.cycles import LEAST_VIOLATION, Cycle, Side

_TINY = 1e-9


@dataclass(frozen=True)
class Twins:
    """Two blocks that have one size while the lines hold."""

    side: Side
    one: int
    other: int
    lines: tuple[int, ...]


@dataclass(frozen=True)
class Sharing:
    """If ``holder`` has the size change ``value`` and holds the photo, its twin has that size without the photo."""

    twins: Twins
    holder: int
    value: int
    photo: int

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


@dataclass(frozen=True)
class Shares:
    """What a relaxation gives to columns that are there.

    Parameters
    ----------
    sizes
        Per block and side: by change of size.
    held
        The same by photo.
    there
        Per block: all of them.
    """

    sizes: Mapping[tuple[int, Side], Mapping[int, float]]
    held: Mapping[tuple[int, Side], Mapping[int, Mapping[int, float]]]
    there: Sequence[float]

    def gone(self, block: int) -> float:
        """Return the share of a block that is not there."""
        return 1 - self.there[block]

    def without(self, block: int, side: Side, size: int, photo: int) -> float:
        """Return the share of a block that has a size without holding a photo."""
        return self.sizes[block, side].get(size, 0.0) - self.held[block, side].get(size, {}).get(photo, 0.0)


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
        for value, photos in shares.held[holder, side].items():
            for photo, share in photos.items():
                if share > slack + shares.without(twin, side, value, photo) + _TINY:
                    yield Sharing(twins, holder, value, photo)
