"""Step 4, words: a text set in the text area of its card, as ink on the page.

A vertical title turns the feet of its letters to the middle of the page: left of it (and on it) it reads from bottom
to top, right of it from top to bottom.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from fitter.formulate.cards import on_its_side, text_area
from fitter.formulate.content import TextItem
from fitter.layout import Ink, Placed, SetText
from fitter.reference_boxes import turn
from fitter.template import Element
from fitter.typesetting import Setting, set_block, set_title
from fitter.units import nearest

MOST_LEVEL_TILT = 15.0
HANG = 0.42
"""Journaling hangs this share of the spare height below the top of its area: a little above the middle."""


@dataclass(frozen=True)
class Words:
    """Words and their type size; ``middle`` is the page's, x in micrometres, for a title that runs vertically."""

    item: TextItem
    size_pt: float
    middle: int | None = None


def set_words(
    card: Placed,
    words: Words,
    reference: Element | None = None,
    insets: tuple[int, int, int, int] = (0, 0, 0, 0),
    flips: tuple[bool, bool] = (False, False),
) -> Placed:
    """Return a card with words set in its text area: a title centred, journaling from the top, balanced in height.

    Parameters
    ----------
    reference
        The card in the frame of the symmetry class, which its insets speak of; the card itself if not given.
    insets
        What lies on the card in the frame, from left, top, right and bottom.
    flips
        How the page is a flip of the frame.
    """
    reference = reference or Element("card", "journaling", card.shape, card.center, card.size, card.tilt, card.outline)
    size = np.array([card.size[0]]), np.array([card.size[1]])
    if words.middle is None:
        width, height = text_area(reference, *size, insets)
    else:
        width, height = text_area(on_its_side(reference), *size[::-1], (insets[1], insets[0], insets[3], insets[2]))
    setting = _set(words.item, words.size_pt, int(width[0]))
    assert setting is not None
    left, top, right, bottom = insets
    axis = 0 if words.middle is None else 1
    grow = max(1.0, card.size[axis] / reference.size[axis])
    if flips[0]:
        left, right = right, left
    if flips[1]:
        top, bottom = bottom, top
    tilt = 0.0 if abs(card.tilt) > MOST_LEVEL_TILT else card.tilt
    shift = ((left - right) * grow / 2, (top - bottom) * grow / 2)
    spare = max(0, int(height[0]) - setting.ink_height)
    if not words.item.is_title:
        shift = (shift[0], shift[1] - spare / 2 + spare * HANG)
    offset = turn(shift, tilt)
    center = card.center[0] + nearest(offset[0]), card.center[1] + nearest(offset[1])
    ink = 2 * math.ceil(setting.ink_width / 2), 2 * math.ceil(setting.ink_height / 2)
    if words.middle is not None:
        tilt += -90.0 if center[0] <= words.middle else 90.0
    text = SetText(
        which=words.item.which,
        lines=setting.lines,
        font=setting.font,
        size_pt=setting.size_pt,
        leading_pt=setting.leading_pt,
        color="#333333",
        ink=Ink(center, ink),
        tilt=tilt,
        align="center" if words.item.is_title else "left",
    )
    return replace(card, text=text)


def _set(item: TextItem, size: float, width: int) -> Setting | None:
    if item.is_title:
        return set_title(item.text, size_pt=size, width=width)
    return set_block(item.text, size_pt=size, width=width)
