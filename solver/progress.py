"""What the search reports while it runs, and how it is stopped."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

Kind = Literal["start", "step", "first", "better", "bound", "class", "done", "stopped"]


@dataclass(frozen=True)
class Event:
    """One step of progress.

    Parameters
    ----------
    step
        The pipeline's step, ``1 read`` … ``6 draw``.
    message
        One phrase for people.
    cost, bound
        Best cost so far and the bound proved so far, in millionths; ``None`` when there is none yet.
    gap
        (cost − bound) / max(cost, 1).
    elapsed
        Seconds since the start.
    kind
        What happened.
    left
        Seconds the search may still take, from its effort and the rate at which it used it so far; a proof ends it
        sooner.  ``None`` when unknown.
    part
        Which of several things is worked on, ``page 2 of 3`` for example; empty where there is but one.
    """

    step: str
    message: str
    cost: int | None = None
    bound: int | None = None
    gap: float | None = None
    elapsed: float = 0.0
    kind: Kind = "step"
    left: float | None = None
    part: str = ""


Progress = Callable[[Event], None]
Stop = Callable[[], bool]


def gap_of(cost: int, bound: int) -> float:
    """Return the certified gap, 0 when bound and cost agree."""
    return max(0.0, (cost - bound) / max(cost, 1))
