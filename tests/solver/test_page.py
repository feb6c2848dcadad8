"""Rows of a model: what no whole number can satisfy rules its conditions out instead of breaking the model."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.model import build
from solver.problem import Row, Rule, TextNeed
from solver.run import Limits, solve
from solver.search import Effort, search
from tests.solver.grids import grid


@pytest.mark.parametrize("row", [Row(((("x", 0), 10),), 1, 9), Row((), 1, None), Row((), None, -1)])
def test_a_row_without_whole_numbers_rules_out_what_it_is_for(row: Row) -> None:
    """Between a tenth and nine tenths of a step there is no place: the block the row is for is not there."""
    problem = grid(2, 1, 1, 0)
    barred = replace(problem, rules=(*problem.rules, Rule("R1", (row,), (("block", 0, 0),))))
    page = build(barred, [range(len(b.columns)) for b in barred.blocks])
    result = solve(page, 0, Limits(10.0, None, 0, lambda: False))
    assert result.solution is not None
    assert not barred.blocks[0].columns[result.solution.columns[0]].present
    outcome = search([barred], effort=Effort(10.0, None, 0))
    assert outcome.pages[0].solution.cost == result.solution.cost


def test_words_without_any_place_are_proved_to_have_none() -> None:
    """A need that no column serves leaves no page, and the search says so instead of searching on."""
    homeless = replace(grid(2, 2, 3, 0), texts=(TextNeed("text-1", (0,)),))
    assert search([homeless], effort=Effort(10.0, None, 0)).status == "impossible"
