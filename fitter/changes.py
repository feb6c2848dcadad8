"""What a page changed in its template, in sentences for the album maker."""

from __future__ import annotations

from collections.abc import Iterator

from fitter.layout import Layout, Placed
from fitter.template import Element
from fitter.units import INCH, format_length

_SHOWN_SHIFT = INCH // 8
_SHOWN_RESIZE = 0.02
_LEVEL = 45
"""Degrees of tilt from which a title counts as vertical."""


def changes(layout: Layout) -> tuple[str, ...]:
    """Return one sentence per change, page first, then slot by slot from bottom to top.

    Moves under 1/8 in and size changes under 2 % go without a sentence.
    """
    return tuple([*_page(layout), *_slots(layout)])


def _page(layout: Layout) -> Iterator[str]:
    transform = layout.transform
    if transform.mirror:
        yield "Mirrored the page left to right."
    if transform.rotate:
        yield f"Rotated the page by {transform.rotate}° clockwise."
    if layout.template.size != layout.page.trim:
        yield (
            f"Refitted from {_size(layout.template.size)} to {_size(layout.page.trim)}, "
            f"everything at {100 * transform.scale:.1f} %."
        )
    if transform.rescale is not None:
        group = transform.rescale.group
        what = {
            "template": "the whole template",
            "photos": "all photo slots",
            "others": "everything but the photo slots",
        }.get(group, f"the cluster {group.removeprefix('cluster:')}")
        yield f"Scaled {what} to {100 * transform.rescale.factor:.0f} %."


def _slots(layout: Layout) -> Iterator[str]:
    reference = {e.id: e for e in layout.reference}
    seen: set[str] = set()
    for item in layout.elements:
        if item.source is None:
            yield _added(item)
        elif item.source not in seen:
            seen.add(item.source)
            pieces = [e for e in layout.elements if e.source == item.source]
            yield from _slot(reference[item.source], pieces)
    for name in layout.dropped:
        yield f"Dropped {name}."


def _added(item: Placed) -> str:
    if item.on is not None:
        return f"Added a plain panel for the {_words(item)} on {item.on}."
    what = "photo slot" if item.role == "photo" else f"card for the {_words(item)}"
    return f"Added a {what} of {_size(item.size)} in free room."


def _words(item: Placed) -> str:
    return "title" if item.role == "title" else "words"


def _slot(element: Element, pieces: list[Placed]) -> Iterator[str]:
    first = pieces[0]
    name = element.id
    if first.role != element.role:
        yield f"Used the {element.role} spot {name} as {first.role}."
    if first.split is not None:
        yield f"Divided {name} into a {first.split.kind} of {first.split.count} photos."
    if first.turned:
        yield f"Rotated the slot {name} by a quarter turn."
    if first.text is not None and abs(first.text.tilt) > _LEVEL:
        way = "bottom to top" if first.text.tilt < 0 else "top to bottom"
        yield f"Set the title on {name} vertically, reading from {way}."
    if element.tie in ("mat", "carried"):
        return
    left, top = min(p.box[0] for p in pieces), min(p.box[1] for p in pieces)
    right, bottom = max(p.box[2] for p in pieces), max(p.box[3] for p in pieces)
    width, height = right - left, bottom - top
    base = element.size[::-1] if first.turned else element.size
    if any(abs(a / b - 1) > _SHOWN_RESIZE for a, b in zip((width, height), base, strict=True)):
        yield f"Made {name} {_size((width, height))} instead of {_size(base)}."
    dx, dy = (left + right) // 2 - element.center[0], (top + bottom) // 2 - element.center[1]
    if max(abs(dx), abs(dy)) >= _SHOWN_SHIFT:
        yield f"Moved {name} {_direction(dx, dy)}."


def _direction(dx: int, dy: int) -> str:
    parts = []
    if abs(dx) >= _SHOWN_SHIFT:
        parts.append(f"{_inches(abs(dx))} {'right' if dx > 0 else 'left'}")
    if abs(dy) >= _SHOWN_SHIFT:
        parts.append(f"{_inches(abs(dy))} {'down' if dy > 0 else 'up'}")
    return " and ".join(parts)


def _inches(length: int) -> str:
    return f"{length / INCH:.2f}".rstrip("0").rstrip(".") + " in"


def _size(size: tuple[int, int]) -> str:
    wide, high = (
        format_length(side).removesuffix(" in") if side % 3175 == 0 else f"{side / INCH:.2f}" for side in size
    )
    return f"{wide} × {high} in"
