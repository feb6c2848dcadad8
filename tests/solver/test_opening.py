"""An opening: a few pages of a problem, put together quickly, for a first page; it changes nothing else."""

from __future__ import annotations

from dataclasses import replace

from fitter.formulate import formulate
from fitter.formulate.formulation import SLOW
from fitter.formulate.settings import Settings
from fitter.pages import Page
from solver.problem import Problem
from solver.progress import Event
from solver.search import Effort, search
from tests.proofs.fitting import slot, template
from tests.solver.grids import grid

ENOUGH = Effort(30.0, None, 0)


def opening(problem: Problem) -> Problem:
    """Return the pages of a grid on which no cell has another size."""
    blocks = (
        replace(b, columns=tuple(c for c in b.columns if not c.dw and not c.dh), x=(0, 0), y=(0, 0))
        for b in problem.blocks
    )
    return replace(problem, name="as drawn", blocks=tuple(blocks), opening=True)


def test_the_first_page_comes_from_it_and_the_best_one_is_the_same() -> None:
    """The first page told is one as drawn; what is proved best, with and without, costs the same."""
    plain = grid(2, 2, 3, seed=1)
    events: list[Event] = []
    outcome = search([plain, opening(plain)], effort=ENOUGH, progress=events.append)
    told = [event for event in events if event.kind in ("first", "better")]
    assert "as drawn" in told[0].message
    assert [event.cost for event in told] == sorted((event.cost or 0 for event in told), reverse=True)
    assert outcome.status == "proved"
    assert outcome.pages[0].solution.cost == search([plain], effort=ENOUGH).pages[0].solution.cost


def test_a_search_that_ends_at_once_has_its_page() -> None:
    """With no effort for more than a first page, that one is the result, with a bound that holds."""
    plain = grid(2, 2, 3, seed=1)
    best = search([plain], effort=ENOUGH).pages[0].solution.cost
    (page,) = search([plain, opening(plain)], effort=Effort(0.001, None, 0)).pages
    assert page.bound <= best <= page.solution.cost


def test_an_opening_without_a_page_is_no_proof_that_there_is_none() -> None:
    """Where nothing fits as drawn, the other problems decide."""
    plain = grid(2, 2, 3, seed=1)
    barred = replace(opening(plain), photos=plain.photos + 1)
    assert search([plain, barred], effort=ENOUGH).status == "proved"


def test_there_is_one_unless_nothing_is_saved() -> None:
    """It comes last, has the reference sizes only, and is left out when these are all there are."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 2), slot("sheet", 0.5, 3, 3, 4, "paper"))
    page = Page("template", made.size)
    whole = formulate(made, page, Settings(()))
    assert [f.problem.opening for f in whole] == [*[False] * (len(whole) - 1), True]
    assert all(not c.dw and not c.dh for b in whole[-1 + len(whole)].problem.blocks for c in b.columns)
    assert not any(f.problem.opening for f in formulate(made, page, Settings((), without=SLOW)))
