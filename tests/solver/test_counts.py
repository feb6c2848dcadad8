"""Splitting by how many photos a block holds: nothing is lost, and it comes before everything else."""

from __future__ import annotations

from dataclasses import replace

import pytest

from solver.branching import Experience, by_count
from solver.node import FAR, Judged, whole_of
from solver.problem import Block, Column, Problem
from solver.prospecting import Prospector
from solver.search import Effort, search
from solver.state import State
from tests.solver.grids import grid


def shared_out(shares: dict[int, float], *, block: int = 1) -> Judged:
    """Return a judged node of a grid of which one block's columns of so many photos have so much in all."""
    problem = grid(2, 1, 2, 0)
    pairs = tuple(Column(9_000, photos=(0, 1), kind=211, dw=w, areas=(1, 1)) for w in (-12_700, 0))
    blocks = list(problem.blocks)
    blocks[block] = replace(blocks[block], columns=blocks[block].columns + pairs)
    node = whole_of(0, replace(problem, blocks=tuple(blocks)))
    values = []
    for b, mine in enumerate(blocks):
        counts = [len(c.photos) for c in mine.columns]
        wanted = shares if b == block else {1: 1.0}
        values.append(tuple(wanted.get(n, 0.0) / counts.count(n) for n in counts))
    return Judged(node, 0, tuple(values))


def counts_of(block: Block, columns: tuple[int, ...]) -> set[int]:
    """Return how many photos some columns of a block hold."""
    return {len(block.columns[j].photos) for j in columns}


def test_a_number_of_photos_that_is_shared_out_is_decided_first() -> None:
    """One part for each number, the likeliest first; together they are the node."""
    judged = shared_out({0: 0.2, 1: 0.5, 2: 0.3})
    node, parts = judged.node, by_count(judged)
    assert node is not None
    block = node.problem.blocks[1]
    assert [counts_of(block, part.kept[1]) for part in parts] == [{1}, {2}, {0}]
    assert sorted(j for part in parts for j in part.kept[1]) == list(node.kept[1])
    assert all(part.kept[0] == node.kept[0] for part in parts)
    assert all(part.depth == node.depth + 1 for part in parts)


def test_a_number_of_photos_that_is_sure_is_not_asked_for() -> None:
    """However the relaxation mixes sizes and photos, whole numbers need no split."""
    assert by_count(shared_out({1: 1.0})) == []
    assert by_count(shared_out({2: 0.995, 0: 0.005})) == []


def test_the_split_of_a_real_relaxation_is_by_numbers_while_they_are_shared_out() -> None:
    """The choice among splits gives these parts, and tries no others on the relaxation."""
    problem = with_pairs(grid(2, 2, 5, 0))
    finder = Prospector(State([problem], 0, None, lambda: False), [], 1_000.0)
    judged, frame = finder.framed(whole_of(0, problem), FAR)
    assert judged.node is not None
    assert frame is not None
    parts = by_count(judged)
    assert len(parts) > 1
    experience = Experience()
    assert experience.choose(judged, frame, FAR) == parts
    assert experience.seen == {}


@pytest.mark.parametrize("seed", range(3))
def test_a_photo_too_many_is_placed_as_well_as_by_trying_every_block_that_may_hold_two(seed: int) -> None:
    """The best page is the best of those in which one given block holds the pair: a second pair costs 150,000 more."""
    problem = with_pairs(grid(2, 2, 5, seed))
    whole = proved(problem)
    parts = []
    for chosen in range(len(problem.blocks)):
        blocks = tuple(
            replace(b, columns=tuple(c for c in b.columns if (len(c.photos) == 2) == (n == chosen)))
            for n, b in enumerate(problem.blocks)
        )
        parts.append(proved(replace(problem, blocks=blocks)))
    assert whole == min(parts)


def with_pairs(problem: Problem) -> Problem:
    """Return a grid each of whose cells may also hold two photos that follow each other."""
    pairs = tuple(
        Column(150_000 + 7_000 * n, kind=211, photos=(n, n + 1), areas=(1, 1)) for n in range(problem.photos - 1)
    )
    return replace(problem, blocks=tuple(replace(b, columns=b.columns + pairs) for b in problem.blocks), leave_out=0)


def proved(problem: Problem) -> int:
    """Return what the best page of a problem costs."""
    (page,) = search([problem], effort=Effort(30.0, None, 0)).pages
    assert page.proved
    return page.solution.cost
