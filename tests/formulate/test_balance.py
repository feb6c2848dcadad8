"""What the solver counts as tipped is what the checker finds on the page, also where the whole drawing slides."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.layout import Layout
from fitter.pages import Page
from fitter.photos import given
from fitter.template import Template
from solver.search import Effort, search
from solver.solution import Ranked
from tests.bench.instances import Instance
from tests.bench.placing import formulated, layout_of
from tests.proofs.fitting import INCH, only, photos, slot, template

TALL = Page("tall", (6 * INCH, 8 * INCH), gutter={"left": INCH // 4})
MADE = template(
    (6, 6), slot("a", 0.5, 0.5, 2.5, 1.5), slot("b", 3.25, 0.5, 2, 1.5), slot("sheet", 0.5, 2.25, 3, 1, "paper")
)
FREEDOMS = ("assign", "drop", "shift", "widen", "mirror-page")


def best_at(made: Template, slide: int | None) -> tuple[Ranked, Layout]:
    """Return the best page among those that slide so far, as solved and as written."""
    taken = given(tuple(photos((1800, 1400), (1500, 1300))))
    instance = Instance("slid", "tiny", made, TALL, 2, taken, 0, None, distinct=True, without=only(*FREEDOMS))
    formulation = formulated(instance)[0]
    assert formulation.problem.slide is not None
    assert slide is None or slide in formulation.problem.slide
    problem = formulation.problem if slide is None else replace(formulation.problem, slide=(slide,))
    found = search([problem], top=1, effort=Effort(5.0, None, 0)).pages[0]
    return found, layout_of(instance, [formulation], found.solution, found.bound, 0)


@pytest.mark.parametrize("slide", [-50, 0, 140])
def test_a_slid_page_costs_what_the_checker_finds(slide: int) -> None:
    """Model, account and checker agree: at the ends of the page, in its middle; by hand, 1.25 and 3.5 in are free."""
    found, layout = best_at(MADE, slide)
    report = check_layout(layout)
    assert report.ok, report.lines()
    assert (report.costs.terms["balance"] > 2_000) == (slide != 0)
    assert abs(found.solution.cost - report.costs.total) <= 4


def test_the_drawing_stays_in_the_middle() -> None:
    """Nothing else speaks for one place or another."""
    found, layout = best_at(MADE, None)
    assert found.proved
    assert layout.transform.offset == (0, INCH)
