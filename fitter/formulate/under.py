"""R3: a photo moved into a slot that lies under others; what they cover counts as lost.

So that the share is exact, what stays on such a photo keeps the reference's sizes and places against it, and the photo
its slot's reference size.  What covers it may also go.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import combinations
from typing import TYPE_CHECKING

from fitter.crops import EVEN, PixelBox
from fitter.formulate.content import Config, Under
from fitter.formulate.covers import covers_of
from fitter.formulate.expr import between
from fitter.formulate.keeps import Pane, share_under
from fitter.formulate.relations import are_loose
from fitter.formulate.scene import Atom, Scene
from fitter.layout import GivenPhoto
from fitter.template import Element
from solver.problem import Block, Lit, Rule

if TYPE_CHECKING:
    from shapely.geometry import Polygon
    from shapely.geometry.base import BaseGeometry

MOST_COVERED = 0.5
"""A photo in a slot that was drawn for something else may lie under others to this share."""
MOST_CHOICES = 2
"""Up to this many blocks on a slot each may stay or go; of more all stay."""


@dataclass(frozen=True)
class Shade:
    """A shape in a slot's frame, and its bounds within the slot; ``straight`` says that these are all of it there."""

    shape: Polygon
    box: PixelBox
    straight: bool


def ways_under(scene: Scene, atom: Atom) -> list[Under]:
    """Return how a photo may lie in a slot that others lie on: what stays and what goes."""
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
        if _covered(atom, [a for b in stay for a in on_it[b]]) <= MOST_COVERED:
            found.append(Under(stay, tuple(b for b in on_it if b not in stay)))
    return found


def under_clashes(scene: Scene, blocks: Sequence[Block], configs: Sequence[Sequence[Config]]) -> tuple[Block, ...]:
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


def shades_of(
    atom: Atom, under: Under, covers: Sequence[tuple[Atom, str]], flips: tuple[bool, bool]
) -> tuple[Shade, ...]:
    """Return what hides a photo that lies under others, on a flipped page: of a slot with a mat the mat alone."""
    over = [upper for upper, how in covers if how == "lap" and upper.block in under.stay]
    framed = {upper.block for upper in over if upper.part == "mat"}
    element = atom.element
    made = []
    for upper in over:
        if upper.part == "mat" or upper.block not in framed:
            over_it = upper.element
            straight = not element.tilt and not over_it.tilt and element.shape == over_it.shape == "rect"
            made.append(_shade(element, over_it, flips, straight=straight))
    return tuple(shade for shade in made if shade.box[0] < shade.box[2] and shade.box[1] < shade.box[3])


def slot_shape(element: Element, flips: tuple[bool, bool]) -> Shade:
    """Return a slot's own shape, on a flipped page."""
    return _shade(element, element, flips, straight=element.shape == "rect")


def shaded_share(photo: GivenPhoto, window: PixelBox, pane: Pane, slot: Shade, shades: Sequence[Shade]) -> Fraction:
    """Return the share of a photo's importance within its slot that lies under others, each counted by itself."""
    if slot.straight and all(shade.straight for shade in shades):
        return sum((share_under(photo, window, pane, shade.box) for shade in shades), Fraction(0))
    inside = _weighed(photo, window, pane, slot.shape)
    parts = [_weighed(photo, window, pane, shade.shape.intersection(slot.shape)) for shade in shades]
    return Fraction(sum(parts) / inside) if inside else Fraction(0)


def _weighed(photo: GivenPhoto, window: PixelBox, pane: Pane, shape: BaseGeometry) -> float:
    """Return the importance of a photo under a shape of the slot, in the grid's own numbers."""
    import shapely

    grid = photo.importance or EVEN
    rows, columns = len(grid), len(grid[0])
    (pw, ph), (x0, y0, x1, y1), (w, h) = photo.pixels, window, pane.size
    across, down = columns * (x1 - x0) / (pw * w), rows * (y1 - y0) / (ph * h)
    matrix = [across, 0.0, 0.0, down, columns * x0 / pw, rows * y0 / ph]
    placed = shapely.affinity.affine_transform(shape, matrix)
    cells = [(v, c, r) for r, row in enumerate(grid) for c, v in enumerate(row) if v]
    boxes = shapely.box(
        [c for _, c, _ in cells], [r for *_, r in cells], [c + 1 for _, c, _ in cells], [r + 1 for *_, r in cells]
    )
    areas = shapely.area(shapely.intersection(boxes, placed))
    return sum(v * float(area) for (v, _, _), area in zip(cells, areas, strict=True))


def _shade(element: Element, over: Element, flips: tuple[bool, bool], *, straight: bool) -> Shade:
    """Return a shape of the frame in the frame of a slot, and flipped as the slot is."""
    from shapely import affinity

    (x, y), (w, h) = element.center, element.size
    shape = _outline(over)
    level = affinity.rotate(shape, -element.tilt, origin=element.center) if element.tilt else shape
    moved = affinity.translate(level, w / 2 - x, h / 2 - y)
    signs = [-1.0 if flip else 1.0 for flip in flips]
    placed = affinity.scale(moved, signs[0], signs[1], origin=(w / 2, h / 2))
    left, top, right, bottom = (round(edge) for edge in placed.bounds)
    return Shade(placed, (max(0, left), max(0, top), min(w, right), min(h, bottom)), straight)


def _is_exact(atom: Atom) -> bool:
    """Whether the area an atom covers is known exactly when its block stays as it is: no rider, not round."""
    return atom.part != "rider" and atom.element.shape != "ellipse"


def _covered(atom: Atom, over: list[Atom]) -> float:
    """Return the share of a slot that others cover."""
    from shapely import union_all

    slot = _outline(atom.element)
    parts = [slot.intersection(_outline(a.element)) for a in over]
    return union_all(parts).area / slot.area if parts else 0.0


def _outline(element: Element) -> Polygon:
    from shapely import affinity
    from shapely.geometry import Polygon, box

    x, y = element.center
    made = Polygon([(x + dx, y + dy) for dx, dy in element.outline]) if element.outline else box(*element.box)
    made = made if made.is_valid else made.convex_hull
    return affinity.rotate(made, element.tilt, origin=element.center) if element.tilt else made
