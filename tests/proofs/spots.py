"""What the enumeration speaks of: slots, what they hold, common scalings, and what was asked."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from fitter.layout import GivenPhoto
from fitter.layout import Wishes as Asked

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Spot:
    """A slot of the reference layout; lengths in micrometres.

    ``border`` is how far its mat reaches beyond it: left, top, right, bottom.
    """

    name: str
    role: str
    center: tuple[int, int]
    size: tuple[int, int]
    bleeds: tuple[str, ...]
    strip: bool
    smallest: int
    may_be: tuple[str, ...] | None
    fixed: bool
    cluster: str | None
    border: tuple[int, int, int, int] = (0, 0, 0, 0)

    def low(self, axis: int) -> int:
        """Near edge."""
        return self.center[axis] - self.size[axis] // 2

    def high(self, axis: int) -> int:
        """Far edge."""
        return self.center[axis] + self.size[axis] // 2


@dataclass(frozen=True)
class Filling:
    """What a slot may hold and every size for it: own cost by size, and the area of each photo."""

    role: str | None
    photos: tuple[int, ...]
    width: Array
    height: Array
    cost: Array
    areas: tuple[Array, ...]


@dataclass(frozen=True)
class Scaling:
    """A rescale: its charge, target sizes and target displacements of the slots of its group."""

    charge: int
    sizes: Mapping[str, tuple[int, int]]
    moves: Mapping[str, tuple[int, int]]


@dataclass
class Wishes:
    """What was asked: the photos, freedoms switched off, factors, how many may be left out, and the words to set."""

    photos: Sequence[GivenPhoto]
    without: frozenset[str] = frozenset()
    weights: Mapping[str, int] = None  # type: ignore[assignment]
    leave_out: int = 0
    target: int = 300
    least: int = 150
    asked: Asked = field(default_factory=Asked)
    text: str | None = None

    def may(self, freedom: str) -> bool:
        """Whether a freedom is on."""
        return freedom not in self.without

    def factor(self, cost: str) -> int:
        """The user's factor on a cost."""
        return (self.weights or {}).get(cost, 1)


def half_up(values: Array) -> Array:
    """Round to the nearest, halves up."""
    return np.floor(values + 0.5)


def area_of(spots: Sequence[Spot]) -> int:
    """Return what slots cover altogether."""
    return sum(spot.size[0] * spot.size[1] for spot in spots)
