"""The picture of a template: its slots in quiet tints, each with its id."""

from __future__ import annotations

import math
from itertools import product

from PIL import Image

from fitter.pages import Page
from fitter.proof.frame import GROUND, INK, QUIET, Frame, page_shadow
from fitter.proof.motifs import disc
from fitter.proof.shapes import XY, Canvas, bounds, clip, coverage, ring, turn
from fitter.proof.type import BOLD, REGULAR, draw_label, label_width, shorten
from fitter.template import Element, Role, Template
from fitter.units import format_size

TINTS: dict[Role, tuple[int, int, int]] = {
    "background": (246, 244, 240),
    "paper": (231, 226, 216),
    "photo": (176, 190, 201),
    "journaling": (252, 250, 244),
    "title": (252, 250, 244),
    "ribbon": (205, 172, 140),
    "embellishment": (222, 196, 165),
}
_EDGE = (126, 124, 120)
_MAT = (250, 249, 246)
_STRIP = (214, 190, 160)
_PLACES = ((0.5, 0.5), (0.5, 0.15), (0.5, 0.85), (0.2, 0.5), (0.8, 0.5), (0.2, 0.1), (0.8, 0.9))
"""Where an id may stand in its slot, in shares of its box."""
_COUNTED: tuple[Role, ...] = ("photo", "journaling", "title", "paper", "ribbon", "embellishment")


def draw_template(template: Template, ppi: int = 80) -> Image.Image:
    """Draw a template for looking through the shelf.

    Parameters
    ----------
    template
        The template.
    ppi
        Pixels per inch.

    Returns
    -------
    PIL.Image.Image
        RGB: the page with every slot in the tint of its role, its id where there is room; name, size
        and counts above, the roles' tints below.
    """
    canvas = Canvas(Page(template.name, template.size, bleed=0, margin=0), ppi)
    frame = Frame(math.sqrt(canvas.size[0] * canvas.size[1]) / 100, canvas.size)
    u = frame.unit
    top, bottom = math.ceil(u * 14), math.ceil(u * 9)
    image = Image.new("RGB", (frame.width, top + canvas.size[1] + bottom), GROUND)
    page = Image.new("RGB", canvas.size, (255, 255, 255))
    for element in template.elements:
        _draw_slot(page, canvas, element, u)
    for index, element in enumerate(template.elements):
        _name_slot(page, canvas, element, u, template.elements[index + 1 :])
    at = (frame.side, top)
    page_shadow(image, at, frame)
    image.paste(page, at)
    name = shorten(template.name, frame.page[0], BOLD, u * 3.3)
    draw_label(image, (frame.side, u * 6.4), name, INK, pixels=u * 3.3, family=BOLD)
    words = shorten(_summary(template), frame.page[0], REGULAR, u * 2.0)
    draw_label(image, (frame.side, u * 10.4), words, QUIET, pixels=u * 2.0)
    _draw_key(image, template, (frame.side, at[1] + canvas.size[1] + u * 5.2), u)
    return image


def _tint(element: Element) -> tuple[str, tuple[int, int, int]]:
    """Return the word and the tint an element is shown with."""
    if element.tie == "mat":
        return element.kind, _MAT
    return element.kind, _STRIP if element.is_strip else TINTS[element.role]


def _draw_key(image: Image.Image, template: Template, at: XY, unit: float) -> None:
    """Draw a swatch for each tint on the page, with what it stands for."""
    x, y = at
    shown: dict[tuple[int, int, int], list[str]] = {}
    for element in template.elements:
        word, tint = _tint(element)
        words = shown.setdefault(tint, [])
        if word not in words:
            words.append(word)
    pixels = unit * 1.7
    for tint, words in shown.items():
        side = round(pixels * 0.9)
        left, top = round(x), round(y - side * 0.85)
        image.paste(_EDGE, (left, top, left + side, top + side))
        image.paste(tint, (left + 1, top + 1, left + side - 1, top + side - 1))
        x += side + pixels * 0.5
        x += draw_label(image, (x, y), ", ".join(words), QUIET, pixels=pixels) + pixels * 1.5


def _summary(template: Template) -> str:
    parts = [format_size(template.size)]
    for role in _COUNTED:
        count = sum(element.role == role for element in template.elements)
        if count:
            parts.append(f"{count} {role}{'s' if count > 1 and role not in ('journaling',) else ''}")
    return "  ·  ".join(parts)


def _draw_slot(page: Image.Image, canvas: Canvas, element: Element, unit: float) -> None:
    """Fill a slot with its role's tint and draw its edge inside it."""
    points = ring(element, canvas)
    region = clip(bounds(points, 1), canvas.region)
    if region is None:
        return
    tint = _tint(element)[1]
    line = max(1.0, unit * 0.14)
    if element.role == "background":
        page.paste(tint, region, coverage([points], region))
        return
    page.paste(_EDGE, region, coverage([points], region))
    page.paste(tint, region, coverage([_inset(points, line)], region))
    if element.role == "photo" and element.shape == "rect":
        _photo_mark(page, canvas, element, unit)


def _inset(points: list[XY], by: float) -> list[XY]:
    """Move a polygon's edges inwards by ``by`` pixels; corners follow their bisector."""
    count = len(points)
    area = sum(
        points[i][0] * points[(i + 1) % count][1] - points[(i + 1) % count][0] * points[i][1]
        for i in range(count)
    )
    sign = 1.0 if area > 0 else -1.0
    moved = []
    for i in range(count):
        (ax, ay), (bx, by_), (cx, cy) = points[i - 1], points[i], points[(i + 1) % count]
        n1, n2 = _normal((ax, ay), (bx, by_), sign), _normal((bx, by_), (cx, cy), sign)
        sx, sy = n1[0] + n2[0], n1[1] + n2[1]
        scale = by * 2 / max(0.4, sx * sx + sy * sy)
        moved.append((bx + sx * scale, by_ + sy * scale))
    return moved


def _normal(start: XY, end: XY, sign: float) -> XY:
    """Return the unit normal of an edge towards the inside."""
    dx, dy = end[0] - start[0], end[1] - start[1]
    length = math.hypot(dx, dy) or 1.0
    return -dy / length * sign, dx / length * sign


def _photo_mark(page: Image.Image, canvas: Canvas, element: Element, unit: float) -> None:
    """Draw two hills and a sun, faintly: this is where a picture goes."""
    (w, h), (cx, cy) = element.size, element.center
    base = h / 2 - 2 * unit / 10 / canvas.scale
    left, right = -w / 2, w / 2
    hills: list[XY] = [
        (left, base),
        (left, h * 0.22),
        (left + w * 0.27, h * 0.02),
        (left + w * 0.52, h * 0.24),
    ]
    hills += [(left + w * 0.68, h * 0.12), (right, h * 0.34), (right, base)]
    sun = disc(min(w, h) * 0.075, (w * 0.22, -h * 0.22), 48)
    for shape, colour in ((hills, (164, 179, 191)), (sun, (190, 202, 211))):
        placed = [canvas.xy((cx + x, cy + y)) for x, y in (turn(p, element.tilt) for p in shape)]
        region = clip(bounds(placed, 1), canvas.region)
        if region is None:
            continue
        mask = coverage([placed], region)
        inside = coverage([_inset(ring(element, canvas), max(1.0, unit * 0.14))], region)
        page.paste(colour, region, Image.composite(mask, Image.new("L", mask.size), inside))


def _name_slot(
    page: Image.Image, canvas: Canvas, element: Element, unit: float, above: tuple[Element, ...]
) -> None:
    """Write the id where nothing covers it: in the middle if it can be, smaller where there is little room."""
    if element.role == "background" or element.tie == "mat":
        return
    left, top, right, bottom = canvas.box(element.box)
    left, top, right, bottom = (
        max(left, 0),
        max(top, 0),
        min(right, canvas.size[0]),
        min(bottom, canvas.size[1]),
    )
    covers = [canvas.box(other.box) for other in above]
    for pixels, (share_x, share_y) in product((unit * 2.0, unit * 1.6), _PLACES):
        wide = label_width(element.id, REGULAR, pixels)
        if right - left < wide + pixels or bottom - top < pixels * 1.5:
            continue
        x = min(
            max(left + (right - left) * share_x, left + wide / 2 + pixels / 2), right - wide / 2 - pixels / 2
        )
        y = min(max(top + (bottom - top) * share_y, top + pixels), bottom - pixels)
        box = (x - wide / 2, y - pixels * 0.7, x + wide / 2, y + pixels * 0.5)
        if not any(_meets(cover, box) for cover in covers):
            draw_label(page, (x, y + pixels * 0.32), element.id, INK, pixels=pixels, align="center")
            return


def _meets(a: tuple[int, int, int, int], b: tuple[float, float, float, float]) -> bool:
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]
