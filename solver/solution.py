"""What step 3 hands back: chosen columns and places, and what is proved about them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from solver.problem import Var

Status = Literal["proved", "feasible", "impossible", "unknown"]


@dataclass(frozen=True)
class Solution:
    """One page.

    Parameters
    ----------
    problem
        Number of the problem (symmetry class) it belongs to.
    cost
        Its total cost.
    columns
        Column picked by every block.
    places
        Displacements in grid units, by variable; those not listed are 0.
    riders
        Whether each rider is there.
    member
        Number of the class's page.
    group
        Number of the common scaling, or ``None``.
    left_out
        Photos left out.
    """

    problem: int
    cost: int
    columns: tuple[int, ...]
    places: dict[Var, int]
    riders: tuple[bool, ...]
    member: int
    group: int | None
    left_out: tuple[int, ...]

    def place(self, axis: Literal["x", "y"], block: int) -> int:
        """Return a block's displacement."""
        return self.places.get((axis, block), 0)


@dataclass(frozen=True)
class Ranked:
    """A solution with the bound proved for it: no page far enough from the earlier ones costs less than ``bound``."""

    solution: Solution
    bound: int

    @property
    def proved(self) -> bool:
        """Whether the bound equals the cost."""
        return self.bound >= self.solution.cost


@dataclass(frozen=True)
class Outcome:
    """The pages found, best first.

    ``status`` is of the best page.  ``impossible`` is a proof that no page exists; ``unknown`` that the limits
    ran out before one was found.  ``effort`` counts the deterministic seconds of each virtual worker.  ``notices`` are
    sentences about what went wrong on the way.  ``complete`` says that there is proved to be no further page beside
    those found, far enough from them.
    """

    status: Status
    pages: tuple[Ranked, ...]
    bound: int | None
    stopped: bool
    wall_limit_hit: bool
    effort: float
    facts: dict[str, float]
    notices: tuple[str, ...] = ()
    complete: bool = False
