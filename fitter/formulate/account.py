"""The costs of a solution by name, as step 2 counts them, before weighting.

The columns' own terms are taken from their configurations; what depends on places and pairs is evaluated on the
solution's integers.  The checker computes the same terms anew from the written page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from fitter.formulate import rates as r
from fitter.formulate.balance import balance_cost
from fitter.formulate.formulation import Formulation
from fitter.formulate.groups import Rescaling
from fitter.formulate.holes import bare_area, safe_area
from fitter.formulate.members import copies_of
from fitter.formulate.scene import GRID, SLIDE
from fitter.formulate.wished import page_departure
from fitter.units import INCH, divide_nearest
from solver.problem import Lit, Row, Var
from solver.solution import Solution


def terms_of(formulation: Formulation, solution: Solution) -> dict[str, int]:
    """Return what a page costs by name."""
    problem, scene = formulation.problem, formulation.scene
    values = _values(formulation, solution)
    terms: Counter[str] = Counter()
    for number, (options, index) in enumerate(zip(formulation.configs, solution.columns, strict=True)):
        config = options[index]
        terms.update({k: v for k, v in config.terms.items() if k != "resize"})
        terms["resize"] += _resize(formulation, solution, number)
    for rider, there in zip(problem.riders, solution.riders, strict=True):
        block = rider.block
        if not there and not rider.chosen and problem.blocks[block].columns[solution.columns[block]].present:
            terms["drop"] += r.DROP
    scaling = None if solution.group is None else formulation.scalings[solution.group]
    if scaling is not None:
        terms["resize"] += scaling.cost
    terms["shift"] += sum(_shift(formulation, solution, scaling, axis) for axis in (0, 1))
    for soft in problem.softs:
        if all(_true(formulation, solution, lit) for lit in soft.when) and not all(
            _holds(row, values) for row in soft.rows
        ):
            terms[soft.name] += {"alignment": r.ALIGNMENT, "gap": r.GAP}[soft.name]
    for lap in problem.laps:
        if all(_true(formulation, solution, lit) for lit in lap.when):
            sides = [
                min(sum(c * values.get(v, 0) for v, c in expr) + constant for expr, constant in parts)
                for parts in (lap.across, lap.down)
            ]
            if min(sides) > 0:
                terms["overlap"] += divide_nearest(100 * r.OVERLAP_PER_PERCENT * sides[0] * sides[1], lap.per)
    bare = bare_area(scene) - _covered_area(formulation, solution)
    terms["hole"] += divide_nearest(r.HOLE * max(0, bare), safe_area(scene))
    terms["balance"] += _balance(formulation, solution)
    _pairs(formulation, solution, terms)
    member = scene.members[solution.member]
    terms["rotate-page"] += r.ROTATE_PAGE if member.rotate else 0
    terms["mirror-page"] += r.MIRROR_PAGE if member.mirror else 0
    terms["repeat-cluster"] += r.REPEAT_CLUSTER * copies_of(scene)
    terms["departure"] += page_departure(formulation.settings.wishes.start, member)
    terms["left-out"] += r.LEFT_OUT * len(solution.left_out)
    return {name: amount for name, amount in sorted(terms.items()) if amount}


def _shift(formulation: Formulation, solution: Solution, scaling: Rescaling | None, axis: int) -> int:
    """Return what the displacements along an axis cost, the page drifted to where that is least."""
    problem = formulation.problem
    anchored: list[int] = []
    free: list[int] = []
    for number, block in enumerate(problem.blocks):
        if block.columns[solution.columns[number]].present:
            target = (0, 0) if scaling is None else scaling.targets.get(number, (0, 0))
            moved = solution.place("xy"[axis], number) - target[axis]  # type: ignore[arg-type]
            (anchored if block.anchored[axis] else free).append(moved)
    drift = drift_of(free, problem.drift)
    steps = sum(map(abs, anchored)) + sum(abs(moved - drift) for moved in free)
    return divide_nearest((r.SHIFT_PER_INCH * steps + r.DRIFT_PER_INCH * abs(drift)) * GRID, INCH)


def drift_of(moved: Sequence[int], most: int) -> int:
    """Return the drift at which displacements cost least: between the two middle ones, as near to none as can be."""
    places = sorted(moved)
    low, high = (places[(len(places) - 1) // 2], places[len(places) // 2]) if places else (0, 0)
    return min(max(min(max(0, low), high), -most), most)


def _covered_area(formulation: Formulation, solution: Solution) -> int:
    """Return the area the counted blocks and added slots of a page cover."""
    counted = {a.block for a in formulation.scene.counted}
    total = 0
    for atom, options, index in zip(formulation.scene.blocks, formulation.configs, solution.columns, strict=True):
        config = options[index]
        if config.role is not None and (atom.added or atom.block in counted):
            total += config.size[0] * config.size[1]
    return total


def _balance(formulation: Formulation, solution: Solution) -> int:
    """Return what a page pays for being tipped."""
    configs = [options[index] for options, index in zip(formulation.configs, solution.columns, strict=True)]
    sizes = [None if config.role is None else config.size for config in configs]
    places = [(solution.place("x", b), solution.place("y", b)) for b in range(len(configs))]
    return balance_cost(formulation.scene, sizes, places, _slide(solution))


def _slide(solution: Solution) -> int:
    """Return how far the drawing slides, in grid units."""
    return next((v for k, v in solution.places.items() if k[1] == SLIDE), 0)


def _values(formulation: Formulation, solution: Solution) -> Mapping[Var, int]:
    values: dict[Var, int] = dict(solution.places)
    values[("x", SLIDE)] = values[("y", SLIDE)] = _slide(solution)
    for number, index in enumerate(solution.columns):
        column = formulation.problem.blocks[number].columns[index]
        values[("w", number)], values[("h", number)] = column.dw, column.dh
        values[("f", number)] = column.scale
    return values


def _resize(formulation: Formulation, solution: Solution, number: int) -> int:
    config = formulation.configs[number][solution.columns[number]]
    if solution.group is None or config.role is None:
        return config.terms.get("resize", 0)
    target = formulation.scalings[solution.group].sizes.get(number)
    if target is None:
        return config.terms.get("resize", 0)
    return r.rounded(r.RESIZE * sum(abs(a - b) / b for a, b in zip(config.size, target, strict=True)))


def _true(formulation: Formulation, solution: Solution, lit: Lit) -> bool:
    kind, number, _ = lit
    if kind == "block":
        return formulation.problem.blocks[number].columns[solution.columns[number]].present
    if kind == "rider":
        return solution.riders[number]
    raise AssertionError(lit)


def _holds(row: Row, values: Mapping[Var, int]) -> bool:
    total = sum(c * values.get(v, 0) for v, c in row.terms)
    return (row.low is None or total >= row.low) and (row.high is None or total <= row.high)


def _pairs(formulation: Formulation, solution: Solution, terms: Counter[str]) -> None:
    problem = formulation.problem
    ranks, places = {}, {}
    for number, index in enumerate(solution.columns):
        column = problem.blocks[number].columns[index]
        for photo, rank in zip(column.photos, column.areas, strict=True):
            ranks[photo] = rank
            places[photo] = problem.members[solution.member].ranks[number]
    for more, less in problem.emphasis:
        if more in ranks and less in ranks and ranks[more] < ranks[less]:
            terms["emphasis"] += r.EMPHASIS
    for early, late in problem.early:
        if early in places and late in places and places[early] > places[late]:
            terms["order"] += r.ORDER
