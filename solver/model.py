"""The model of one problem: one function per part, each adding rows to a :class:`PageModel`.

Every block picks exactly one column; sizes are sums over the columns chosen, so each block is convex over its true
sizes and costs, and places are a network of differences.  Nothing here chooses parameters or solves.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Iterable, Sequence

from solver.lines import add_lines
from solver.page import PageModel, home_of, price
from solver.problem import Lit, Problem, Var, Way
from solver.sheet import ALWAYS, Sum, negative


def build(
    problem: Problem,
    kept: Sequence[Sequence[int]],
    *,
    group: int | None = None,
    firm: Collection[int] = (),
    given_up: Collection[int] = (),
    taken: Collection[Way] = (),
    closed: Collection[Way] = (),
    relaxed: bool = False,
) -> PageModel:
    """Return the model of a problem over some of its columns.

    Parameters
    ----------
    kept
        Per block, the indices of the columns to offer.
    group
        The common scaling that is applied, if any; columns it forbids must not be among those kept.
    firm, given_up
        Numbers of the alignments and gaps that must hold, and of those whose price is paid in any case.
    taken, closed
        Alternatives of choices that hold, and those that are left to the others of their choice.
    relaxed
        Whether it is for a relaxation: without a light :class:`~solver.problem.Balance`, without tracks, and without
        reading order unless that is binding.
    """
    page = PageModel(problem, tuple(tuple(k) for k in kept), group=group)
    if group is not None:
        page.sheet.offset += problem.groups[group].cost
    _blocks(page)
    _riders(page)
    _members(page)
    _photos(page)
    _texts(page)
    _clashes(page)
    _shifts(page)
    _rules(page)
    _choices(page, taken, closed)
    add_lines(page, firm, given_up, relaxed=relaxed)
    _laps(page)
    _bare(page)
    if not (relaxed and problem.balance is not None and problem.balance.light):
        _balance(page)
    _emphasis(page)
    if not relaxed or problem.ordered:
        _order(page)
    return page


def _blocks(page: PageModel) -> None:
    """Each block picks exactly one column; its size is that of the column."""
    sheet, problem = page.sheet, page.problem
    for b, block in enumerate(problem.blocks):
        choice = {j: sheet.flag() for j in page.kept[b]}
        sheet.exactly_one(choice.values())
        page.columns.append(choice)
        for j, var in choice.items():
            cost = price(block.columns[j], page.group)
            if cost:
                sheet.charge(var, cost)
        there = [var for j, var in choice.items() if block.columns[j].present]
        if len(there) == len(choice):
            page.present.append(ALWAYS)
        elif not there:
            page.present.append(~ALWAYS)
        else:
            present = sheet.flag()
            sheet.row([*_each(there), (present, -1)], 0, 0)
            page.present.append(present)
        for axis, bounds in (("x", block.x), ("y", block.y)):
            if bounds != (0, 0):
                page.places[(axis, b)] = sheet.number(*bounds)  # type: ignore[index]
        for kind in ("w", "h", "f"):
            _size(page, b, choice, kind)
    if problem.slide is not None:
        page.places[("x", -1)] = page.places[("y", -1)] = sheet.among(problem.slide)


def _each(literals: Iterable[int], coefficient: int = 1) -> Sum:
    """Return the sum of some literals."""
    return [(lit, coefficient) for lit in literals]


def _size(page: PageModel, b: int, choice: dict[int, int], kind: str) -> None:
    block = page.problem.blocks[b]
    if kind == "f" and not any(r.block == b for r in page.problem.riders):
        return
    columns = block.columns
    if kind == "w":
        values = {j: columns[j].dw for j in choice}
    elif kind == "h":
        values = {j: columns[j].dh for j in choice}
    else:
        values = {j: columns[j].scale for j in choice}
    if not any(values.values()):
        return
    divisor = math.gcd(*values.values()) or 1
    var = page.sheet.among([v // divisor for v in values.values()])
    page.sheet.row([*((choice[j], v // divisor) for j, v in values.items() if v), (var, -1)], 0, 0)
    page.places[(kind, b)] = var  # type: ignore[index]
    page.scales[(kind, b)] = divisor  # type: ignore[index]


def _riders(page: PageModel) -> None:
    """A rider is there only with its block; one with words exactly when a column says so."""
    sheet = page.sheet
    for number, rider in enumerate(page.problem.riders):
        present = page.present[rider.block]
        lit = sheet.flag()
        page.riders.append(lit)
        if rider.chosen:
            listing = [
                var for j, var in page.columns[rider.block].items() if number in page.column(rider.block, j).riders
            ]
            sheet.row([*_each(listing), (lit, -1)], 0, 0)
        elif rider.drop is None:
            sheet.row([(lit, 1), (present, -1)], 0, 0)
        else:
            sheet.row([(lit, 1), (present, -1)], None, 0)
            sheet.charge(present, rider.drop)
            sheet.charge(lit, -rider.drop)


def _members(page: PageModel) -> None:
    """One page of the class is chosen."""
    for member in page.problem.members:
        lit = page.sheet.flag()
        page.members.append(lit)
        if member.cost:
            page.sheet.charge(lit, member.cost)
    page.sheet.exactly_one(page.members)


def _photos(page: PageModel) -> None:
    """R4: every photo exactly once, save those left out."""
    sheet, problem = page.sheet, page.problem
    holders: list[list[int]] = [[] for _ in range(problem.photos)]
    for b, choice in enumerate(page.columns):
        columns = problem.blocks[b].columns
        for j, var in choice.items():
            for photo in columns[j].photos:
                holders[photo].append(var)
    for found in holders:
        if problem.leave_out:
            left = sheet.flag()
            sheet.exactly_one([*found, left])
            page.left_out.append(left)
            sheet.charge(left, problem.left_out_cost)
        elif found:
            sheet.exactly_one(found)
        else:
            sheet.any_of([])
    if problem.leave_out:
        sheet.row(_each(page.left_out), None, problem.leave_out)


def _texts(page: PageModel) -> None:
    """R4: all words are set, each exactly once."""
    for need in page.problem.texts:
        found = [
            var
            for b, choice in enumerate(page.columns)
            for j, var in choice.items()
            if any(text in need.ids for text in page.column(b, j).texts)
        ]
        if found:
            page.sheet.exactly_one(found)
        else:
            page.sheet.any_of([])


def _clashes(page: PageModel) -> None:
    """R5 and what else cannot be together; columns of a block with the same clash share a row."""
    problem = page.problem
    for b, choice in enumerate(page.columns):
        groups: dict[tuple[Lit, ...], list[int]] = defaultdict(list)
        masks: dict[int, list[int]] = defaultdict(list)
        for j, var in choice.items():
            column = page.column(b, j)
            for clash in column.clashes:
                groups[clash].append(var)
            if column.members != -1:
                masks[column.members].append(var)
        for clash, columns in sorted(groups.items()):
            lits = page.conditions(clash)
            if lits is not None:
                page.sheet.row(_each([*columns, *lits]), None, len(lits))
        for mask, columns in sorted(masks.items()):
            barred = [page.members[k] for k in range(len(problem.members)) if not mask >> k & 1]
            if barred:
                page.sheet.row(_each([*columns, *barred]), None, 1)


def _drift(page: PageModel) -> int:
    """Return how far the page drifts along an axis, and charge it."""
    sheet, most = page.sheet, page.problem.drift
    drift, size = sheet.number(-most, most), sheet.number(0, most)
    sheet.row([(size, 1), (drift, -1)], 0, None)
    sheet.row([(size, 1), (drift, 1)], 0, None)
    sheet.charge(size, page.problem.drift_cost)
    page.drifts.append(drift)
    return drift


def _shifts(page: PageModel) -> None:
    """``shift``: each block's distance from its target place, on both axes, wherever the page drifts."""
    sheet, drift = page.sheet, page.problem.drift
    drifts = [_drift(page) if drift else None for _ in (0, 1)]
    for b, block in enumerate(page.problem.blocks):
        if not block.shift:
            continue
        present = page.present[b]
        home = home_of(block, page.group)
        variables: tuple[Var, Var] = (("x", b), ("y", b))
        for number, var in enumerate(variables):
            place = page.places.get(var)
            target = home[number]
            common = None if block.anchored[number] else drifts[number]
            if place is None and common is None:
                if target:
                    sheet.charge(present, block.shift * abs(target))
                continue
            bounds = (0, 0) if place is None else (block.x, block.y)[number]
            farthest = max(abs(bounds[0] - target), abs(bounds[1] - target))
            distance = sheet.number(0, farthest + (0 if common is None else drift))
            ahead = [(v, c) for v, c in ((place, 1), (common, -1)) if v is not None]
            page.moved[var] = distance
            sheet.row([(distance, 1), *negative(ahead)], -target, None, [present])
            sheet.row([(distance, 1), *ahead], target, None, [present])
            sheet.charge(distance, block.shift)


def _rules(page: PageModel) -> None:
    """The hard rules."""
    for rule in page.problem.rules:
        when = page.conditions(rule.when)
        if when is not None:
            for row in rule.rows:
                page.post(row, when)


def _choices(page: PageModel, taken: Collection[Way], closed: Collection[Way]) -> None:
    """The choices among alternatives: where one is taken, its rows hold."""
    for number, choice in enumerate(page.problem.choices):
        when = page.conditions(choice.when)
        if when is None:
            continue
        decided = [option for option in range(len(choice.options)) if (number, option) in taken]
        for option in decided:
            for row in choice.options[option]:
                page.post(row, when)
        if decided:
            continue
        ways = []
        for option, rows in enumerate(choice.options):
            if (number, option) in closed:
                continue
            way = page.sheet.flag()
            ways.append(way)
            page.ways[number, option] = way
            for row in rows:
                page.post(row, [way])
        page.sheet.any_of([*ways, *(~lit for lit in when)])


def _laps(page: PageModel) -> None:
    """``overlap``: decorations lie apart, or overlap at a price by area."""
    sheet = page.sheet
    for lap in page.problem.laps:
        when = page.conditions(lap.when)
        if when is None or not lap.price:
            continue
        ways = []
        for rows in lap.apart:
            way = sheet.flag()
            ways.append(way)
            for row in rows:
                page.post(row, [way])
        over = sheet.flag()
        sheet.any_of([*ways, over, *(~lit for lit in when)])
        sides = []
        for parts in (lap.across, lap.down):
            side = sheet.number(0, lap.longest)
            smallest = []
            for terms, constant in parts:
                least = sheet.flag()
                smallest.append(least)
                sheet.row([(side, 1), *((v, -c) for v, c in page.expr(terms))], constant, None, [least, over])
            sheet.any_of(smallest)
            sides.append(side)
        depth = lap.deepest
        shallow = sheet.flag()
        sheet.row([(sides[0], 1)], None, depth, [shallow, over])
        sheet.row([(sides[1], 1)], None, depth, [~shallow, over])
        area = sheet.number(0, lap.longest * depth)
        product = sheet.number(0, lap.longest * lap.longest)
        sheet.product(product, sides[0], sides[1])
        sheet.row([(area, 1), (product, -1)], 0, None, [over])
        cost = sheet.number(0, lap.price * lap.longest * depth // lap.per + 1)
        divisor = math.gcd(lap.per, lap.price)
        half = lap.per // divisor
        sheet.row([(cost, 2 * half), (area, -2 * (lap.price // divisor))], -half, None)
        sheet.charge(cost, 1)


def _bare(page: PageModel) -> None:
    """``hole``: the area covered less than in the reference."""
    problem = page.problem
    if not problem.bare:
        return
    hole = page.sheet.number(0, problem.bare)
    covered = [
        (var, column.cover)
        for b, choice in enumerate(page.columns)
        for j, var in choice.items()
        if (column := page.column(b, j)).cover and column.present
    ]
    page.sheet.row([(hole, 1), *covered], problem.bare, None)
    page.sheet.charge(hole, 1)


def _balance(page: PageModel) -> None:
    """``balance``: the moment of areas about the page's middle beyond what was drawn, on both axes."""
    sheet, balance = page.sheet, page.problem.balance
    if balance is None:
        return
    for axis in (0, 1):
        moment = [
            (var, column.moments[axis])
            for b, choice in enumerate(page.columns)
            for j, var in choice.items()
            if (column := page.column(b, j)).moments[axis] and column.present
        ]
        slides: tuple[Var, Var] = (("x", -1), ("y", -1))
        if slides[axis] in page.places and balance.slide[axis]:
            moment.append((page.places[slides[axis]], balance.slide[axis]))
        for b, block in enumerate(page.problem.blocks):
            sides: tuple[Var, Var] = (("x", b), ("y", b))
            place, present = page.places.get(sides[axis]), page.present[b]
            if place is None or not block.swings[axis] or present == ~ALWAYS:
                continue
            if present != ALWAYS:
                # Its displacement while it is there, else 0.
                counted = sheet.number(min(0, sheet.low[place]), max(0, sheet.high[place]))
                sheet.row([(counted, 1), (place, -1)], 0, 0, [present])
                sheet.row([(counted, 1)], 0, 0, [~present])
                place = counted
            moment.append((place, block.swings[axis]))
        farthest = abs(balance.base[axis]) + sum(abs(c) * max(-sheet.low[v], sheet.high[v]) for v, c in moment)
        total, tipped = sheet.number(-farthest, farthest), sheet.number(0, farthest // balance.per + 1)
        sheet.row([*moment, (total, -1)], -balance.base[axis], -balance.base[axis])
        # Rounded to the nearest: half a unit is free.
        free = balance.allowed[axis] + balance.per // 2
        sheet.row([(total, 1), (tipped, -balance.per)], None, free)
        sheet.row([(total, 1), (tipped, balance.per)], -free, None)
        sheet.charge(tipped, 1)


def _emphasis(page: PageModel) -> None:
    """``emphasis``: the more important photo should not be the smaller."""
    problem = page.problem
    if not problem.emphasis_cost:
        return
    ranks = {p: page.rank(p) for pair in problem.emphasis for p in pair}
    for more, less in problem.emphasis:
        wrong = page.sheet.flag()
        page.sheet.charge(wrong, problem.emphasis_cost)
        conditions = [~wrong]
        if page.left_out:
            conditions += [~page.left_out[more], ~page.left_out[less]]
        page.sheet.row([*ranks[more], *negative(ranks[less])], 0, None, conditions)


def _order(page: PageModel) -> None:
    """``order``: earlier photos are read first; with ``assign`` switched off that is binding."""
    problem, sheet = page.problem, page.sheet
    if not problem.early or not (problem.order_cost or problem.ordered):
        return
    holds: list[dict[int, list[int]]] = [defaultdict(list) for _ in range(problem.photos)]
    for b, choice in enumerate(page.columns):
        for j, var in choice.items():
            for photo in page.column(b, j).photos:
                holds[photo][b].append(var)
    most = len(problem.blocks)
    ranks = []
    for photo in range(problem.photos):
        rank = sheet.number(0, most)
        ranks.append(rank)
        for k, member in enumerate(problem.members):
            place = [(var, -member.ranks[b]) for b, found in holds[photo].items() if member.ranks[b] for var in found]
            conditions = [page.members[k]]
            if page.left_out:
                conditions.append(~page.left_out[photo])
            sheet.row([(rank, 1), *place], 0, 0, conditions)
    for early, late in problem.early:
        kept = [~page.left_out[early], ~page.left_out[late]] if page.left_out else []
        if not problem.ordered:
            wrong = sheet.flag()
            sheet.charge(wrong, problem.order_cost)
            kept.append(~wrong)
        sheet.row([(ranks[early], 1), (ranks[late], -1)], None, 0, kept)
