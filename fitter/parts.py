"""What of a template a page can change: a kind, and a slot; forbidden one by one by ``fitter explain``."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

Kind = Literal[
    "mirrored",
    "rotated",
    "scaled",
    "repeated",
    "added",
    "panel",
    "dropped",
    "role",
    "divided",
    "turned",
    "vertical",
    "resized",
    "moved",
]


@dataclass(frozen=True)
class Part:
    """A kind of change; of a slot, save for those of the whole page (the first six)."""

    kind: Kind
    slot: str = ""
