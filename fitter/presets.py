"""Named balances of the costs: tables of factors, documented in DEVELOPERS.md, section Presets."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

PRESETS: Mapping[str, Mapping[str, float]] = MappingProxyType(
    {
        "calm": {"alignment": 2, "gap": 2, "hole": 0.5, "balance": 2, "add-slot": 2, "rotate-slot": 2, "overlap": 2},
        "full": {"hole": 3, "resize": 0.5, "shift": 0.5, "ppi": 0.5},
        "whole": {"crop-loss": 3, "resize": 0.5, "shift": 0.5, "rotate-slot": 0.5},
        "drawn": {
            "rotate-page": 3,
            "mirror-page": 3,
            "rotate-slot": 3,
            "swap-role": 3,
            "add-slot": 3,
            "repeat-cluster": 3,
            "drop": 3,
            "shift": 3,
            "resize": 3,
            "crop-loss": 0.5,
        },
        "lively": {
            "rotate-page": 0,
            "mirror-page": 0,
            "rotate-slot": 0,
            "swap-role": 0.5,
            "alignment": 0.5,
            "gap": 0.5,
        },
        "telling": {"order": 10, "emphasis": 5, "left-out": 2},
    }
)
"""Factors on the costs by preset; costs not named keep the factor 1.

* ``calm``: straight lines, even gaps, air, few additions.
* ``full``: as much of the page covered as the photos allow.
* ``whole``: little is cut away; slots bend instead.
* ``drawn``: the template stays as it was drawn; photos are cut instead.
* ``lively``: turning and mirroring cost nothing, other changes less.
* ``telling``: photos in the order they were taken, the important ones large.
"""
