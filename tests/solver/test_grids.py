"""Grids of aligned slots: cuts hold on every page, narrowed places lose none, proofs agree with plain CP-SAT."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from solver import simplex
from solver.agreeing import agreeing
from solver.cutting import facts_of
from solver.cycles import Cover, Cycle, Ladder, Side, cycles, ladders, violated, widened
from solver.frame import Frame, framed
from solver.node import FAR, Node, root
from solver.page import PageModel
from solver.problem import Column, Problem
from solver.ranges import narrow_places
from solver.run import Limits, solve
from solver.search import Effort, search
from solver.sharing import Shares, Twins, all_twins, shared
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


def test_a_simplex_that_goes_round_in_circles_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without any relaxation solved to its end the search still proves the same; it only takes more splits."""
    monkeypatch.setattr(simplex, "PIVOTS_LEAST", 2)
    monkeypatch.setattr(simplex, "PIVOTS_PER_ROW", 0)
    problem = grid(2, 1, 2, 0)
    frame = Frame(whole(problem), nothing, facts_of(problem), ())
    assert frame.judge(whole(problem), FAR).bound == 0
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
    sizes: dict[tuple[int, Side], tuple[int, ...]] = {(0, "h"): (-12_700, 0, 12_700), (1, "h"): (-12_700, 0, 12_700)}
    assert widened(cover, sizes) == Cover(cycle, 1, (12_700, 0))


def test_what_two_cells_share_by_hand() -> None:
    """At each of two heights a photo is in both cells by a third: no row for one height, one for both together."""
    twins = Twins("h", 0, 1, (1, 2))
    third = {(0,): 1 / 3, (1,): 1 / 6}
    held: dict[tuple[int, Side], dict[int, dict[tuple[int, ...], float]]]
    held = {(b, "h"): {0: third, 12_700: third} for b in (0, 1)}
    shares = Shares(held, (1.0, 1.0))
    assert list(shared(twins, shares, 0.3)) == []
    first, second = shared(twins, shares, 0.2)
    assert (first.holder, first.twin, second.holder) == (0, 1, 1)
    assert first.picks == ((0, (0,)), (12_700, (0,)))


def test_cells_of_one_height_agree() -> None:
    """Two cells side by side, both there and level for sure: a height that one has lost is lost to the other."""
    problem = grid(2, 1, 2, 0)
    kept = [[j for j, c in enumerate(b.columns) if c.present] for b in problem.blocks]
    low = [[j for j in kept[0] if problem.blocks[0].columns[j].dh < 12_700], kept[1]]
    level = replace(root(0, problem, None, low), firm=frozenset({1, 2}))
    found = agreeing(level, cycles(problem))
    assert found.kept[0] == tuple(low[0])
    assert {problem.blocks[1].columns[j].dh for j in found.kept[1]} == {-12_700, 0}
    assert agreeing(replace(level, firm=frozenset({1})), cycles(problem)).kept == level.kept


def test_a_cell_that_may_be_gone_holds_no_other_back() -> None:
    """A cell keeps its heights while its neighbour may be dropped; the neighbour keeps those that it shares."""
    problem = grid(2, 1, 2, 0)
    kept = [[j for j, c in enumerate(b.columns) if c.dh < 12_700 or n] for n, b in enumerate(problem.blocks)]
    kept[1] = [j for j in kept[1] if problem.blocks[1].columns[j].present]
    level = replace(root(0, problem, None, kept), firm=frozenset({1, 2}))
    assert agreeing(level, cycles(problem)).kept == level.kept
    flipped = [kept[0], [j for j in kept[1] if problem.blocks[1].columns[j].dh == 0]]
    left = agreeing(replace(level, kept=(tuple(flipped[0]), tuple(flipped[1]))), cycles(problem)).kept[0]
    columns = [problem.blocks[0].columns[j] for j in left]
    assert {c.dh for c in columns if c.present} == {0}
    assert not all(c.present for c in columns)


def best_of(node: Node) -> int | None:
    """Return the cost that CP-SAT proves for a node, if there is a page."""
    result = solve(node.page(), 0, Limits(60.0, None, 0, lambda: False))
    assert result.complete
    return None if result.solution is None else result.solution.cost


def test_agreement_loses_no_page() -> None:
    """With all lines held and a width gone from every cell, the best page is the same before and after sizes agree."""
    lost = 0
    for seed in range(6):
        problem, dice = grid(2, 2, 4, seed), Random(seed)
        kept = []
        for block in problem.blocks:
            gone = dice.choice((-12_700, 0, 12_700))
            kept.append([j for j, c in enumerate(block.columns) if c.present and c.dw != gone])
        level = root(0, problem, None, kept).all_firm()
        found = agreeing(level, cycles(problem))
        lost += level.size - found.size
        assert best_of(level) == (best_of(found) if all(found.kept) else None)
    assert lost > 0


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
