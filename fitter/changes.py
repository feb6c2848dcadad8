"""What a page changed in its template, in sentences for the album maker."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fitter.change_words import DIVIDED, DROPPED, MOVED, RESIZED, ROLE, TURNED
from fitter.layout import Copy, Layout, Placed, Repeat
from fitter.parts import Part
from fitter.reference_copies import Box, box_of, originals, turned_size
from fitter.template import Element
from fitter.units import INCH, format_length, format_size

_SHOWN_SHIFT = INCH // 8
_SHOWN_RESIZE = 0.02
_LEVEL = 45
"""Degrees of tilt from which a title counts as vertical."""


@dataclass(frozen=True)
class Change:
    """Something a page changed in its template: a sentence, and which part of the template it is.

    ``part`` is ``None`` for what was asked for, a refit to another page.
    """

    sentence: str
    part: Part | None


def changes(layout: Layout) -> tuple[str, ...]:
    """Return one sentence per change, page first, then slot by slot from bottom to top.

    Moves under 1/8 in and size changes under 2 % go without a sentence.
    """
    return tuple(change.sentence for change in all_changes(layout))


def all_changes(layout: Layout) -> tuple[Change, ...]:
    """Return the changes in the order of their sentences."""
    return tuple([*_page(layout), *_slots(layout)])


def _page(layout: Layout) -> Iterator[Change]:
    transform = layout.transform
    if transform.mirror:
        yield Change("Mirrored the page left to right.", Part("mirrored"))
    if transform.rotate:
        yield Change(f"Rotated the page by {transform.rotate}° clockwise.", Part("rotated"))
    if layout.template.size != layout.page.trim:
        yield Change(
            f"Refitted from {format_size(layout.template.size)} to {format_size(layout.page.trim)}, "
            f"everything at {100 * transform.scale:.1f} %.",
            None,
        )
    if transform.repeat is not None:
        yield Change(_repeated(layout, transform.repeat), Part("repeated"))
    if transform.rescale is not None:
        group = transform.rescale.group
        what = {
            "template": "the whole template",
            "photos": "all photo slots",
            "others": "everything but the photo slots",
        }.get(group, f"the cluster {group.removeprefix('cluster:')}")
        yield Change(f"Scaled {what} to {100 * transform.rescale.factor:.0f} %.", Part("scaled"))


_TIMES = {1: "once", 2: "twice"}
_LOOKS = {
    (0, False): "",
    (0, True): "mirrored",
    (180, False): "turned by half",
    (180, True): "mirrored top to bottom",
    (90, False): "turned by a quarter",
    (270, False): "turned by three quarters",
    (90, True): "mirrored and turned by a quarter",
    (270, True): "mirrored and turned by three quarters",
}


def _repeated(layout: Layout, repeat: Repeat) -> str:
    """Return the sentence for copies of a cluster: how many, how turned, on which side of it."""
    box = box_of(originals(layout.reference, repeat))
    count = len(repeat.copies)
    told = [_copy(copy, box) for copy in repeat.copies]
    return f"Repeated the cluster {repeat.cluster} {_TIMES.get(count, f'{count} times')}: {'; '.join(told)}."


def _copy(copy: Copy, box: Box) -> str:
    """Return how a copy lies to the box around its cluster."""
    width, height = turned_size((box[2] - box[0], box[3] - box[1]), copy.turn)
    (x, y), where = copy.at, []
    if y >= box[3] or y + height <= box[1]:
        where.append("below" if y >= box[3] else "above")
    if x >= box[2] or x + width <= box[0]:
        where.append("to the right" if x >= box[2] else "to the left")
    return ", ".join(part for part in (_LOOKS[copy.turn, copy.mirror], " and ".join(where)) if part)


def _slots(layout: Layout) -> Iterator[Change]:
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
        yield Change(DROPPED(what=name), Part("dropped", name))


def _added(item: Placed) -> Change:
    if item.on is not None:
        return Change(f"Added a plain panel for the {_words(item)} on {item.on}.", Part("panel"))
    what = "photo slot" if item.role == "photo" else f"card for the {_words(item)}"
    return Change(f"Added a {what} of {_size(item.size)} in free room.", Part("added"))


def _words(item: Placed) -> str:
    return "title" if item.role == "title" else "words"


def _slot(element: Element, pieces: list[Placed]) -> Iterator[Change]:
    first = pieces[0]
    name = element.id
    if first.role != element.role:
        yield Change(ROLE(was=element.role, what=name, how=first.role), Part("role", name))
    if first.split is not None:
        told = DIVIDED(what=name, how=f"a {first.split.kind} of {first.split.count} photos")
        yield Change(told, Part("divided", name))
    if first.turned:
        yield Change(TURNED(what=name), Part("turned", name))
    if first.text is not None and abs(first.text.tilt) > _LEVEL:
        way = "bottom to top" if first.text.tilt < 0 else "top to bottom"
        yield Change(f"Set the title on {name} vertically, reading from {way}.", Part("vertical", name))
    if element.tie in ("mat", "carried"):
        return
    left, top = min(p.box[0] for p in pieces), min(p.box[1] for p in pieces)
    right, bottom = max(p.box[2] for p in pieces), max(p.box[3] for p in pieces)
    width, height = right - left, bottom - top
    base = element.size[::-1] if first.turned else element.size
    if any(abs(a / b - 1) > _SHOWN_RESIZE for a, b in zip((width, height), base, strict=True)):
        told = RESIZED(what=name, how=_size((width, height)), was=_size(base))
        yield Change(told, Part("resized", name))
    dx, dy = (left + right) // 2 - element.center[0], (top + bottom) // 2 - element.center[1]
    if max(abs(dx), abs(dy)) >= _SHOWN_SHIFT:
        yield Change(MOVED(what=name, how=_direction(dx, dy)), Part("moved", name))


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
