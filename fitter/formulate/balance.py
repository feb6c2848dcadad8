"""The cost ``balance``: how far the areas of the counted blocks tip a page beyond what was drawn.

The moment of areas about the page's middle, per axis, stated linearly: an area counts at the place it has in the
drawing, a shift with the area it has in the drawing.  Moments are in half cubic micrometres, so that they are whole.
"""

from __future__ import annotations

from collections.abc import Sequence

from fitter.formulate import rates as r
from fitter.formulate.scene import GRID, Scene
from fitter.formulate.settings import Settings
from fitter.units import divide_nearest, nearest
from solver.problem import Balance

FINE = 128
"""The solver counts in this many parts of a cost unit, so that the rounding of a step does not add up."""
HEAVY = 2.0
"""With a factor above this the relaxation counts it too."""
Pair = tuple[int, int]


def balance_of(scene: Scene, settings: Settings) -> Balance | None:
    """Return what the solver needs besides the moments of blocks; ``None`` where the cost is nothing."""
    factor = settings.rates.factor("balance")
    if not scene.counted_area or not factor:
        return None
    return Balance(
        base=priced_moments(scene, _off_middle(scene), settings),
        allowed=priced_moments(scene, _drawn(scene), settings),
        slide=priced_moments(scene, _slide_swing(scene), settings),
        per=FINE,
        light=factor <= HEAVY,
    )


def block_moments(scene: Scene, block: int, size: Pair) -> Pair:
    """Return the moments of a block of a size at its place in the drawing."""
    atom = scene.blocks[block]
    if not atom.added and block not in scene.counted_blocks:
        return 0, 0
    area = size[0] * size[1]
    still = atom.added or bool(atom.element.bleeds)
    off = (0, 0) if still else scene.reference.aside
    x, y = (2 * (atom.element.center[a] - off[a]) - scene.page.trim[a] for a in (0, 1))
    return area * x, area * y


def block_swing(scene: Scene, block: int) -> int:
    """Return what a step of the grid adds to a block's moment; nothing to that of an added one."""
    size = scene.blocks[block].element.size
    return 2 * GRID * size[0] * size[1] if block in scene.counted_blocks else 0


def priced_moments(scene: Scene, moments: Pair, settings: Settings) -> Pair:
    """Return moments in the solver's parts of a cost unit, weighted."""
    if not scene.counted_area:
        return 0, 0
    price = FINE * r.BALANCE * settings.rates.factor("balance") / (2 * scene.counted_area)
    return nearest(price * moments[0] / scene.page.trim[0]), nearest(price * moments[1] / scene.page.trim[1])


def balance_cost(scene: Scene, sizes: Sequence[Pair | None], places: Sequence[Pair], slide: int) -> int:
    """Return the cost of a page.

    Parameters
    ----------
    sizes
        Of each block, in micrometres; ``None`` where it is not there.
    places
        Displacement of each block from the reference, in grid units.
    slide
        How far the whole drawing slides, in grid units.
    """
    if not scene.counted_area:
        return 0
    base, swing, drawn, cost = _off_middle(scene), _slide_swing(scene), _drawn(scene), 0
    for axis in (0, 1):
        total = base[axis] + swing[axis] * slide
        for block, (size, place) in enumerate(zip(sizes, places, strict=True)):
            if size is not None:
                total += block_moments(scene, block, size)[axis] + block_swing(scene, block) * place[axis]
        beyond = max(0, abs(total) - drawn[axis])
        cost += divide_nearest(r.BALANCE * beyond, 2 * scene.counted_area * scene.page.trim[axis])
    return cost


def _drawn(scene: Scene) -> Pair:
    """Return the moments of the drawing in the middle of the page, to whichever side."""
    moments = [block_moments(scene, a.block, a.element.size) for a in scene.counted]
    return abs(sum(m[0] for m in moments)), abs(sum(m[1] for m in moments))


def _off_middle(scene: Scene) -> Pair:
    """Return the moments the drawing has because it does not stand in the middle of a longer page."""
    twice = 2 * sum(a.element.size[0] * a.element.size[1] for a in scene.counted if not a.element.bleeds)
    return twice * scene.reference.aside[0], twice * scene.reference.aside[1]


def _slide_swing(scene: Scene) -> Pair:
    """Return what a step of the whole drawing adds to the moments."""
    swing = sum(block_swing(scene, a.block) for a in scene.counted if scene.slides(a.block))
    return swing if scene.reference.free == "x" else 0, swing if scene.reference.free == "y" else 0
