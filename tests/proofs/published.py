"""Costs and lattice as DEVELOPERS.md publishes them: a re-tuned rate that was not published makes proofs fail."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

INCH = 25_400
PLACE = 635
DRIFT = 12_700 // PLACE
SIZE = 1_270
SPLIT_GAP = INCH // 8
"""Lengths in micrometres: the steps of places and of scaled sizes, and what stands between pieces of a slot."""
FAR = 10**12
"""Dearer than any page."""


@cache
def published() -> str:
    """Return the developers' guide, where costs and lattice are published."""
    return (Path(__file__).parents[2] / "DEVELOPERS.md").read_text(encoding="utf-8")


@cache
def lattice(words: str) -> tuple[float, ...]:
    """Return the numbers that follow some words of the lattice's section."""
    section = published().split("## The lattice")[1].split("\n## ")[0]
    found = re.search(re.escape(words) + r"((?:,? ?(?:to )?\d+(?:\.\d+)?)+)", section)
    assert found, words
    return tuple(float(n) for n in re.findall(r"\d+(?:\.\d+)?", found[1]))


@cache
def rates() -> dict[str, list[int]]:
    """Return the numbers of each row of the cost table, in the order written."""
    rows = re.findall(r"^\| `([a-z-]+)` \| (.*) \|$", published(), re.M)
    return {name: [int(n.replace(",", "")) for n in re.findall(r"\d[\d,]{3,}", row)] for name, row in rows}


def rate(name: str, number: int = 0) -> int:
    """Return one number of the cost table."""
    return rates()[name][number]
