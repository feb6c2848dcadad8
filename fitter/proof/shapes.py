"""Outlines in pixels, and masks with smooth edges.

Enters: elements in micrometres and a :class:`Canvas`.  Leaves: polygons in page pixels and coverage masks.
Only tiles that an edge crosses are supersampled, so a large tilted photo costs no more than its rim.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from PIL import Image, ImageColor, ImageDraw

from fitter.errors import InputError
from fitter.pages import Page
from fitter.units import INCH

XY = tuple[float, float]
Ring = Sequence[XY]
Region = tuple[int, int, int, int]

TILE = 64
FINE = 8
CURVE_STEPS = 240


class Drawn(Protocol):
    """What template elements and placed elements have in common."""

    @property
    def id(self) -> str:
        """Its name."""
        ...

    @property
    def shape(self) -> str:
        """Rect, ellipse or path."""
        ...

    @property
    def center(self) -> tuple[int, int]:
        """Centre of its box, micrometres."""
        ...

    @property
    def size(self) -> tuple[int, int]:
        """Width and height before tilting, micrometres."""
        ...

    @property
    def tilt(self) -> float:
        """Degrees clockwise."""
        ...

    @property
    def outline(self) -> tuple[tuple[int, int], ...]:
        """Points of a path relative to the centre."""
        ...


@dataclass(frozen=True)
class Canvas:
    """The bleed box of a page as pixels.

    Parameters
    ----------
    page
        The page, micrometres.
    ppi
        Pixels per inch.
    """

    page: Page
    ppi: int

    @property
    def scale(self) -> float:
        """Pixels per micrometre."""
        return self.ppi / INCH

    @property
    def size(self) -> tuple[int, int]:
        """Width and height of the bleed box in pixels, rounded to the nearest."""
        left, top, right, bottom = self.page.bleed_box
        return max(1, round((right - left) * self.scale)), max(1, round((bottom - top) * self.scale))

    @property
    def region(self) -> Region:
        """The whole canvas."""
        return 0, 0, *self.size

    def xy(self, point: XY) -> XY:
        """Return a point of the page (micrometres from the trim's corner) in pixels."""
        return (point[0] + self.page.bleed) * self.scale, (point[1] + self.page.bleed) * self.scale

    def box(self, box: tuple[float, float, float, float]) -> Region:
        """Return a box of the page snapped to whole pixels, at least one pixel a side."""
        left, top = self.xy(box[:2])
        right, bottom = self.xy(box[2:])
        x, y = round(left), round(top)
        return x, y, max(x + 1, round(right)), max(y + 1, round(bottom))


def color(text: str, where: str) -> tuple[int, int, int]:
    """Read ``#rrggbb``; a clear error names the element it stands in."""
    try:
        return ImageColor.getrgb(text)[:3]
    except (ValueError, AttributeError):
        raise InputError(f"{where}: {text!r} is not a colour; write it as #rrggbb") from None


def turn(point: XY, degrees: float) -> XY:
    """Turn a point about the origin, clockwise as seen (y points down)."""
    angle = math.radians(degrees)
    c, s = math.cos(angle), math.sin(angle)
    return point[0] * c - point[1] * s, point[0] * s + point[1] * c


def is_level_rect(element: Drawn) -> bool:
    """Whether the element is a rectangle with level edges, which is drawn on whole pixels."""
    return element.shape == "rect" and element.tilt == 0


def ring(element: Drawn, canvas: Canvas) -> list[XY]:
    """Return the element's real outline in page pixels."""
    (cx, cy), (w, h) = element.center, element.size
    points: list[XY]
    if element.shape == "ellipse":
        steps = (2 * math.pi * i / CURVE_STEPS for i in range(CURVE_STEPS))
        points = [(w / 2 * math.cos(a), h / 2 * math.sin(a)) for a in steps]
    elif element.shape == "path":
        points = [(float(x), float(y)) for x, y in element.outline]
    else:
        points = [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2)]
    turned = (turn(point, element.tilt) for point in points)
    return [canvas.xy((cx + x, cy + y)) for x, y in turned]


def bounds(points: Ring, grow: float = 0.0) -> Region:
    """Return the smallest whole-pixel box around the points, grown on every side."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    return (
        math.floor(min(xs) - grow),
        math.floor(min(ys) - grow),
        math.ceil(max(xs) + grow),
        math.ceil(max(ys) + grow),
    )


def clip(region: Region, limit: Region) -> Region | None:
    """Return what two boxes have in common, ``None`` if that is nothing."""
    left, top = max(region[0], limit[0]), max(region[1], limit[1])
    right, bottom = min(region[2], limit[2]), min(region[3], limit[3])
    return (left, top, right, bottom) if left < right and top < bottom else None


def coverage(rings: Sequence[Ring], region: Region) -> Image.Image:
    """Return how much of each pixel of ``region`` the polygons cover.

    Parameters
    ----------
    rings
        Polygons in page pixels; their union is covered.
    region
        Left, top, right, bottom in page pixels.

    Returns
    -------
    PIL.Image.Image
        Mode ``L``, 0 (free) to 255 (covered), of the region's size; edges in 64 steps, at most
        a tenth of a pixel too far out (Pillow fills the pixels on a polygon's edge).
    """
    left, top, right, bottom = region
    width, height = right - left, bottom - top
    mask = Image.new("L", (width, height))
    draw = ImageDraw.Draw(mask)
    for points in rings:
        draw.polygon([(x - left - 0.5, y - top - 0.5) for x, y in points], fill=255)
    for column, row in sorted(_edge_tiles(rings, region)):
        x0, y0 = column * TILE, row * TILE
        size = min(TILE, width - x0), min(TILE, height - y0)
        fine = Image.new("L", (size[0] * FINE, size[1] * FINE))
        fine_draw = ImageDraw.Draw(fine)
        for points in rings:
            fine_draw.polygon(
                [((x - left - x0) * FINE - 0.5, (y - top - y0) * FINE - 0.5) for x, y in points], fill=255
            )
        mask.paste(fine.reduce(FINE), (x0, y0))
    return mask


def _edge_tiles(rings: Sequence[Ring], region: Region) -> set[tuple[int, int]]:
    """Return column and row of every tile within three pixels of an edge."""
    left, top, right, bottom = region
    columns, rows = -(-(right - left) // TILE), -(-(bottom - top) // TILE)
    starts = [np.asarray(points, dtype=np.float64) for points in rings]
    begin = np.concatenate(starts) - (left, top)
    along = np.concatenate([np.roll(points, -1, axis=0) - points for points in starts])
    # A sample every four pixels, each marking the tiles three pixels around it, misses no tile.
    counts = (np.hypot(along[:, 0], along[:, 1]) / 4).astype(np.int64) + 2
    edge = np.repeat(np.arange(len(counts)), counts)
    share = (np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts)) / (counts[edge] - 1)
    samples = begin[edge] + along[edge] * share[:, None]
    shifts = np.array([(-3, -3), (-3, 3), (3, -3), (3, 3)])
    tiles = ((samples[:, None, :] + shifts) // TILE).astype(np.int64).reshape(-1, 2)
    inside = (tiles >= 0).all(1) & (tiles[:, 0] < columns) & (tiles[:, 1] < rows)
    codes = np.unique(tiles[inside, 0] * rows + tiles[inside, 1])
    return {(int(code) // rows, int(code) % rows) for code in codes}


def tilted(patch: Image.Image, center: XY, degrees: float, region: Region) -> Image.Image:
    """Turn an upright patch about its centre onto a region of the page.

    Parameters
    ----------
    patch
        The upright picture; a rim more than what is to be seen keeps its edges clean.
    center
        Where its centre lies, in page pixels.
    degrees
        Clockwise.
    region
        Page pixels to fill.

    Returns
    -------
    PIL.Image.Image
        Of the region's size, bicubic.
    """
    angle = math.radians(degrees)
    c, s = math.cos(angle), math.sin(angle)
    dx, dy = region[0] - center[0], region[1] - center[1]
    half_w, half_h = patch.width / 2, patch.height / 2
    data = (c, s, c * dx + s * dy + half_w, -s, c, -s * dx + c * dy + half_h)
    size = region[2] - region[0], region[3] - region[1]
    return patch.transform(size, Image.Transform.AFFINE, data, Image.Resampling.BICUBIC)
