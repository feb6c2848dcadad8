"""What the checker says a cost of a page is."""

from __future__ import annotations

from fitter.check import check_layout
from fitter.layout import Layout


def cost(layout: Layout, name: str) -> int:
    """Return one term of a page's cost, in millionths."""
    return check_layout(layout).costs.terms[name]
