"""Grids of aligned slots: cuts hold on every page, narrowed places lose none, proofs agree with plain CP-SAT."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.cutting import facts_of
from solver.cycles import Cover, Cycle, Ladder, Side, cycles, ladders, violated, widened
from solver.frame import Frame, framed
from solver.node import FAR, Node, root
from solver.page import PageModel
from solver.problem import Column, Problem
from solver.ranges import narrow_places
from solver.run import Limits, solve
from solver.search import Effort, search
from solver.sharing import all_twins
from tests.solver.grids import SIDE, grid, scalable

SHAPES = [(2, 2, 3), (3, 1, 3), (2, 2, 4)]


def whole(problem: Problem) -> Node:
    """Return everything."""
    return root(0, problem, None, [range(len(b.columns)) for b in problem.blocks])


def by_cp_sat(page: PageModel) -> int:
    """Return the cost that CP-SAT proves for a model, without relaxations, cuts or branching of ours."""
    result = solve(page, 0, Limits(60.0, None, 0, lambda: False))
    assert result.complete
    assert result.solution is not None
    return result.solution.cost


def nothing(page: PageModel) -> None:
    """Add nothing to a page."""


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("shape", SHAPES)
def test_the_search_proves_what_cp_sat_proves(shape: tuple[int, int, int], seed: int) -> None:
    """Relaxations with cuts, splits and filters end at the cost of one plain model over all columns."""
    problem = grid(*shape, seed)
    outcome = search([problem], effort=Effort(60.0, None, 0))
    assert outcome.status == "proved"
    assert outcome.pages[0].solution.cost == by_cp_sat(whole(problem).page())


@pytest.mark.parametrize("seed", range(4))
def test_narrow_places_lose_no_best_page(seed: int) -> None:
    """The best page is the same after places are narrowed, and some range did become narrower."""
    problem = grid(2, 2, 3, seed)
    node = whole(problem)
    narrower = narrow_places(problem, node.kept)
    assert any(b.x != a.x for a, b in zip(problem.blocks, narrower.blocks, strict=True))
    assert by_cp_sat(whole(narrower).page()) == by_cp_sat(node.page())


@pytest.mark.parametrize("seed", range(6))
def test_cuts_raise_the_bound_and_never_above_the_best_page(seed: int) -> None:
    """The relaxation with cuts bounds at least as much as without, and at most what the best page costs."""
    problem = grid(2, 2, 4, seed)
    best = by_cp_sat(whole(problem).page())
    frame = Frame(whole(problem), nothing, facts_of(problem), ())
    without = frame.judge(whole(problem), FAR, cuts=0).bound
    having = frame.judge(whole(problem), FAR, cuts=8).bound
    assert without <= having <= best
    assert frame.cuts or without == having


def test_cuts_close_part_of_the_gap() -> None:
    """Over a few grids the cuts raise the sum of the bounds."""
    gained = 0
    for seed in range(6):
        problem = grid(2, 2, 4, seed)
        frame = Frame(whole(problem), nothing, facts_of(problem), ())
        before = frame.judge(whole(problem), FAR, cuts=0).bound
        gained += frame.judge(whole(problem), FAR, cuts=8).bound - before
    assert gained > 0


def test_a_part_judged_in_its_frame_has_the_bound_of_a_fresh_one() -> None:
    """Starting from another basis changes nothing but the way there."""
    problem = grid(2, 2, 4, 1)
    node = whole(problem)
    _, frame, _ = framed(node, FAR, nothing, facts_of(problem))
    assert frame is not None
    wide = [[j for j in k if problem.blocks[b].columns[j].dw >= 0] for b, k in enumerate(node.kept)]
    part = root(0, problem, None, wide)
    fresh = Frame(part, nothing, facts_of(problem), ())
    assert abs(frame.judge(part, FAR, cuts=8).bound - fresh.judge(part, FAR, cuts=8).bound) <= 0.02 * SIDE


def test_cycles_by_hand() -> None:
    """Two cells side by side: level at top and bottom, so they have one height; nothing is said of their widths."""
    found = cycles(grid(2, 1, 2, 0))
    assert [(c.side, c.weights, c.low, c.high) for c in found] == [("h", ((0, 2), (1, -2)), 0, 0)]
    assert [(t.side, t.one, t.other) for t in all_twins(found)] == [("h", 0, 1)]


def test_a_grid_of_four_has_its_outer_cycle() -> None:
    """Two rows of two cells with equal gaps and level ends: both rows are of one width in all."""
    found = cycles(grid(2, 2, 2, 0))
    rows = {tuple(sign * w for _, w in c.weights) for c in found if c.side == "w" for sign in (1, -1)}
    assert (2, 2, -2, -2) in rows


def test_a_cover_by_hand() -> None:
    """A tall cell beside a low one breaks a line; no lower threshold would say so too."""
    cycle = Cycle("h", (1, 2), ((0, 1), (1, -1)), 0, 0)
    shares: dict[tuple[int, Side], tuple[Ladder, Ladder]]
    shares = {(0, "h"): ladders({12_700: 1.0}), (1, "h"): ladders({0: 1.0})}
    assert list(violated(cycle, shares, 1.0)) == []
    (cover,) = violated(cycle, shares, 0.0)
    assert (cover.sign, cover.least) == (1, (12_700, 0))
    problem = grid(2, 1, 2, 0)
    wide = widened(cover, problem, whole(problem).kept)
    assert wide == Cover(cycle, 1, (12_700, 0))


def test_another_scaling_is_not_bounded_by_what_pages_without_one_must_obey() -> None:
    """Second with another scaling demanded: a scaling (1,000) and a division (10,000), not a larger photo (500,000)."""
    one = grid(1, 1, 1, 0)
    drawn, larger = len(one.areas) // 2 + 1, len(one.areas)
    columns = (
        Column(0, photos=(0,), areas=(drawn,)),
        Column(10_000, photos=(0,), areas=(drawn,), kind=2),
        Column(500_000, 12_700, 12_700, (0,), areas=(larger,)),
    )
    problem = scalable(replace(one, blocks=(replace(one.blocks[0], columns=columns),)), 1_000)
    first, second = search([problem], top=2, vary=("scale",), effort=Effort(20.0, None, 0)).pages
    assert (first.solution.cost, first.solution.group, first.proved) == (0, None, True)
    assert (second.solution.cost, second.solution.group, second.proved) == (11_000, 0, True)
