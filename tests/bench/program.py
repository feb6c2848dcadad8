"""The program behind :mod:`tests.bench.mip`: one function per part of a problem, each adding columns and rows.

What may be chosen (:mod:`tests.bench.program_content`) and what a page costs (:mod:`tests.bench.program_costs`) are
added to columns and rows being collected (:mod:`tests.bench.program_rows`).
"""

from __future__ import annotations

from solver.problem import Problem
from tests.bench.program_content import (
    add_blocks,
    add_clashes,
    add_members,
    add_photos,
    add_riders,
    add_rules,
    add_texts,
)
from tests.bench.program_costs import add_balance, add_bare, add_emphasis, add_laps, add_lines, add_order, add_shifts
from tests.bench.program_rows import Program


def program_of(problem: Problem, group: int | None) -> Program | None:
    """Return the whole program, or ``None`` when a block has nothing to pick."""
    made = Program(problem, group)
    if group is not None:
        made.offset += problem.groups[group].cost
    for part in (
        add_blocks,
        add_riders,
        add_members,
        add_photos,
        add_texts,
        add_clashes,
        add_shifts,
        add_rules,
        add_lines,
        add_laps,
    ):
        if part(made) is False:
            return None
    add_bare(made)
    add_balance(made)
    add_emphasis(made)
    add_order(made)
    return made
