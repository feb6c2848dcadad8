"""Step 2, the refit of what bleeds: it follows its page edges, and what it carries follows it.

Enters: elements scaled with the drawing, and the same as drawn (turned, not yet scaled).  Leaves: them where the page
wants them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction

from fitter.pages import Page
from fitter.template import Element, Point
from fitter.units import nearest

_ENDS = (("left", "right"), ("top", "bottom"))


@dataclass(frozen=True)
class Refit:
    """How a drawing came to a page: the page, the whole scale, and the drawing's size, turned but not scaled."""

    page: Page
    scale: Fraction
    drawn: Point


def even(length: Fraction | int) -> int:
    """Return the nearest even length, at least 2, so that halves are whole."""
    return max(2, 2 * nearest(Fraction(length) / 2))


def anchored_to_edges(elements: list[Element]) -> set[str]:
    """Return what stays when the drawing slides: what bleeds, and what frames it or rides on it."""
    found = {e.id for e in elements if e.bleeds}
    riders = [e for e in elements if e.tie in ("mat", "carried")]
    for _ in riders:
        found |= {e.id for e in riders if e.on in found}
    return found


def bled_out(element: Element, source: Element, refit: Refit) -> Element:
    """Reach the bleed line on the sides an element bleeds on, its inner edges kept.

    What bleeds on opposite sides is extended to both; what bleeds on one side keeps its thickness
    inside the trim.  Tilted or round bleeding elements are only moved with their side.
    """
    if not element.bleeds:
        return element
    page, scale, drawn = refit.page, refit.scale, refit.drawn
    left, top, right, bottom = element.box
    x0, y0, x1, y1 = source.box
    line = page.bleed_box
    if element.shape != "rect" or element.tilt:
        return _bled_loose(element, source, refit)
    if "left" in element.bleeds:
        left, right = line[0], nearest(x1 * scale) if "right" not in element.bleeds else right
    if "right" in element.bleeds:
        right, left = line[2], page.trim[0] - nearest((drawn[0] - x0) * scale) if "left" not in element.bleeds else left
    if "top" in element.bleeds:
        top, bottom = line[1], nearest(y1 * scale) if "bottom" not in element.bleeds else bottom
    if "bottom" in element.bleeds:
        bottom, top = line[3], page.trim[1] - nearest((drawn[1] - y0) * scale) if "top" not in element.bleeds else top
    if (right - left) % 2:
        left, right = (left - 1, right) if "left" in element.bleeds else (left, right + 1)
    if (bottom - top) % 2:
        top, bottom = (top - 1, bottom) if "top" in element.bleeds else (top, bottom + 1)
    return replace(element, center=((left + right) // 2, (top + bottom) // 2), size=(right - left, bottom - top))


def _bled_loose(element: Element, source: Element, refit: Refit) -> Element:
    """Move a tilted or round bleeding element with its page side; grow it until it passes both."""
    page, scale, drawn = refit.page, refit.scale, refit.drawn
    x, y = element.center
    if "left" in element.bleeds and "right" not in element.bleeds:
        x = nearest(source.center[0] * scale)
    elif "right" in element.bleeds and "left" not in element.bleeds:
        x = page.trim[0] - nearest((drawn[0] - source.center[0]) * scale)
    if "top" in element.bleeds and "bottom" not in element.bleeds:
        y = nearest(source.center[1] * scale)
    elif "bottom" in element.bleeds and "top" not in element.bleeds:
        y = page.trim[1] - nearest((drawn[1] - source.center[1]) * scale)
    placed = replace(element, center=(x, y))
    if element.shape != "rect":
        return placed
    for axis, pair in enumerate((("left", "right"), ("top", "bottom"))):
        if set(pair) <= set(element.bleeds):
            size = list(placed.size)
            size[axis] = even(page.trim[axis] + 2 * page.bleed + size[1 - axis])
            center = list(placed.center)
            center[axis] = page.trim[axis] // 2
            placed = replace(placed, size=(size[0], size[1]), center=(center[0], center[1]))
    return placed


def riding(
    element: Element, source: Element, final: Iterable[Element], drawn: Iterable[Element], refit: Refit
) -> Element:
    """Carry what rides on a bleeding element along with its nearest corner.

    Where its carrier bleeds its distance is measured from the trim; across a carrier that bleeds on both sides it keeps
    its place in the drawing.
    """
    if element.tie != "carried" or element.bleeds:
        return element
    host = next(e for e in final if e.id == element.on)
    old = next(e for e in drawn if e.id == element.on)
    if not host.bleeds:
        return element
    page, center = refit.page, list(element.center)
    for axis, sides in enumerate(_ENDS):
        if set(sides) <= set(host.bleeds):
            continue
        low = source.center[axis] <= old.center[axis]
        if low:
            new_edge, old_edge = (0, 0) if sides[0] in host.bleeds else (host.box[axis], old.box[axis])
        elif sides[1] in host.bleeds:
            new_edge, old_edge = page.trim[axis], refit.drawn[axis]
        else:
            new_edge, old_edge = host.box[axis + 2], old.box[axis + 2]
        center[axis] = new_edge + nearest((source.center[axis] - old_edge) * refit.scale)
    return replace(element, center=(center[0], center[1]))
