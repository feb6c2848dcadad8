"""Type: set lines drawn where the layout puts their ink, and labels for the frame.

Enters: :class:`fitter.layout.SetText` or a short label.  Leaves: ink on a picture.  Letters are drawn several
times too large and reduced, so widths agree with the measured ones at every resolution.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from functools import lru_cache
from typing import Literal

from PIL import Image, ImageDraw, ImageFont

from fitter import fonts, typesetting
from fitter.layout import SetText
from fitter.proof.shapes import Canvas, Region, bounds, clip, color, tilted, turn
from fitter.shown import shown
from fitter.units import POINTS_PER_INCH

REGULAR = fonts.JOURNALING_FONT
BOLD = fonts.TITLE_FONT
Colour = tuple[int, int, int]
Align = Literal["left", "center", "right"]

_OVER = 4
_LARGE_OVER = 2
_LARGE = 160
"""Pixels per em from which drawing twice too large is smooth enough."""


@lru_cache(maxsize=64)
def face(family: str, pixels: float) -> ImageFont.FreeTypeFont:
    """Return a family at a size in pixels per em, for labels and set text alike."""
    return fonts.drawing_font(family, pixels)


def draw_set_text(page: Image.Image, canvas: Canvas, text: SetText, where: str) -> None:
    """Draw set lines onto the page.

    Base lines start where :func:`fitter.typesetting.first_baseline` says below the top of the ink box and
    follow each other by the leading; the block runs at ``text.tilt`` about the centre of the ink box.
    """
    em = text.size_pt * canvas.ppi / POINTS_PER_INCH
    over = _LARGE_OVER if em >= _LARGE else _OVER
    width, height = text.ink.size[0] * canvas.scale, text.ink.size[1] * canvas.scale
    pad = math.ceil(em)
    center = canvas.xy(text.ink.center)
    if text.tilt == 0:
        # The block's origin keeps its fraction of a pixel, so nothing is resampled.
        left, top = center[0] - width / 2, center[1] - height / 2
        origin = math.floor(left) - pad, math.floor(top) - pad
        size = math.ceil(width) + 2 * pad + 1, math.ceil(height) + 2 * pad + 1
        ink = _ink(text, size, (left - origin[0], top - origin[1]), (width, em), canvas, over).reduce(over)
        page.paste(color(text.color, where), origin, ink)
        return
    size = math.ceil(width) + 2 * pad, math.ceil(height) + 2 * pad
    start = (size[0] - width) / 2, (size[1] - height) / 2
    flat = _ink(text, size, start, (width, em), canvas, over)
    if over > 2:
        flat = flat.reduce(over // 2)
    corners = [
        turn((x * size[0] / 2, y * size[1] / 2), text.tilt) for x, y in ((-1, -1), (1, -1), (1, 1), (-1, 1))
    ]
    region = clip(bounds([(center[0] + x, center[1] + y) for x, y in corners]), canvas.region)
    if region is None:
        return
    doubled: Region = (2 * region[0], 2 * region[1], 2 * region[2], 2 * region[3])
    turned = tilted(flat, (2 * center[0], 2 * center[1]), text.tilt, doubled)
    page.paste(color(text.color, where), region[:2], turned.reduce(2))


def _ink(
    text: SetText,
    size: tuple[int, int],
    start: tuple[float, float],
    measure: tuple[float, float],
    canvas: Canvas,
    over: int,
) -> Image.Image:
    """Return the lines as an enlarged mask; ``start`` is the ink box's corner, ``measure`` width and em."""
    width, em = measure
    ink = Image.new("L", (size[0] * over, size[1] * over))
    draw = ImageDraw.Draw(ink)
    font = face(text.font, round(em * over, 3))
    rise = typesetting.first_baseline(text.lines, font=text.font, size_pt=text.size_pt) * canvas.scale
    leading = text.leading_pt * canvas.ppi / POINTS_PER_INCH
    for number, line in enumerate(text.lines):
        x = start[0]
        if text.align == "center":
            advance = typesetting.line_width(line, font=text.font, size_pt=text.size_pt) * canvas.scale
            x += (width - advance) / 2
        draw.text((x * over, (start[1] + rise + number * leading) * over), line, 255, font, "ls")
    return ink


def label_width(text: str, family: str, pixels: float) -> float:
    """Return the advance width of a label in pixels."""
    return face(family, round(pixels * _OVER, 3)).getlength(shown(text)) / _OVER


def draw_label(
    image: Image.Image,
    at: tuple[float, float],
    text: str,
    fill: Colour,
    *,
    pixels: float,
    family: str = REGULAR,
    align: Align = "left",
) -> float:
    """Draw one line of a label with its base line at ``at``; return its width in pixels."""
    if not text:
        return 0.0
    text = shown(text)
    font = face(family, round(pixels * _OVER, 3))
    width = font.getlength(text) / _OVER
    x = at[0] - {"left": 0.0, "center": width / 2, "right": width}[align]
    pad = math.ceil(pixels)
    origin = math.floor(x) - pad, math.floor(at[1]) - 2 * pad
    mask = Image.new("L", ((math.ceil(width) + 2 * pad + 1) * _OVER, 4 * pad * _OVER))
    place = (x - origin[0]) * _OVER, (at[1] - origin[1]) * _OVER
    ImageDraw.Draw(mask).text(place, text, 255, font, "ls")
    image.paste(fill, origin, mask.reduce(_OVER))
    return width


def wrap_label(text: str, width: float, family: str, pixels: float, most: int | None = None) -> list[str]:
    """Break a label into lines no wider than ``width``; what exceeds ``most`` lines ends in an ellipsis."""
    lines = wrap_parts(text.split(), width, family, pixels)
    if most is not None and len(lines) > most:
        lines = [*lines[: most - 1], shorten(f"{lines[most - 1]} …", width, family, pixels)]
    return lines


def wrap_parts(parts: Iterable[str], width: float, family: str, pixels: float, gap: str = " ") -> list[str]:
    """Set parts with gaps between them in lines no wider than ``width``; a longer part ends in an ellipsis."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]}{gap}{part}" if lines else part
        if lines and label_width(longer, family, pixels) <= width:
            lines[-1] = longer
        else:
            lines.append(part)
    return [shorten(line, width, family, pixels) for line in lines]


def shorten(text: str, width: float, family: str, pixels: float) -> str:
    """Cut a label with an ellipsis so that it is no wider than ``width`` pixels."""
    if label_width(text, family, pixels) <= width:
        return text
    text = text.rstrip("… ")
    while text and label_width(f"{text}…", family, pixels) > width:
        text = text[:-1].rstrip()
    return f"{text}…"
