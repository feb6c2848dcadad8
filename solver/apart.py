"""How different two pages look, and the rows that keep alternatives apart.

The page distance, in tenths: a quarter turn of the page 5, a half turn 3, mirroring 2; each slot whose role or
division differs 3; another lead photo 3; the same lead photo at least 20 % larger or smaller 2.  Look-alike photos
count as the same.  Alternatives are at least :data:`LEAST` apart.

Where differences are demanded (``vary``), alternatives also differ from every better one in each of these:

* ``rotation`` – the page is turned or mirrored otherwise
* ``roles`` – a slot that is on both pages has another role
* ``slots`` – a slot is on one of the two only, divided otherwise, or has a panel on one only
* ``lead`` – another lead photo
* ``scale`` – another common scaling, or a largest photo at least 20 % larger or smaller
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Collection

from solver.page import PageModel
from solver.problem import Problem
from solver.sheet import negative
from solver.solution import Solution

LEAST = 3
VARIED = ("rotation", "roles", "slots", "lead", "scale")
"""What can be demanded to differ."""
_PANEL = 5000
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
    total = page_turn(problem, member, other, solution.member) + SLOT * _missing(problem, other, solution)
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


def is_apart(problem: Problem, page: Solution, other: Problem, solution: Solution, vary: Collection[str] = ()) -> bool:
    """Whether a page is far enough from an earlier one, and differs from it in all that is demanded."""
    if distance(problem, page.columns, page.member, other, solution) < LEAST:
        return False
    return all(_differ(problem, page, other, solution, aspect) for aspect in vary)


def _differ(problem: Problem, page: Solution, other: Problem, solution: Solution, aspect: str) -> bool:
    if aspect == "rotation":
        return page_turn(problem, page.member, other, solution.member) > 0
    mine, theirs = lead_of(problem, page.columns), lead_of(other, solution.columns)
    if aspect == "lead":
        return mine is not None and theirs is not None and problem.alike[mine[0]] != problem.alike[theirs[0]]
    if aspect == "scale":
        if _scaling(problem, page.group) != _scaling(other, solution.group):
            return True
        if mine is None or theirs is None:
            return False
        here, there = problem.areas[mine[1] - 1], other.areas[theirs[1] - 1]
        return 5 * abs(here - there) >= there
    if aspect == "slots" and _missing(problem, other, solution):
        return True
    return any(
        _kinds_differ(block.columns[index].kind, _kind_of(other, solution, block.name), aspect)
        for block, index in zip(problem.blocks, page.columns, strict=True)
    )


def _kinds_differ(kind: int, twin: int, aspect: str) -> bool:
    """Whether a slot's role (``roles``), or its presence, division or panel (``slots``), is another."""
    if aspect == "roles":
        return bool(kind and twin) and kind % 10 != twin % 10
    return bool(kind) != bool(twin) or (kind % _PANEL // 10, kind >= _PANEL) != (twin % _PANEL // 10, twin >= _PANEL)


def _scaling(problem: Problem, group: int | None) -> str:
    return "" if group is None else problem.groups[group].name


def _missing(problem: Problem, other: Problem, solution: Solution) -> int:
    """Return how many slots of an earlier page no page of a class has, such as those of copies."""
    names = {block.name for block in problem.blocks}
    chosen = zip(other.blocks, solution.columns, strict=True)
    return sum(block.name not in names and block.columns[index].kind > 0 for block, index in chosen)


def _kind_of(problem: Problem, solution: Solution, name: str) -> int:
    for block, index in zip(problem.blocks, solution.columns, strict=True):
        if block.name == name:
            return block.columns[index].kind
    return 0


def keep_apart(page: PageModel, other: Problem, solution: Solution, vary: Collection[str] = ()) -> None:
    """Require a distance of at least :data:`LEAST` from an earlier page, and what is demanded to differ."""
    problem = page.problem
    for aspect in vary:
        _demand(page, other, solution, aspect)
    turns = [page_turn(problem, k, other, solution.member) for k in range(len(problem.members))]
    if min(turns) >= LEAST:
        return
    parts = [(lit, turn) for lit, turn in zip(page.members, turns, strict=True) if turn]
    least = LEAST - SLOT * _missing(problem, other, solution)
    for b, block in enumerate(problem.blocks):
        kind = _kind_of(other, solution, block.name)
        parts += [(var, -SLOT) for j, var in page.columns[b].items() if block.columns[j].kind == kind]
        least -= SLOT
    lead = lead_of(other, solution.columns)
    if lead is not None:
        differs = _another_lead(page, lead)
        parts += [(differs, LEAD), (_resized(page, other, lead, _alike(problem, lead[0])), LEAD_SIZE)]
    page.sheet.row(parts, least, None)


def _demand(page: PageModel, other: Problem, solution: Solution, aspect: str) -> None:
    """Require a difference from an earlier page in one aspect."""
    problem = page.problem
    lead = lead_of(other, solution.columns)
    ways: list[int] = []
    if aspect == "rotation":
        ways += [lit for k, lit in enumerate(page.members) if page_turn(problem, k, other, solution.member)]
    elif aspect == "lead":
        ways += [] if lead is None else [_another_lead(page, lead)]
    elif aspect == "scale":
        if _scaling(problem, page.group) != _scaling(other, solution.group):
            return
        ways += [] if lead is None else [_resized(page, other, lead, list(range(problem.photos)))]
    elif aspect == "slots" and _missing(problem, other, solution):
        return
    else:
        for b, block in enumerate(problem.blocks):
            twin = _kind_of(other, solution, block.name)
            ways += [v for j, v in page.columns[b].items() if _kinds_differ(block.columns[j].kind, twin, aspect)]
    page.sheet.any_of(ways)


def _alike(problem: Problem, photo: int) -> list[int]:
    """Return a photo and its look-alikes."""
    return [p for p in range(problem.photos) if problem.alike[p] == problem.alike[photo]]


def _another_lead(page: PageModel, lead: tuple[int, int]) -> int:
    """Return a literal that, when true, makes the lead photo another one than that of an earlier page."""
    problem, sheet = page.problem, page.sheet
    twins = _alike(problem, lead[0])
    ranks = {p: page.rank(p) for p in range(problem.photos)}
    differs = sheet.flag()
    ways = []
    for photo in range(problem.photos):
        if photo in twins:
            continue
        way = sheet.flag()
        ways.append((way, -1))
        for twin in twins:
            # Of two of one size, the one with the lower number leads.
            sheet.row([*ranks[photo], *negative(ranks[twin])], int(twin < photo), None, [way])
    sheet.row([(differs, 1), *ways], None, 0)
    return differs


def _resized(page: PageModel, other: Problem, lead: tuple[int, int], photos: list[int]) -> int:
    """Return a literal that, when true, makes the largest of some photos 20 % smaller or larger than a lead photo."""
    problem, sheet = page.problem, page.sheet
    ranks = {p: page.rank(p) for p in photos}
    area = other.areas[lead[1] - 1]
    most = bisect_right(problem.areas, (4 * area) // 5)
    least = bisect_left(problem.areas, -(-6 * area // 5)) + 1
    smaller, larger = sheet.flag(), sheet.flag()
    larger_ways = []
    for photo in photos:
        sheet.row(ranks[photo], None, most, [smaller])
        way = sheet.flag()
        larger_ways.append((way, -1))
        sheet.row(ranks[photo], least, None, [way])
    sheet.row([(larger, 1), *larger_ways], None, 0)
    resized = sheet.flag()
    sheet.row([(resized, 1), (smaller, -1), (larger, -1)], None, 0)
    return resized
