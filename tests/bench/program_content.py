"""What the program of :mod:`tests.bench.program` may choose: what blocks pick, and what has to hold on a page."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Literal

import highspy

from solver.problem import Lit
from tests.bench.pricing import possible, price
from tests.bench.program_rows import Program, one_of, ways_of


def add_blocks(made: Program) -> bool:
    """Add what each block picks, and its place and size; ``False`` when one has nothing to pick."""
    for b, block in enumerate(made.problem.blocks):
        kept = [j for j, c in enumerate(block.columns) if possible(c, made.group)]
        if not kept:
            return False
        pick = {j: made.binary(price(block.columns[j], made.group)) for j in kept}
        made.picks.append(pick)
        made.row(dict.fromkeys(pick.values(), 1.0), 1, 1)
        there = [v for j, v in pick.items() if block.columns[j].present]
        if len(there) in (0, len(pick)):
            made.present.append(bool(there))
        else:
            present = made.add(0, 1)
            made.row({**dict.fromkeys(there, 1.0), present: -1.0}, 0, 0)
            made.present.append(present)
        for axis, bounds in (("x", block.x), ("y", block.y)):
            if bounds != (0, 0):
                made.places[(axis, b)] = made.add(*bounds, whole=True)  # type: ignore[index]
        riding = any(rider.block == b for rider in made.problem.riders)
        kinds: tuple[Literal["w", "h", "f"], ...] = ("w", "h", "f")
        for kind in kinds:
            values = {j: {"w": c.dw, "h": c.dh, "f": c.scale}[kind] for j, c in enumerate(block.columns) if j in pick}
            if any(values.values()) and (kind != "f" or riding):
                size = made.add(min(values.values()), max(values.values()))
                made.row({**{pick[j]: float(v) for j, v in values.items()}, size: -1.0}, 0, 0)
                made.places[(kind, b)] = size
    if made.problem.slide is not None:
        slide = made.add(min(made.problem.slide), max(made.problem.slide))
        ends = {made.binary(): float(value) for value in made.problem.slide}
        made.row(dict.fromkeys(ends, 1.0), 1, 1)
        made.row({**ends, slide: -1.0}, 0, 0)
        made.places[("x", -1)] = made.places[("y", -1)] = slide
    return True


def add_riders(made: Program) -> None:
    """Add whether each rider is there, and what giving it up costs."""
    for number, rider in enumerate(made.problem.riders):
        there = made.binary()
        made.riders.append(there)
        present = made.truth(("block", rider.block, 0)) or ({}, 0.0)
        if rider.chosen:
            columns = made.problem.blocks[rider.block].columns
            listing = [v for j, v in made.picks[rider.block].items() if number in columns[j].riders]
            made.row({**dict.fromkeys(listing, 1.0), there: -1.0}, 0, 0)
            continue
        tied = {k: -c for k, c in present[0].items()}
        made.row({there: 1.0, **tied}, present[1] if rider.drop is None else -highspy.kHighsInf, present[1])
        if rider.drop:
            made.cost[there] -= rider.drop
            for k, c in present[0].items():
                made.cost[k] += rider.drop * c
            made.offset += rider.drop * present[1]


def add_members(made: Program) -> None:
    """Add which page of the class it is."""
    made.members += [made.binary(member.cost) for member in made.problem.members]
    made.row(dict.fromkeys(made.members, 1.0), 1, 1)


def _holders(made: Program, what: Callable[[int, int], Iterable[int]]) -> dict[int, list[int]]:
    found: dict[int, list[int]] = defaultdict(list)
    for b, pick in enumerate(made.picks):
        for j, variable in pick.items():
            for item in what(b, j):
                found[item].append(variable)
    return found


def add_photos(made: Program) -> bool:
    """Add that each photo is held once or left out; ``False`` when one cannot be."""
    problem = made.problem
    holders = _holders(made, lambda b, j: problem.blocks[b].columns[j].photos)
    for photo in range(problem.photos):
        terms = dict.fromkeys(holders[photo], 1.0)
        if problem.leave_out:
            made.left_out.append(made.binary(problem.left_out_cost))
            terms[made.left_out[-1]] = 1.0
        if not terms:
            return False
        made.row(terms, 1, 1)
    if problem.leave_out:
        made.row(dict.fromkeys(made.left_out, 1.0), 0, problem.leave_out)
    return True


def add_texts(made: Program) -> bool:
    """Add that all words are set once; ``False`` when some cannot be."""
    problem = made.problem
    for need in problem.texts:
        wanted = set(need.ids)
        holders = _holders(made, lambda b, j: [1] if wanted & set(problem.blocks[b].columns[j].texts) else [])  # noqa: B023
        if not holders[1]:
            return False
        made.row(dict.fromkeys(holders[1], 1.0), 1, 1)
    return True


def add_clashes(made: Program) -> None:
    """Add that no column is picked beside what it clashes with, nor on a page of the class it does not suit."""
    for b, pick in enumerate(made.picks):
        clashing: dict[tuple[Lit, ...], list[int]] = defaultdict(list)
        masked: dict[int, list[int]] = defaultdict(list)
        for j, variable in pick.items():
            column = made.problem.blocks[b].columns[j]
            for clash in column.clashes:
                clashing[clash].append(variable)
            if column.members != -1:
                masked[column.members].append(variable)
        for clash, columns in clashing.items():
            lits = made.truths(clash)
            if lits is None:
                continue
            terms: dict[int, float] = dict.fromkeys(columns, 1.0)
            for found, _ in lits:
                for k, c in found.items():
                    terms[k] = terms.get(k, 0.0) + c
            made.row(terms, -highspy.kHighsInf, len(lits) - sum(constant for _, constant in lits))
        for mask, columns in masked.items():
            barred = [v for k, v in enumerate(made.members) if not mask >> k & 1]
            if barred:
                made.row(dict.fromkeys([*columns, *barred], 1.0), -highspy.kHighsInf, 1)


def add_rules(made: Program) -> None:
    """Add the rows that hold, and the choices between rows."""
    for rule in made.problem.rules:
        when = made.truths(rule.when)
        for row in rule.rows if when is not None else ():
            made.post(row, when or [])
    for choice in made.problem.choices:
        when = made.truths(choice.when)
        if when is not None:
            made_ways = ways_of(made, choice.options)
            one_of(made, made_ways, when)
