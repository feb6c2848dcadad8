"""R8: freedoms that were switched off are not used, as far as a page and its reference tell.

Enters: a :class:`View`.  Leaves: for each freedom the first use of it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction

from fitter.check.costs_slots import SIZE_STEP, SPLIT_GAP, columns_and_rows
from fitter.check.reading_order import out_of_order
from fitter.check.report import Violation, millimetres
from fitter.check.shapes import TOLERANCE
from fitter.check.view import View, doubled_center
from fitter.template import Element, Point

Uses = Iterator[tuple[str, str]]
"""What makes use of a freedom, and how, in words that name it."""
WIDENED = frozenset({"photo", "journaling"})
"""Roles of rectangles that may be of any width and height; everything else is scaled evenly."""
PIECES = 8
"""Micrometres by which the pieces of a slot may miss its edges."""


def switched_off(view: View) -> Iterator[Violation]:
    """Find uses of the freedoms that the user switched off, the first of each."""
    for freedom in view.given.without:
        uses = _USES.get(freedom)
        used = None if uses is None else next(uses(view), None)
        if used is not None:
            yield Violation("R8", used[0], f"{freedom} was switched off, but {used[1]}", other=freedom)


def _rotated(view: View) -> Uses:
    if view.layout.transform.rotate:
        yield "page", f"the page is rotated by {view.layout.transform.rotate}°"


def _mirrored(view: View) -> Uses:
    if view.layout.transform.mirror:
        yield "page", "the page is mirrored"


def _turned(view: View) -> Uses:
    return ((item.id, f"{item.id} is turned by a quarter") for item in view.elements if item.turned)


def _assigned(view: View) -> Uses:
    """Find photos that are not read in their order of time: without the freedom that is binding."""
    return ((a.id, f"{a.id} and {b.id} do not show their photos in order") for a, b in out_of_order(view))


def _swapped(view: View) -> Uses:
    for item in view.elements:
        origin = view.origin(item)
        if origin is not None and origin.role != item.role:
            yield item.id, f"{item.id} became {item.role}"


def _added(view: View) -> Uses:
    for item in view.elements:
        if item.source is None:
            yield item.id, f"{item.id} is not in the template"
        elif item.split is not None and item.split.count > 1:
            yield item.id, f"{item.id} is a piece of a divided slot"


def _repeated(view: View) -> Uses:
    repeat = view.layout.transform.repeat
    if repeat is not None:
        yield repeat.cluster, f"{repeat.cluster} is repeated"


def _dropped(view: View) -> Uses:
    return ((e.id, f"{e.id} is not on the page") for e in view.layout.reference if e.id in view.dropped)


def _scaled(view: View) -> Uses:
    """Find common scalings, and blocks of another size that can only be scaled."""
    rescale = view.layout.transform.rescale
    if rescale is not None:
        yield rescale.group, f"{rescale.group} is scaled by {rescale.factor:g}"
    for block, size in _sized(view):
        if not _may_be_widened(view, block) and not _is_near(size, block.size, TOLERANCE):
            yield block.id, f"{block.id} is {size[0]}×{size[1]} µm instead of {block.size[0]}×{block.size[1]}"


def _widened(view: View) -> Uses:
    """Find rectangles out of their proportions; without ``scale`` they have their sizes too."""
    even = "scale" not in view.given.without
    for block, size in _sized(view):
        if block.shape == "rect" and not any(_is_unwidened(view, block, size, to, even) for to in _drawn(view, block)):
            yield block.id, f"{block.id} is {size[0]}×{size[1]} µm instead of {block.size[0]}×{block.size[1]}"


def _shifted(view: View) -> Uses:
    """Find blocks off their places; what bleeds moves along its edge as its size changes."""
    for block in view.placed_blocks:
        moved = max(
            abs(now - 2 * was) for now, was in zip(doubled_center(view.outer(block.id)), block.center, strict=True)
        )
        if not block.bleeds and moved > 2 * _slack(view, block):
            yield block.id, f"{block.id} was moved by {millimetres(Fraction(moved, 2))}"


def _cropped(view: View) -> Uses:
    """Find windows that are not the largest in the middle of the picture, to a pixel."""
    for item in view.photos:
        assert item.photo is not None
        ends = [(item.photo.crop[axis], item.photo.crop[axis + 2], item.photo.pixels[axis]) for axis in (0, 1)]
        centred = all(abs(near + far - side) <= 1 for near, far, side in ends)
        if not centred or all(far - near < side - 1 for near, far, side in ends):
            yield item.id, f"{item.id} does not show the middle of {item.photo.file}"


_USES: dict[str, Callable[[View], Uses]] = {
    "rotate-page": _rotated,
    "mirror-page": _mirrored,
    "rotate-slot": _turned,
    "assign": _assigned,
    "swap-role": _swapped,
    "add-slot": _added,
    "repeat-cluster": _repeated,
    "drop": _dropped,
    "scale": _scaled,
    "widen": _widened,
    "shift": _shifted,
    "crop": _cropped,
}


def _sized(view: View) -> Iterator[tuple[Element, Point]]:
    """Return the placed blocks with the sizes of their outer boxes; a slot that stays as it was has its size there."""
    for block in view.placed_blocks:
        if block.id not in view.given.wishes.stay:
            left, top, right, bottom = view.outer(block.id)
            yield block, (right - left, bottom - top)


def _may_be_widened(view: View, block: Element) -> bool:
    return block.shape == "rect" and all(item.role in WIDENED for item in view.pieces[block.id])


def _drawn(view: View, block: Element) -> list[Point]:
    """Return the sizes a block may have, or be scaled from: as drawn, turned, and beside itself where it is divided."""
    (w, h), sizes = block.size, [block.size]
    if "rotate-slot" not in view.given.without:
        sizes.append((h, w))
    if view.is_split(block.id):
        n, m = columns_and_rows(view.pieces[block.id])
        sizes.append((n * w + (n - 1) * SPLIT_GAP, m * h + (m - 1) * SPLIT_GAP))
    return sizes


def _is_unwidened(view: View, block: Element, size: Point, drawn: Point, even: bool) -> bool:
    if even:
        return _is_even(size, drawn)
    # A slot divided beside itself grows by whole steps.
    return _is_near(size, drawn, SIZE_STEP // 2 + PIECES if view.is_split(block.id) else TOLERANCE)


def _is_even(size: Point, drawn: Point) -> bool:
    """Whether one factor gives both sides, each to the nearest step."""
    half = Fraction(SIZE_STEP, 2)
    low = max((side - half) / was for side, was in zip(size, drawn, strict=True))
    high = min((side + half) / was for side, was in zip(size, drawn, strict=True))
    return low <= high


def _is_near(size: Point, drawn: Point, slack: int) -> bool:
    return all(abs(side - was) <= slack for side, was in zip(size, drawn, strict=True))


def _slack(view: View, block: Element) -> int:
    return PIECES if view.is_split(block.id) else TOLERANCE
