"""Step 1, geometry: SVG lengths, transforms and shapes become boxes, tilts and outlines.

Enters: attribute text of the SVG 2 subset.  Leaves: :class:`Figure` in floating micrometres in the
page's frame.  Refuses: skewed transforms, numbers that are not finite, shapes without an area, outlines that
cross themselves.  The caller adds the file and element to every message.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitter.errors import InputError
from fitter.template import Shape
from fitter.units import CSS_PIXELS_PER_INCH, LARGEST

if TYPE_CHECKING:
    from collections.abc import Sequence

Vector = tuple[float, float]

FLATTENING = 40.0
"""Largest distance in µm between a curve and the polygon that stands for it; thinning adds as much again."""
MOST_OUTLINE_POINTS = 200
MOST_PATH_POINTS = 2_000
SQUARE_ENOUGH = 50.0
"""A four-cornered outline whose corners are within this many µm of a rectangle's is a rectangle."""
SHEAR_LIMIT = 2e-4
"""Cosine of the angle between transformed axes above which a transform counts as skewed (0.01 degrees)."""

_NUMBER = r"[+-]?(?:\d+(?:\.\d*)?|\.\d+)(?:[eE][+-]?\d{1,3})?"
_LONGEST_TRANSFORM = 2_000
_LENGTH = re.compile(rf"\s*({_NUMBER})\s*([a-zA-Z%]*)\s*")
_TRANSFORM = re.compile(r"[\s,]*([a-zA-Z]+)\s*\(([^()]*)\)")
_PIXELS: dict[str, float] = {
    "": 1.0,
    "px": 1.0,
    "in": CSS_PIXELS_PER_INCH,
    "mm": CSS_PIXELS_PER_INCH / 25.4,
    "cm": CSS_PIXELS_PER_INCH / 2.54,
    "q": CSS_PIXELS_PER_INCH / 101.6,
    "pt": CSS_PIXELS_PER_INCH / 72,
    "pc": CSS_PIXELS_PER_INCH / 6,
}


@dataclass(frozen=True)
class Figure:
    """A shape in the page's frame, in floating micrometres, not yet snapped or rounded.

    ``outline`` (for paths) is relative to ``center`` and counts before tilting.
    """

    shape: Shape
    center: Vector
    size: Vector
    tilt: float = 0.0
    outline: tuple[Vector, ...] = ()


@dataclass(frozen=True)
class Matrix:
    """An affine map (x, y) → (a·x + c·y + e, b·x + d·y + f), as in SVG."""

    a: float = 1.0
    b: float = 0.0
    c: float = 0.0
    d: float = 1.0
    e: float = 0.0
    f: float = 0.0

    def __matmul__(self, inner: Matrix) -> Matrix:
        """Return the map that applies ``inner`` first, then this one."""
        return Matrix(
            self.a * inner.a + self.c * inner.b,
            self.b * inner.a + self.d * inner.b,
            self.a * inner.c + self.c * inner.d,
            self.b * inner.c + self.d * inner.d,
            self.a * inner.e + self.c * inner.f + self.e,
            self.b * inner.e + self.d * inner.f + self.f,
        )

    def apply(self, point: Vector) -> Vector:
        """Map one point."""
        x, y = point
        return self.a * x + self.c * y + self.e, self.b * x + self.d * y + self.f

    def scales(self) -> Vector:
        """Return how much the two axes are stretched.

        Raises
        ------
        InputError
            When the axes are not at right angles any more, or the map is flat.
        """
        along_x, along_y = math.hypot(self.a, self.b), math.hypot(self.c, self.d)
        if not 1e-9 < along_x < 1e9 or not 1e-9 < along_y < 1e9:
            raise InputError("its transform scales it to nothing or beyond all bounds")
        if abs(self.a * self.c + self.b * self.d) > SHEAR_LIMIT * along_x * along_y:
            raise InputError(
                "its transforms skew it; use translate, rotate and scale only, "
                "and scale evenly around a rotation"
            )
        return along_x, along_y

    @property
    def angle(self) -> float:
        """Direction of the mapped x axis in degrees clockwise."""
        return math.degrees(math.atan2(self.b, self.a))


def number(text: str, what: str) -> float:
    """Read one finite number."""
    if re.fullmatch(rf"\s*{_NUMBER}\s*", text) is None or not math.isfinite(float(text)):
        raise InputError(f"{what} {text[:40]!r} is not a finite number; expected one such as 4.5")
    return float(text)


def length(text: str, what: str, whole: float | None = None) -> float:
    """Read an SVG length as user units (CSS pixels, 96 to the inch).

    Parameters
    ----------
    text
        A number with or without unit, or a percentage.
    what
        The attribute, for the message.
    whole
        What a percentage is of; ``None`` refuses percentages.

    Raises
    ------
    InputError
        When it is no length or has an unknown unit.
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise InputError(f"{what} {text[:40]!r} is not a length; expected a number such as 4.5 or 4.5in")
    value, unit = float(match[1]), match[2].lower()
    if unit == "%" and whole is not None:
        value *= whole / 100
    elif unit in _PIXELS:
        value *= _PIXELS[unit]
    else:
        raise InputError(f"{what} {text[:40]!r} has an unknown unit; use in, mm, cm, pt or px")
    if not abs(value) < 1e9:
        raise InputError(f"{what} {text[:40]!r} is beyond any page; expected at most 2 m")
    return value


def numbers(text: str, what: str) -> list[float]:
    """Read numbers separated by spaces or commas."""
    words = re.split(r"[\s,]+", text.strip()) if text.strip() else []
    return [number(word, what) for word in words]


def parse_transform(text: str) -> Matrix:
    """Read a ``transform`` attribute: translate, scale, rotate and matrix, composed left to right.

    Raises
    ------
    InputError
        For skewX, skewY, unknown functions and wrong numbers of values.
    """
    if len(text) > _LONGEST_TRANSFORM:
        raise InputError(f"its transform is longer than {_LONGEST_TRANSFORM:,} characters; simplify it")
    total, position = Matrix(), 0
    while match := _TRANSFORM.match(text, position):
        total = total @ _single_transform(match[1], numbers(match[2], "transform value"))
        position = match.end()
    if text[position:].strip(" ,\t\r\n") and text.strip() != "none":
        raise InputError(f"transform {text[position:].strip()[:40]!r} is not understood")
    return total


def _single_transform(name: str, v: list[float]) -> Matrix:
    if name in ("skewX", "skewY"):
        raise InputError(
            f"its transform uses {name}; skewed shapes are not supported, only translate, rotate and scale"
        )
    match name, len(v):
        case "translate", 1:
            return Matrix(e=v[0])
        case "translate", 2:
            return Matrix(e=v[0], f=v[1])
        case "scale", 1:
            return Matrix(a=v[0], d=v[0])
        case "scale", 2:
            return Matrix(a=v[0], d=v[1])
        case "rotate", 1 | 3:
            cos, sin = math.cos(math.radians(v[0])), math.sin(math.radians(v[0]))
            turn = Matrix(cos, sin, -sin, cos)
            if len(v) == 1:
                return turn
            return Matrix(e=v[1], f=v[2]) @ turn @ Matrix(e=-v[1], f=-v[2])
        case "matrix", 6:
            return Matrix(*v)
    raise InputError(
        f"transform {name[:20]}() with {len(v)} values is not understood; "
        "use translate, rotate, scale or matrix"
    )


def upright_tilt(angle: float) -> tuple[float, bool]:
    """Split an angle into a tilt in (-45, 45] and whether width and height change places.

    Examples
    --------
    >>> upright_tilt(94.0), upright_tilt(-180.0), upright_tilt(45.0)
    ((4.0, True), (0.0, False), (45.0, False))
    """
    angle = round(angle, 4)
    turns = math.ceil((angle - 45) / 90)
    tilt = round(angle - 90 * turns, 4)
    return (0.0 if abs(tilt) < 0.005 else tilt), turns % 2 == 1


def box_figure(shape: Shape, corner: Vector, size: Vector, matrix: Matrix) -> Figure:
    """Return a rectangle or ellipse given by its box in user units, mapped into the page."""
    for value, name in zip(size, ("width", "height"), strict=True):
        if value <= 0:
            raise InputError(f"its {name} is {value:g}; it must be larger than zero")
    along_x, along_y = matrix.scales()
    center = matrix.apply((corner[0] + size[0] / 2, corner[1] + size[1] / 2))
    w, h = size[0] * along_x, size[1] * along_y
    tilt, swapped = upright_tilt(matrix.angle)
    if swapped:
        w, h = h, w
    if shape == "ellipse" and abs(w - h) < SQUARE_ENOUGH:
        tilt = 0.0
    return bounded(Figure(shape, center, (w, h), tilt))


def bounded(figure: Figure) -> Figure:
    """Return the figure, or refuse one whose coordinates are beyond any page."""
    extremes = (*figure.center, *figure.size)
    if not all(math.isfinite(v) and abs(v) <= 2 * LARGEST for v in extremes):
        raise InputError("it lies or reaches far beyond any page; move it onto the page or remove it")
    return figure


def polygon_points(text: str) -> list[Vector]:
    """Read the ``points`` of a polygon."""
    if len(text) > 40 * MOST_PATH_POINTS:
        raise InputError(f"it has more than {MOST_PATH_POINTS:,} points; simplify it")
    values = numbers(text, "point")
    if len(values) % 2:
        raise InputError("its points are an odd count of numbers; expected x,y pairs")
    if len(values) > 2 * MOST_PATH_POINTS:
        raise InputError(f"it has more than {MOST_PATH_POINTS:,} points; simplify it")
    return list(zip(values[::2], values[1::2], strict=True))


def outline_figure(points: Sequence[Vector], matrix: Matrix, notes: list[str]) -> Figure:
    """Return the figure of a closed outline given in user units; a rectangle if it is one.

    Raises
    ------
    InputError
        When it has no area, crosses itself or is too intricate.
    """
    matrix.scales()
    placed = [matrix.apply(point) for point in points]
    if not all(math.isfinite(v) and abs(v) <= 2 * LARGEST for point in placed for v in point):
        raise InputError("it lies or reaches far beyond any page; move it onto the page or remove it")
    corners = _simple_outline(placed, notes)
    rectangle = _as_rectangle(corners)
    if rectangle is not None:
        return rectangle
    tilt, _ = upright_tilt(matrix.angle)
    return tilted_outline(corners, tilt)


def tilted_outline(corners: Sequence[Vector], tilt: float) -> Figure:
    """Return the path figure of corners in the page's frame, described before a tilt."""
    cos, sin = math.cos(math.radians(tilt)), math.sin(math.radians(tilt))
    level = [(x * cos + y * sin, -x * sin + y * cos) for x, y in corners]
    xs, ys = [x for x, _ in level], [y for _, y in level]
    mx, my = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
    return Figure(
        "path",
        (mx * cos - my * sin, mx * sin + my * cos),
        (max(xs) - min(xs), max(ys) - min(ys)),
        tilt,
        tuple((x - mx, y - my) for x, y in level),
    )


def _simple_outline(points: list[Vector], notes: list[str]) -> list[Vector]:
    from shapely import Polygon

    polygon = Polygon(points) if len(points) >= 3 else Polygon()
    # The parts of an outline that crosses itself may cancel out, so that its area says nothing.
    area = polygon.area if polygon.is_valid else polygon.convex_hull.area
    if area < 1000:
        raise InputError("its outline has no area; expected at least three corners")
    if not polygon.is_valid:
        raise InputError("its outline crosses or touches itself; draw one simple closed shape")
    tolerance = FLATTENING
    thinned = polygon.simplify(tolerance)
    while len(thinned.exterior.coords) - 1 > MOST_OUTLINE_POINTS:
        tolerance *= 2
        if tolerance > 1000:
            raise InputError("its outline is too intricate to stand for a slot; simplify it")
        thinned = polygon.simplify(tolerance)
    if tolerance > FLATTENING:
        notes.append(f"its outline was simplified to within {tolerance / 1000:.2g} mm")
    return [(float(x), float(y)) for x, y in thinned.exterior.coords[:-1]]


def _as_rectangle(corners: Sequence[Vector]) -> Figure | None:
    if len(corners) != 4:
        return None
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = corners
    center = ((ax + bx + cx + dx) / 4, (ay + by + cy + dy) / 4)
    if math.dist(((ax + cx) / 2, (ay + cy) / 2), ((bx + dx) / 2, (by + dy) / 2)) > SQUARE_ENOUGH:
        return None
    if abs(math.dist((ax, ay), (cx, cy)) - math.dist((bx, by), (dx, dy))) > SQUARE_ENOUGH:
        return None
    tilt, swapped = upright_tilt(math.degrees(math.atan2(by - ay, bx - ax)))
    first, second = math.dist((ax, ay), (bx, by)), math.dist((bx, by), (cx, cy))
    return Figure("rect", center, (second, first) if swapped else (first, second), tilt)
