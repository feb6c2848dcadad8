"""Where blocks can be at all: ranges of places narrowed by what the rules say of blocks that are surely there.

An absent block's place counts nowhere, so what its own presence would imply may be taken for granted; what two blocks
imply for each other only where the other one is sure to be there.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import replace

from solver.problem import Column, Problem, Row, Rule, Terms, Var, Way

_ROUNDS = 4

Range = tuple[int, int]


def narrow_places(problem: Problem, kept: tuple[tuple[int, ...], ...], taken: Collection[Way] = ()) -> Problem:
    """Return the problem with narrower ranges of places, given which columns are open and which alternatives hold.

    Every page of the problem over these columns stays possible, save that absent blocks may have to stand elsewhere.
    """
    ranges: dict[Var, Range] = {}
    sure = set()
    for b, (block, columns) in enumerate(zip(problem.blocks, kept, strict=True)):
        there = [block.columns[j] for j in columns if block.columns[j].present]
        if not there:
            continue
        if len(there) == len(columns):
            sure.add(b)
        ranges["x", b], ranges["y", b] = block.x, block.y
        ranges.update(_sizes(b, there))
    if problem.slide is not None:
        ranges["x", -1] = ranges["y", -1] = (min(problem.slide), max(problem.slide))
    rows = list(_usable(problem, taken, sure, ranges))
    for _ in range(_ROUNDS):
        changed = [_narrow(row, own, ranges) for row, own in rows]
        if not any(changed):
            break
    blocks = []
    for b, block in enumerate(problem.blocks):
        x, y = ranges.get(("x", b), block.x), ranges.get(("y", b), block.y)
        blocks.append(block if (x, y) == (block.x, block.y) else replace(block, x=x, y=y))
    return replace(problem, blocks=tuple(blocks))


def _sizes(b: int, there: list[Column]) -> Iterator[tuple[Var, Range]]:
    for kind, values in (
        ("w", [c.dw for c in there]),
        ("h", [c.dh for c in there]),
        ("f", [c.scale for c in there]),
    ):
        yield (kind, b), (min(values), max(values))  # type: ignore[misc]


def _usable(
    problem: Problem, taken: Collection[Way], sure: set[int], ranges: dict[Var, Range]
) -> Iterator[tuple[Row, set[int]]]:
    """Yield rows and the blocks whose places each may narrow."""
    chosen = ((problem.choices[number], option) for number, option in sorted(taken))
    for rule in (*problem.rules, *(Rule(c.name, c.options[option], c.when) for c, option in chosen)):
        if any(kind != "block" for kind, _, _ in rule.when):
            continue
        doubtful = {b for _, b, _ in rule.when} - sure
        if len(doubtful) > 1:
            continue
        for row in rule.rows:
            if all(var in ranges for var, _ in row.terms):
                own = doubtful or {var[1] for var, _ in row.terms}
                if {var[1] for var, _ in row.terms} <= sure | doubtful | {-1}:
                    yield row, own


def _narrow(row: Row, own: set[int], ranges: dict[Var, Range]) -> bool:
    """Narrow the places in a row; return whether any changed."""
    changed = False
    for var, coefficient in row.terms:
        if var[0] not in ("x", "y") or var[1] not in own or var[1] < 0:
            continue
        least, most = _others(row.terms, var, ranges)
        low, high = ranges[var]
        if row.high is not None:
            room = row.high - least
            low, high = (
                (low, min(high, room // coefficient)) if coefficient > 0 else (max(low, -(-room // coefficient)), high)
            )
        if row.low is not None:
            need = row.low - most
            low, high = (
                (max(low, -(-need // coefficient)), high) if coefficient > 0 else (low, min(high, need // coefficient))
            )
        if low <= high and (low, high) != ranges[var]:
            ranges[var] = (low, high)
            changed = True
    return changed


def _others(terms: Terms, left_out: Var, ranges: dict[Var, Range]) -> Range:
    """Return the least and the most of a row's other terms."""
    least = most = 0
    for var, coefficient in terms:
        if var == left_out:
            continue
        low, high = ranges[var]
        least += min(coefficient * low, coefficient * high)
        most += max(coefficient * low, coefficient * high)
    return least, most
