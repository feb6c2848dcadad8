"""Copies of a cluster in a reference layout: elements mirrored, turned by quarters and moved, in exact integers.

What is written stays upright and keeps its own width and height, and so do ornaments.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import replace
from typing import Literal

from fitter.layout import Copy, Repeat
from fitter.pages import Page
from fitter.reference import Reference
from fitter.template import Element, Point

Box = tuple[int, int, int, int]
FAR = 10**7
"""Micrometres from a drawing to where nothing of it is."""
Turn = Literal[0, 90, 180, 270]


def copy_name(name: str, number: int) -> str:
    """Return what the ``number``-th copy (from 1) has for an element's id."""
    return f"{name}~{number + 1}"


def members_of(elements: Iterable[Element], cluster: str) -> tuple[Element, ...]:
    """Return the elements of a cluster, bottom to top."""
    return tuple(e for e in elements if e.cluster == cluster)


def originals(elements: Iterable[Element], repeat: Repeat) -> tuple[Element, ...]:
    """Return the elements of a cluster that are not copies."""
    members = members_of(elements, repeat.cluster)
    numbers = range(1, len(repeat.copies) + 1)
    copies = {copy_name(e.id, number) for e in members for number in numbers}
    return tuple(e for e in members if e.id not in copies)


def box_of(elements: Iterable[Element]) -> Box:
    """Return the box around some elements before tilting, mats and what is carried apart."""
    boxes = [e.box for e in elements if e.tie not in ("mat", "carried")]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


def copied(members: Sequence[Element], copy: Copy, number: int) -> tuple[Element, ...]:
    """Return the ``number``-th copy of a cluster's elements."""
    around = box_of(members)
    names = {e.id for e in members}
    made = []
    for element in members:
        other = _mirrored(element, around) if copy.mirror else element
        box = around
        for _ in range(copy.turn // 90):
            other, box = _turned(other, box), (box[0], box[1], box[0] + box[3] - box[1], box[1] + box[2] - box[0])
        x, y = other.center
        on = copy_name(other.on, number) if other.on in names and other.on is not None else other.on
        center = x + copy.at[0] - around[0], y + copy.at[1] - around[1]
        made.append(replace(other, id=copy_name(element.id, number), center=center, on=on))
    return tuple(made)


def repeated(reference: Reference, repeat: Repeat) -> Reference:
    """Return a reference layout with the copies of a cluster on top; it no longer slides."""
    members = members_of(reference.elements, repeat.cluster)
    made = [e for number, copy in enumerate(repeat.copies, 1) for e in copied(members, copy, number)]
    return replace(
        reference,
        elements=(*reference.elements, *made),
        transform=replace(reference.transform, repeat=repeat),
        free=None,
        slack=(0, 0),
    )


def drawn_with(drawing: Sequence[Element], repeat: Repeat) -> tuple[Element, ...]:
    """Return a drawing with copies of a cluster far from everything else: they lie to each other as drawn."""
    members = members_of(drawing, repeat.cluster)
    copies = range(1, len(repeat.copies) + 1)
    return (*drawing, *(e for n in copies for e in copied(members, Copy(0, False, (FAR * n, 0)), n)))


def flipped_repeat(repeat: Repeat, size: Point, page: Page, flips: tuple[bool, bool]) -> Repeat:
    """Return the copies of a frame as they stand on the flipped page.

    ``size`` is that of the box around the cluster.
    """
    turns: dict[Turn, Turn] = {0: 0, 90: 270, 180: 180, 270: 90}
    made = []
    for copy in repeat.copies:
        width, height = turned_size(size, copy.turn)
        x, y = copy.at
        at = page.trim[0] - x - width if flips[0] else x, page.trim[1] - y - height if flips[1] else y
        made.append(replace(copy, turn=turns[copy.turn] if flips[0] != flips[1] else copy.turn, at=at))
    return replace(repeat, copies=tuple(made))


def turned_size(size: Point, turn: int) -> Point:
    """Return the size of a box after some quarter turns."""
    return size[::-1] if turn in (90, 270) else size


def _mirrored(element: Element, around: Box) -> Element:
    (x, y), outline = element.center, element.outline
    if element.role != "embellishment":
        outline = tuple((-px, py) for px, py in outline)
    return replace(element, center=(around[0] + around[2] - x, y), outline=outline, tilt=0.0 - element.tilt)


def _turned(element: Element, around: Box) -> Element:
    """Turn an element a quarter clockwise with the box around its cluster, whose left top corner stays."""
    x, y = element.center[0] - around[0], element.center[1] - around[1]
    center: Point = around[0] + around[3] - around[1] - y, around[1] + x
    if element.role == "embellishment":
        return replace(element, center=center, size=element.size[::-1])
    outline = tuple((-py, px) for px, py in element.outline)
    return replace(element, center=center, size=element.size[::-1], outline=outline)
