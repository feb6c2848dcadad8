"""The comparison sheet: several pages side by side, with costs and changes in words under each."""

from __future__ import annotations

import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from fitter.errors import UseError
from fitter.layout import Layout
from fitter.proof import figures
from fitter.proof.frame import GROUND, INK, QUIET, RULE, Frame, page_shadow
from fitter.proof.page import checked_canvas, draw_page
from fitter.proof.photo import Opener, open_photo
from fitter.proof.type import BOLD, REGULAR, draw_label, wrap_label, wrap_parts
from fitter.units import INCH

WIDE = 860
"""Width of one page on the sheet in pixels, unless a resolution is asked for."""
MOST_ACROSS = 4
_SMALL, _LINE, _COST_LINE = 2.15, 3.0, 2.8
"""Size of small type and distances of its lines, in hundredths of a page's width."""


def draw_comparison(
    layouts: Sequence[Layout], *, base: str | os.PathLike[str], ppi: int | None = None, opener: Opener = open_photo
) -> Image.Image:
    """Draw several layouts side by side, trimmed, with their costs and changes in words.

    Parameters
    ----------
    layouts
        One or more, best first.
    base
        Folder the photos' file names are relative to.
    ppi
        Pixels per inch; by default pages come out 860 px wide.
    opener
        Opens a photo as seen, at least so large.

    Returns
    -------
    PIL.Image.Image
        RGB, at most four pages in a row.

    Raises
    ------
    UseError
        When there is no layout.
    """
    if not layouts:
        raise UseError("there is nothing to compare; name at least one layout")
    if ppi is None:
        ppi = max(20, round(WIDE * INCH / max(layout.page.trim[0] for layout in layouts)))
    pages = []
    for layout in layouts:
        canvas = checked_canvas(layout, ppi)
        pages.append(draw_page(layout, canvas, Path(base), opener).crop(canvas.box((0, 0, *layout.page.trim))))
    column = max(page.width for page in pages)
    unit = column / 100
    gap, side = math.ceil(unit * 7), math.ceil(unit * 7)
    across = len(pages) if len(pages) <= MOST_ACROSS else -(-len(pages) // -(-len(pages) // MOST_ACROSS))
    captions = [_caption(layout, column, unit) for layout in layouts]
    rows = [range(start, min(start + across, len(pages))) for start in range(0, len(pages), across)]
    heights = [
        (max(pages[i].height for i in row), max(captions[i].height for i in row) * unit)
        for row in rows
    ]
    width = 2 * side + across * column + (across - 1) * gap
    image = Image.new("RGB", (width, math.ceil(side + sum(math.ceil(a + b) for a, b in heights))), GROUND)
    y = side
    for row, (tallest, below) in zip(rows, heights, strict=True):
        for place, index in enumerate(row):
            x = side + place * (column + gap)
            at = (x + (column - pages[index].width) // 2, y + tallest - pages[index].height)
            page_shadow(image, at, Frame(unit, pages[index].size))
            image.paste(pages[index], at)
            _draw_caption(image, layouts[index], index, (x, y + tallest), (column, unit), captions[index])
        y += math.ceil(tallest + below)
    return image


@dataclass(frozen=True)
class _Caption:
    """What stands below a page, in lines: its costs; its changes, each line marked when it starts a sentence."""

    costs: list[str]
    changes: list[tuple[str, bool]]

    @property
    def height(self) -> float:
        """Room it takes with the lines above it and air below, in hundredths of a page's width."""
        return 17 + _COST_LINE * (len(self.costs) - 1) + _LINE * len(self.changes)


def _caption(layout: Layout, column: int, unit: float) -> _Caption:
    costs = wrap_parts(
        figures.cost_terms(layout) or ["nothing to pay"], column, REGULAR, unit * _SMALL, gap="   "
    )
    changes: list[tuple[str, bool]] = []
    for sentence in figures.change_words(layout):
        wrapped = wrap_label(sentence, column - unit * 2.4, REGULAR, unit * _SMALL)
        changes += [(line, i == 0) for i, line in enumerate(wrapped)]
    return _Caption(costs, changes)


def _draw_caption(
    image: Image.Image,
    layout: Layout,
    index: int,
    at: tuple[int, int],
    measure: tuple[int, float],
    caption: _Caption,
) -> None:
    column, u = measure
    x, y = float(at[0]), at[1] + u * 5.4
    used = draw_label(image, (x, y), f"{index + 1}", INK, pixels=u * 3.6, family=BOLD)
    cost = f"cost {figures.cost_words(layout)}"
    draw_label(image, (x + used + u * 1.6, y), cost, INK, pixels=u * 2.7, family=BOLD)
    draw_label(image, (x + column, y), figures.search_words(layout), QUIET, pixels=u * 2.3, align="right")
    y += u * (3.5 - _COST_LINE)
    for line in caption.costs:
        y += u * _COST_LINE
        draw_label(image, (x, y), line, QUIET, pixels=u * _SMALL)
    y += u * 1.5
    image.paste(RULE, (at[0], round(y), at[0] + column, round(y) + max(1, round(u * 0.1))))
    y += u * 3.2
    for line, first in caption.changes:
        if first:
            draw_label(image, (x, y), "·", QUIET, pixels=u * 2.6, family=BOLD)
        draw_label(image, (x + u * 1.8, y), line, INK, pixels=u * _SMALL)
        y += u * _LINE
