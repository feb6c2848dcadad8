"""The CP-SAT model of one problem: one function per part, each adding rows to a :class:`PageModel`.

Every block picks exactly one column; sizes are sums over the columns chosen, so each block is convex over its true
sizes and costs, and places are a network of differences.  Nothing here chooses parameters or solves.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection, Sequence

from ortools.sat.python import cp_model

from solver.lines import add_lines
from solver.page import LinearExpr, PageModel, home_of, price
from solver.problem import Lit, Problem, Var


def build(
    problem: Problem,
    kept: Sequence[Sequence[int]],
    *,
    group: int | None = None,
    firm: Collection[int] = (),
    given_up: Collection[int] = (),
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
    """
    page = PageModel(problem, tuple(tuple(k) for k in kept), group=group)
    if group is not None:
        page.offset += problem.groups[group].cost
    _blocks(page)
    _riders(page)
    _members(page)
    _photos(page)
    _texts(page)
    _clashes(page)
    _shifts(page)
    _rules(page)
    add_lines(page, firm, given_up)
    _laps(page)
    _bare(page)
    _balance(page)
    _emphasis(page)
    _order(page)
    page.model.minimize(sum(page.objective) + page.offset)
    return page


def _blocks(page: PageModel) -> None:
    """Each block picks exactly one column; its size is that of the column."""
    model, problem = page.model, page.problem
    for b, block in enumerate(problem.blocks):
        choice = {j: model.new_bool_var(f"{block.name}/{j}") for j in page.kept[b]}
        model.add_exactly_one(choice.values())
        page.columns.append(choice)
        prices = {j: price(block.columns[j], page.group) for j in choice}
        page.objective += [prices[j] * var for j, var in choice.items() if prices[j]]
        there = [var for j, var in choice.items() if block.columns[j].present]
        if len(there) == len(choice):
            page.present.append(1)
        elif not there:
            page.present.append(0)
        else:
            present = model.new_bool_var(f"{block.name}/present")
            model.add(sum(there) == present)
            page.present.append(present)
        for axis, bounds in (("x", block.x), ("y", block.y)):
            if bounds != (0, 0):
                page.places[(axis, b)] = model.new_int_var(*bounds, f"{block.name}/{axis}")  # type: ignore[index]
        for kind in ("w", "h", "f"):
            _size(page, b, choice, kind)
    if problem.slide is not None:
        domain = cp_model.Domain.from_values(list(problem.slide))
        slide = model.new_int_var_from_domain(domain, "slide")
        page.places[("x", -1)] = page.places[("y", -1)] = slide


def _size(page: PageModel, b: int, choice: dict[int, cp_model.IntVar], kind: str) -> None:
    block = page.problem.blocks[b]
    base = 0
    values = {}
    for j in choice:
        column = block.columns[j]
        value = {"w": column.dw, "h": column.dh, "f": column.scale}[kind]
        if kind == "f" and not any(r.block == b for r in page.problem.riders):
            return
        values[j] = value
    if kind == "f" and set(values.values()) == {4096}:
        base = 0
    if not any(v != base for v in values.values()):
        return
    divisor = math.gcd(*values.values()) or 1
    domain = cp_model.Domain.from_values(sorted({v // divisor for v in values.values()}))
    var = page.model.new_int_var_from_domain(domain, f"{block.name}/{kind}")
    page.model.add(sum((v // divisor) * choice[j] for j, v in values.items() if v) == var)
    page.places[(kind, b)] = var  # type: ignore[index]
    page.scales[(kind, b)] = divisor  # type: ignore[index]


def _riders(page: PageModel) -> None:
    """A rider is there only with its block; one with words exactly when a column says so."""
    model = page.model
    for number, rider in enumerate(page.problem.riders):
        present = page.present[rider.block]
        if rider.chosen:
            listing = [
                var for j, var in page.columns[rider.block].items() if number in page.column(rider.block, j).riders
            ]
            lit = model.new_bool_var(f"{rider.name}/there")
            model.add(sum(listing) == lit)
            page.riders.append(lit)
            continue
        lit = model.new_bool_var(f"{rider.name}/there")
        page.riders.append(lit)
        if rider.drop is None:
            model.add(lit == present)
            continue
        model.add(lit <= present)
        page.objective += [rider.drop * present, -rider.drop * lit]


def _members(page: PageModel) -> None:
    """One page of the class is chosen."""
    for member in page.problem.members:
        lit = page.model.new_bool_var(f"member {member.name}")
        page.members.append(lit)
        if member.cost:
            page.objective.append(member.cost * lit)
    page.model.add_exactly_one(page.members)


def _photos(page: PageModel) -> None:
    """R4: every photo exactly once, save those left out."""
    model, problem = page.model, page.problem
    holders: list[list[cp_model.IntVar]] = [[] for _ in range(problem.photos)]
    for b, choice in enumerate(page.columns):
        for j, var in choice.items():
            for photo in page.column(b, j).photos:
                holders[photo].append(var)
    for photo, found in enumerate(holders):
        if problem.leave_out:
            left = model.new_bool_var(f"left out {photo}")
            model.add_exactly_one([*found, left])
            page.left_out.append(left)
            page.objective.append(problem.left_out_cost * left)
        elif found:
            model.add_exactly_one(found)
        else:
            model.add_bool_or([])
    if problem.leave_out:
        model.add(sum(page.left_out) <= problem.leave_out)


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
            page.model.add_exactly_one(found)
        else:
            page.model.add_bool_or([])


def _clashes(page: PageModel) -> None:
    """R5 and what else cannot be together; columns of a block with the same clash share a row."""
    problem = page.problem
    for b, choice in enumerate(page.columns):
        groups: dict[tuple[Lit, ...], list[cp_model.IntVar]] = defaultdict(list)
        masks: dict[int, list[cp_model.IntVar]] = defaultdict(list)
        for j, var in choice.items():
            column = page.column(b, j)
            for clash in column.clashes:
                groups[clash].append(var)
            if column.members != -1:
                masks[column.members].append(var)
        for clash, columns in sorted(groups.items()):
            lits = page.conditions(clash)
            if lits is not None:
                page.model.add(sum(columns) + sum(lits) <= len(lits))
        for mask, columns in sorted(masks.items()):
            barred = [page.members[k] for k in range(len(problem.members)) if not mask >> k & 1]
            if barred:
                page.model.add(sum(columns) + sum(barred) <= 1)


def _shifts(page: PageModel) -> None:
    """``shift``: each block's distance from its target place, on both axes."""
    model = page.model
    for b, block in enumerate(page.problem.blocks):
        if not block.shift:
            continue
        present = page.present[b]
        home = home_of(block, page.group)
        variables: tuple[Var, Var] = (("x", b), ("y", b))
        for number, var in enumerate(variables):
            place = page.places.get(var)
            target = home[number]
            if place is None:
                if target:
                    page.objective.append(block.shift * abs(target) * present)
                continue
            bounds = (block.x, block.y)[number]
            farthest = max(abs(bounds[0] - target), abs(bounds[1] - target))
            distance = model.new_int_var(0, farthest, f"{block.name}/{var[0]} moved")
            page.moved[var] = distance
            rows = [model.add(distance >= place - target), model.add(distance >= target - place)]
            if not isinstance(present, int):
                for row in rows:
                    row.only_enforce_if(present)
            page.objective.append(block.shift * distance)


def _rules(page: PageModel) -> None:
    """The hard rules, and the choices among alternatives."""
    for rule in page.problem.rules:
        when = page.conditions(rule.when)
        if when is not None:
            for row in rule.rows:
                page.post(row, when)
    for choice in page.problem.choices:
        when = page.conditions(choice.when)
        if when is None:
            continue
        ways = []
        for number, rows in enumerate(choice.options):
            way = page.model.new_bool_var(f"way {number}")
            ways.append(way)
            for row in rows:
                page.post(row, [way])
        page.model.add_bool_or([*ways, *(lit.negated() for lit in when)])


def _laps(page: PageModel) -> None:
    """``overlap``: decorations lie apart, or overlap at a price by area."""
    model = page.model
    for lap in page.problem.laps:
        when = page.conditions(lap.when)
        if when is None or not lap.price:
            continue
        ways = []
        for number, rows in enumerate(lap.apart):
            way = model.new_bool_var(f"apart {number}")
            ways.append(way)
            for row in rows:
                page.post(row, [way])
        over = model.new_bool_var("overlapping")
        model.add_bool_or([*ways, over, *(lit.negated() for lit in when)])
        sides = []
        for parts in (lap.across, lap.down):
            side = model.new_int_var(0, lap.longest, "side")
            smallest = []
            for terms, constant in parts:
                least = model.new_bool_var("smallest")
                smallest.append(least)
                model.add(side >= page.expr(terms) + constant).only_enforce_if(least, over)
            model.add_bool_or(smallest)
            sides.append(side)
        depth = lap.deepest
        shallow = model.new_bool_var("shallow across")
        model.add(sides[0] <= depth).only_enforce_if(shallow, over)
        model.add(sides[1] <= depth).only_enforce_if(shallow.negated(), over)
        area = model.new_int_var(0, lap.longest * depth, "area")
        product = model.new_int_var(0, lap.longest * lap.longest, "product")
        model.add_multiplication_equality(product, sides)
        model.add(area >= product).only_enforce_if(over)
        cost = model.new_int_var(0, lap.price * lap.longest * depth // lap.per + 1, "overlap cost")
        divisor = math.gcd(lap.per, lap.price)
        model.add(2 * (lap.per // divisor) * cost + lap.per // divisor >= 2 * (lap.price // divisor) * area)
        page.objective.append(cost)


def _bare(page: PageModel) -> None:
    """``hole``: the area covered less than in the reference."""
    problem = page.problem
    if not problem.bare:
        return
    hole = page.model.new_int_var(0, problem.bare, "hole")
    covered = [
        page.column(b, j).cover * var
        for b, choice in enumerate(page.columns)
        for j, var in choice.items()
        if page.column(b, j).cover and page.column(b, j).present
    ]
    page.model.add(hole + sum(covered) >= problem.bare)
    page.objective.append(hole)


def _balance(page: PageModel) -> None:
    """``balance``: the moment of areas about the page's middle beyond what was drawn, on both axes."""
    balance, model = page.problem.balance, page.model
    if balance is None:
        return
    for axis in (0, 1):
        moment: list[LinearExpr] = [
            page.column(b, j).moments[axis] * var
            for b, choice in enumerate(page.columns)
            for j, var in choice.items()
            if page.column(b, j).present and page.column(b, j).moments[axis]
        ]
        slides: tuple[Var, Var] = (("x", -1), ("y", -1))
        slide = page.places.get(slides[axis])
        if slide is not None and balance.slide[axis]:
            moment.append(balance.slide[axis] * slide)
        for b, block in enumerate(page.problem.blocks):
            sides: tuple[Var, Var] = (("x", b), ("y", b))
            place, there = page.places.get(sides[axis]), page.conditions([("block", b, 0)])
            if place is None or there is None or not block.swings[axis]:
                continue
            if there:
                low, high = (block.x, block.y)[axis]
                counted = model.new_int_var(min(0, low), max(0, high), f"{block.name}/{sides[axis][0]} counted")
                model.add(counted == place).only_enforce_if(there)
                model.add(counted == 0).only_enforce_if(there[0].negated())
                place = counted
            moment.append(block.swings[axis] * place)
        tipped = model.new_int_var(0, 2**40, "tipped")
        # Rounded to the nearest: half a unit is allowed besides.
        most = balance.per * tipped + balance.allowed[axis] + balance.per // 2
        model.add(sum(moment) + balance.base[axis] <= most)
        model.add(sum(moment) + balance.base[axis] >= -most)
        page.objective.append(tipped)


def _size_rank(page: PageModel, photo: int) -> list[LinearExpr]:
    found: list[LinearExpr] = []
    for b, choice in enumerate(page.columns):
        for j, var in choice.items():
            column = page.column(b, j)
            if photo in column.photos:
                found.append(column.areas[column.photos.index(photo)] * var)
    return found


def _emphasis(page: PageModel) -> None:
    """``emphasis``: the more important photo should not be the smaller."""
    problem = page.problem
    if not problem.emphasis_cost:
        return
    ranks = {p: sum(_size_rank(page, p)) for pair in problem.emphasis for p in pair}
    for more, less in problem.emphasis:
        wrong = page.model.new_bool_var(f"emphasis {more} {less}")
        page.objective.append(problem.emphasis_cost * wrong)
        conditions = [wrong.negated()]
        if page.left_out:
            conditions += [page.left_out[more].negated(), page.left_out[less].negated()]
        page.model.add(ranks[more] >= ranks[less]).only_enforce_if(conditions)


def _order(page: PageModel) -> None:
    """``order``: earlier photos are read first; with ``assign`` switched off that is binding."""
    problem, model = page.problem, page.model
    if not problem.early or not (problem.order_cost or problem.ordered):
        return
    holds: list[dict[int, list[cp_model.IntVar]]] = [defaultdict(list) for _ in range(problem.photos)]
    for b, choice in enumerate(page.columns):
        for j, var in choice.items():
            for photo in page.column(b, j).photos:
                holds[photo][b].append(var)
    most = len(problem.blocks)
    ranks = []
    for photo in range(problem.photos):
        rank = model.new_int_var(0, most, f"rank {photo}")
        ranks.append(rank)
        for k, member in enumerate(problem.members):
            place = sum(member.ranks[b] * sum(found) for b, found in holds[photo].items() if member.ranks[b])
            row = model.add(rank == place)
            conditions: list[cp_model.LiteralT] = [page.members[k]]
            if page.left_out:
                conditions.append(page.left_out[photo].negated())
            row.only_enforce_if(conditions)
    for early, late in problem.early:
        kept: list[cp_model.LiteralT] = []
        if page.left_out:
            kept = [page.left_out[early].negated(), page.left_out[late].negated()]
        if not problem.ordered:
            wrong = model.new_bool_var(f"order {early} {late}")
            page.objective.append(problem.order_cost * wrong)
            kept.append(wrong.negated())
        row = model.add(ranks[early] <= ranks[late])
        if kept:
            row.only_enforce_if(kept)
