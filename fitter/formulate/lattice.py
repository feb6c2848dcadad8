"""The lattice a proof speaks of, as layouts record it: steps of places, sizes and crops, and the scales on offer."""

from __future__ import annotations

from fitter.formulate.content import STEP
from fitter.formulate.groups import CLUSTER_FACTORS, OTHER_FACTORS, PHOTO_FACTORS, TEMPLATE_FACTORS
from fitter.formulate.scene import GRID
from fitter.formulate.sizes import EVEN_STEP, EVEN_STEPS, FINE_STEP, NARROWEST, SIZE_STEP, WIDEST
from fitter.layout import Lattice

CROP_STEP = 1
"""Pixels from one crop window to the next: windows start anywhere."""


def lattice(apart: int) -> Lattice:
    """Return the lattice by name: lengths in micrometres, crops in pixels, scales as factors of the drawn size.

    Parameters
    ----------
    apart
        What photos and words kept between them (:class:`fitter.formulate.Settings`).
    """
    return {
        "place_um": GRID,
        "apart_um": apart,
        "size_um": SIZE_STEP,
        "fine_size_um": FINE_STEP,
        "scaled_size_um": STEP,
        "widened_from_to": (NARROWEST, WIDEST),
        "crop_px": CROP_STEP,
        "even_step_percent": round(100 * EVEN_STEP),
        "even_steps": tuple(sorted((*EVEN_STEPS, 0))),
        "template_factors": TEMPLATE_FACTORS,
        "photos_factors": PHOTO_FACTORS,
        "others_factors": OTHER_FACTORS,
        "cluster_factors": CLUSTER_FACTORS,
    }
