"""The page as a whole moves for less than its parts: what is left of a drawing stands in its middle."""

from __future__ import annotations

from fitter.layout import Layout
from fitter.units import INCH
from tests.proofs.fitting import best, photos, slot, template

MADE = template((8, 8), slot("a", 0.5, 2, 3.5, 3), slot("b", 4.25, 2, 3.25, 3))
TAKEN = photos((2100, 1800), (1350, 1800))


def margins(layout: Layout) -> tuple[float, float]:
    """Return the white at the left and at the right of a page, in inches."""
    left = min(e.center[0] - e.size[0] / 2 for e in layout.elements)
    right = max(e.center[0] + e.size[0] / 2 for e in layout.elements)
    return left / INCH, (layout.page.trim[0] - right) / INCH


def test_a_row_that_became_shorter_stands_in_the_middle() -> None:
    """The second photo is narrower than its slot; the gap stays, and both move to the right."""
    layout = best(MADE, TAKEN, allow=("widen", "shift", "assign"))
    left, right = margins(layout)
    assert abs(left - right) <= 0.1 and left > 0.7
    assert "gap" not in layout.costs.terms


def test_without_shifting_nothing_drifts() -> None:
    """The freedom is one."""
    layout = best(MADE, TAKEN, allow=("widen", "assign"))
    assert "shift" not in layout.costs.terms
