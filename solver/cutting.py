"""Which cuts a relaxation's answer violates: covers of cycles, and photos that blocks of one size share."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from solver.cycles import Cover, Cycle, Side, change, cycles, ladders, violated, widened
from solver.node import Node
from solver.page import PageModel
from solver.problem import Problem
from solver.sharing import Shares, Sharing, Twins, all_twins, shared

SIDES: tuple[Side, Side] = ("w", "h")
SEEN = 1e-6

Cut = Cover | Sharing


@dataclass(frozen=True)
class Facts:
    """What the lines of a class imply: their cycles, and blocks of one size."""

    cycles: tuple[Cycle, ...]
    twins: tuple[Twins, ...]


def facts_of(problem: Problem) -> Facts:
    """Return the facts of a class."""
    found = cycles(problem)
    return Facts(found, all_twins(found))


def violated_cuts(
    facts: Facts,
    page: PageModel,
    node: Node,
    values: Sequence[float],
    sizes: Mapping[tuple[int, Side], Sequence[int]],
) -> Iterator[Cut]:
    """Yield cuts that the answer of a node's relaxation violates.

    Parameters
    ----------
    page, values
        The model that was relaxed, and the answer by variable.
    sizes
        The changes of size for which a cover has to hold.
    """
    shares = _shares(page, node, values)
    broken = {s: values[var] for s, var in page.broken.items()}

    def spent(lines: tuple[int, ...]) -> float | None:
        """Return how much of some lines is broken; ``None`` when one of them is given up."""
        return sum(broken.get(s, 0.0) for s in lines) if node.given_up.isdisjoint(lines) else None

    rungs = {
        key: ladders({size: sum(mine.values()) for size, mine in found.items()}) for key, found in shares.held.items()
    }
    for cycle in facts.cycles:
        if (gone := spent(cycle.lines)) is not None:
            for cover in violated(cycle, rungs, gone):
                yield widened(cover, sizes)
    for twins in facts.twins:
        if (gone := spent(twins.lines)) is not None:
            yield from shared(twins, shares, gone)


def _shares(page: PageModel, node: Node, values: Sequence[float]) -> Shares:
    held: dict[tuple[int, Side], dict[int, dict[tuple[int, ...], float]]] = {}
    there = [0.0] * len(page.columns)
    for b, (choice, columns) in enumerate(zip(page.columns, node.kept, strict=True)):
        for side in SIDES:
            held[b, side] = defaultdict(lambda: defaultdict(float))
        for j in columns:
            value, column = values[choice[j]], node.problem.blocks[b].columns[j]
            if value > SEEN and column.present:
                there[b] += value
                for side in SIDES:
                    held[b, side][change(column, side)][column.photos] += value
    return Shares(held, there)
