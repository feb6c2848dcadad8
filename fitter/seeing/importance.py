"""The importance map: whole numbers that say how much of what matters in a picture lies where.

Pure functions.  The map of a picture has at most :data:`LONG_SIDE` cells a side and sums to exactly :data:`TOTAL`.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from fitter.layout import Box, Grid
from fitter.seeing.heads import Face, about, body
from fitter.seeing.saliency import Map, blurred, resampled, sharpness, spectral_residual, unlike_border

IntMap = NDArray[np.int64]
LONG_SIDE = 128
TOTAL = 10_000_000
GRID_SIDE, GRID_TOTAL = 24, 10_000
_FACES, _MARKED = 0.7, 0.7
_BODY = 0.5
_CENTRE = 0.3
_FLOOR = 0.02
_EVEN = 0.5
_SMOOTH = 2


def scene_map(grey: Map, colours: NDArray[np.uint8]) -> IntMap:
    """Return the importance of a picture's places without regard to faces or marks.

    The product of sharpness, being unlike the border, and the spectral residual, each in parts of its largest value,
    times a mild preference for the middle (a Gaussian, 0.3 of the side).

    Parameters
    ----------
    grey
        Sharpness is measured on it; its sides are the same whole multiple of the map's (some five times them is good).
    colours
        YCbCr of the same picture, shape (rows, columns, 3) with at most :data:`LONG_SIDE` on the long side; gives the
        map's shape.
    """
    rows, columns = shape = colours.shape[0], colours.shape[1]
    residual = spectral_residual(colours[..., 0].astype(np.float64))
    detail = sharpness(grey).reshape(rows, grey.shape[0] // rows, columns, grey.shape[1] // columns).mean((1, 3))
    fine = blurred(detail, _SMOOTH)
    rare = blurred(unlike_border(colours), 1)
    return whole(_part(fine) * _part(rare) * _part(residual) * _middle(shape))


def importance_map(scene: IntMap, faces: Sequence[Face] = (), marked: Sequence[Box] = ()) -> IntMap:
    """Return the importance map of a picture from its scene map, its faces and the regions marked by someone.

    Faces take up to 0.7 of the whole, less the less sure they are: a place around the face's middle as large as a head,
    and half as much again for shoulders and chest below it, so that room below a face outranks room above hair.
    Larger faces weigh more, by the square root of their area.  Marked regions take 0.7 of the whole, whatever
    else was found.
    """
    shape = scene.shape[0], scene.shape[1]
    values = scene / TOTAL
    people = np.zeros(shape)
    for face in faces:
        weight = _surety(face) * float(np.sqrt(face.box[2] * face.box[3]))
        people += weight * (_mound(about(face), shape) + _BODY * _mound(body(face), shape))
    if people.sum() > 0:
        share = _FACES * max(_surety(face) for face in faces)
        values = (1 - share) * values + share * people / people.sum()
    inside = np.zeros(shape)
    for box in marked:
        inside += _flat(box, shape)
    if inside.sum() > 0:
        values = (1 - _MARKED) * values + _MARKED * inside / inside.sum()
    return whole(values)


def coarse(importance: IntMap) -> Grid:
    """Return an importance map as a layout carries it: at most 24 cells a side, summing to exactly 10,000.

    Half of it is even: that does not change which window of a size is best, but what a smaller one loses.
    """
    rows, columns = importance.shape
    scale = min(1.0, GRID_SIDE / max(rows, columns))
    shape = max(1, round(rows * scale)), max(1, round(columns * scale))
    values = resampled(importance.astype(np.float64), shape)
    cells = whole((1 - _EVEN) * values / values.sum() + _EVEN / values.size, GRID_TOTAL)
    return tuple(tuple(row) for row in cells.tolist())


def whole(values: Map, total: int = TOTAL) -> IntMap:
    """Return the values as whole numbers of the same proportions that sum to exactly the total.

    Rounded down, the units left over going to the largest remainders, first cells first.  A map without any value is
    spread evenly.
    """
    flat = np.maximum(np.nan_to_num(np.asarray(values, np.float64), posinf=0.0), 0.0).ravel()
    if not flat.sum() > 0:
        flat = np.ones_like(flat)
    exact = flat / flat.sum() * total
    made = np.floor(exact).astype(np.int64)
    left = total - int(made.sum())
    order = np.argsort(made - exact, kind="stable")
    made[order[:left]] += 1
    return np.asarray(made.reshape(values.shape), np.int64)


def _surety(face: Face) -> float:
    """Return 0 for a score of 0.6 and 1 from 0.85 on."""
    return min(1.0, max(0.0, (face.score - 0.6) / 0.25))


def _part(values: Map) -> Map:
    largest = float(values.max())
    return (values / largest if largest > 0 else np.ones_like(values)) + _FLOOR


def _middle(shape: tuple[int, int]) -> Map:
    y, x = (((np.arange(n) + 0.5) / n - 0.5) / _CENTRE for n in shape)
    return np.asarray(np.exp(-(y[:, None] ** 2 + x[None, :] ** 2) / 2))


def _mound(box: Box, shape: tuple[int, int]) -> Map:
    """Return an elliptic paraboloid over a box, of volume 1 if it lies wholly inside the picture."""
    rows, columns = shape
    x, y, w, h = box
    across = ((np.arange(columns) + 0.5) / columns - (x + w / 2)) / max(w / 2, 0.5 / columns)
    down = ((np.arange(rows) + 0.5) / rows - (y + h / 2)) / max(h / 2, 0.5 / rows)
    volume = np.pi / 2 * max(w / 2 * columns, 0.5) * max(h / 2 * rows, 0.5)
    return np.asarray(np.maximum(0.0, 1.0 - down[:, None] ** 2 - across[None, :] ** 2) / volume)


def _flat(box: Box, shape: tuple[int, int]) -> Map:
    """Return the share of every cell that lies in a box."""
    sides = []
    for start, length, count in ((box[1], box[3], shape[0]), (box[0], box[2], shape[1])):
        cells = np.arange(count)
        low = np.maximum(cells, start * count)
        high = np.minimum(cells + 1, (start + length) * count)
        sides.append(np.maximum(0.0, high - low))
    return np.asarray(sides[0][:, None] * sides[1][None, :])
