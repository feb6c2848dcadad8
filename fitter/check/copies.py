"""Copies of a cluster: that they are the cluster, turned or mirrored, clear of everything (R6); and their cost."""

from __future__ import annotations

from collections.abc import Iterator

from fitter.check.report import CostItem, Violation
from fitter.check.shapes import TOLERANCE, Box, box_around, shared_area
from fitter.check.view import View, is_block
from fitter.layout import Copy, Layout
from fitter.template import TEXT_ROLES, Element

REPEAT_CLUSTER = 150_000
MOST_COPIES = 3
_QUARTERS = {0: (1, 0, 0, 1), 90: (0, -1, 1, 0), 180: (-1, 0, 0, -1), 270: (0, 1, -1, 0)}


def cost_repeat_cluster(view: View) -> tuple[CostItem, ...]:
    """150,000 for each copy of a cluster."""
    repeat = view.layout.transform.repeat
    if repeat is None:
        return ()
    return tuple(CostItem(f"{repeat.cluster}~{n}", REPEAT_CLUSTER) for n in range(2, len(repeat.copies) + 2))


def drawn_elements(layout: Layout) -> tuple[Element, ...]:
    """Return the reference elements that are the template's own; the copies come after them."""
    repeat = layout.transform.repeat
    if repeat is None:
        return layout.reference
    times = len(repeat.copies)
    each = sum(1 for e in layout.reference if e.cluster == repeat.cluster) // (times + 1)
    return layout.reference[: len(layout.reference) - times * each]


def false_copies(view: View) -> Iterator[Violation]:
    """R6: each copy is the whole cluster in its own sizes, turned by quarters or mirrored, and lies on nothing."""
    repeat = view.layout.transform.repeat
    if repeat is None:
        return
    drawn = drawn_elements(view.layout)
    cluster = [e for e in drawn if e.cluster == repeat.cluster]
    made = view.layout.reference[len(drawn) :]
    if not any(is_block(e) for e in cluster) or len(made) != len(cluster) * len(repeat.copies):
        yield Violation("R6", repeat.cluster, f"the cluster {repeat.cluster} and its copies have not the same elements")
        return
    for number, copy in enumerate(repeat.copies):
        mine = made[number * len(cluster) : (number + 1) * len(cluster)]
        yield from _one_copy(cluster, mine, copy, number + 2)
        for element in mine:
            other = next((o for o in _others(view, mine) if shared_area(element, o) > TOLERANCE**2), None)
            if other is not None:
                told = f"{element.id} of a repeated cluster lies on {other.id} in the reference"
                yield Violation("R6", element.id, told, other=other.id)


def too_many_copies(view: View) -> Iterator[Violation]:
    """R8: a cluster is repeated once to three times."""
    repeat = view.layout.transform.repeat
    if repeat is not None and not 1 <= len(repeat.copies) <= MOST_COPIES:
        told = f"the cluster {repeat.cluster} has {len(repeat.copies)} copies; 1 to {MOST_COPIES} are allowed"
        yield Violation("R8", repeat.cluster, told)


def _others(view: View, mine: tuple[Element, ...]) -> Iterator[Element]:
    return (e for e in view.layout.reference if e not in mine and e.role != "background")


def _one_copy(cluster: list[Element], mine: tuple[Element, ...], copy: Copy, number: int) -> Iterator[Violation]:
    box = box_around([e.box for e in cluster if is_block(e)])
    for element, twin in zip(mine, cluster, strict=True):
        if element != _expected(twin, box, copy, number, {e.id for e in cluster}):
            told = f"{element.id} is not what {twin.id} becomes in copy {number - 1} of its cluster"
            yield Violation("R6", element.id, told, other=twin.id)
        elif copy.turn in (90, 270) and (twin.role in TEXT_ROLES or twin.role == "embellishment"):
            yield Violation("R6", element.id, f"{element.id} is turned by a quarter with its cluster; it stays upright")


def _expected(twin: Element, box: Box, copy: Copy, number: int, names: set[str]) -> Element:
    """Return an element as the copy has it, worked out about the middle of the cluster's box, in half micrometres."""
    a, b, c, d = _QUARTERS[copy.turn]
    flip = -1 if copy.mirror else 1
    a, c = a * flip, c * flip
    x, y = (2 * twin.center[k] - box[k] - box[k + 2] for k in (0, 1))
    wide, high = box[2] - box[0], box[3] - box[1]
    size = twin.size
    if copy.turn in (90, 270):
        wide, high, size = high, wide, size[::-1]
    middle = 2 * copy.at[0] + wide, 2 * copy.at[1] + high
    center = (middle[0] + a * x + b * y) // 2, (middle[1] + c * x + d * y) // 2
    outline = twin.outline
    if twin.role != "embellishment":
        outline = tuple((a * px + b * py, c * px + d * py) for px, py in outline)
    return Element(
        id=f"{twin.id}~{number}",
        role=twin.role,
        shape=twin.shape,
        center=center,
        size=size,
        tilt=flip * twin.tilt,
        outline=outline,
        on=f"{twin.on}~{number}" if twin.on in names else twin.on,
        tie=twin.tie,
        cluster=twin.cluster,
        limits=twin.limits,
        color=twin.color,
    )
