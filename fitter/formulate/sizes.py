"""The lattice of sizes: which widths and heights a block is offered.

Rectangles that may be widened take any width with any height, in steps of 1/2 in (1/4 in for small pages and small
slots, and on pages of one or two photos); everything else scales evenly, by 0.15 of its size or 1/2 in of its longer
side, whichever is less.  All sizes differ from the reference by whole multiples of 1,270 µm, so that edges stay on the
grid of places.
"""

from __future__ import annotations

import math

import numpy as np

from fitter.formulate.content import STEP, Ints
from fitter.template import Element
from fitter.units import INCH, divide_nearest

SIZE_STEP, FINE_STEP = INCH // 2, INCH // 4
"""Distance of neighbouring sizes of what may be widened, and where the finer steps are used."""
EVEN_STEP = 0.15
"""Distance of neighbouring scales of what scales evenly, where that is not over :data:`SIZE_STEP`."""
EVEN_FROM, EVEN_TO = 0.7, 1.15
"""Range of these scales."""
STEPS_SMALLER, STEPS_LARGER = 2, 1
"""How many steps are offered where the whole range is not."""
FEW_EVEN = 4
"""Up to so many photos the whole range is afforded."""
SMALL_PAGE = 8 * INCH
"""Pages with a side shorter than this use the finer steps."""
SMALL_SLOT = 5 * INCH // 2
"""Slots with a side of at most this use the finer steps."""
TINY_SLOT = 3 * INCH // 2
"""The same on pages of many photos."""
FEW_PHOTOS, MANY_PHOTOS = 2, 6
"""Up to few photos the finer steps are afforded everywhere, from many on only where sizes would be too few."""
_PARTS = 10**6
"""Scales are rounded to this part."""
NARROWEST = 0.6
WIDEST = 1.5


def size_step(page: tuple[int, int], element: Element, photos: int) -> int:
    """Return the distance of neighbouring sizes: 1/2 in, or 1/4 in where it can be afforded."""
    small = SMALL_SLOT if photos < MANY_PHOTOS else TINY_SLOT
    fine = min(page) < SMALL_PAGE or min(element.size) <= small or photos <= FEW_PHOTOS
    return FINE_STEP if fine else SIZE_STEP


def free_sizes(
    element: Element, smallest: int, room: tuple[int, int], step: int, fixed: tuple[bool, bool]
) -> tuple[Ints, Ints]:
    """Return widths and heights of every size of a slot that may be widened.

    Parameters
    ----------
    smallest
        Shortest side, micrometres.
    room
        Largest width and height.
    step
        Distance of neighbouring sizes.
    fixed
        Axes on which the size is the reference's.
    """
    axes = []
    for axis in (0, 1):
        if fixed[axis]:
            axes.append([element.size[axis]])
            continue
        base = element.size[axis]
        least = max(smallest, math.ceil(NARROWEST * base))
        most = max(base, min(room[axis], math.floor(WIDEST * base)))
        count_low, count_high = (base - least) // step, (most - base) // step
        values = [base + k * step for k in range(-count_low, count_high + 1)]
        axes.append([v for v in values if v > 0])
    width, height = np.meshgrid(np.array(axes[0]), np.array(axes[1]), indexing="ij")
    return width.ravel().astype(np.int64), height.ravel().astype(np.int64)


def scaled_size(element: Element, factor: float) -> tuple[int, int]:
    """Return a size scaled evenly: width by whole steps, height in proportion (even micrometres).

    A rectangle's height goes by whole steps too, an ornament's never.
    """
    w0, h0 = element.size
    change = round((factor - 1) * _PARTS)
    width = w0 + STEP * divide_nearest(w0 * change, _PARTS * STEP)
    if element.shape == "rect" and element.role != "embellishment":
        return width, h0 + STEP * divide_nearest(h0 * change, _PARTS * STEP)
    return width, 2 * divide_nearest(h0 * width, 2 * w0)


def even_factors(element: Element, *, whole: bool) -> tuple[float, ...]:
    """Return the scales on offer for something that scales evenly, besides 1; the whole range of them or less."""
    step = min(EVEN_STEP, SIZE_STEP / max(element.size))
    smaller, larger = (math.ceil(share / step - 1e-3) for share in (1 - EVEN_FROM, EVEN_TO - 1))
    if not whole:
        smaller, larger = min(smaller, STEPS_SMALLER), min(larger, STEPS_LARGER)
    return tuple(max(EVEN_FROM, min(EVEN_TO, 1 + k * step)) for k in range(-smaller, larger + 1) if k)


def even_sizes(element: Element, factors: tuple[float, ...], room: tuple[int, int]) -> tuple[Ints, Ints]:
    """Return the sizes of something that scales evenly; the reference size first."""
    sizes = [element.size]
    for factor in factors:
        size = scaled_size(element, factor)
        if size not in sizes and min(size) > 0 and size[0] <= room[0] and size[1] <= room[1]:
            sizes.append(size)
    pairs = np.array(sizes, dtype=np.int64)
    return pairs[:, 0], pairs[:, 1]
