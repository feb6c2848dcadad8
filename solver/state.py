"""What one virtual worker of the search knows and has used while it runs."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from solver.branching import Experience
from solver.cutting import Cut, Facts
from solver.problem import Problem
from solver.progress import Stop
from solver.run import Limits
from solver.solution import Solution


@dataclass
class State:
    """The problems, the limits, and what was learnt on the way.

    Parameters
    ----------
    problems
        One per class; formulated when first asked for.
    seed
        Of everything drawn.
    until
        When the wall-clock safety net ends the search (``time.monotonic``), or ``None``.
    stop
        Asked now and then whether to stop.
    vary
        In what alternatives must differ.
    report
        Hears the cost of a better page and the number of its class, perhaps in another thread.
    worker
        Number of the virtual worker, 0 or 1; each draws otherwise.
    used
        Deterministic seconds used.
    exhausted
        Whether memory ran out.
    """

    problems: Sequence[Problem]
    seed: int
    until: float | None
    stop: Stop
    vary: tuple[str, ...] = ()
    report: Callable[[int, int], None] = lambda cost, number: None
    worker: int = 0
    used: float = 0.0
    stopped: bool = False
    exhausted: bool = False
    pool: list[Solution] = field(default_factory=list)
    lines: dict[int, Facts] = field(default_factory=dict)
    cuts: dict[tuple[int, int | None], list[Cut]] = field(default_factory=dict)
    experience: Experience = field(default_factory=Experience)

    def limits(self, seconds: float) -> Limits:
        """Return the limits of one solve."""
        return Limits(seconds, self.until, self.seed, self.stop)

    def wall_hit(self) -> bool:
        """Whether the wall-clock safety net ended the search."""
        return self.until is not None and time.monotonic() >= self.until

    def over(self) -> bool:
        """Whether the search has to end now, whatever it has used."""
        self.stopped = self.stopped or self.stop()
        return self.stopped or self.exhausted or self.wall_hit()
