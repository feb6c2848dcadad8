"""Rates of the costs and the user's factors on them; formulas in DEVELOPERS.md, section Costs."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

CROP_LOSS = 1_000_000
ROTATE_PAGE = 15_000
MIRROR_PAGE = 5_000
ROTATE_SLOT = 10_000
SWAP_ROLE = 40_000
ADD_SLOT = 150_000
REPEAT_CLUSTER = 150_000
DROP = 40_000
EMPTY_SLOT = 300_000
SHIFT_PER_INCH = 12_000
DRIFT_PER_INCH = 1_200
RESIZE = 75_000
RESCALE = 150_000
ALIGNMENT = 90_000
GAP = 30_000
OVERLAP_PER_PERCENT = 60_000
HOLE = 540_000
BALANCE = 100_000
TEXT_PER_POINT = 20_000
TEXT_FILL = 20_000
TEXT_MEASURE = 5_000
EMPHASIS = 20_000
ORDER = 3_000
LEFT_OUT = 300_000
WAIVED = 1_000_000
DEPARTURE = 60_000
DEPARTURE_SIZE = 30_000


def rounded(value: float) -> int:
    """Round to the nearest whole number, halves up, also those that floats miss by a hair."""
    return math.floor(round(value, 6) + 0.5)


@dataclass(frozen=True)
class Rates:
    """The user's factors by cost name; 1 where none is given."""

    factors: Mapping[str, float] = field(default_factory=dict)

    def of(self, name: str, amount: float) -> int:
        """Return an amount of a cost, weighted and rounded."""
        factor = self.factors.get(name)
        return rounded(amount if factor is None else amount * factor)

    def factor(self, name: str) -> float:
        """Return the factor on a cost."""
        return self.factors.get(name, 1)

    def total(self, terms: Mapping[str, int]) -> int:
        """Return the weighted sum of unweighted terms."""
        return sum(self.of(name, amount) for name, amount in terms.items())
