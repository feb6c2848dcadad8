"""Guides: trim, safe box and bleed, told apart by line pattern as well as by colour.

Trim is a thin solid line, the safe box dashed, the bleed dotted; each lies on the outer side of what it
marks, so nothing inside the safe box is ever covered.  Hues are from the palette of Okabe and Ito (*Color
Universal Design*, 2008), which colour-blind readers tell apart: vermilion, blue, bluish green.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from PIL import Image, ImageDraw

from fitter.pages import Page
from fitter.proof.shapes import Canvas, Region
from fitter.proof.type import draw_label, label_width
from fitter.units import format_length

Line = Literal["solid", "dashed", "dotted"]
TRIM = (213, 94, 0)
SAFE = (0, 114, 178)
BLEED = (0, 158, 115)
HALO = (255, 255, 255)
_HALO_STRENGTH = 130
_DIM = 0.62
"""Share of the frame's ground mixed into the bleed beyond the trim."""
_FINE = 8


@dataclass(frozen=True)
class Guide:
    """One guide: its name in the legend, pattern and colour."""

    name: str
    line: Line
    color: tuple[int, int, int]


def guides_of(page: Page) -> list[tuple[Guide, tuple[int, int, int, int]]]:
    """Return each guide with its box in micrometres; a page without bleed has no bleed line."""
    margins = set(page.margins.values())
    inside = f", {format_length(margins.pop())} inside" if len(margins) == 1 else ", wider at the gutter"
    found = [
        (Guide("trim", "solid", TRIM), (0, 0, *page.trim)),
        (Guide(f"safe box{inside}", "dashed", SAFE), page.safe),
    ]
    if page.bleed:
        found.append((Guide(f"bleed, {format_length(page.bleed)} outside", "dotted", BLEED), page.bleed_box))
    return found


def dim_bleed(image: Image.Image, canvas: Canvas, at: tuple[int, int], ground: tuple[int, int, int]) -> None:
    """Fade what lies beyond the trim towards the frame's ground."""
    left, top, right, bottom = canvas.box((0, 0, *canvas.page.trim))
    width, height = canvas.size
    for x0, y0, x1, y1 in (
        (0, 0, width, top),
        (0, bottom, width, height),
        (0, top, left, bottom),
        (right, top, width, bottom),
    ):
        if x0 < x1 and y0 < y1:
            box = (at[0] + x0, at[1] + y0, at[0] + x1, at[1] + y1)
            part = image.crop(box)
            image.paste(Image.blend(part, Image.new("RGB", part.size, ground), _DIM), box)


def draw_guides(image: Image.Image, canvas: Canvas, at: tuple[int, int], unit: float) -> None:
    """Draw all guides of the page whose bleed box starts at ``at``; ``unit`` is a hundredth of its side."""
    width = thickness(unit)
    for guide, box in guides_of(canvas.page):
        left, top, right, bottom = canvas.box(box)
        draw_box(image, (at[0] + left, at[1] + top, at[0] + right, at[1] + bottom), guide, width, unit)


def draw_box(image: Image.Image, box: Region, guide: Guide, width: int, unit: float) -> None:
    """Draw a guide's line, ``width`` pixels wide, just outside a box; ``unit`` sets the length of its pattern."""
    if guide.line == "dotted":
        _dots(image, box, guide.color, width, unit)
    else:
        _strokes(image, box, guide, width, unit)


def thickness(unit: float) -> int:
    """Return the width of a guide in pixels."""
    return max(1, round(unit * 0.11))


def _pitch(unit: float) -> float:
    """Return the distance of dots; never so short that they run together on a small picture."""
    return max(unit * 0.8, 2.4 * (thickness(unit) + 2))


def _dashes(start: int, end: int, line: Line, unit: float) -> Iterator[tuple[int, int]]:
    """Yield where strokes begin and end along one side."""
    if line == "solid":
        yield start, end
        return
    count = max(1, round((end - start) / (2.75 * _pitch(unit))))
    step = (end - start) / count
    for number in range(count):
        yield round(start + step * (number + 0.2)), round(start + step * (number + 0.8))


def _strokes(image: Image.Image, box: Region, guide: Guide, width: int, unit: float) -> None:
    """Draw strokes just outside ``box``; dashes get a faint light halo that shows on dark photos."""
    left, top, right, bottom = box
    halo = 0 if guide.line == "solid" else 1
    reach = width if guide.line == "solid" else 0
    parts: list[tuple[Region, Region]] = []
    for a, b in _dashes(left - reach, right + reach, guide.line, unit):
        parts.append(((a, top - width, b, top), (a, top - width - halo, b, top)))
        parts.append(((a, bottom, b, bottom + width), (a, bottom, b, bottom + width + halo)))
    for a, b in _dashes(top, bottom, guide.line, unit):
        parts.append(((left - width, a, left, b), (left - width - halo, a, left, b)))
        parts.append(((right, a, right + width, b), (right, a, right + width + halo, b)))
    for stroke, around in parts:
        if halo:
            strength = Image.new("L", (around[2] - around[0], around[3] - around[1]), _HALO_STRENGTH)
            image.paste(HALO, around, strength)
        image.paste(guide.color, stroke)


def _dots(image: Image.Image, box: Region, colour: tuple[int, int, int], width: int, unit: float) -> None:
    """Draw round dots centred just outside ``box``."""
    left, top, right, bottom = box
    size = width + 2
    fine = Image.new("L", (size * _FINE, size * _FINE))
    ImageDraw.Draw(fine).ellipse((0, 0, size * _FINE - 1, size * _FINE - 1), fill=255)
    dot = fine.reduce(_FINE)
    pitch = _pitch(unit)
    across = max(1, round((right - left) / pitch))
    down = max(1, round((bottom - top) / pitch))
    across_x = [round(left + (right - left) * i / across - size / 2) for i in range(across + 1)]
    down_y = [round(top + (bottom - top) * i / down - size / 2) for i in range(1, down)]
    places = [(x, y) for x in across_x for y in (top - size, bottom)]
    places += [(x, y) for y in down_y for x in (left - size, right)]
    for place in places:
        image.paste(colour, place, dot)


def draw_legend(
    image: Image.Image, page: Page, at: tuple[float, float], pixels: float, ink: tuple[int, int, int]
) -> float:
    """Draw samples of the guides with their names on one base line; return the width used."""
    return draw_samples(image, [guide for guide, _ in guides_of(page)], at, pixels, ink)


def draw_samples(
    image: Image.Image,
    guides: Sequence[Guide],
    at: tuple[float, float],
    pixels: float,
    ink: tuple[int, int, int],
) -> float:
    """Draw a sample of each line with its name, one after the other on one base line; return the width used."""
    x = at[0]
    sample = pixels * 2.6
    width = max(2, round(pixels * 0.09))
    middle = round(at[1] - pixels * 0.27)
    for guide in guides:
        left, right = round(x), round(x + sample)
        if guide.line == "dotted":
            _sample_dots(image, (left, middle, right), guide.color, width)
        else:
            parts = [(left, right)] if guide.line == "solid" else _sample_dashes(left, right)
            for a, b in parts:
                image.paste(guide.color, (a, middle - width // 2, b, middle - width // 2 + width))
        x = right + pixels * 0.6
        x += draw_label(image, (x, at[1]), guide.name, ink, pixels=pixels) + pixels * 2.2
    return x - pixels * 2.2 - at[0]


def legend_width(page: Page, pixels: float) -> float:
    """Return the width of the legend in pixels."""
    return sum(label_width(g.name, "Lora", pixels) + pixels * 5.4 for g, _ in guides_of(page)) - pixels * 2.2


def _sample_dashes(left: int, right: int) -> list[tuple[int, int]]:
    step = (right - left) / 14
    return [(round(left + a * step), round(left + b * step)) for a, b in ((0, 4), (5, 9), (10, 14))]


def _sample_dots(image: Image.Image, place: tuple[int, int, int], colour: tuple[int, int, int], width: int) -> None:
    left, middle, right = place
    size = width + 2
    fine = Image.new("L", (size * _FINE, size * _FINE))
    ImageDraw.Draw(fine).ellipse((0, 0, size * _FINE - 1, size * _FINE - 1), fill=255)
    dot = fine.reduce(_FINE)
    count = max(3, round((right - left) / (size * 2.2)))
    for number in range(count):
        x = left + (right - left - size) * number / (count - 1)
        image.paste(colour, (round(x), middle - size // 2), dot)
