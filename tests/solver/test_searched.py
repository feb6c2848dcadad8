"""Parts around a page are not searched twice, unless the lines that have to hold are others."""

from __future__ import annotations

import pytest

from solver.finding import Finder
from solver.node import root
from solver.page import PageModel
from solver.run import Solved
from solver.state import State
from tests.solver.grids import grid


class Asked(Finder):
    """Counts how often CP-SAT is asked."""

    times = 0

    def ask(self, number: int, page: PageModel, effort: float, cutoff: int = 1 << 40) -> Solved:
        """Count one more."""
        self.times += 1
        return super().ask(number, page, effort, cutoff)


@pytest.mark.parametrize("seed", [0, 1, 3])
def test_a_part_once_searched_is_known(seed: int) -> None:
    """The whole grid is searched with all lines held, then with any broken, then never again, nor a part of it."""
    problem = grid(2, 2, 4, seed)
    state = State([problem], 0, None, lambda: False)
    finder = Asked(state, [], 1_000.0)
    whole = root(0, problem, None, [range(len(b.columns)) for b in problem.blocks])
    assert finder._try(whole.all_firm(), 1_000, 100.0)
    held = finder.times
    assert finder._try(whole, 1_000, 100.0)
    free = finder.times
    assert free > held
    part = root(0, problem, None, [range(0, len(b.columns), 2) for b in problem.blocks])
    assert all(finder._try(node, 1_000, 100.0) for node in (whole, part, whole.all_firm()))
    assert finder.times == free
