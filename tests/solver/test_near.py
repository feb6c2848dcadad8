"""A page that is known already: the search looks for its first page among what is nearest to it."""

from __future__ import annotations

from dataclasses import replace

from solver.search import Effort, search
from tests.solver.grids import grid

ENOUGH, HARDLY_ANY = Effort(30.0, None, 0), Effort(0.004, None, 0)


def cost(near: tuple[tuple[int, ...], ...], effort: Effort) -> int:
    """Return what the best page costs that a search finds, told what is near."""
    return search([replace(grid(2, 2, 3, seed=1), near=near)], effort=effort).pages[0].solution.cost


def test_the_page_that_is_known_is_found_at_once() -> None:
    """With the best page known, hardly any effort finds it; without, it does not."""
    (best,) = search([grid(2, 2, 3, seed=1)], effort=ENOUGH).pages
    assert cost(tuple((j,) for j in best.solution.columns), HARDLY_ANY) == best.solution.cost
    assert cost((), HARDLY_ANY) > best.solution.cost


def test_a_page_that_cannot_be_had_any_more_is_no_hindrance() -> None:
    """What was near holds one photo twice, so no page is left there; the search goes on as ever."""
    (best,) = search([grid(2, 2, 3, seed=1)], effort=ENOUGH).pages
    block = grid(2, 2, 3, seed=1).blocks[0]
    holding = next(j for j, column in enumerate(block.columns) if column.photos == (0,))
    near = ((holding,), (holding,), *((j,) for j in best.solution.columns[2:]))
    assert cost(near, ENOUGH) == best.solution.cost
