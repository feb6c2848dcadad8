"""Pages of equal cost: the one that is turned and mirrored least is shown."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from solver.finding import Finder
from solver.node import root
from solver.solution import Ranked, Solution
from solver.state import State

EFFORT = 0.05
"""Deterministic seconds for one page with everything else decided."""


def plainest(state: State, earlier: Collection[Ranked], solution: Solution) -> Solution:
    """Return a page the other way round if it costs the same and is turned and mirrored less.

    Nothing in its class's frame changes: roles, photos, sizes and places there stay as they are.
    """
    problem = state.problems[solution.problem]
    blocks = tuple(
        replace(block, x=(x, x), y=(y, y))
        for b, block in enumerate(problem.blocks)
        for x, y in [(solution.place("x", b), solution.place("y", b))]
    )
    slide = None if problem.slide is None else (solution.places.get(("x", -1), 0),)
    pinned = replace(problem, blocks=blocks, slide=slide)
    node = root(solution.problem, pinned, solution.group, [(j,) for j in solution.columns])
    finder = Finder(state, earlier, state.used + EFFORT * len(problem.members))
    plainer = sorted(range(len(problem.members)), key=lambda k: (problem.rotations[k], k))
    for member in plainer[: plainer.index(solution.member)]:
        page = node.page()
        page.sheet.row([(page.members[member], 1)], 1, None)
        found = finder.ask(solution.problem, page, EFFORT, solution.cost + 1).solution
        if found is not None:
            return found
    return solution
