"""Step 2, first part: the template mirrored, rotated and refitted to the page.

Enters: a template and a page.  Leaves: the *reference layout* that every rule and cost speaks of.
The page keeps its size; the drawing is turned, scaled evenly and extended, never stretched.  Written
pictures stay upright: text and embellishments keep their own width and height when the page turns
by a quarter.

For each parity of quarter turns the drawing is refitted once, as a *frame*; the four pages of a
parity are that frame flipped left–right, top–bottom, both or not at all, in exact integers.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Literal

from fitter.layout import Transform
from fitter.pages import Page, Side
from fitter.reference_boxes import covers, extents, moved, step_inside
from fitter.reference_edges import Refit, anchored_to_edges, bled_out, even, riding
from fitter.reference_words import loose_words, released, stays_upright, words_inside
from fitter.template import Element, Point, Template
from fitter.units import nearest

Rotation = Literal[0, 90, 180, 270]

_FLIP_X: dict[Side, Side] = {"left": "right", "right": "left", "top": "top", "bottom": "bottom"}
_FLIP_Y: dict[Side, Side] = {"left": "left", "right": "right", "top": "bottom", "bottom": "top"}
_CLOCKWISE: dict[Side, Side] = {"top": "right", "right": "bottom", "bottom": "left", "left": "top"}


@dataclass(frozen=True)
class Member:
    """One way to lay the drawing on the page: mirrored left–right first, then rotated clockwise."""

    rotate: Rotation
    mirror: bool

    @property
    def quarter(self) -> bool:
        """Whether the drawing lies on its side."""
        return self.rotate in (90, 270)

    @property
    def flips(self) -> tuple[bool, bool]:
        """Whether the parity's frame is flipped left–right and top–bottom to get this page."""
        half = self.rotate >= 180
        if self.quarter:
            return half, half != self.mirror
        return half != self.mirror, half


MEMBERS: tuple[Member, ...] = tuple(
    Member(rotate, mirror) for rotate in (0, 90, 180, 270) for mirror in (False, True)
)


@dataclass(frozen=True)
class Reference:
    """A reference layout: elements bottom to top in page coordinates, and how they came about.

    ``upright`` is how many times as large an area the drawing would take upright (1 or more); ``aside`` how far
    the refitted drawing stands from the middle of a longer page, in the frame.
    """

    elements: tuple[Element, ...]
    transform: Transform
    free: Literal["x", "y"] | None
    slack: tuple[int, int]
    upright: Fraction = Fraction(1)
    aside: Point = (0, 0)

    def element(self, name: str) -> Element:
        """Return the element with an id."""
        return next(e for e in self.elements if e.id == name)


def flipped_page(page: Page, flips: tuple[bool, bool]) -> Page:
    """Return the page with its gutters moved to the sides they have before a flip."""
    gutter: dict[Side, int] = {}
    for side, width in page.gutter.items():
        moved = _FLIP_X[side] if flips[0] else side
        gutter[_FLIP_Y[moved] if flips[1] else moved] = width
    return replace(page, gutter=gutter)


def reference_layout(template: Template, page: Page, member: Member, slide: int = 0) -> Reference:
    """Return the template mirrored, rotated and refitted to a page.

    Parameters
    ----------
    template, page
        The drawing and the page it goes to.
    member
        Mirroring and rotation.
    slide
        Micrometres the refitted block is moved along the freed direction (right or down) in the
        parity's frame, before flipping; 0 leaves it centred.

    Returns
    -------
    Reference
    """
    frame = _frame(template, flipped_page(page, member.flips), quarter=member.quarter, slide=slide)
    elements = tuple(flip_element(e, page, member.flips) for e in frame.elements)
    offset = frame.transform.offset
    return replace(
        frame,
        elements=elements,
        transform=replace(
            frame.transform, rotate=member.rotate, mirror=member.mirror, offset=offset
        ),
    )


def flip_element(element: Element, page: Page, flips: tuple[bool, bool]) -> Element:
    """Return an element of a frame as it stands on the flipped page."""
    (x, y), outline, tilt, bleeds = element.center, element.outline, element.tilt, element.bleeds
    upright = element.role == "embellishment"
    if flips[0]:
        x, tilt = page.trim[0] - x, -tilt
        bleeds = tuple(_FLIP_X[s] for s in bleeds)
        outline = outline if upright else tuple((-px, py) for px, py in outline)
    if flips[1]:
        y, tilt = page.trim[1] - y, -tilt
        bleeds = tuple(_FLIP_Y[s] for s in bleeds)
        outline = outline if upright else tuple((px, -py) for px, py in outline)
    return replace(element, center=(x, y), outline=outline, tilt=tilt + 0.0, bleeds=bleeds)


def _frame(template: Template, page: Page, *, quarter: bool, slide: int) -> Reference:
    turned = [_turned(e, template.size, quarter, template) for e in template.elements]
    width, height = template.size[::-1] if quarter else template.size
    (tw, th), untouched = page.trim, (width, height) == page.trim
    scale = min(Fraction(tw, width), Fraction(th, height))
    spare = (tw - nearest(width * scale), th - nearest(height * scale))
    offset = (spare[0] // 2, spare[1] // 2)
    elements = turned
    if not untouched:
        elements = [_scaled(e, scale, offset) for e in turned]
    loose = loose_words(elements, template, page) if quarter else frozenset()
    elements, shrink, step_in = _inside_safe(elements, page, loose)
    elements = words_inside(elements, page, loose)
    free: Literal["x", "y"] | None = None
    slack, step = (0, 0), (0, 0)
    anchored = anchored_to_edges(elements)
    inner = [e for e in elements if not e.bleeds and e.id not in loose]
    if inner and max(spare) > 0:
        free = "x" if spare[0] > spare[1] else "y"
        low, high = (0, 2) if free == "x" else (1, 3)
        slack = (
            page.safe[low] - min(extents(e)[low] for e in inner),
            page.safe[high] - max(extents(e)[high] for e in inner),
        )
        step = (slide, 0) if free == "x" else (0, slide)
        elements = [e if e.id in anchored else moved(e, step) for e in elements]
        offset = (offset[0] + step[0], offset[1] + step[1])
    total = scale * shrink
    refit = Refit(page, total, (width, height))
    bled = [bled_out(e, source, refit) for e, source in zip(elements, turned, strict=True)]
    ridden = [riding(e, source, bled, turned, refit) for e, source in zip(bled, turned, strict=True)]
    ridden = [_stepped_inside(e, page) for e in ridden]
    if quarter:
        ridden = [
            released(e, drawn, ridden, template, step if e.id in anchored else (0, 0))
            for e, drawn in zip(ridden, template.elements, strict=True)
        ]
    return Reference(
        elements=tuple(ridden),
        transform=Transform(
            scale=round(float(total), 9), offset=(offset[0] + step_in[0], offset[1] + step_in[1])
        ),
        free=free,
        slack=slack,
        upright=max(Fraction(1), min(Fraction(tw, template.size[0]), Fraction(th, template.size[1])) / scale) ** 2,
        aside=(
            step_in[0] + step[0] if spare[0] > max(0, spare[1]) else 0,
            step_in[1] + step[1] if 0 < spare[1] >= spare[0] else 0,
        ),
    )


def _turned(element: Element, size: Point, quarter: bool, template: Template) -> Element:
    """Rotate the drawing a quarter turn clockwise; writing and ornaments stay upright."""
    if not quarter:
        return element
    (x, y), (w, h) = element.center, element.size
    center = (size[1] - y, x)
    bleeds = tuple(_CLOCKWISE[s] for s in element.bleeds)
    if stays_upright(element, template):
        return replace(element, center=center, bleeds=bleeds)
    outline = tuple((-py, px) for px, py in element.outline)
    return replace(element, center=center, size=(h, w), outline=outline, bleeds=bleeds)


def _scaled(element: Element, scale: Fraction, offset: Point) -> Element:
    (x, y), (w, h) = element.center, element.size
    limits = replace(element.limits, smallest_side=nearest(element.limits.smallest_side * scale))
    return replace(
        element,
        center=(nearest(x * scale) + offset[0], nearest(y * scale) + offset[1]),
        size=(even(w * scale), even(h * scale)),
        outline=tuple((nearest(px * scale), nearest(py * scale)) for px, py in element.outline),
        limits=limits,
    )


def _inside_safe(
    elements: list[Element], page: Page, loose: frozenset[str]
) -> tuple[list[Element], Fraction, Point]:
    """Shrink what does not bleed by the largest factor that fits the safe box, then move it in."""
    inner = [extents(e) for e in elements if not e.bleeds and e.id not in loose]
    if not inner:
        return elements, Fraction(1), (0, 0)
    left, top = min(b[0] for b in inner), min(b[1] for b in inner)
    right, bottom = max(b[2] for b in inner), max(b[3] for b in inner)
    safe = page.safe
    shrink = min(
        Fraction(1),
        Fraction(safe[2] - safe[0] - 4, right - left),
        Fraction(safe[3] - safe[1] - 4, bottom - top),
    )
    if covers(safe, (left, top, right, bottom)):
        return elements, Fraction(1), (0, 0)
    about = (left + right) // 2, (top + bottom) // 2
    if shrink < 1:
        elements = [e if e.bleeds else _shrunk(e, shrink, about) for e in elements]
        inner = [extents(e) for e in elements if not e.bleeds and e.id not in loose]
    step = (
        step_inside(min(b[0] for b in inner), max(b[2] for b in inner), safe[0], safe[2]),
        step_inside(min(b[1] for b in inner), max(b[3] for b in inner), safe[1], safe[3]),
    )
    return [e if e.bleeds else moved(e, step) for e in elements], shrink, step


def _stepped_inside(element: Element, page: Page) -> Element:
    """Move a carried element that does not bleed into the safe box."""
    if element.tie != "carried" or element.bleeds:
        return element
    box, safe = extents(element), page.safe
    return moved(
        element, (step_inside(box[0], box[2], safe[0], safe[2]), step_inside(box[1], box[3], safe[1], safe[3]))
    )


def _shrunk(element: Element, factor: Fraction, about: Point) -> Element:
    dx, dy = element.center[0] - about[0], element.center[1] - about[1]
    home = replace(element, center=(0, 0))
    return replace(
        _scaled(home, factor, (0, 0)), center=(about[0] + nearest(dx * factor), about[1] + nearest(dy * factor))
    )
