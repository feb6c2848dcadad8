"""What a layout says of the search, against its own cost: the status, the bound and the gap."""

from __future__ import annotations

from collections.abc import Iterator

from fitter.layout import Layout

GAP_ROUNDING = 1e-6
"""Gaps are written to six decimals."""


def search_faults(layout: Layout) -> Iterator[str]:
    """Yield a sentence for each way status, bound, gap and cost contradict each other.

    The bound is the page's own: that of an alternative is proved given the better pages, and no more than it costs.
    Costs are as stated and weighted, which is what the search has to do with.
    """
    search, cost = layout.search, layout.costs.total
    if search.bound > cost:
        yield f"search: its bound of {search.bound:,} is above the page's cost of {cost:,}"
    elif search.status == "proved" and search.bound != cost:
        yield f"search: is called proved, but its bound of {search.bound:,} is not the page's cost of {cost:,}"
    gap = max(0.0, (cost - search.bound) / max(cost, 1))
    if not abs(search.gap - gap) <= GAP_ROUNDING:
        yield f"search: states a gap of {search.gap:.6f}; cost and bound give {gap:.6f}"
