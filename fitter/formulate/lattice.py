"""The lattice a proof speaks of, as layouts record it: steps of places, sizes and crops, and the scales on offer."""

from __future__ import annotations

from fitter.formulate.content import STEP
from fitter.formulate.groups import CLUSTER_FACTORS, OTHER_FACTORS, PHOTO_FACTORS, TEMPLATE_FACTORS
from fitter.formulate.scene import GRID
from fitter.formulate.settings import Settings
from fitter.formulate.sizes import (
    EVEN_FROM,
    EVEN_STEP,
    EVEN_TO,
    FINE_STEP,
    NARROWEST,
    SIZE_STEP,
    STEPS_LARGER,
    STEPS_SMALLER,
    WIDEST,
)
from fitter.layout import Lattice

CROP_STEP = 1
"""Pixels from one crop window to the next: windows start anywhere."""


def lattice(settings: Settings) -> Lattice:
    """Return the lattice by name: lengths in micrometres, crops in pixels, scales as factors of the drawn size.

    ``even_steps`` says how many steps smaller and larger than drawn are offered where that is not the whole range.
    """
    found: Lattice = {
        "place_um": GRID,
        "apart_um": settings.apart,
        "size_um": SIZE_STEP,
        "fine_size_um": FINE_STEP,
        "scaled_size_um": STEP,
        "widened_from_to": (NARROWEST, WIDEST),
        "crop_px": CROP_STEP,
        "even_step_percent": round(100 * EVEN_STEP),
        "even_from_to": (EVEN_FROM, EVEN_TO),
        "template_factors": TEMPLATE_FACTORS,
        "photos_factors": PHOTO_FACTORS,
        "others_factors": OTHER_FACTORS,
        "cluster_factors": CLUSTER_FACTORS,
    }
    if not settings.whole_range:
        found["even_steps"] = (-STEPS_SMALLER, STEPS_LARGER)
    return found
