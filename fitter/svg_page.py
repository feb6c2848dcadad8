"""Step 1, the drawing's frame: how large the page is, how user units map to it, and presentation properties.

Enters: the root node of a drawing.  Leaves: the page in µm and the map from user units to it.  Refuses:
pages without a size or of an absurd one.
"""

from __future__ import annotations

import re

from fitter import svg_shapes
from fitter.errors import InputError
from fitter.pages import LARGEST_PAGE, SMALLEST_PAGE
from fitter.svg_file import Node
from fitter.svg_shapes import Matrix
from fitter.units import CSS_PIXELS_PER_INCH, INCH, format_length, nearest

_PER_PIXEL = INCH / CSS_PIXELS_PER_INCH
_NAMED_COLORS = {
    "black": "#000000", "silver": "#c0c0c0", "gray": "#808080", "grey": "#808080", "white": "#ffffff",
    "maroon": "#800000", "red": "#ff0000", "purple": "#800080", "fuchsia": "#ff00ff", "green": "#008000",
    "lime": "#00ff00", "olive": "#808000", "yellow": "#ffff00", "navy": "#000080", "blue": "#0000ff",
    "teal": "#008080", "aqua": "#00ffff", "orange": "#ffa500", "ivory": "#fffff0", "beige": "#f5f5dc",
}  # fmt: skip


def page_frame(root: Node) -> tuple[tuple[int, int], tuple[float, float], Matrix]:
    """Return the page in µm, what percentages are of in user units, and the map from user units to µm.

    Raises
    ------
    InputError
        When the root gives no page size or one outside 2 to 40 in a side.
    """
    attributes = root.attributes
    box = svg_shapes.numbers(attributes["viewBox"], "viewBox value") if "viewBox" in attributes else None
    if box is not None and (len(box) != 4 or min(box[2:]) <= 0):
        raise InputError(
            f"viewBox {attributes['viewBox'][:40]!r} must be four numbers, the last two above zero"
        )
    sides: list[float] = []
    for index, key in enumerate(("width", "height")):
        text = attributes.get(key, "auto").strip()
        if text in ("auto", "") or text.endswith("%"):
            if box is None:
                raise InputError(
                    f"the page's {key} is missing; write the root's width and height, for example 12in"
                )
            sides.append(box[2 + index])
        else:
            sides.append(svg_shapes.length(text, f"page {key}"))
    for side, key in zip(sides, ("width", "height"), strict=True):
        if not SMALLEST_PAGE <= nearest(side * _PER_PIXEL) <= LARGEST_PAGE:
            raise InputError(
                f"the page's {key} is {side / CSS_PIXELS_PER_INCH:.4g} in; expected "
                f"{format_length(SMALLEST_PAGE)} to {format_length(LARGEST_PAGE)}"
            )
    page = (nearest(sides[0] * _PER_PIXEL), nearest(sides[1] * _PER_PIXEL))
    to_um = Matrix(a=_PER_PIXEL, d=_PER_PIXEL)
    if box is None:
        return page, (sides[0], sides[1]), to_um
    aspect = attributes.get("preserveAspectRatio", "xMidYMid meet")
    fitted = _view_box_matrix(box, (sides[0], sides[1]), aspect)
    return page, (box[2], box[3]), to_um @ fitted


def _view_box_matrix(box: list[float], sides: tuple[float, float], aspect: str) -> Matrix:
    """Return the map of SVG 2, section 8.2: viewBox into viewport, keeping proportions unless told not to."""
    words = aspect.split()
    align = words[0] if words else "xMidYMid"
    sx, sy = sides[0] / box[2], sides[1] / box[3]
    if align == "none":
        return Matrix(a=sx, d=sy, e=-box[0] * sx, f=-box[1] * sy)
    match = re.fullmatch(r"x(Min|Mid|Max)Y(Min|Mid|Max)", align)
    if match is None or words[1:] not in ([], ["meet"], ["slice"]):
        raise InputError(f"preserveAspectRatio {aspect[:40]!r} is not understood; remove it")
    scale = max(sx, sy) if words[1:] == ["slice"] else min(sx, sy)
    share = {"Min": 0.0, "Mid": 0.5, "Max": 1.0}
    return Matrix(
        a=scale,
        d=scale,
        e=-box[0] * scale + share[match[1]] * (sides[0] - box[2] * scale),
        f=-box[1] * scale + share[match[2]] * (sides[1] - box[3] * scale),
    )


def style_property(node: Node, key: str) -> str | None:
    """Return a presentation property: from ``style``, else from its own attribute."""
    for declaration in reversed(node.attributes.get("style", "").split(";")):
        name, _, value = declaration.partition(":")
        if name.strip().lower() == key:
            return value.replace("!important", "").strip()
    return node.attributes.get(key)


def color(fill: str | None) -> str | None:
    """Return a fill as ``#rrggbb``; ``None`` for none, gradients and anything else that is no flat colour."""
    text = (fill or "none").strip().lower()
    if re.fullmatch(r"#[0-9a-f]{6}", text):
        return text
    if re.fullmatch(r"#[0-9a-f]{3}", text):
        return "#" + "".join(2 * digit for digit in text[1:])
    match = re.fullmatch(r"rgb\(\s*(\d{1,3})\s*,\s*(\d{1,3})\s*,\s*(\d{1,3})\s*\)", text)
    if match:
        return "#" + "".join(f"{min(255, int(part)):02x}" for part in match.groups())
    return _NAMED_COLORS.get(text)
