"""What a photo costs in a slot: the best window of it, and its resolution there."""

from __future__ import annotations

import math
from fractions import Fraction

import numpy as np

from fitter.layout import GivenPhoto
from fitter.pages import Page
from tests.proofs.published import INCH
from tests.proofs.spots import Spot, Wishes


def photo_cost(
    photo: GivenPhoto,
    slot: tuple[int, int],
    piece: tuple[int, int, int, int],
    spot: Spot,
    page: Page,
    wishes: Wishes,
    *,
    split: bool,
) -> float | None:
    """What a photo costs in a piece of a slot; ``None`` if it may not stand there."""
    assert not (split and spot.bleeds)
    (pw, ph), (w, h) = photo.pixels, piece[2:]
    if pw * h >= ph * w:
        cw, ch = max(1, min(pw, math.floor(Fraction(ph * w, h) + Fraction(1, 2)))), ph
    else:
        cw, ch = pw, max(1, min(ph, math.floor(Fraction(pw * h, w) + Fraction(1, 2))))
    out = [[0, 0], [0, 0]]
    for axis, sides in enumerate((("left", "right"), ("top", "bottom"))):
        if sides[0] in spot.bleeds:
            out[axis][0] = -spot.low(axis)
        if sides[1] in spot.bleeds:
            out[axis][1] = spot.high(axis) - page.trim[axis]
    kept = Fraction(cw * ch, pw * ph) * Fraction((w - sum(out[0])) * (h - sum(out[1])), w * h)
    ppi = min(Fraction(cw * INCH, w), Fraction(ch * INCH, h))
    if ppi < wishes.least or (split and kept < Fraction(3, 10)):
        return None
    starts = [_starts(photo, (cw, ch), axis, wishes) for axis in (0, 1)]
    if not all(starts):
        return None
    loss = math.floor(10**6 * Fraction(str(photo.weight)) * (1 - kept) + Fraction(1, 2))
    if photo.importance:
        shares = [[Fraction(side, full) for side in ends] for ends, full in zip(out, (w, h), strict=True)]
        loss = math.floor(10**6 * photo.weight * (1 - _most_kept(photo, (cw, ch), starts, shares)) + 0.5)
    return loss * wishes.factor("crop-loss") + ppi_cost(ppi, wishes.target) * wishes.factor("ppi")


def _starts(photo: GivenPhoto, window: tuple[int, int], axis: int, wishes: Wishes) -> range:
    """Every start of a window, in whole pixels, that shows every keep box."""
    full = photo.pixels[axis]
    low, high = 0, full - window[axis]
    if photo.keep:
        first = min(Fraction(box[axis]) * full for box in photo.keep)
        last = max((Fraction(box[axis]) + Fraction(box[axis + 2])) * full for box in photo.keep)
        low, high = max(low, math.ceil(last - window[axis])), min(high, math.floor(first))
    if not wishes.may("crop"):
        middle = (full - window[axis]) // 2
        low, high = max(low, middle), min(high, middle)
    return range(low, high + 1)


def _most_kept(photo: GivenPhoto, window: tuple[int, int], starts: list[range], beyond: list[list[Fraction]]) -> float:
    """The most importance a window keeps inside the trim: every start tried, sums read from a curve of them."""
    grid = np.array(photo.importance, np.float64)
    weights, curves = grid / grid.sum(), []
    axis = 0 if window[0] < photo.pixels[0] else 1
    for along, table in ((1 - axis, weights if axis == 0 else weights.T), (axis, None)):
        full, length = photo.pixels[along], window[along]
        at = np.array(starts[along], np.float64)
        ends = (at + float(beyond[along][0]) * length, at + (1 - float(beyond[along][1])) * length)
        if table is not None:
            edges = np.arange(table.shape[0] + 1) * full / table.shape[0]
            part = np.clip(np.minimum(edges[1:], ends[1][0]) - np.maximum(edges[:-1], ends[0][0]), 0, None)
            curves = [0.0, *np.cumsum(part / np.diff(edges) @ table)]
        else:
            edges = np.arange(len(curves)) * full / (len(curves) - 1)
            kept = np.interp(ends[1], edges, curves) - np.interp(ends[0], edges, curves)
    return float(kept.max())


def ppi_cost(ppi: Fraction, target: int) -> int:
    knee, half = Fraction(2 * target, 3), Fraction(target, 2)
    if ppi >= target:
        return 0
    if ppi >= knee:
        return math.floor(50_000 * (target - ppi) / (target - knee) + Fraction(1, 2))
    return math.floor(50_000 + 150_000 * (knee - ppi) / (knee - half) + Fraction(1, 2))
