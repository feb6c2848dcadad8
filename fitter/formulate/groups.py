"""Common scalings: groups of blocks whose size (and place) changes together and is charged once."""

from __future__ import annotations

from dataclasses import dataclass

from fitter.formulate.rates import RESCALE, rounded
from fitter.formulate.scene import GRID, Scene
from fitter.formulate.sizes import scaled_size
from fitter.units import divide_nearest

TEMPLATE_FACTORS = (0.9, 1.1)
PHOTO_FACTORS = (0.9, 1.1)
OTHER_FACTORS = (0.9,)
CLUSTER_FACTORS = (0.85, 1.15)


@dataclass(frozen=True)
class Rescaling:
    """One common scaling.

    ``sizes`` holds the target size of every block in the group; ``targets`` the displacement of every
    block's target place, in grid units.
    """

    group: str
    factor: float
    cost: int
    sizes: dict[int, tuple[int, int]]
    targets: dict[int, tuple[int, int]]


def rescalings(scene: Scene) -> tuple[Rescaling, ...]:
    """Return the common scalings a frame offers."""
    loose = [a for a in scene.blocks if not a.added and not a.element.bleeds and not a.element.limits.fixed]
    photos = [a.block for a in loose if a.element.role == "photo"]
    others = [a.block for a in loose if a.element.role != "photo"]
    clusters: dict[str, list[int]] = {}
    for atom in loose:
        if atom.element.cluster:
            clusters.setdefault(atom.element.cluster, []).append(atom.block)
    everything = [a.block for a in loose]
    found: list[Rescaling] = []
    if len(everything) > 1:
        found += [_rescaling(scene, "template", f, everything, places=True) for f in TEMPLATE_FACTORS]
    if len(photos) > 1:
        found += [_rescaling(scene, "photos", f, photos, places=False) for f in PHOTO_FACTORS]
    if len(others) > 1:
        found += [_rescaling(scene, "others", f, others, places=False) for f in OTHER_FACTORS]
    for name, members in sorted(clusters.items()):
        if len(members) > 1:
            found += [_rescaling(scene, f"cluster:{name}", f, members, places=True) for f in CLUSTER_FACTORS]
    return tuple(found)


def _rescaling(scene: Scene, group: str, factor: float, blocks: list[int], *, places: bool) -> Rescaling:
    boxes = [scene.blocks[b].element.box for b in blocks]
    twice = [min(b[a] for b in boxes) + max(b[a + 2] for b in boxes) for a in (0, 1)]
    thousandths = round((factor - 1) * 1000)
    targets = {}
    for block in blocks:
        center = scene.blocks[block].element.center
        far = [(2 * center[a] - twice[a]) * thousandths if places else 0 for a in (0, 1)]
        targets[block] = (_steps(far[0]), _steps(far[1]))
    return Rescaling(
        group,
        factor,
        rounded(RESCALE * abs(factor - 1)),
        {block: scaled_size(scene.blocks[block].element, factor) for block in blocks},
        targets,
    )


def _steps(far: int) -> int:
    """Return a distance, in half thousandths of a micrometre, as grid steps, halves away from 0: alike on all flips."""
    steps = divide_nearest(abs(far), 2000 * GRID)
    return steps if far > 0 else -steps
