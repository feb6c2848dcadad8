"""Of pages that cost the same, the one nearest to the template as it is drawn is shown."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.apart import is_apart
from solver.problem import Problem
from solver.search import Effort, search
from solver.solution import Ranked, Solution
from solver.state import State
from solver.ties import plainest
from tests.solver.grids import grid

WAYS = ((180, True), (0, True), (180, False), (0, False))
"""Turned and mirrored; the page as drawn comes last."""


def four_ways(*costs: int) -> Problem:
    """Return a grid that may lie in four ways, each with its own cost."""
    problem = grid(2, 1, 2, 0)
    (only,) = problem.members
    members = tuple(replace(only, name=str(way), cost=cost) for way, cost in zip(WAYS, costs, strict=True))
    return replace(problem, members=members, rotations=WAYS)


def state_of(problem: Problem) -> State:
    """Return the state of a search that has just begun."""
    return State([problem], 0, None, lambda: False)


def found_in(problem: Problem) -> Solution:
    """Return the best page."""
    return search([problem], effort=Effort(5.0, None, 0)).pages[0].solution


@pytest.mark.parametrize("member", range(4))
def test_the_least_turned_of_equals_is_taken(member: int) -> None:
    """Whichever of four equal pages was met, the one as drawn is shown; nothing else changes."""
    problem = four_ways(0, 0, 0, 0)
    met = replace(found_in(problem), member=member)
    assert plainest(state_of(problem), [], met) == replace(met, member=3)


def test_what_costs_less_is_not_given_up() -> None:
    """Mirroring saves one millionth: mirrored it stays."""
    problem = four_ways(1, 0, 1, 1)
    met = found_in(problem)
    assert WAYS[met.member] == (0, True)
    assert plainest(state_of(problem), [], met) == met


def test_it_keeps_its_distance_from_earlier_pages() -> None:
    """An alternative that differs in lying the other way does not become the page it differs from."""
    problem = four_ways(0, 0, 0, 0)
    drawn = replace(found_in(problem), member=3)
    turned = replace(drawn, member=2)
    assert is_apart(problem, turned, problem, drawn)
    assert plainest(state_of(problem), [Ranked(drawn, drawn.cost)], turned) == turned


def test_a_search_ends_with_the_page_as_drawn() -> None:
    """The whole search, with ties in every page."""
    assert found_in(four_ways(0, 0, 0, 0)).member == 3
