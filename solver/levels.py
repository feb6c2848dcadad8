"""Sizes reached: per block and side, how much of it is at least as wide or tall as each size on offer.

These sums keep the rows that speak of sizes short: without them every row would list most columns of its blocks.
"""

from __future__ import annotations

from bisect import bisect_left
from collections import defaultdict
from dataclasses import dataclass

from solver.cutting import SIDES, Cut
from solver.cycles import Cover, Side, change
from solver.page import PageModel
from solver.relax import Relaxation, RelaxedRow
from solver.sharing import Sharing

Listed = dict[int, list[tuple[int, tuple[int, ...]]]]
"""By size change: the columns that are there, each its variable and its photos."""


@dataclass(frozen=True)
class Levels:
    """Variables for "there, and its size change is at least this", by block and side; sizes ascend."""

    page: PageModel
    columns: dict[tuple[int, Side], Listed]
    sizes: dict[tuple[int, Side], tuple[int, ...]]
    variables: dict[tuple[int, Side], tuple[int, ...]]

    def at_least(self, block: int, side: Side, size: int, coefficient: int) -> dict[int, int]:
        """Return the term for reaching a size; none if no column does."""
        position = bisect_left(self.sizes[block, side], size)
        variables = self.variables[block, side]
        return {variables[position]: coefficient} if position < len(variables) else {}

    def there(self, block: int, side: Side, coefficient: int) -> dict[int, int]:
        """Return the term for being there at all."""
        variables = self.variables[block, side]
        return {variables[0]: coefficient} if variables else {}

    def row(self, cut: Cut) -> RelaxedRow:
        """Return the row that states a cut."""
        broken = self.page.broken
        terms: dict[int, int] = defaultdict(int)
        for number in cut.lines:
            if number in broken:
                terms[broken[number]] -= 1
        most = self._cover(cut, terms) if isinstance(cut, Cover) else self._sharing(cut, terms)
        kept = {v: c for v, c in terms.items() if c}
        return RelaxedRow(tuple(kept), tuple(kept.values()), None, most)

    def _cover(self, cut: Cover, terms: dict[int, int]) -> int:
        """Not all blocks reach their thresholds."""
        side = cut.cycle.side
        for (block, weight), least in zip(cut.cycle.weights, cut.least, strict=True):
            signed = cut.sign * weight
            if signed > 0:
                _add(terms, self.at_least(block, side, -(-least // signed), 1))
                continue
            if signed == 0 and least > 0:
                continue
            _add(terms, self.there(block, side, 1))
            if signed < 0:
                # "at most q" is there, but not at least q + 1.
                _add(terms, self.at_least(block, side, least // signed + 1, -1))
        return len(cut.cycle.weights) - 1

    def _sharing(self, cut: Sharing, terms: dict[int, int]) -> int:
        """The holder has the photos at a size: its twin is not there, or has that size without any of them."""
        side, twin = cut.twins.side, cut.twin
        for size, photos in cut.picks:
            named = set(photos)
            self._add_size(terms, twin, side, size, -1)
            if not named:
                self._add_size(terms, cut.holder, side, size, 1)
                continue
            for var, held in self.columns[cut.holder, side].get(size, ()):
                if named.issubset(held):
                    terms[var] += 1
            for var, held in self.columns[twin, side].get(size, ()):
                if not named.isdisjoint(held):
                    terms[var] += 1
        _add(terms, self.there(twin, side, 1))
        return 1

    def _add_size(self, terms: dict[int, int], block: int, side: Side, size: int, coefficient: int) -> None:
        """Add the term for having a size."""
        _add(terms, self.at_least(block, side, size, coefficient))
        _add(terms, self.at_least(block, side, size + 1, -coefficient))


def _add(terms: dict[int, int], more: dict[int, int]) -> None:
    for variable, coefficient in more.items():
        terms[variable] += coefficient


def add_levels(page: PageModel, relaxation: Relaxation) -> Levels:
    """Add the variables and the rows that define them to a page's relaxation."""
    columns: dict[tuple[int, Side], Listed] = {}
    sizes: dict[tuple[int, Side], tuple[int, ...]] = {}
    variables: dict[tuple[int, Side], tuple[int, ...]] = {}
    for b, choice in enumerate(page.columns):
        there = [(var, c) for j, var in choice.items() if (c := page.column(b, j)).present]
        for side in SIDES:
            by_size: Listed = defaultdict(list)
            for var, column in there:
                by_size[change(column, side)].append((var, column.photos))
            listed = sorted(by_size)
            made: list[int] = []
            for size in reversed(listed):
                terms = dict.fromkeys((var for var, _ in by_size[size]), 1)
                if made:
                    terms[made[-1]] = 1
                made.append(relaxation.variable(0, 1))
                terms[made[-1]] = -1
                relaxation.add(RelaxedRow(tuple(terms), tuple(terms.values()), 0, 0))
            columns[b, side], sizes[b, side], variables[b, side] = by_size, tuple(listed), tuple(reversed(made))
    return Levels(page, columns, sizes, variables)
