"""Papers and their soft shadows: flat fills and quiet printed patterns.

A shadow is part of the page, plain pictures included: it makes mats, papers and photos read as layers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence

from PIL import Image, ImageChops, ImageDraw, ImageFilter

from fitter.errors import InputError
from fitter.layout import Fill, Placed
from fitter.proof.shapes import (
    XY,
    Canvas,
    Region,
    bounds,
    clip,
    color,
    coverage,
    is_level_rect,
    ring,
    tilted,
    turn,
)

SHADOW = (38, 34, 30)
SHADOW_STRENGTH = 0.30
SHADOW_BLUR = 650
"""Standard deviation of the shadow's blur, micrometres."""
SHADOW_DROP = 420
"""How far a shadow lies below its element, micrometres."""

_FINE = 8
_COARSE_SIGMA = 1.6
"""Blur in pixels of the small picture a shadow is computed on."""

Tile = Callable[[ImageDraw.ImageDraw, float], None]


def _dots(draw: ImageDraw.ImageDraw, pitch: float) -> None:
    radius = pitch * 0.115
    for x, y in ((0.25, 0.25), (0.75, 0.75)):
        draw.ellipse(
            (x * pitch - radius, y * pitch - radius, x * pitch + radius, y * pitch + radius), fill=255
        )


def _lines(draw: ImageDraw.ImageDraw, pitch: float) -> None:
    draw.rectangle((0, pitch * 0.46, pitch, pitch * 0.54), fill=255)


def _stripes(draw: ImageDraw.ImageDraw, pitch: float) -> None:
    draw.rectangle((pitch * 0.25, 0, pitch * 0.75, pitch), fill=120)


def _grid(draw: ImageDraw.ImageDraw, pitch: float) -> None:
    draw.rectangle((0, pitch * 0.47, pitch, pitch * 0.53), fill=255)
    draw.rectangle((pitch * 0.47, 0, pitch * 0.53, pitch), fill=255)


def _crosses(draw: ImageDraw.ImageDraw, pitch: float) -> None:
    arm, half = pitch * 0.10, pitch * 0.022
    for x, y in ((0.25 * pitch, 0.25 * pitch), (0.75 * pitch, 0.75 * pitch)):
        draw.rectangle((x - arm, y - half, x + arm, y + half), fill=255)
        draw.rectangle((x - half, y - arm, x + half, y + arm), fill=255)


PATTERNS: dict[str, tuple[int, Tile]] = {
    "dots": (4200, _dots),
    "lines": (2400, _lines),
    "stripes": (5600, _stripes),
    "grid": (4000, _grid),
    "crosses": (5200, _crosses),
}
"""Pattern name → length of its repeat in micrometres and what one repeat shows."""
STITCH = "stitch"
"""A pattern that follows the element's edges instead of repeating."""


def draw_paper(page: Image.Image, canvas: Canvas, element: Placed, fill: Fill) -> None:
    """Paint a flat or patterned element onto the page."""
    points = ring(element, canvas)
    level = is_level_rect(element)
    whole = canvas.box(element.box) if level else bounds(points)
    region = clip(whole, canvas.region)
    if region is None:
        return
    mask = None if level else coverage([points], region)
    where = f"element {element.id!r}"
    ground = color(fill.color, where)
    if fill.kind == "flat":
        page.paste(ground, region, mask)
        return
    ink = color(fill.accent or fill.color, where)
    if fill.motif == STITCH:
        page.paste(ground, region, mask)
        draw_stitches(page, canvas, element, ink)
        return
    if fill.motif not in PATTERNS:
        raise InputError(f"{where}: pattern {fill.motif!r} is none of {', '.join([*PATTERNS, STITCH])}")
    printed = _pattern(element, canvas, PATTERNS[fill.motif], whole, region)
    if mask is not None:
        page.paste(ground, region, mask)
        printed = ImageChops.multiply(printed, mask)
    else:
        page.paste(ground, region)
    page.paste(ink, region, printed)


def _pattern(
    element: Placed, canvas: Canvas, pattern: tuple[int, Tile], whole: Region, region: Region
) -> Image.Image:
    """Return where a region takes ink, 0…255; the pattern starts at the element's corner and tilts along."""
    pitch = max(4, round(pattern[0] * canvas.scale))
    fine = Image.new("L", (pitch * _FINE, pitch * _FINE))
    pattern[1](ImageDraw.Draw(fine), pitch * _FINE)
    tile = fine.reduce(_FINE)
    if element.tilt == 0:
        left, top = (region[0] - whole[0]) % pitch, (region[1] - whole[1]) % pitch
        width, height = region[2] - region[0], region[3] - region[1]
        return _repeat(tile, (left + width, top + height)).crop((left, top, left + width, top + height))
    size = math.ceil(element.size[0] * canvas.scale) + 4, math.ceil(element.size[1] * canvas.scale) + 4
    return tilted(_repeat(tile, size), canvas.xy(element.center), element.tilt, region)


def _repeat(tile: Image.Image, size: tuple[int, int]) -> Image.Image:
    """Fill a picture with a tile, doubling what is there already."""
    picture = Image.new("L", size)
    picture.paste(tile, (0, 0))
    width, height = tile.size
    while width < size[0]:
        picture.paste(picture.crop((0, 0, width, height)), (width, 0))
        width *= 2
    while height < size[1]:
        picture.paste(picture.crop((0, 0, size[0], height)), (0, height))
        height *= 2
    return picture


def draw_stitches(page: Image.Image, canvas: Canvas, element: Placed, ink: tuple[int, int, int]) -> None:
    """Sew a running stitch along the two long edges of a ribbon, or all round anything else."""
    width, height = element.size
    short = min(width, height)
    inset = min(short * 0.14, 1400)
    thick = min(short * 0.035, 260)
    length = min(max(width, height) / 14, 2600)
    runs: list[tuple[XY, XY]]
    a, b = width / 2 - inset, height / 2 - inset
    if element.shape != "rect":
        return
    if max(width, height) >= 2.5 * short:
        runs = (
            [((-width / 2, -b), (width / 2, -b)), ((-width / 2, b), (width / 2, b))]
            if width >= height
            else [((-a, -height / 2), (-a, height / 2)), ((a, -height / 2), (a, height / 2))]
        )
    else:
        runs = [((-a, -b), (a, -b)), ((-a, b), (a, b)), ((-a, -b), (-a, b)), ((a, -b), (a, b))]
    rings = [stitch for run in runs for stitch in _run(run, length, thick)]
    paint_rings(page, canvas, element, rings, ink, (element.center, element.tilt))


def _run(run: tuple[XY, XY], length: float, thick: float) -> list[list[XY]]:
    """Return the stitches of one run: dashes of ``length`` with gaps of two thirds of it, evenly spread."""
    (x0, y0), (x1, y1) = run
    total = math.hypot(x1 - x0, y1 - y0)
    count = max(1, round(total / (length * 5 / 3)))
    ux, uy = (x1 - x0) / total, (y1 - y0) / total
    step = total / count
    rings = []
    for number in range(count):
        start, end = step * (number + 0.2), step * (number + 0.8)
        px, py = -uy * thick / 2, ux * thick / 2
        ax, ay, bx, by = x0 + ux * start, y0 + uy * start, x0 + ux * end, y0 + uy * end
        rings.append([(ax + px, ay + py), (bx + px, by + py), (bx - px, by - py), (ax - px, ay - py)])
    return rings


def paint_rings(
    page: Image.Image,
    canvas: Canvas,
    element: Placed,
    rings: Sequence[Sequence[XY]],
    ink: tuple[int, int, int],
    frame: tuple[XY, float],
) -> None:
    """Paint polygons given in micrometres about a centre and tilt, kept inside the element's own shape."""
    (cx, cy), tilt = frame
    placed = [[canvas.xy((cx + x, cy + y)) for x, y in (turn(p, tilt) for p in points)] for points in rings]
    region = clip(bounds([p for points in placed for p in points], 1), canvas.region)
    if region is None:
        return
    mask = coverage(placed, region)
    if element.shape != "ellipse":
        shape = coverage([ring(element, canvas)], region)
        mask = Image.composite(mask, Image.new("L", mask.size), shape)
    page.paste(ink, region, mask)


def draw_shadow(page: Image.Image, canvas: Canvas, element: Placed, strength: float = 1.0) -> None:
    """Darken the page softly around and below an element, before the element itself is drawn."""
    sigma = SHADOW_BLUR * canvas.scale
    points = [(x, y + SHADOW_DROP * canvas.scale) for x, y in ring(element, canvas)]
    reach = math.ceil(3 * sigma)
    whole = bounds(points, reach)
    region = clip(whole, (-reach, -reach, canvas.size[0] + reach, canvas.size[1] + reach))
    if region is None or sigma < 0.3:
        return
    factor = max(1, int(sigma / _COARSE_SIGMA))
    size = -(-(region[2] - region[0]) // factor), -(-(region[3] - region[1]) // factor)
    coarse = coverage(
        [[((x - region[0]) / factor, (y - region[1]) / factor) for x, y in points]], (0, 0, size[0], size[1])
    ).filter(ImageFilter.GaussianBlur(sigma / factor))
    coarse = coarse.point([round(v * SHADOW_STRENGTH * strength) for v in range(256)])
    for part in _rim(canvas, element, region):
        seen = clip(part, canvas.region)
        if seen is None:
            continue
        box = (
            (seen[0] - region[0]) / factor,
            (seen[1] - region[1]) / factor,
            min(size[0], (seen[2] - region[0]) / factor),
            min(size[1], (seen[3] - region[1]) / factor),
        )
        mask = coarse.resize((seen[2] - seen[0], seen[3] - seen[1]), Image.Resampling.BILINEAR, box)
        page.paste(SHADOW, seen, mask)


def _rim(canvas: Canvas, element: Placed, region: Region) -> list[Region]:
    """Return the parts of a shadow that can be seen: a level rectangle hides what is under itself."""
    if not is_level_rect(element):
        return [region]
    left, top, right, bottom = canvas.box(element.box)
    return [
        (region[0], region[1], region[2], top),
        (region[0], bottom, region[2], region[3]),
        (region[0], top, left, bottom),
        (right, top, region[2], bottom),
    ]
