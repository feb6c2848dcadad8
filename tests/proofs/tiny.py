"""Tiny pages drawn from seeds, in families that leave on the freedoms exhaustive enumeration has to cover."""

from __future__ import annotations

import random
from dataclasses import dataclass, field, replace
from typing import Any

from fitter.layout import Grid
from fitter.pages import Page, Side
from fitter.photos import Photo
from fitter.template import Element, Template
from tests.proofs import fitting

GAPS = (0.125, 0.25, 0.375)
MARGIN = 0.375


@dataclass(frozen=True)
class Family:
    """A kind of page: how many slots and photos, whether the slots fill the page, which freedoms are on.

    Of the slots the last are ``papers``, and behind these ``cards``; ``words`` is how many words are to be set.
    """

    slots: int
    photos: int
    allow: tuple[str, ...]
    size: float = 6.0
    fill: bool = False
    papers: int = 0
    keep: bool = False
    seeds: int = 4
    options: dict[str, Any] = field(default_factory=dict)
    bleed: bool = False
    importance: bool = False
    cluster: bool = False
    gutter: float = 0.0
    cards: int = 0
    words: int = 0
    mats: bool = False


FAMILIES = {
    "assign, eight pages": Family(3, 3, ("assign", "rotate-page", "mirror-page"), seeds=5),
    "order is binding": Family(3, 3, ("rotate-page", "mirror-page"), seeds=3),
    "widen, mirror": Family(2, 2, ("assign", "widen", "mirror-page")),
    "widen, shift": Family(2, 2, ("assign", "widen", "shift"), size=5.0),
    "rotate slot": Family(2, 2, ("assign", "rotate-slot", "shift"), seeds=6),
    "rotate slot, widen": Family(1, 1, ("rotate-slot", "widen", "shift"), size=5.0),
    "drop or swap": Family(2, 1, ("assign", "swap-role", "drop", "widen", "shift")),
    "paper becomes photo": Family(3, 3, ("assign", "swap-role", "drop", "scale"), papers=1),
    "common scalings": Family(2, 2, ("assign", "scale", "shift"), seeds=6),
    "cluster scalings": Family(2, 2, ("assign", "scale", "shift"), cluster=True),
    "row or column": Family(2, 3, ("assign", "widen", "add-slot"), fill=True),
    "row, column or grid": Family(1, 4, ("assign", "add-slot", "shift"), size=5.0, fill=True, seeds=5),
    "one left out": Family(1, 3, ("assign", "add-slot"), size=5.0, fill=True, options={"leave_out": 1}),
    "keep boxes": Family(2, 2, ("assign", "widen", "crop"), keep=True),
    "keep boxes, centred crops": Family(2, 2, ("assign", "widen"), keep=True),
    "importance": Family(2, 2, ("assign", "widen", "crop", "mirror-page"), importance=True),
    "importance, keep boxes": Family(2, 2, ("assign", "widen", "crop"), keep=True, importance=True),
    "importance, bleeding": Family(2, 2, ("assign", "widen", "crop", "mirror-page"), bleed=True, importance=True),
    "importance, divided": Family(1, 3, ("assign", "crop", "add-slot"), size=5.0, fill=True, importance=True),
    "importance, centred crops": Family(2, 2, ("assign", "widen"), importance=True, seeds=2),
    "bleeding slot": Family(2, 2, ("assign", "widen", "mirror-page"), bleed=True),
    "gutter, widen, shift": Family(2, 2, ("assign", "widen", "shift", "mirror-page"), size=5.0, gutter=0.36),
    "gutter, eight pages": Family(2, 2, ("assign", "widen", "rotate-page", "mirror-page"), gutter=0.3),
    "gutter, divided": Family(1, 3, ("assign", "widen", "add-slot", "rotate-page"), size=5.0, fill=True, gutter=0.35),
    "all together": Family(
        2,
        2,
        ("assign", "widen", "shift", "scale", "rotate-slot", "mirror-page", "drop", "swap-role", "crop"),
        seeds=3,
    ),
}


def drawn(rng: random.Random, family: Family) -> Template:
    """Return slots in a row or, as often, in a column; filling the page, or with unlike heights and alignments."""
    size, gap = family.size, rng.choice(GAPS)
    parts = [rng.uniform(0.7, 1.3) for _ in range(family.slots)]
    room = size - 2 * MARGIN - (family.slots - 1) * gap
    left, elements = MARGIN, []
    for number, part in enumerate(parts):
        width = round(room * part / sum(parts) * 20) / 20 - 0.05
        high = size - rng.choice([0.75, 1, 1.25]) if family.fill else rng.choice([2, 2.5, 3, 4])
        top = MARGIN if family.fill else rng.choice([MARGIN, 0.5, 1])
        roles = ["photo"] * family.slots + ["paper"] * family.papers + ["journaling"] * family.cards
        role = roles[number + family.papers + family.cards]
        element = fitting.slot("abc"[number], left, top, width, min(high, size - top - MARGIN), role)
        elements.append(element)
        left += width + gap
    if family.bleed:
        elements[0] = _bleeding(elements[0])
    if family.cluster:
        elements = [replace(e, cluster="pair") for e in elements]
    if family.mats:
        framed = [(_mat(rng, e, gap), e) if rng.random() < 0.75 else (e,) for e in elements]
        elements = [e for pair in framed for e in pair]
    if rng.random() < 0.5:
        turn: dict[Side, Side] = {"left": "top", "top": "left"}
        elements = [
            replace(e, center=e.center[::-1], size=e.size[::-1], bleeds=tuple(turn[side] for side in e.bleeds))
            for e in elements
        ]
    return fitting.template((size, size), *elements)


def _mat(rng: random.Random, element: Element, gap: float) -> Element:
    """Return a mat with borders that leave its neighbours, and the safe box, untouched."""
    borders = [border for border in (1270, 2540, 3048) if 2 * border <= gap * fitting.INCH]
    left, top, right, low = (rng.choice(borders) for _ in range(4))
    (x, y), (w, h) = element.center, element.size
    center, size = (x + (right - left) // 2, y + (low - top) // 2), (w + left + right, h + top + low)
    return Element(
        f"mat-{element.id}", "paper", "rect", center, size, on=element.id, tie="mat", cluster=element.cluster
    )


def bound(rng: random.Random, made: Template, gutter: float) -> Page:
    """Return the template's page, with a gutter, if there is one, on one of its sides inside the drawing's margin."""
    if not gutter:
        return Page("template", made.size)
    sides: tuple[Side, ...] = ("left", "right", "top", "bottom")
    return Page("bound", made.size, gutter={rng.choice(sides): round(gutter * fitting.INCH)})


def _bleeding(element: Element) -> Element:
    """Stretch a slot over the left and top edges to the bleed line."""
    x, y, far, low = (-3175, -3175, *element.box[2:])
    far, low = far + (far - x) % 2, low + (low - y) % 2
    center, size = ((x + far) // 2, (y + low) // 2), (far - x, low - y)
    return Element(element.id, element.role, "rect", center, size, bleeds=("left", "top"))


def taken(rng: random.Random, family: Family) -> list[Photo]:
    """Return photos of random sizes and weights, or alike ones with a keep box at whole pixels."""
    if family.keep:
        boxes = [(rng.randrange(0, 60) / 100, 0.25, 0.4, 0.5) for _ in range(family.photos)]
        alike = [fitting.photo(n, 2000, 1600, keep=(box,)) for n, box in enumerate(boxes)]
        return [replace(p, importance=_uneven(rng)) for p in alike] if family.importance else alike
    made = [
        fitting.photo(
            n, rng.randrange(1200, 3000, 2), rng.randrange(1200, 3000, 2), weight=rng.choice([1.0, 1.0, 1.5, 2.0])
        )
        for n in range(family.photos)
    ]
    return [replace(p, importance=_uneven(rng)) for p in made] if family.importance else made


def _uneven(rng: random.Random) -> Grid:
    """Return an importance with a lump somewhere."""
    rows, columns = rng.randrange(3, 7), rng.randrange(3, 7)
    lump = rng.randrange(rows), rng.randrange(columns)
    return tuple(tuple(rng.randrange(1, 9) + 40 * ((r, c) == lump) for c in range(columns)) for r in range(rows))
