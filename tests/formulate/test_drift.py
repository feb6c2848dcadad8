"""The page as a whole moves for less than its parts: what is left of a drawing stands in its middle."""

from __future__ import annotations

from fitter.check import check_layout
from fitter.layout import Layout
from fitter.pages import Page
from fitter.photos import given
from fitter.template import Limits
from fitter.units import INCH
from solver.search import Effort, search
from tests.bench.instances import Instance
from tests.bench.placing import formulated, layout_of
from tests.proofs.fitting import best, only, photos, slot, template

MADE = template((8, 8), slot("a", 0.5, 2, 3.5, 3), slot("b", 4.25, 2, 3.25, 3))
TAKEN = photos((2100, 1800), (1350, 1800))
BELOW = template(
    (8, 6.75),
    slot("sheet", 1, 0.5, 5, 1.5, "paper", limits=Limits(fixed=True)),
    slot("a", 1, 2.25, 4, 2),
    slot("b", 1, 4.5, 4, 2),
)


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


def test_a_fixed_slot_does_not_hold_the_others_where_they_stand() -> None:
    """Two photos below a fixed paper become an inch narrower, flush left with it as before.

    By hand: 1/2 in for the paper and a tenth of it for the drift, instead of 1/2 in for each photo.
    """
    weights = {"hole": 0.0, "resize": 0.1, "balance": 0.0, "alignment": 5, "gap": 20}
    layout = best(BELOW, photos((1500, 1000), (1504, 1000)), allow=("widen", "shift"), weights=weights)
    assert [e.size[0] for e in layout.elements if e.photo is not None] == [3 * INCH, 3 * INCH]
    assert layout.costs.terms["shift"] == 6_600
    assert "alignment" not in layout.costs.terms


def test_the_search_counts_what_the_checker_counts() -> None:
    """Also where something cannot move: its lines must not ask for more shifting than there is."""
    taken = given(tuple(photos((1500, 1000), (1504, 1000))))
    page, without = Page("below", BELOW.size), only("widen", "shift")
    instance = Instance("below", "tiny", BELOW, page, 2, taken, 0, None, distinct=True, without=without)
    formulations = formulated(instance)
    found = search([made.problem for made in formulations], top=1, effort=Effort(5.0, None, 0)).pages[0]
    layout = layout_of(instance, formulations, found.solution, found.bound, 0)
    assert layout.costs.terms["shift"] > 0 and "alignment" not in layout.costs.terms
    assert abs(found.solution.cost - check_layout(layout).costs.total) <= 4
