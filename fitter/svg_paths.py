"""Step 1, path data: the ``d`` of a path becomes the corners of one closed polygon in user units.

Curves are flattened so that the polygon stays within :data:`fitter.svg_shapes.FLATTENING` of them *on the
page*.  Refuses: characters that are no path data, numbers that are not finite, more than 2,000 segments.
"""

from __future__ import annotations

import math
import re
from typing import Any

from fitter.errors import InputError
from fitter.svg_shapes import FLATTENING, MOST_PATH_POINTS, Matrix, Vector

_PATH_DATA = re.compile(r"[MmZzLlHhVvCcSsQqTtAaEe0-9+\-.,\s]*")
_MOST_PIECES = 256
_MOST_CORNERS = 10_000


def path_points(data: str, matrix: Matrix, notes: list[str]) -> list[Vector]:
    """Return the corners of a path's largest closed part, in user units.

    Parameters
    ----------
    data
        The ``d`` attribute.
    matrix
        Maps user units to page micrometres; decides how finely curves are cut.
    notes
        Gets a remark when parts of the path are left out.

    Raises
    ------
    InputError
        When the data is damaged, endless or draws nothing.
    """
    from svgelements import Path

    if len(data) > 120 * MOST_PATH_POINTS:
        raise InputError(f"its path has more than {MOST_PATH_POINTS:,} points; simplify it")
    if _PATH_DATA.fullmatch(data) is None or not data.lstrip().startswith(("M", "m")):
        raise InputError(
            f"its path data {data.strip()[:40]!r} is damaged; expected SVG path data beginning with M"
        )
    try:
        segments = list(Path(data))
    except (ValueError, IndexError, TypeError, ArithmeticError, AttributeError):
        raise InputError(f"its path data {data.strip()[:40]!r} is damaged; expected SVG path data") from None
    if len(segments) > MOST_PATH_POINTS:
        raise InputError(f"its path has more than {MOST_PATH_POINTS:,} points; simplify it")
    parts = _parts(segments, max(matrix.scales()))
    closed = [part for part in parts if len(part) >= 3]
    if not closed:
        raise InputError("its path encloses no area; expected a closed shape")
    if len(closed) > 1:
        notes.append("its path has several parts; only the largest counts")
    return max(closed, key=_area)


def _area(points: list[Vector]) -> float:
    following = points[1:] + points[:1]
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in zip(points, following, strict=True))) / 2


def _parts(segments: list[Any], scale: float) -> list[list[Vector]]:
    parts: list[list[Vector]] = []
    corners = 0
    for segment in segments:
        kind = type(segment).__name__
        if kind == "Move" or not parts:
            parts.append([_finite(segment.end)])
            continue
        if kind == "Close":
            if segment.end is not None:
                parts.append([_finite(segment.end)])
            continue
        pieces = _pieces(segment, kind, scale)
        corners += pieces
        if corners > _MOST_CORNERS:
            raise InputError("its path is too intricate to stand for a slot; simplify it")
        parts[-1].extend(_finite(segment.point(step / pieces)) for step in range(1, pieces))
        parts[-1].append(_finite(segment.end))
    return [_without_repeats(part) for part in parts]


def _pieces(segment: Any, kind: str, scale: float) -> int:
    """Return into how many chords a segment is cut so that none is off by more than the flattening.

    For Béziers of degree n, the chord error over m equal pieces is at most max|B''|/(8·m²) (the
    linear interpolation bound); for an arc of radius r the sagitta r·(1 − cos(φ/2)).
    """
    tolerance = FLATTENING / scale
    if kind == "Line":
        return 1
    if kind == "Arc":
        radius, sweep = max(abs(segment.rx), abs(segment.ry)), abs(segment.sweep)
        if not (math.isfinite(radius) and math.isfinite(sweep)):
            raise InputError("its path has an arc that is not finite")
        if radius <= tolerance:
            return 2
        return _capped(sweep / (2 * math.acos(1 - tolerance / radius)))
    ends = [segment.start, segment.control, segment.end] if kind == "QuadraticBezier" else [
        segment.start, segment.control1, segment.control2, segment.end,
    ]  # fmt: skip
    points = [_finite(end) for end in ends]
    degree = len(points) - 1
    bend = max(
        math.hypot(a[0] - 2 * b[0] + c[0], a[1] - 2 * b[1] + c[1])
        for a, b, c in zip(points, points[1:], points[2:], strict=False)
    )
    return _capped(math.sqrt(degree * (degree - 1) * bend / (8 * tolerance)))


def _capped(pieces: float) -> int:
    if not math.isfinite(pieces) or pieces > _MOST_PIECES:
        raise InputError("its path has a curve that reaches far beyond any page; redraw it within the page")
    return max(2, math.ceil(pieces))


def _finite(point: Any) -> Vector:
    if point is None or not (math.isfinite(point[0]) and math.isfinite(point[1])):
        raise InputError("its path contains a number that is not finite")
    return float(point[0]), float(point[1])


def _without_repeats(points: list[Vector]) -> list[Vector]:
    kept = [point for i, point in enumerate(points) if i == 0 or point != points[i - 1]]
    return kept[:-1] if len(kept) > 1 and kept[0] == kept[-1] else kept
