"""Step 1, edges: which sides bleed, and drawn edges set on the legal lines.

Enters: a :class:`~fitter.svg_shapes.Figure` as drawn.  Leaves: the figure with every edge legal, and the
sides on which it bleeds.  An edge on or past the trim bleeds there and reaches the bleed line; an edge
between trim and safe line snaps to the nearer of safe line and bleed line, with a note.  Text never bleeds.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from fitter.errors import InputError
from fitter.pages import DEFAULT_BLEED, DEFAULT_MARGIN, SIDES, Side
from fitter.svg_shapes import Figure, Vector, tilted_outline
from fitter.template import DECORATION_ROLES, TEXT_ROLES, Role
from fitter.units import format_length

DRAWN_EXACTLY = 25.0
"""Drawn coordinates within this many µm of a line lie on it (drawing programs round)."""
FARTHEST_SHIFT = 12_700.0


def extent(figure: Figure) -> tuple[float, float, float, float]:
    """Return left, top, right and bottom of what the figure covers, tilt included."""
    if figure.shape == "ellipse":
        cos, sin = math.cos(math.radians(figure.tilt)), math.sin(math.radians(figure.tilt))
        reach_x = math.hypot(figure.size[0] * cos, figure.size[1] * sin) / 2
        reach_y = math.hypot(figure.size[0] * sin, figure.size[1] * cos) / 2
        (x, y) = figure.center
        return x - reach_x, y - reach_y, x + reach_x, y + reach_y
    points = vertices(figure)
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def vertices(figure: Figure) -> list[Vector]:
    """Return the corners of a rectangle or path in the page's frame."""
    w, h = figure.size
    around = figure.outline or ((-w / 2, -h / 2), (w / 2, -h / 2), (w / 2, h / 2), (-w / 2, h / 2))
    cos, sin = math.cos(math.radians(figure.tilt)), math.sin(math.radians(figure.tilt))
    x, y = figure.center
    return [(x + px * cos - py * sin, y + px * sin + py * cos) for px, py in around]


def inside_distances(box: Sequence[float], page: tuple[int, int]) -> dict[Side, float]:
    """Return how far inside the trim each edge of a box lies (negative: past it)."""
    left, top, right, bottom = box
    return {"left": left, "top": top, "right": page[0] - right, "bottom": page[1] - bottom}


def settle(
    figure: Figure, role: Role, page: tuple[int, int], notes: list[str]
) -> tuple[Figure, tuple[Side, ...]] | None:
    """Put a figure's edges on legal lines and say where it bleeds.

    Parameters
    ----------
    figure, role
        What was drawn.
    page
        Trim width and height in µm.
    notes
        Gets what was moved, without the element's name.

    Returns
    -------
    tuple or None
        The settled figure and its bleeding sides; ``None`` when it lies wholly outside the page.

    Raises
    ------
    InputError
        When no small move makes it legal.
    """
    box = extent(figure)
    if box[0] >= page[0] or box[1] >= page[1] or box[2] <= 0 or box[3] <= 0:
        return None
    before = inside_distances(box, page)
    goals = {side: _goal(distance, role) for side, distance in before.items()}
    if figure.shape == "rect" and not figure.tilt and _may_trim(before, goals, role, figure):
        settled = _trimmed(figure, goals, page)
    elif figure.shape == "path" and min(before.values()) <= DRAWN_EXACTLY and role not in TEXT_ROLES:
        settled = _outline_on_lines(figure, goals, page)
    else:
        settled = _moved(figure, goals, page)
    bleeds = tuple(side for side in SIDES if goals[side] is not None and goals[side] == -DEFAULT_BLEED)
    after = inside_distances(extent(settled), page)
    for side in SIDES:
        _check(side, after[side], side in bleeds)
        moved = abs(after[side] - before[side])
        between = DRAWN_EXACTLY < before[side] < DEFAULT_MARGIN - DRAWN_EXACTLY
        pulled_in = role in TEXT_ROLES and goals[side] is not None and moved > DRAWN_EXACTLY
        if between or pulled_in:
            where = "past" if before[side] < 0 else "inside"
            drawn = f"{format_length(abs(round(before[side])))} {where} the trim"
            line = "bleed line" if side in bleeds else "safe line"
            notes.append(f"its {side} edge was drawn {drawn} and was set to the {line}")
    return settled, bleeds


def _goal(distance: float, role: Role) -> int | None:
    """Return where an edge must go, as a distance inside the trim; ``None`` when it may stay."""
    if distance >= DEFAULT_MARGIN - DRAWN_EXACTLY:
        return DEFAULT_MARGIN if distance < DEFAULT_MARGIN else None
    if role in TEXT_ROLES:
        return DEFAULT_MARGIN
    if distance <= DRAWN_EXACTLY:
        return -DEFAULT_BLEED
    return DEFAULT_MARGIN if DEFAULT_MARGIN - distance <= distance + DEFAULT_BLEED else -DEFAULT_BLEED


def _may_trim(before: dict[Side, float], goals: dict[Side, int | None], role: Role, figure: Figure) -> bool:
    """Whether edges move one by one; decoration keeps its proportions and is moved whole instead."""
    drawn_past = any(distance <= DRAWN_EXACTLY for distance in before.values())
    if role in DECORATION_ROLES - {"ribbon"} and not drawn_past:
        return False
    change = {side: 0.0 if goal is None else goal - before[side] for side, goal in goals.items()}
    return figure.size[0] - change["left"] - change["right"] > 0.5 * min(
        figure.size[0], DEFAULT_MARGIN
    ) and figure.size[1] - change["top"] - change["bottom"] > 0.5 * min(figure.size[1], DEFAULT_MARGIN)


def _trimmed(figure: Figure, goals: dict[Side, int | None], page: tuple[int, int]) -> Figure:
    left, top, right, bottom = extent(figure)
    left = left if goals["left"] is None else goals["left"]
    top = top if goals["top"] is None else goals["top"]
    right = right if goals["right"] is None else page[0] - goals["right"]
    bottom = bottom if goals["bottom"] is None else page[1] - goals["bottom"]
    return Figure("rect", ((left + right) / 2, (top + bottom) / 2), (right - left, bottom - top))


def _outline_on_lines(figure: Figure, goals: dict[Side, int | None], page: tuple[int, int]) -> Figure:
    """Move each corner of an outline that stands between two lines on its own."""
    corners = [
        (
            _on_line(x, page[0], goals["left"], goals["right"]),
            _on_line(y, page[1], goals["top"], goals["bottom"]),
        )
        for x, y in vertices(figure)
    ]
    return tilted_outline(corners, 0.0)


def _on_line(value: float, page: int, near: int | None, far: int | None) -> float:
    distance, goal = (value, near) if value < page / 2 else (page - value, far)
    if goal is None or distance >= DEFAULT_MARGIN:
        return value
    if goal == DEFAULT_MARGIN:
        settled: float = DEFAULT_MARGIN
    elif distance <= DRAWN_EXACTLY:
        settled = min(distance, -DEFAULT_BLEED)
    else:
        settled = DEFAULT_MARGIN if DEFAULT_MARGIN - distance <= distance + DEFAULT_BLEED else -DEFAULT_BLEED
    return settled if value < page / 2 else page - settled


def _moved(figure: Figure, goals: dict[Side, int | None], page: tuple[int, int]) -> Figure:
    """Move the whole figure as little as possible until it is legal on both axes."""
    box = extent(figure)
    points = vertices(figure) if figure.shape != "ellipse" else []
    shift_x = _least_shift([x for x, _ in points], (box[0], box[2]), page[0], goals["left"], goals["right"])
    shift_y = _least_shift([y for _, y in points], (box[1], box[3]), page[1], goals["top"], goals["bottom"])
    x, y = figure.center
    return Figure(figure.shape, (x + shift_x, y + shift_y), figure.size, figure.tilt, figure.outline)


def _least_shift(
    points: list[float], span: tuple[float, float], page: int, near: int | None, far: int | None
) -> float:
    """Return the smallest move along one axis after which no edge or corner is between the lines."""
    slack = 1.0
    values = [*points, *span]

    def legal(shift: float) -> bool:
        for value in values:
            for distance, goal in ((value + shift, near), (page - value - shift, far)):
                inside = distance >= DEFAULT_MARGIN - slack
                past = goal == -DEFAULT_BLEED and distance <= -DEFAULT_BLEED + slack
                if not inside and not past:
                    return False
        ends = ((span[0] + shift, near), (page - span[1] - shift, far))
        return all((distance < 0) == (goal == -DEFAULT_BLEED) for distance, goal in ends)

    tries = [0.0]
    for value in values:
        tries += [line - value for line in (DEFAULT_MARGIN, -DEFAULT_BLEED)]
        tries += [page - line - value for line in (DEFAULT_MARGIN, -DEFAULT_BLEED)]
    good = [shift for shift in tries if abs(shift) <= FARTHEST_SHIFT and legal(shift)]
    if not good:
        raise InputError(
            f"its edge or corner lies between safe line ({format_length(DEFAULT_MARGIN)} inside the trim) "
            f"and bleed line ({format_length(DEFAULT_BLEED)} outside); "
            "draw it inside the safe line or well past the trim"
        )
    return min(good, key=lambda shift: (abs(shift), shift))


def _check(side: Side, distance: float, bleeding: bool) -> None:
    limit = -DEFAULT_BLEED if bleeding else DEFAULT_MARGIN
    if (distance > limit + 2) if bleeding else (distance < limit - 2):
        raise InputError(
            f"its {side} edge cannot be brought to the {'bleed' if bleeding else 'safe'} line; "
            "draw it inside the safe line or past the trim"
        )
