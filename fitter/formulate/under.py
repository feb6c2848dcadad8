"""R3: a photo moved into a slot that lies under others; what they cover counts as lost.

So that the share is exact, what stays on such a photo keeps the reference's sizes and places against it, and the photo
its slot's reference size.  What covers it may also go.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import combinations
from typing import TYPE_CHECKING

from fitter.formulate.content import Config, Under
from fitter.formulate.covers import covers_of
from fitter.formulate.expr import between
from fitter.formulate.relations import are_loose
from fitter.formulate.scene import Atom, Scene
from fitter.template import Element
from solver.problem import Block, Lit, Rule

if TYPE_CHECKING:
    from shapely.geometry import Polygon

MOST_COVERED = 0.5
"""A photo in a slot that was drawn for something else may lie under others to this share."""
MOST_CHOICES = 2
"""Up to this many blocks on a slot each may stay or go; of more all stay."""


def ways_under(scene: Scene, atom: Atom) -> list[tuple[Under, float]]:
    """Return how a photo may lie in a slot that others lie on: what stays and what goes, and the share covered."""
    on_it: dict[int, list[Atom]] = {}
    for upper, how in covers_of(scene, atom):
        if how == "lap" and not are_loose(scene, atom, upper):
            on_it.setdefault(upper.block, []).append(upper)
    plain = [b for b, atoms in on_it.items() if all(_is_exact(a) for a in atoms)]
    if not _is_exact(atom):
        plain = []
    counts = range(len(plain) + 1) if len(on_it) <= MOST_CHOICES else [len(on_it)]
    found = []
    for stay in (s for count in counts for s in combinations(plain, count)):
        total, union = _shares(scene, atom, [a for b in stay for a in on_it[b]])
        if union <= MOST_COVERED:
            found.append((Under(stay, tuple(b for b in on_it if b not in stay)), total))
    return found


def under_clashes(
    scene: Scene, blocks: Sequence[Block], configs: Sequence[Sequence[Config]]
) -> tuple[Block, ...]:
    """Return the blocks with what cannot be together with a photo under others: what goes, and what stays gone or cut.

    Where a slot is divided the gaps between its pieces cover nothing, unless there is a mat behind them.
    """
    made = []
    for block, options in zip(blocks, configs, strict=True):
        columns = []
        for column, config in zip(block.columns, options, strict=True):
            if config.under is not None:
                barred: list[tuple[Lit, ...]] = [(("block", number, 0),) for number in config.under.go]
                for number in config.under.stay:
                    whole = scene.mat(number) is not None
                    barred += [
                        (("column", number, index),)
                        for index, other in enumerate(configs[number])
                        if other.role is None or (other.division is not None and not whole)
                    ]
                column = replace(column, clashes=(*column.clashes, *barred))
            columns.append(column)
        made.append(replace(block, columns=tuple(columns)))
    return tuple(made)


def under_rules(scene: Scene, configs: Sequence[Sequence[Config]]) -> Iterator[Rule]:
    """R3: what stays on a photo moved under it keeps its size, and its place against it."""
    for number, options in enumerate(configs):
        for index, config in enumerate(options):
            if config.under is None or not config.under.stay:
                continue
            rows = []
            lower = scene.blocks[number]
            for upper in (scene.blocks[b] for b in config.under.stay):
                for axis in (0, 1):
                    apart = upper.element.center[axis] - lower.element.center[axis]
                    side = upper.element.size[axis]
                    rows.append(between(scene.center(upper, axis) - scene.center(lower, axis), apart, apart))
                    rows.append(between(scene.size(upper, axis), side, side))
            yield Rule("R3", tuple(rows), (("column", number, index),))


def _is_exact(atom: Atom) -> bool:
    """Whether the area an atom covers is known exactly when its block stays as it is: no rider, not round."""
    return atom.part != "rider" and atom.element.shape != "ellipse"


def _shares(scene: Scene, atom: Atom, over: list[Atom]) -> tuple[float, float]:
    """Return the sum of the shares of a slot that others cover (its mat alone for a slot with one), and their union."""
    from shapely import union_all

    slot = _outline(atom.element)
    start = scene.atoms.index(atom)
    framed = {a.block for a in scene.atoms[start + 1 :] if a.part == "mat"}
    parts = [(a, slot.intersection(_outline(a.element))) for a in over]
    counted = [part.area for a, part in parts if a.part == "mat" or a.block not in framed]
    return sum(counted) / slot.area, union_all([part for _, part in parts]).area / slot.area if parts else 0.0


def _outline(element: Element) -> Polygon:
    from shapely import affinity
    from shapely.geometry import Polygon, box

    x, y = element.center
    made = Polygon([(x + dx, y + dy) for dx, dy in element.outline]) if element.outline else box(*element.box)
    made = made if made.is_valid else made.convex_hull
    return affinity.rotate(made, element.tilt, origin=element.center) if element.tilt else made
