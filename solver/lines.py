"""Alignments and equal gaps: each holds, or costs its price; and what that implies for sizes and shifts."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Collection

from solver.page import PageModel, home_of
from solver.problem import Row
from solver.sheet import ALWAYS, negative


def add_lines(page: PageModel, firm: Collection[int], given_up: Collection[int], *, relaxed: bool = False) -> None:
    """``alignment`` and ``gap``: each costs when broken although all it concerns is there.

    Parameters
    ----------
    firm, given_up
        Numbers of the softs that must hold, and of those whose price is paid in any case.
    relaxed
        Whether it is for a relaxation: without tracks, which come as cuts (:mod:`solver.sharing`) where they matter.
    """
    held: dict[int, list[int]] = {}
    for number, soft in enumerate(page.problem.softs):
        if number in given_up:
            page.sheet.offset += soft.cost
            continue
        when = page.conditions(soft.when)
        if when is None or not soft.cost:
            continue
        if number in firm:
            for row in soft.rows:
                page.post(row, when)
                _shift_or_break(page, row, when, None)
            held[number] = []
            continue
        broken = page.sheet.flag()
        page.broken[number] = broken
        held[number] = [broken]
        page.sheet.charge(broken, soft.cost)
        for row in soft.rows:
            page.post(row, when, broken)
            _shift_or_break(page, row, when, broken)
    if not relaxed:
        _tracks(page, held)


def _tracks(page: PageModel, held: dict[int, list[int]]) -> None:
    """Aligned blocks share a size, value by value: what two alignments imply, stated tightly."""
    for track in page.problem.tracks:
        if track.softs[0] not in held or track.softs[1] not in held:
            continue
        loosened = [(lit, -1) for lit in (*held[track.softs[0]], *held[track.softs[1]])]
        sizes = []
        for block in (track.first, track.second):
            by_size: dict[int, list[tuple[int, int]]] = defaultdict(list)
            for j, var in page.columns[block].items():
                column = page.column(block, j)
                if column.present:
                    by_size[column.dw if track.axis == 0 else column.dh].append((var, 1))
            sizes.append(by_size)
        there = [page.present[b] for b in (track.first, track.second)]
        for one, other, twin in ((sizes[0], sizes[1], there[1]), (sizes[1], sizes[0], there[0])):
            for value, columns in sorted(one.items()):
                page.sheet.row([*columns, *negative(other.get(value, [])), (twin, 1), *loosened], None, 1)


def _drifts(page: PageModel, row: Row) -> bool:
    """Whether a row reads otherwise when what is not anchored in the page drifts."""
    total = {"x": 0, "y": 0}
    for (kind, block), coefficient in row.terms:
        if kind in total and (block < 0 or not page.problem.blocks[block].anchored[kind == "y"]):
            total[kind] += coefficient
    return any(total.values())


def _shift_or_break(page: PageModel, row: Row, when: list[int], broken: int | None) -> None:
    """State an alignment in the distances moved: a change of size is made up by shifts, or the line breaks.

    From ``low ≤ Σ c·place + Σ e·size ≤ high`` and ``|place − target| ≤ distance`` follows
    ``Σ |c|·distance ≥ Σ e·size + Σ c·target − high`` (and the same for the other side).  Sizes vary far less than
    places, so the slack that breaking needs is many times smaller than in the line itself.  Where the page drifts that
    holds for rows in which the drift cancels.
    """
    if page.problem.drift and _drifts(page, row):
        return
    distances: list[tuple[int, int]] = []
    sizes: list[tuple[int, int, int]] = []
    blocks = {lit: b for b, lit in enumerate(page.present) if lit not in (ALWAYS, ~ALWAYS)}
    base = 0
    for var, coefficient in row.terms:
        known = page.places.get(var)
        if var[0] in ("x", "y"):
            distance = page.moved.get(var)
            if distance is None and known is None:
                continue
            if distance is None:
                return
            base += coefficient * home_of(page.problem.blocks[var[1]], page.group)[var[0] == "y"]
            distances.append((distance, abs(coefficient)))
        elif known is not None:
            sizes.append((known, coefficient * page.scales.get(var, 1), var[1]))
    divisor = math.gcd(*(c for _, c in distances), *(c for _, c, _ in sizes))
    if not divisor:
        return
    low, high = page.sheet.low, page.sheet.high
    for sign, bound in ((1, row.high), (-1, None if row.low is None else -row.low)):
        if bound is None:
            continue
        most: dict[int, int] = defaultdict(int)
        for known, c, block in sizes:
            most[block] += max(sign * c * low[known], sign * c * high[known])
        need = -(-(sum(most.values()) + sign * base - bound) // divisor)
        if need <= 0:
            continue
        terms = [(v, c // divisor) for v, c in distances] + [(v, -sign * c // divisor) for v, c, _ in sizes]
        least = -(-(sign * base - bound) // divisor)
        for lit in when:
            # Without this block its own size counts nothing; its domain holds 0 then.
            slack = max(0, -(-(sum(most.values()) - most.get(blocks[lit], 0) + sign * base - bound) // divisor))
            terms.append((lit, -slack))
            least -= slack
        if broken is not None:
            terms.append((broken, need))
        page.sheet.row(terms, least, None)
