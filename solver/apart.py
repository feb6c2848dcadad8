"""How different two pages look, and the rows that keep alternatives apart.

The page distance, in tenths: a quarter turn of the page 5, a half turn 3, mirroring 2; each slot whose role or
division differs 3; another lead photo 3; the same lead photo at least 20 % larger or smaller 2.  Look-alike photos
count as the same.  Alternatives are at least :data:`LEAST` apart.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right

from ortools.sat.python import cp_model

from solver.page import PageModel
from solver.problem import Problem
from solver.solution import Solution

LEAST = 3
QUARTER, HALF, MIRROR, SLOT, LEAD, LEAD_SIZE = 5, 3, 2, 3, 3, 2


def page_turn(problem: Problem, member: int, other: Problem, other_member: int) -> int:
    """Return the part of the distance that rotation and mirroring make."""
    (a, mirror_a), (b, mirror_b) = problem.rotations[member], other.rotations[other_member]
    turn = (a - b) % 360
    return {0: 0, 180: HALF}.get(turn, QUARTER) + (MIRROR if mirror_a != mirror_b else 0)


def lead_of(problem: Problem, columns: tuple[int, ...]) -> tuple[int, int] | None:
    """Return the lead photo (the largest; of several the lowest number) and its area's rank."""
    best: tuple[int, int] | None = None
    for block, index in zip(problem.blocks, columns, strict=True):
        column = block.columns[index]
        for photo, rank in zip(column.photos, column.areas, strict=True):
            if best is None or (rank, -photo) > (best[1], -best[0]):
                best = (photo, rank)
    return best


def distance(problem: Problem, columns: tuple[int, ...], member: int, other: Problem, solution: Solution) -> int:
    """Return the page distance, in tenths, between a page and a solution (of any class of the same page)."""
    total = page_turn(problem, member, other, solution.member)
    for block, index in zip(problem.blocks, columns, strict=True):
        kind = block.columns[index].kind
        twin = _kind_of(other, solution, block.name)
        total += SLOT if kind != twin else 0
    mine, theirs = lead_of(problem, columns), lead_of(other, solution.columns)
    if mine is None or theirs is None:
        return total + (LEAD if mine is not theirs else 0)
    if problem.alike[mine[0]] != problem.alike[theirs[0]]:
        return total + LEAD
    here, there = problem.areas[mine[1] - 1], other.areas[theirs[1] - 1]
    return total + (LEAD_SIZE if 5 * abs(here - there) >= there else 0)


def _kind_of(problem: Problem, solution: Solution, name: str) -> int:
    for block, index in zip(problem.blocks, solution.columns, strict=True):
        if block.name == name:
            return block.columns[index].kind
    return 0


def keep_apart(page: PageModel, other: Problem, solution: Solution) -> None:
    """Require a distance of at least :data:`LEAST` from an earlier page."""
    problem, model = page.problem, page.model
    parts: list[cp_model.LinearExprT] = [
        turn * lit for k, lit in enumerate(page.members) if (turn := page_turn(problem, k, other, solution.member))
    ]
    if all(page_turn(problem, k, other, solution.member) >= LEAST for k in range(len(problem.members))):
        return
    for b, block in enumerate(problem.blocks):
        kind = _kind_of(other, solution, block.name)
        same = [var for j, var in page.columns[b].items() if block.columns[j].kind == kind]
        parts.append(SLOT * (1 - sum(same)))
    lead = lead_of(other, solution.columns)
    if lead is not None:
        parts += _lead_parts(page, other, lead)
    model.add(sum(parts) >= LEAST)


def _lead_parts(page: PageModel, other: Problem, lead: tuple[int, int]) -> list[cp_model.LinearExprT]:
    """Return the parts for another lead photo, and for the same lead photo at another size."""
    problem, model = page.problem, page.model
    family = problem.alike[lead[0]]
    ranks = {p: _rank(page, p) for p in range(problem.photos)}
    twins = [p for p in range(problem.photos) if problem.alike[p] == family]
    differs = model.new_bool_var("another lead")
    ways = []
    for photo in range(problem.photos):
        if problem.alike[photo] == family:
            continue
        way = model.new_bool_var(f"lead {photo}")
        ways.append(way)
        for twin in twins:
            model.add(ranks[photo] >= ranks[twin] + 1).only_enforce_if(way)
    if ways:
        model.add(differs <= sum(ways))
    else:
        model.add(differs == 0)
    area = other.areas[lead[1] - 1]
    most = bisect_right(problem.areas, (4 * area) // 5)
    least = bisect_left(problem.areas, -(-6 * area // 5)) + 1
    smaller, larger = model.new_bool_var("lead smaller"), model.new_bool_var("lead larger")
    for twin in twins:
        model.add(ranks[twin] <= most).only_enforce_if(smaller)
    larger_ways = []
    for twin in twins:
        way = model.new_bool_var(f"larger {twin}")
        larger_ways.append(way)
        model.add(ranks[twin] >= least).only_enforce_if(way)
    model.add(larger <= sum(larger_ways))
    resized = model.new_bool_var("lead resized")
    model.add(resized <= smaller + larger)
    return [LEAD * differs, LEAD_SIZE * resized]


def _rank(page: PageModel, photo: int) -> cp_model.LinearExprT:
    found = []
    for b, choice in enumerate(page.columns):
        for j, var in choice.items():
            column = page.column(b, j)
            if photo in column.photos:
                found.append(column.areas[column.photos.index(photo)] * var)
    return sum(found)
