"""What may lie on a block."""

from __future__ import annotations

from fitter.formulate.relations import overlapping, related_pairs
from fitter.formulate.scene import Atom, Scene


def covers_of(scene: Scene, atom: Atom) -> tuple[tuple[Atom, str], ...]:
    """Return what may lie on a block: riders of it, and overlapping things above it."""
    found: list[tuple[Atom, str]] = [(rider, "rider") for rider in scene.riders_of(atom.block)]
    for lower, upper in related_pairs(scene):
        if lower is atom and overlapping(scene, lower, upper):
            found.append((upper, "lap"))
    return tuple(found)
