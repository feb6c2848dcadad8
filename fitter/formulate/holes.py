"""Room not used: ``hole``, what filled the reference and lies bare; ``empty-slot``, photo slots without a photo."""

from __future__ import annotations

from fitter.formulate import rates as r
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.template import Element
from fitter.units import nearest


def safe_area(scene: Scene) -> int:
    """Return the area of the safe box, in square micrometres."""
    left, top, right, bottom = scene.page.safe
    return (right - left) * (bottom - top)


def bare_area(scene: Scene) -> int:
    """Return the area all counted blocks cover in the reference, in square micrometres.

    On a page on its side that holds the drawing smaller than upright: what they would cover upright.
    """
    return nearest(sum(a.element.size[0] * a.element.size[1] for a in scene.counted) * scene.reference.upright)


def bare_cost(scene: Scene, rates: r.Rates) -> int:
    """Return what a page without any of the counted blocks would pay."""
    return rates.of("hole", r.HOLE * bare_area(scene) / safe_area(scene))


def empty_slot(scene: Scene, element: Element) -> int:
    """Return what a photo slot of the template pays without a photo: by its area, so the large ones are filled."""
    return r.rounded(r.EMPTY_SLOT * element.size[0] * element.size[1] / safe_area(scene))


def cover_gain(scene: Scene, atom: Atom, size: tuple[int, int], settings: Settings) -> int:
    """Return what a block of a size takes off that."""
    if not atom.added and all(a is not atom for a in scene.counted):
        return 0
    return settings.rates.of("hole", r.HOLE * size[0] * size[1] / safe_area(scene))
