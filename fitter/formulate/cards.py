"""Cards: where ink may lie on them, and what of them lies under something."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fitter.formulate.content import INK_CLEAR, Floats, Ints, TextItem, journaling_options, title_options
from fitter.formulate.relations import are_loose, is_loose_text, is_turned, overlapping
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.reference_boxes import extents
from fitter.template import Element
from fitter.typesetting import JOURNALING_SIZES, TITLE_SIZES, set_title
from fitter.units import INCH, LARGEST, nearest

STEEPEST = 15.0
"""Steepest tilt lines of text may take, degrees."""
ROUNDING = 8
"""Width left free of ink, micrometres, for rounding."""
Insets = tuple[int, int, int, int]


@dataclass(frozen=True)
class TypeChoice:
    """The type that suits words best in one size of a spot: points, cost, and whether they run vertically."""

    size: float
    cost: int
    vertical: bool = False


def type_choices(
    element: Element, item: TextItem, width: Ints, height: Ints, insets: Insets = (0, 0, 0, 0)
) -> list[TypeChoice | None]:
    """R2: return the best type for words in a card, per size of it; ``None`` where they do not fit.

    A title whose spot allows it runs vertically where that takes a larger size; a part of a text has the size of all.
    """
    area = text_area(element, width, height, insets)
    sizes = JOURNALING_SIZES if item.size is None else (item.size,)
    options = title_options(item.text, *area) if item.is_title else journaling_options(item.text, *area, sizes)
    level = [None if best is None else TypeChoice(*best) for best in options]
    if not (item.is_title and may_run_vertically(element)):
        return level
    left, top, right, bottom = insets
    sideways = text_area(on_its_side(element), height, width, (top, left, bottom, right))
    found = []
    for flat, best in zip(level, title_options(item.text, *sideways), strict=True):
        larger = best is not None and (flat is None or best[0] > flat.size)
        found.append(TypeChoice(best[0], best[1], vertical=True) if best is not None and larger else flat)
    return found


def carried_choice(spot: Element, item: TextItem, scale: float) -> TypeChoice | None:
    """Return the best type for words in a carried spot of a reference size, scaled with its carrier."""
    width, height = (np.array([2 * nearest(side * scale / 2)]) for side in spot.size)
    return type_choices(spot, item, width, height)[0]


def may_run_vertically(element: Element) -> bool:
    """Whether a title in a spot may run vertically: the drawing says so, and the spot is not tilted too steeply."""
    return element.limits.vertical and abs(element.tilt) <= STEEPEST


def on_its_side(element: Element) -> Element:
    """Return an element as a line of words sees it that runs vertically: width and height exchanged."""
    outline = tuple((y, -x) for x, y in element.outline)
    return replace(element, size=element.size[::-1], outline=outline)


@lru_cache(maxsize=64)
def least_title_cards(text: str) -> tuple[tuple[int, int], ...]:
    """Return the width and height of the smallest cards that hold a title: on one line, and on two if it has words."""
    found = []
    width = LARGEST
    while (made := set_title(text, size_pt=TITLE_SIZES[0], width=width)) is not None:
        found.append((made.ink_width + 2 * INK_CLEAR + ROUNDING, made.ink_height + 2 * INK_CLEAR))
        width = made.ink_width - 1
    return tuple(found)


@lru_cache(maxsize=4096)
def panel_settings(text: str, title: bool, panel_w: int) -> tuple[tuple[int, float, int], ...]:
    """Return, for every height of a panel of a width that takes the words, the type size and its cost."""
    ink_w = panel_w - 2 * INK_CLEAR - ROUNDING
    if ink_w <= 0:
        return ()
    heights = np.arange(INCH // 2, 8 * INCH, INCH // 4)
    widths = np.full(len(heights), ink_w)
    options = title_options if title else journaling_options
    found = options(text, widths, heights - 2 * INK_CLEAR)
    return tuple(
        (int(height), best[0], best[1]) for height, best in zip(heights, found, strict=True) if best is not None
    )


def clear_area(scene: Scene, atom: Atom) -> Insets | None:
    """R2: what of a card lies under something in the reference, as insets of its largest uncovered rectangle.

    Returns
    -------
    tuple or None
        Insets from left, top, right and bottom, micrometres; ``None`` when something lies within it, so that no
        fixed rectangle stays free, or words that look for a place of their own as the page turns.
    """
    insets = [0, 0, 0, 0]
    left, top, right, bottom = atom.element.box
    start = scene.atoms.index(atom)
    for upper in scene.atoms[start + 1 :]:
        if upper.block == atom.block and upper.part == "rider" and is_text(upper.element):
            continue
        if upper.block != atom.block and not overlapping(scene, atom, upper):
            continue
        loose = upper.block != atom.block and are_loose(scene, atom, upper)
        if loose and (atom.element.role == "title" or is_loose_text(upper)):
            continue
        if upper.block != atom.block and is_turned(scene) and is_loose_text(upper):
            return None
        if upper.block == atom.block and upper.part == "mat":
            continue
        box = extents(_seen_from(atom.element, upper.element))
        cuts = (box[2] - left, box[3] - top, right - box[0], bottom - box[1])
        if upper.part == "block" and box[0] > left and box[2] < right and box[1] > top and box[3] < bottom:
            return None
        # Of equal shares a side's, so that all flips of a page choose alike.
        side = min(range(4), key=lambda s: (cuts[s] / (right - left if s % 2 == 0 else bottom - top), s % 2))
        insets[side] = max(insets[side], cuts[side])
    return insets[0], insets[1], insets[2], insets[3]


def _seen_from(card: Element, other: Element) -> Element:
    """Return an element turned with a slightly tilted card about its centre, so that the card stands level."""
    if not card.tilt or abs(card.tilt) > STEEPEST:
        return other
    angle = math.radians(-card.tilt)
    dx, dy = other.center[0] - card.center[0], other.center[1] - card.center[1]
    x = card.center[0] + nearest(dx * math.cos(angle) - dy * math.sin(angle))
    y = card.center[1] + nearest(dx * math.sin(angle) + dy * math.cos(angle))
    return replace(other, center=(x, y), tilt=other.tilt - card.tilt)


def text_area(element: Element, width: Ints, height: Ints, insets: Insets) -> tuple[Ints, Floats]:
    """Return the size of the rectangle for ink in a card: inside its real shape, clear of its edge and covers.

    Widths are whole micrometres, for setting lines; heights exact, as how full a card is counts to the last of them.
    """
    if element.shape == "ellipse":
        w = np.asarray(width / math.sqrt(2), dtype=np.float64)
        h = np.asarray(height / math.sqrt(2), dtype=np.float64)
    elif element.shape == "path":
        share = _inscribed(element)
        w, h = width.astype(np.float64) * share, height.astype(np.float64) * share
    else:
        w, h = width.astype(np.float64), height.astype(np.float64)
    if abs(element.tilt) > STEEPEST:
        angle = math.radians(abs(element.tilt))
        across = w * math.cos(angle) + h * math.sin(angle)
        down = w * math.sin(angle) + h * math.cos(angle)
        level = np.minimum(w / across, h / down)
        w, h = w * level, h * level
    grow = np.maximum(1.0, width / element.size[0])
    clear = 2 * INK_CLEAR
    w = np.floor(w - clear - ROUNDING - (insets[0] + insets[2]) * grow)
    return w.astype(np.int64), h - clear - (insets[1] + insets[3]) * grow


def _inscribed(element: Element) -> float:
    """Return the largest share of a path's box, centred, that lies inside its outline."""
    from shapely.geometry import Polygon, box

    polygon = Polygon(element.outline)
    w, h = element.size
    for percent in range(98, 5, -2):
        share = percent / 100
        if polygon.covers(box(-w * share / 2, -h * share / 2, w * share / 2, h * share / 2)):
            return share
    return 0.0
