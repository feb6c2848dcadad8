"""What a run of the benchmark notes: one record an instance, one a peer and instance, and the steps in between.

Times are seconds by the clock from the start of formulating; costs and bounds millionths; ``None`` where something did
not happen.
"""

from __future__ import annotations

from dataclasses import dataclass

NEAR, NEARER = 1.05, 1.01
GAP_AT = 10.0


@dataclass(frozen=True)
class Step:
    """What was known at a time: the cost of the best page, and the bound."""

    seconds: float
    cost: int | None
    bound: int | None


@dataclass(frozen=True)
class Record:
    """The fitter on one instance.

    ``status`` is ``proved``, ``feasible``, ``none`` (with ``why``) or ``crash``.  ``cost`` is the one the checker
    finds, ``solver_cost`` what the solver took it for, which may be more on a page not proved.  ``terms_agree`` says
    whether every cost term stated is the checker's within the published rounding; ``terms`` lists those that are not
    equal to the unit.  ``failures`` says what the checker held against the page, or what a peer proved wrong.
    ``seen`` says whether its photos show something, ``waived`` how many give up faces because no page shows them all.
    ``best`` is the least cost of a legal page that anyone found in the run who chooses among the same pages;
    ``beaten_by`` names everyone with a cheaper legal page, those with finer sizes and places included.
    """

    name: str
    group: str
    template: str
    page: str
    refitted: bool
    elements: int
    photos: int
    natural: int
    words: int
    distinct: bool
    keeps: int
    impossible: str
    seen: bool = False
    waived: int = 0
    status: str = "none"
    why: str = ""
    formulate: float | None = None
    first: float | None = None
    near: float | None = None
    nearer: float | None = None
    proof: float | None = None
    total: float | None = None
    place_check: float | None = None
    cost: int | None = None
    solver_cost: int | None = None
    bound: int | None = None
    gap: float | None = None
    gap_at_10: float | None = None
    best: int | None = None
    beaten_by: str = ""
    columns: int | None = None
    effort: float | None = None
    wall_limit_hit: bool = False
    first_cost: int | None = None
    terms_agree: bool | None = None
    terms: str = ""
    failures: str = ""
    crop_loss: float | None = None
    overlap: int | None = None


@dataclass(frozen=True)
class PeerRecord:
    """A peer on one instance.

    ``cost`` is the checker's, of the page the peer wrote (of ``exhaustive``, which writes none, the enumerated one).
    ``rules`` names the rules it breaks, empty on a legal page.  ``exact`` peers choose among the same pages as the
    fitter; none of theirs can be below its bound.  ``note`` says what cannot be stated, or why there is no page.
    """

    name: str
    group: str
    photos: int
    peer: str
    exact: bool
    seconds: float
    cost: int | None = None
    bound: int | None = None
    proved: bool = False
    violations: int = 0
    rules: str = ""
    crop_loss: float | None = None
    overlap: int | None = None
    left_out: int = 0
    note: str = ""

    @property
    def legal(self) -> bool:
        """Whether there is a page and it breaks no rule."""
        return self.cost is not None and not self.violations
