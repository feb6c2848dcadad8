"""Names and rates of the costs, in millionths.  The formulas stand in DEVELOPERS.md, section Costs."""

from __future__ import annotations

COSTS: tuple[str, ...] = (
    "crop-loss",
    "overlap",
    "ppi",
    "rotate-page",
    "mirror-page",
    "rotate-slot",
    "swap-role",
    "add-slot",
    "repeat-cluster",
    "drop",
    "empty-slot",
    "shift",
    "resize",
    "alignment",
    "gap",
    "hole",
    "balance",
    "text",
    "emphasis",
    "order",
    "left-out",
    "waived",
    "departure",
)
