"""Splitting by an alternative of a choice: nothing is lost, and it is done where the relaxation takes none of them."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations

import pytest

from solver import branching
from solver.branching import Branch, branches
from solver.frame import Frame
from solver.hunt import Hunt
from solver.node import FAR, Judged, Node, whole_of
from solver.partner import Partner, receive
from solver.problem import Block, Choice, Column, Lit, Member, Problem, Rider, Row, Rule, Way
from solver.prospecting import Prospector
from solver.run import Limits, solve
from solver.search import Effort, search
from solver.state import State
from tests.solver.grids import UNIT, difference, edge

PAGE, SIDE = 254_000, 76_200


def strewn(count: int, seed: int) -> Problem:
    """Return cards that lie on each other as drawn and have to lie apart, on whichever side; each may be dropped."""
    dice = random.Random(seed)
    middles = [(dice.randrange(90, 110) * UNIT, dice.randrange(90, 110) * UNIT) for _ in range(count)]
    blocks, rules, choices = [], [], []
    for n, middle in enumerate(middles):
        sizes = [Column(dice.randrange(5_000) + 60 * d, -d * 2 * UNIT, -d * 2 * UNIT) for d in (0, 10)]
        columns = (Column(90_000, kind=0, present=False), *sizes)
        blocks.append(Block(f"card-{n}", columns, (-100, 100), (-100, 100), 300))
        inside = []
        for axis in (0, 1):
            low, high = 2 * middle[axis] - SIDE, 2 * middle[axis] + SIDE
            inside += [Row(edge(n, axis, -1), -low, None), Row(edge(n, axis, 1), None, 2 * PAGE - high)]
        rules.append(Rule("R1", tuple(inside), (("block", n, 0),)))
    for one, other in combinations(range(count), 2):
        options = []
        for axis in (0, 1):
            for first, second in ((one, other), (other, one)):
                gap = 2 * (middles[second][axis] - middles[first][axis] - SIDE)
                options.append((Row(difference(edge(second, axis, -1), edge(first, axis, 1)), -gap, None),))
        both: tuple[Lit, ...] = (("block", one, 0), ("block", other, 0))
        choices.append(Choice("R3", tuple(options), both))
    return Problem(
        "strewn",
        tuple(blocks),
        (),
        (Member("0", 0, tuple(range(count))),),
        (),
        0,
        (),
        tuple(rules),
        tuple(choices),
        (),
        (),
        rotations=((0, False),),
    )


def finder_of(problem: Problem) -> Prospector:
    """Return somebody to look for pages of a problem."""
    return Prospector(State([problem], 0, None, lambda: False), [], 1_000.0)


def least(node: Node) -> int:
    """Return what the best page in a node costs, by CP-SAT alone; a lot where there is none."""
    if not all(node.kept):
        return FAR
    found = solve(node.page(), 0, Limits(20.0, None, 0, lambda: False))
    assert found.complete
    return FAR if found.solution is None else found.solution.cost


def split(problem: Problem) -> tuple[Judged, Frame, list[Branch]]:
    """Return a judged problem and its splits by choices."""
    judged, frame = finder_of(problem).framed(whole_of(0, problem), FAR)
    assert judged.node is not None and frame is not None
    return judged, frame, [branch for branch in branches(judged, frame.missed(judged)) if branch.key[0] == "way"]


@pytest.mark.parametrize("seed", range(4))
def test_the_parts_of_a_split_hold_every_page(seed: int) -> None:
    """The best of them is the best of all, and each is bounded below what it costs."""
    judged, frame, found = split(strewn(3, seed))
    assert judged.node is not None and found
    whole = least(judged.node)
    for branch in found:
        parts = branch.likelier_first()
        costs = [least(part) for part in parts]
        assert min(costs) == whole
        assert all(frame.judge(part, FAR).bound <= cost for part, cost in zip(parts, costs, strict=True))


def test_an_alternative_taken_holds() -> None:
    """In the part with it two cards lie apart on that side, in the relaxation and in its best page."""
    _, frame, found = split(strewn(3, 0))
    taken, closed = found[0].parts
    (way,) = taken.taken
    assert found[0].key[:2] == ("way", way[0])
    assert closed.closed == {way} and not closed.taken
    assert way not in frame.missed(frame.judge(taken, FAR))
    (row,) = taken.problem.choices[way[0]].options[way[1]]
    solution = solve(taken.page(), 0, Limits(20.0, None, 0, lambda: False)).solution
    assert solution is not None
    columns = [b.columns[j] for b, j in zip(taken.problem.blocks, solution.columns, strict=True)]
    sizes = {("w", b): c.dw for b, c in enumerate(columns)} | {("h", b): c.dh for b, c in enumerate(columns)}
    assert row.low is not None
    assert sum(c * (sizes | solution.places).get(var, 0) for var, c in row.terms) >= row.low


def test_only_what_is_there_and_not_apart_is_asked_for() -> None:
    """Cards drawn apart need no side; cards that the relaxation drops have none; what may be carried is not asked."""
    problem = strewn(2, 1)
    assert split(problem)[2]
    cheap = tuple(replace(b, columns=(replace(b.columns[0], cost=0), *b.columns[1:])) for b in problem.blocks)
    assert not split(replace(problem, blocks=cheap))[2]
    riders = tuple(Rider(f"bloom-{n}", n % 2, 40_000) for n in range(4))
    carried: tuple[Lit, ...] = (*problem.choices[0].when, ("rider", 3, 0))
    assert not split(replace(problem, riders=riders, choices=(replace(problem.choices[0], when=carried),)))[2]
    far = tuple((Row(rows[0].terms, -FAR, None),) for rows in problem.choices[0].options)
    assert not split(replace(problem, choices=(replace(problem.choices[0], options=far),)))[2]


@pytest.mark.parametrize("seed", range(6))
def test_the_search_proves_what_one_model_proves(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """With no part left to CP-SAT until little is open, so that sides are split."""
    asked: list[Way] = []

    def of_choice(node: Node, way: Way) -> Branch:
        asked.append(way)
        return branch_of(node, way)

    branch_of = branching.of_choice
    monkeypatch.setattr("solver.branching.of_choice", of_choice)
    monkeypatch.setattr("solver.hunt.LEAF_COLUMNS", 0)
    problem = strewn(3, seed)
    outcome = search([problem], effort=Effort(20.0, None, 0))
    assert asked and outcome.status == "proved"
    assert outcome.pages[0].solution.cost == least(whole_of(0, problem))


def test_a_part_that_is_given_away_keeps_its_sides() -> None:
    """What is decided of choices goes along to the other worker."""
    problem = strewn(3, 2)
    found = split(problem)[2]
    one, other = (Hunt(State([problem], 0, None, lambda: False), [], 1_000.0) for _ in range(2))
    for part in found[0].parts:
        one.receive(part, ())
    receive(other, Partner(one, 0.0, 1.0).give(FAR, 8))
    assert other.count == 1
    shared = {(node.taken, node.closed) for node, _ in (*one.parts, *other.parts)}
    assert shared == {(node.taken, node.closed) for node in found[0].parts}
