"""Cards: the type that suits words on them, and the area for their ink; see ``clearings`` for what lies on them."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from fitter.formulate.content import INK_CLEAR, Floats, Ints, TextItem, journaling_options, title_options
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


def text_area(element: Element, width: Ints, height: Ints, insets: Insets) -> tuple[Ints, Floats]:
    """Return the size of the rectangle for ink in a card: inside its real shape, clear of its edge and covers.

    Widths are whole micrometres, for setting lines; heights exact, as how full a card is counts to the last of them.
    """
    share = inner_share(element)
    w, h = width.astype(np.float64) * share, height.astype(np.float64) * share
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


def inner_share(element: Element) -> float:
    """Return the share of its box, centred, that lies inside a card's shape."""
    if element.shape == "rect":
        return 1.0
    return 1 / math.sqrt(2) if element.shape == "ellipse" else _inscribed(element)


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
