"""Ornaments for embellishment spots: quiet figures of straight geometry, drawn as polygons.

Each motif is a list of layers, bottom to top, in a square from -1 to 1; its colours are the fill's ``color``
(ground), ``accent`` (ink) and a tint between them.  Nothing leaves the element's shape.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Literal

from PIL import Image

from fitter.errors import InputError
from fitter.layout import Fill, Placed
from fitter.proof.papers import paint_rings
from fitter.proof.shapes import XY, Canvas, color

Pot = Literal["ground", "ink", "tint"]
Layer = tuple[Pot, Sequence[Sequence[XY]]]
LONG = 1.7
"""From this ratio of sides on a motif is repeated along the longer one."""


def disc(radius: float, at: XY = (0.0, 0.0), steps: int = 120) -> list[XY]:
    """Return a circle as a polygon."""
    angles = (2 * math.pi * i / steps for i in range(steps))
    return [(at[0] + radius * math.cos(a), at[1] + radius * math.sin(a)) for a in angles]


def _polar(radius: float, turn: float) -> XY:
    """Return a point by radius and angle in turns, from the top clockwise."""
    angle = 2 * math.pi * turn
    return radius * math.sin(angle), -radius * math.cos(angle)


def _leaf(base: XY, tip: XY, width: float, steps: int = 16) -> list[XY]:
    """Return a pointed leaf from base to tip, ``width`` of its length wide."""
    dx, dy = tip[0] - base[0], tip[1] - base[1]
    points = []
    for side in (1, -1):
        for i in range(steps):
            t = i / steps if side == 1 else 1 - i / steps
            swell = side * width / 2 * math.sin(math.pi * t) ** 0.9 if 0 < t < 1 else 0.0
            points.append((base[0] + dx * t - dy * swell, base[1] + dy * t + dx * swell))
    return points


def _rosette() -> list[Layer]:
    steps = 16 * 14
    rim = [_polar(0.945 + 0.05 * math.cos(16 * 2 * math.pi * i / steps), i / steps) for i in range(steps)]
    petals = [_leaf(_polar(0.13, i / 8), _polar(0.60, i / 8), 0.52) for i in range(8)]
    beads = [disc(0.035, _polar(0.79, (i + 0.5) / 16), 24) for i in range(16)]
    return [
        ("ink", [rim]),
        ("ground", beads),
        ("ground", [disc(0.69)]),
        ("tint", petals),
        ("ink", [disc(0.11)]),
    ]


def _badge() -> list[Layer]:
    """Return the round label that rays and star are printed on, so that they read on any ground."""
    return [("ground", [disc(0.98)]), ("ink", [disc(0.91)]), ("ground", [disc(0.875)])]


def _rays() -> list[Layer]:
    rays = []
    for i in range(16):
        length, half = (0.76, 0.022) if i % 2 == 0 else (0.61, 0.017)
        rays.append([_polar(0.38, i / 16 - half), _polar(length, i / 16), _polar(0.38, i / 16 + half)])
    return [*_badge(), ("ink", rays), ("ink", [disc(0.30)]), ("ground", [disc(0.25)]), ("tint", [disc(0.21)])]


def _rings() -> list[Layer]:
    layers: list[Layer] = []
    for radius, line in ((0.98, 0.055), (0.76, 0.045), (0.56, 0.035), (0.38, 0.03)):
        layers += [("ink", [disc(radius)]), ("ground", [disc(radius - line)])]
    return [*layers, ("tint", [disc(0.20)])]


def _star() -> list[Layer]:
    light, dark = [], []
    for i in range(8):
        long = i % 2 == 0
        tip, waist = _polar(0.77 if long else 0.52, i / 8), 0.20
        light.append([(0.0, 0.0), _polar(waist, i / 8 - 1 / 16), tip])
        dark.append([(0.0, 0.0), tip, _polar(waist, i / 8 + 1 / 16)])
    short = [n for n in range(8) if n % 2]
    tall = [n for n in range(8) if n % 2 == 0]
    return [
        *_badge(),
        ("tint", [light[n] for n in short]),
        ("ink", [dark[n] for n in short]),
        ("tint", [light[n] for n in tall]),
        ("ink", [dark[n] for n in tall]),
    ]


def _sprig() -> list[Layer]:
    leaves: list[list[XY]] = [_leaf((0.0, -0.56), (0.0, -0.97), 0.40)]
    fainter: list[list[XY]] = []
    for row in range(4):
        y, reach = 0.62 - 0.33 * row, 0.60 - 0.085 * row
        for side, pile in ((-1, leaves), (1, fainter)):
            pile.append(_leaf((0.0, y), (side * reach, y - 0.36), 0.40))
    stem = [[(-0.018, 0.96), (-0.012, -0.6), (0.012, -0.6), (0.018, 0.96)]]
    return [("ink", leaves), ("tint", fainter), ("ink", stem)]


MOTIFS: dict[str, Callable[[], list[Layer]]] = {
    "rosette": _rosette,
    "rays": _rays,
    "rings": _rings,
    "star": _star,
    "sprig": _sprig,
}
"""Figures by name; ``facet`` follows the element's own outline instead."""
FACET = "facet"
OPEN_WORK = frozenset({"sprig"})
"""Motifs that let what lies under them show through, and so cast no shadow."""


def draw_motif(page: Image.Image, canvas: Canvas, element: Placed, fill: Fill) -> None:
    """Draw an embellishment's motif inside its shape."""
    where = f"element {element.id!r}"
    ground = color(fill.color, where)
    ink = color(fill.accent or "#555555", where)
    pots = {"ground": ground, "ink": ink, "tint": blend(ink, ground, 0.45)}
    if fill.motif == FACET:
        layers = _facet(element)
        for pot, rings in layers:
            paint_rings(page, canvas, element, rings, pots[pot], (element.center, element.tilt))
        return
    if fill.motif not in MOTIFS:
        raise InputError(f"{where}: motif {fill.motif!r} is none of {', '.join([*MOTIFS, FACET])}")
    cells = _cells(element, slender=fill.motif == "sprig")
    for pot, rings in MOTIFS[fill.motif]():
        placed = [
            [(x * rx + ox, y * ry + oy) for x, y in points] for (ox, oy, rx, ry) in cells for points in rings
        ]
        paint_rings(page, canvas, element, placed, pots[pot], (element.center, element.tilt))


def shadow_outline(element: Placed, fill: Fill) -> Placed | None:
    """Return what casts a motif's shadow: nothing, the element itself, or a round badge in its box."""
    if fill.motif in OPEN_WORK:
        return None
    if fill.motif == FACET or element.shape == "ellipse":
        return element
    width, height = element.size
    if max(width, height) >= LONG * min(width, height):
        return None
    side = round(min(width, height) * 0.49) * 2
    return replace(element, shape="ellipse", size=(side, side), outline=())


def blend(first: tuple[int, int, int], second: tuple[int, int, int], share: float) -> tuple[int, int, int]:
    """Mix ``share`` of the second colour into the first."""
    r, g, b = (round(a + (c - a) * share) for a, c in zip(first, second, strict=True))
    return r, g, b


def _cells(element: Placed, *, slender: bool) -> list[tuple[float, float, float, float]]:
    """Return offset and radii of each repeat of the motif, micrometres from the element's centre."""
    width, height = element.size
    if element.shape == "ellipse":
        return [(0.0, 0.0, width / 2, height / 2)]
    short = min(width, height)
    long, radius = max(width, height), short / 2
    stretch = 1.5 if slender and height >= width else 1.0
    count = max(1, int(long / (short * stretch))) if long >= LONG * short else 1
    step = long / count
    along = min(step / 2, radius * stretch)
    offsets = [(i - (count - 1) / 2) * step for i in range(count)]
    return [(o, 0.0, along, radius) if width >= height else (0.0, o, radius, along) for o in offsets]


def _facet(element: Placed) -> list[Layer]:
    """Return the element's own outline, solid, with a fine line set inside its edge."""
    (w, h) = element.size
    outline: list[XY] = [(float(x), float(y)) for x, y in element.outline] or (
        [(-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2)]
        if element.shape == "rect"
        else [(x * w / 2, y * h / 2) for x, y in disc(1.0)]
    )
    mx, my = sum(x for x, _ in outline) / len(outline), sum(y for _, y in outline) / len(outline)

    def shrunk(by: float) -> list[XY]:
        return [(mx + (x - mx) * by, my + (y - my) * by) for x, y in outline]

    return [("ink", [outline]), ("ground", [shrunk(0.80)]), ("ink", [shrunk(0.76)])]
