"""A slot divided among several photos, or repeated beside itself: the freedom ``add-slot`` for photo slots."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations

import numpy as np

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
from fitter.template import Element
from fitter.units import divide_nearest

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
        for i in order.tolist():
            size = (int(width[i]), int(height[i]))
            boxes = piece_boxes(size, division, photos)
            if min(min(b[2], b[3]) for b in boxes) < smallest_side(element, SMALLEST_PHOTO):
                continue
            terms = {
                "ppi": 0,
                "resize": int(resize[i]),
                "add-slot": rates.ADD_SLOT * (len(chosen) - 1),
                **swap,
            }
            if _price_pieces(settings, boxes, chosen, terms):
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


def _price_pieces(
    settings: Settings, boxes: list[tuple[int, int, int, int]], chosen: tuple[int, ...], terms: dict[str, int]
) -> bool:
    """Add what the pieces of a divided slot cost; ``False`` when one of them is not allowed."""
    for number, (_, _, width, height) in zip(chosen, boxes, strict=True):
        low, ppi, kept = photo_prices(
            settings.photos[number], np.array([width]), np.array([height]), settings.target_ppi
        )
        if ppi[0] < settings.min_ppi or kept[0] < LEAST_KEPT:
            return False
        terms["ppi"] += int(low[0])
    return True
