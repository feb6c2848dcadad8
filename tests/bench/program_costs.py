"""What pages of the program of :mod:`tests.bench.program` cost beyond what each choice costs by itself.

All costs are stated exactly but one: the price of an overlap goes by area, a product of two lengths.  It is stated from
below, in :data:`PIECES` steps of the shallower side, so that bounds stay bounds; what a page really costs is for the
checker.
"""

from __future__ import annotations

from collections import defaultdict
from typing import Literal

import highspy

from solver.problem import Lap
from tests.bench.pricing import home_of
from tests.bench.program_rows import Program, one_of, ways_of

PIECES = 6
"""Steps in which the shallower side of an overlap is priced."""
UNSTATED = "overlap (bounded from below)"


def add_shifts(made: Program) -> None:
    """Add what the distances of blocks from their homes cost."""
    drift = made.problem.drift
    drifts = [made.add(-drift, drift) for _ in (0, 1)]
    for common in drifts:
        size = made.add(0, drift, cost=made.problem.drift_cost)
        for sign in (1.0, -1.0):
            made.row({size: 1.0, common: -sign}, 0.0, highspy.kHighsInf)
    for b, block in enumerate(made.problem.blocks):
        if not block.shift:
            continue
        here, always = made.truth(("block", b, 0)) or ({}, 0.0)
        for axis, target in enumerate(home_of(block, made.group)):
            place = made.places.get(("xy"[axis], b))  # type: ignore[arg-type]
            low, high = (0, 0) if place is None else (block.x, block.y)[axis]
            own = 0 if block.anchored[axis] else drift
            far = max(abs(low - target), abs(high - target)) + own
            distance = made.add(0, far, cost=block.shift)
            for sign in (1, -1):
                # distance ≥ ±(place − target − drift) − far·(1 − present)
                terms = {distance: 1.0, **{k: -far * c for k, c in here.items()}}
                if place is not None:
                    terms[place] = -float(sign)
                if own:
                    terms[drifts[axis]] = float(sign)
                made.row(terms, -sign * target - far * (1 - always), highspy.kHighsInf)


def add_lines(made: Program) -> None:
    """Add what costs when it does not hold: alignments and gaps."""
    problem = made.problem
    for number, soft in enumerate(problem.softs):
        when = made.truths(soft.when)
        if when is None or not soft.cost:
            continue
        broken = made.binary(soft.cost)
        made.broken[number] = broken
        for row in soft.rows:
            made.post(row, [*when, ({broken: -1.0}, 1.0)])
    for track in problem.tracks:
        if not set(track.softs) <= made.broken.keys():
            continue
        loose = [made.broken[s] for s in track.softs]
        sizes = []
        for b in (track.first, track.second):
            by_size: dict[int, list[int]] = defaultdict(list)
            for j, variable in made.picks[b].items():
                column = problem.blocks[b].columns[j]
                if column.present:
                    by_size[column.dw if track.axis == 0 else column.dh].append(variable)
            sizes.append(by_size)
        for one, other, b in ((sizes[0], sizes[1], track.second), (sizes[1], sizes[0], track.first)):
            here, always = made.truth(("block", b, 0)) or ({}, 0.0)
            for value, columns in one.items():
                terms = {**dict.fromkeys(columns, 1.0), **dict.fromkeys(other.get(value, []), -1.0)}
                terms |= dict.fromkeys(loose, -1.0) | dict(here)
                made.row(terms, -highspy.kHighsInf, 1 - always)


def add_laps(made: Program) -> None:
    """Add what overlaps cost where boxes do not lie apart."""
    for lap in made.problem.laps:
        when = made.truths(lap.when)
        if when is None or not lap.price:
            continue
        ways = ways_of(made, lap.apart)
        ways += _overlaps(made, lap)
        one_of(made, ways, when)


def _overlaps(made: Program, lap: Lap) -> list[int]:
    """Return one way for each step of the shallower side: its far end bounds it, its near end prices the other side."""
    sides = []
    for parts in (lap.across, lap.down):
        side = made.add(0, lap.longest)
        smallest = []
        for terms, constant in parts:
            least = made.binary()
            smallest.append(least)
            # side ≥ terms + constant when this difference is the smallest
            expr = made.expression(terms)
            big = max(0.0, made.span(expr)[1] + constant)
            made.row({side: 1.0, least: -big, **{k: -c for k, c in expr.items()}}, constant - big, highspy.kHighsInf)
        made.row(dict.fromkeys(smallest, 1.0), 1, len(smallest))
        sides.append(side)
    rate = lap.price / lap.per
    cost = made.add(0, rate * lap.longest * lap.deepest + 1, cost=1.0)
    ways = []
    for shallow, long in (sides, sides[::-1]):
        for step in range(PIECES):
            way = made.binary()
            ways.append(way)
            near, far = (lap.deepest * n / PIECES for n in (step, step + 1))
            made.row({shallow: 1.0, way: lap.longest - far}, -highspy.kHighsInf, lap.longest)
            big = rate * near * lap.longest
            made.row({cost: 1.0, long: -rate * near, way: -big}, -big - 0.5, highspy.kHighsInf)
    return ways


def add_bare(made: Program) -> None:
    """Add what uncovered room costs."""
    problem = made.problem
    if not problem.bare:
        return
    hole = made.add(0, problem.bare, cost=1.0)
    terms = {hole: 1.0}
    for b, pick in enumerate(made.picks):
        for j, variable in pick.items():
            column = problem.blocks[b].columns[j]
            if column.cover and column.present:
                terms[variable] = float(column.cover)
    made.row(terms, problem.bare, highspy.kHighsInf)


def add_balance(made: Program) -> None:
    """Add what tipping the page costs."""
    problem = made.problem
    balance = problem.balance
    if balance is None:
        return
    sides: tuple[Literal["x", "y"], ...] = ("x", "y")
    for axis, side in enumerate(sides):
        terms: dict[int, float] = {}
        if (side, -1) in made.places:
            terms[made.places[side, -1]] = float(balance.slide[axis])
        for b, (pick, block) in enumerate(zip(made.picks, problem.blocks, strict=True)):
            terms |= {v: float(block.columns[j].moments[axis]) for j, v in pick.items() if block.columns[j].present}
            place, there = made.places.get((side, b)), made.truth(("block", b, 0))
            if place is None or there is None or not block.swings[axis]:
                continue
            if there[0]:
                # The displacement while the block is there, else 0.
                low, high = min(0.0, made.low[place]), max(0.0, made.high[place])
                counted, (present,) = made.add(low, high), there[0]
                made.row({counted: 1.0, present: -high}, -highspy.kHighsInf, 0)
                made.row({counted: 1.0, present: -low}, 0, highspy.kHighsInf)
                span = high - low
                made.row({counted: 1.0, place: -1.0, present: span}, -highspy.kHighsInf, span)
                made.row({counted: 1.0, place: -1.0, present: -span}, -span, highspy.kHighsInf)
                place = counted
            terms[place] = float(block.swings[axis])
        # In whole units, as the others: rounded to the nearest, so half a unit is allowed besides.
        tipped = made.add(0, highspy.kHighsInf, cost=1.0, whole=True)
        terms = {k: c / balance.per for k, c in terms.items()}
        base, most = balance.base[axis] / balance.per, balance.allowed[axis] / balance.per + 0.5
        made.row({**terms, tipped: -1.0}, -highspy.kHighsInf, most - base)
        made.row({**terms, tipped: 1.0}, -most - base, highspy.kHighsInf)


def add_emphasis(made: Program) -> None:
    """Add what an important photo in a smaller slot costs."""
    problem = made.problem
    if not problem.emphasis_cost:
        return
    most = float(len(problem.areas))
    for more, less in problem.emphasis:
        terms = {made.binary(problem.emphasis_cost): most}
        for sign, photo in ((1.0, more), (-1.0, less)):
            for b, pick in enumerate(made.picks):
                for j, variable in pick.items():
                    column = problem.blocks[b].columns[j]
                    if photo in column.photos:
                        rank = column.areas[column.photos.index(photo)]
                        terms[variable] = terms.get(variable, 0.0) + sign * rank
        for left in (made.left_out[p] for p in (more, less) if made.left_out):
            terms[left] = most
        made.row(terms, 0, highspy.kHighsInf)


def add_order(made: Program) -> None:
    """Add what an early photo that is read late costs, or that there is none."""
    problem = made.problem
    if not problem.early or not (problem.order_cost or problem.ordered):
        return
    most = float(len(problem.blocks))
    ranks = [made.add(0, most) for _ in range(problem.photos)]
    for photo, rank in enumerate(ranks):
        holds = {
            variable: b
            for b, pick in enumerate(made.picks)
            for j, variable in pick.items()
            if photo in problem.blocks[b].columns[j].photos
        }
        for k, member in enumerate(problem.members):
            for sign in (1.0, -1.0):
                terms = {variable: -sign * member.ranks[b] for variable, b in holds.items()}
                terms |= {rank: sign, made.members[k]: most}
                if made.left_out:
                    terms[made.left_out[photo]] = -most
                made.row(terms, -highspy.kHighsInf, most)
    for early, late in problem.early:
        terms = {ranks[early]: 1.0, ranks[late]: -1.0}
        if not problem.ordered:
            terms[made.binary(problem.order_cost)] = -most
        for left in (made.left_out[p] for p in (early, late) if made.left_out):
            terms[left] = -most
        made.row(terms, -highspy.kHighsInf, 0)
