"""What draws the eye, by three cheap measures: the spectral residual, sharpness, and not looking like the border.

Pure functions on arrays; each returns non-negative numbers of the picture's shape, larger where more is to be seen.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Map = NDArray[np.float64]
_RESIDUAL_SIDE = 64
_RESIDUAL_BLUR = 3
_BORDER = 0.08
_BINS = (8, 16, 16)


def spectral_residual(grey: Map) -> Map:
    """Return the spectral residual saliency of a grey picture.

    Hou and Zhang, Saliency detection: a spectral residual approach, CVPR 2007: the log amplitude spectrum of the
    picture at 64 pixels, less its 3 × 3 local mean, with the picture's own phase,
    transformed back, squared and smoothed.

    Parameters
    ----------
    grey
        Shape (height, width), any scale.
    """
    height, width = grey.shape
    scale = min(1.0, _RESIDUAL_SIDE / max(height, width))
    small = resampled(grey, (max(1, round(height * scale)), max(1, round(width * scale))))
    spectrum = np.fft.fft2(small)
    amplitude = np.abs(spectrum)
    # A frequency that is not there has no phase; leaving it out keeps a plain picture plain.
    there = amplitude > 1e-9 * max(float(amplitude.max()), 1e-300)
    log = np.log(np.where(there, amplitude, 1.0))
    around = sum(np.roll(log, (i, j), (0, 1)) for i in (-1, 0, 1) for j in (-1, 0, 1)) / 9.0
    phase = np.where(there, spectrum / np.where(there, amplitude, 1.0), 0.0)
    back = np.abs(np.fft.ifft2(np.exp(log - around) * phase)) ** 2
    return spread(blurred(back, _RESIDUAL_BLUR), (height, width))


def sharpness(grey: Map) -> Map:
    """Return the sum of the absolute differences to the left and upper neighbour: where fine detail is in focus."""
    across = np.abs(np.diff(grey, axis=1, prepend=grey[:, :1]))
    down = np.abs(np.diff(grey, axis=0, prepend=grey[:1]))
    return np.asarray(across + down)


def unlike_border(colours: NDArray[np.uint8]) -> Map:
    """Return how much rarer a pixel's colour is along the border than in the whole picture, 0…1.

    The border shows mostly background (Wei, Wen, Zhu and Sun, Geodesic saliency using background priors, ECCV 2012);
    colours are compared by histogram, as in back-projection (Swain and Ballard, Color indexing, IJCV 7, 1991).

    Parameters
    ----------
    colours
        YCbCr, shape (height, width, 3).
    """
    height, width = colours.shape[:2]
    bins = np.zeros((height, width), np.int64)
    for channel, count in enumerate(_BINS):
        bins = bins * count + colours[..., channel].astype(np.int64) * count // 256
    edge = max(1, round(_BORDER * min(height, width)))
    along = np.zeros((height, width), bool)
    along[:edge] = along[-edge:] = along[:, :edge] = along[:, -edge:] = True
    everywhere, border = (_histogram(part) for part in (bins.ravel(), bins[along]))
    ratio = border / np.maximum(everywhere, 1e-12)
    return np.asarray(1.0 / (1.0 + ratio[bins] ** 2))


def blurred(values: Map, radius: int, times: int = 3) -> Map:
    """Return values smoothed by a moving mean over 2·radius + 1, three times: nearly a Gaussian.

    Edges are continued by their last value.
    """
    for _ in range(times):
        for axis in (0, 1):
            pads = [(0, 0), (0, 0)]
            pads[axis] = (radius + 1, radius)
            sums = np.cumsum(np.pad(values, pads, mode="edge"), axis=axis)
            size = values.shape[axis]
            upper = np.take(sums, range(2 * radius + 1, 2 * radius + 1 + size), axis=axis)
            values = (upper - np.take(sums, range(size), axis=axis)) / (2 * radius + 1)
    return np.maximum(values, 0.0)


def resampled(values: Map, shape: tuple[int, int]) -> Map:
    """Return the means of the values over the cells of a coarser grid (height, width), parts of pixels in part."""
    for axis in (0, 1):
        size = values.shape[axis]
        pads = [(0, 0), (0, 0)]
        pads[axis] = (1, 0)
        sums = np.cumsum(np.pad(values, pads), axis=axis)
        at = np.linspace(0.0, size, shape[axis] + 1)
        low = np.minimum(at.astype(np.int64), size - 1)
        part = (at - low).reshape((-1, 1) if axis == 0 else (1, -1))
        edges = np.take(sums, low, axis=axis) * (1 - part) + np.take(sums, low + 1, axis=axis) * part
        values = np.diff(edges, axis=axis) * (shape[axis] / size)
    return values


def spread(values: Map, shape: tuple[int, int]) -> Map:
    """Return the values on a finer grid (height, width), linear between the centres of the old cells."""
    for axis in (0, 1):
        size = values.shape[axis]
        at = np.clip((np.arange(shape[axis]) + 0.5) * size / shape[axis] - 0.5, 0, size - 1)
        low = np.minimum(at.astype(np.int64), max(size - 2, 0))
        high = np.minimum(low + 1, size - 1)
        part = (at - low).reshape((-1, 1) if axis == 0 else (1, -1))
        values = np.take(values, low, axis=axis) * (1 - part) + np.take(values, high, axis=axis) * part
    return values


def _histogram(bins: NDArray[np.int64]) -> Map:
    """Return shares of the colour bins, each spread over its neighbours so that a nearly equal colour counts."""
    counts = np.bincount(bins, minlength=int(np.prod(_BINS))).astype(np.float64).reshape(_BINS) / max(bins.size, 1)
    for axis in range(3):
        pads = [(0, 0)] * 3
        pads[axis] = (1, 1)
        wide = np.pad(counts, pads)
        size = counts.shape[axis]
        parts = [np.take(wide, range(o, o + size), axis=axis) for o in range(3)]
        counts = 0.25 * parts[0] + 0.5 * parts[1] + 0.25 * parts[2]
    return counts.ravel()
