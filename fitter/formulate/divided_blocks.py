"""A slot divided among several photos, or repeated beside itself: the freedom ``add-slot`` for photo slots."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from fitter.formulate import rates
from fitter.formulate.content import (
    SPLIT_GAP,
    STEP,
    Config,
    Division,
    Ints,
    copies_size,
    divisions,
    photo_prices,
    piece_boxes,
    resize_price,
)
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.size_grid import SMALLEST_PHOTO, Grid, room_for, smallest_side, union
from fitter.layout import GivenPhoto
from fitter.template import Element
from fitter.units import divide_nearest

Flags = NDArray[np.bool_]

MOST_PIECES = 4
"""Pieces a slot may be divided into."""
LEAST_KEPT = 0.3
"""Share of a picture's area that a piece must show."""
MOST_DIVIDED_SIZES = 60
"""Sizes offered for one division."""
MOST_PAIRED = 5
"""Up to this many photos any two may share a slot; of more only neighbours in time."""


def companies(settings: Settings, pieces: int, slots: int) -> Iterator[tuple[int, ...]]:
    """Return the photos that may share a slot of a template with a number of photo slots to give.

    None while there is a slot for each; else any pair of few photos, or neighbours in time.
    """
    count = len(settings.photos)
    if count <= slots:
        return
    if pieces == 2 and count <= MOST_PAIRED:
        yield from combinations(range(count), 2)
        return
    order = sorted(range(count), key=lambda n: settings.photos[n].order)
    for start in range(count - pieces + 1):
        yield tuple(sorted(order[start : start + pieces], key=lambda n: settings.photos[n].order))


def most_pieces(scene: Scene, settings: Settings) -> int:
    """Return into how many pieces a slot may be divided: more only when photos outnumber the slots."""
    count = len(settings.photos)
    slots = scene.photo_slots
    return min(MOST_PIECES, count, 2 + max(0, math.ceil((count - 2 * slots) / max(1, slots))))


def divided(
    scene: Scene, atom: Atom, settings: Settings, grid: Grid, chosen: tuple[int, ...], swap: dict[str, int]
) -> Iterator[Config]:
    """R4, add-slot: the slot divided among several photos, in the order they were taken."""
    element = atom.element
    photos = [settings.photos[n] for n in chosen]
    for division in divisions(len(chosen)):
        target = copies_size(element, division)
        width, height = union((grid.width, grid.height), _beside(scene, element, division))
        resize = np.minimum(resize_price(element, width, height, target), resize_price(element, width, height))
        order = np.argsort(resize, kind="stable")[:MOST_DIVIDED_SIZES]
        sizes = list(zip(width[order].tolist(), height[order].tolist(), strict=True))
        boxes = np.array([piece_boxes(size, division, photos) for size in sizes], np.int64)
        allowed, prices = _price_pieces(photos, boxes.reshape(-1, division.count, 4), settings)
        allowed &= boxes[..., 2:].min(axis=(1, 2)) >= smallest_side(element, SMALLEST_PHOTO)
        for size, fits, ppi, price in zip(sizes, allowed, prices.tolist(), resize[order].tolist(), strict=True):
            if fits:
                terms = {"ppi": ppi, "resize": price, "add-slot": rates.ADD_SLOT * (len(chosen) - 1), **swap}
                yield Config("photo", size, photos=chosen, division=division, terms=terms)


def _beside(scene: Scene, element: Element, division: Division) -> tuple[Ints, Ints]:
    """add-slot: the size of a slot repeated beside itself, in whole steps, where the page has room for it."""
    sides = [
        side + STEP * divide_nearest((count - 1) * (side + SPLIT_GAP), STEP)
        for side, count in zip(element.size, (division.columns, division.rows), strict=True)
    ]
    room = room_for(scene, element)
    fits = not element.bleeds and sides[0] <= room[0] and sides[1] <= room[1]
    pair = np.array([sides] if fits else [], dtype=np.int64).reshape(-1, 2)
    return pair[:, 0], pair[:, 1]


def _price_pieces(photos: list[GivenPhoto], boxes: Ints, settings: Settings) -> tuple[Flags, Ints]:
    """Return for each size of a divided slot whether all its pieces are allowed, and their cost of resolution.

    Parameters
    ----------
    boxes
        Left, top, width and height of the pieces: one row for each size, one box for each photo.
    """
    allowed, prices = np.ones(len(boxes), bool), np.zeros(len(boxes), np.int64)
    for number, photo in enumerate(photos):
        price, ppi, kept = photo_prices(photo, boxes[:, number, 2], boxes[:, number, 3], settings.target_ppi)
        allowed &= (ppi >= settings.min_ppi) & (kept >= LEAST_KEPT)
        prices += price
    return allowed, prices
