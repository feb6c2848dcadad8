"""Small grids of photos as the solver sees them: sizes, alignments and gaps by hand, costs drawn from a seed."""

from __future__ import annotations

import random
from dataclasses import replace
from itertools import combinations

from solver.problem import Block, Column, Group, Member, Problem, Row, Rule, Soft, Terms, Track, Var

SIDE, GAP, UNIT = 76_200, 6_350, 1_270
"""Cells and gaps in micrometres; places are in steps of half a unit."""


def edge(block: int, axis: int, sign: int) -> Terms:
    """Return twice the displacement of a block's near (-1) or far (1) edge, micrometres."""
    place: Var = ("x", block) if axis == 0 else ("y", block)
    size: Var = ("w", block) if axis == 0 else ("h", block)
    return ((place, UNIT), (size, sign))


def difference(one: Terms, other: Terms) -> Terms:
    """Return one expression less another."""
    return (*one, *((var, -c) for var, c in other))


def grid(columns: int, rows: int, photos: int, seed: int) -> Problem:
    """Return a page of cells in columns and rows, each of which holds a photo or is dropped."""
    dice = random.Random(seed)
    changes = (-12_700, 0, 12_700)
    areas = sorted({(SIDE + w) * (SIDE + h) for w in changes for h in changes})
    blocks = []
    for n in range(columns * rows):
        listed = [Column(40_000, kind=0, present=False)]
        for photo in range(photos):
            wide, tall = dice.choice(changes), dice.choice(changes)
            for w in changes:
                for h in changes:
                    rank = areas.index((SIDE + w) * (SIDE + h)) + 1
                    steps = (abs(w - wide) + abs(h - tall)) // 12_700
                    listed.append(Column(10_000 * steps + dice.randrange(5_000), w, h, (photo,), areas=(rank,)))
        blocks.append(Block(f"cell-{n}", tuple(listed), (-60, 60), (-60, 60), 300))
    cells = [(n % columns, n // columns) for n in range(columns * rows)]
    rules, softs, tracks = [], [], []
    for n, cell in enumerate(cells):
        bounds = [
            Row(edge(n, axis, sign), -30_000 if sign < 0 else None, 30_000 if sign > 0 else None)
            for axis in (0, 1)
            for sign in (-1, 1)
            if cell[axis] == (0 if sign < 0 else (columns, rows)[axis] - 1)
        ]
        rules.append(Rule("R1", tuple(bounds), (("block", n, 0),)))
    for (one, a), (other, b) in combinations(enumerate(cells), 2):
        both = (("block", one, 0), ("block", other, 0))
        for axis in (0, 1):
            if abs(a[axis] - b[axis]) == 1 and a[1 - axis] == b[1 - axis]:
                apart = difference(edge(other, axis, -1), edge(one, axis, 1))
                rules.append(Rule("R3", (Row(apart, -2 * (GAP - 1_600), None),), both))
                softs.append(Soft("gap", 30_000, (Row(apart, 0, 0),), both))
                pair = (len(softs), len(softs) + 1)
                for sign in (-1, 1):
                    across = difference(edge(one, 1 - axis, sign), edge(other, 1 - axis, sign))
                    softs.append(Soft("alignment", 90_000, (Row(across, -1_000, 1_000),), both))
                tracks.append(Track(1 - axis, one, other, pair))
    return Problem(
        "grid",
        tuple(blocks),
        (),
        (Member("0", 0, tuple(range(len(blocks)))),),
        (),
        photos,
        (),
        tuple(rules),
        (),
        tuple(softs),
        (),
        tuple(tracks),
        areas=tuple(areas),
        alike=tuple(range(photos)),
        rotations=((0, False),),
    )


def scalable(problem: Problem, cost: int) -> Problem:
    """Return the problem with a common scaling that changes no column and only costs."""
    blocks = (
        replace(b, columns=tuple(replace(c, gains=(0,)) for c in b.columns), targets=((0, 0),)) for b in problem.blocks
    )
    return replace(problem, blocks=tuple(blocks), groups=(Group("all", cost),))
