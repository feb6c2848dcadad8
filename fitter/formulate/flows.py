"""How a text flows over several journaling spots: in parts that all have one type size (R2).

A text flows where it is the only one without a spot of its own, and only where that gives it a more comfortable size
than it has whole in any one spot, or where several spots have to be filled.  Its parts are offered in a few common
sizes, cut for each of these; ``needs`` say that either the whole is set, or all parts in the same size.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

import numpy as np

from fitter.formulate.cards import Insets, text_area, type_choices
from fitter.formulate.clearings import clearings
from fitter.formulate.content import Ints, TextItem
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.parts import Part
from fitter.typesetting import JOURNALING_SIZES
from fitter.words import ENDS, split_text

COMFORTABLE = (10.0, 12.0)
"""The type sizes of journaling, in points, between which none costs anything."""
SMALLER = (8.0, 9.0, 10.0)
"""Sizes that parts are offered in besides the one that suits the spots as drawn, should spots become smaller."""
Spot = tuple[Atom, Insets]
Parts = tuple[str, ...]


def flowing(scene: Scene, settings: Settings) -> Settings:
    """Return settings in which a text appears as its parts too, if it may flow over the spots of a scene."""
    free = [i for i in settings.items if not i.is_title and i.slot is None and (i.index,) in settings.needs]
    spots = _open_spots(scene, settings)
    if len(free) != 1 or len(spots) < 2 or len(free[0].text.split()) < len(spots):
        return settings
    text = free[0].text
    parts: dict[float, Parts] = {}
    costs: dict[float, int] = {}
    for size in JOURNALING_SIZES:
        parts[size], cost = _cut(text, spots, size)
        if cost is not None:
            costs[size] = cost
    filled = [spot for spot in spots if not _may_be_empty(spot[0], settings)]
    if len(filled) < 2:
        whole = [s for s in JOURNALING_SIZES for spot in filled or spots if _cost((text,), (spot,), s) is not None]
        if whole and _discomfort(whole) <= _discomfort(costs):
            return settings
    best = min(costs, key=lambda size: (costs[size], -size), default=SMALLER[0])
    return _with_parts(settings, free[0], spots, {size: parts[size] for size in sorted({best, *SMALLER})})


def _with_parts(settings: Settings, whole: TextItem, spots: Sequence[Spot], offered: Mapping[float, Parts]) -> Settings:
    """Add the parts of a text in each of some sizes, and what says that they complete each other."""
    items = list(settings.items)
    numbers: list[dict[float, int]] = [{} for _ in spots]
    for size, parts in offered.items():
        for (atom, _), part, found in zip(spots, parts, numbers, strict=True):
            found[size] = len(items)
            items.append(TextItem(len(items), part, whole.which, atom.element.id, size))
    # The whole, or each part in one of the sizes.
    needs = [(whole.index, *found.values()) for found in numbers]
    # The whole, or a part in a size, or the next part in another: so both have the same.
    for one, other in pairwise(numbers):
        needs += [(whole.index, one[size], *(n for s, n in other.items() if s != size)) for size in one]
    others = [ids for ids in settings.needs if ids != (whole.index,)]
    return replace(settings, items=tuple(items), needs=(*needs, *others))


def _open_spots(scene: Scene, settings: Settings) -> list[Spot]:
    """Return the journaling spots that may take a part of a text, bottom to top."""
    taken = {item.slot for item in settings.items} | set(settings.wishes.avoid)
    found = []
    for atom in scene.atoms:
        if atom.element.role != "journaling" or atom.element.bleeds or atom.element.id in taken:
            continue
        insets = (0, 0, 0, 0) if atom.part == "rider" else _as_drawn(scene, atom)
        if insets is not None and _area((atom, insets)) > 0:
            found.append((atom, insets))
    return found


def _as_drawn(scene: Scene, atom: Atom) -> Insets | None:
    """Return what surrounds the free rectangle of a card with everything on it there."""
    return next((clearing.insets for clearing in clearings(scene, atom) if not clearing.gone), None)


def _area(spot: Spot) -> float:
    """Return the area that ink has in a spot as drawn."""
    width, height = text_area(spot[0].element, *_size(spot[0]), spot[1])
    return max(0.0, float(width[0])) * max(0.0, float(height[0]))


def _size(atom: Atom) -> tuple[Ints, Ints]:
    return np.array([atom.element.size[0]]), np.array([atom.element.size[1]])


def _cut(text: str, spots: Sequence[Spot], size: float) -> tuple[Parts, int | None]:
    """Return the parts of a text by the area of its spots, and what they cost in a size where all fit.

    Of cuts at the ends of paragraphs or sentences, and of those between words, the cheapest; else those between words.
    """
    areas = [_area(spot) for spot in spots]
    ways = list(dict.fromkeys(split_text(text, areas, ends=ENDS[start:]) for start in range(len(ENDS) + 1)))
    costs = [_cost(way, spots, size) for way in ways]
    fitting = [(cost, number) for number, cost in enumerate(costs) if cost is not None]
    if not fitting:
        return ways[-1], None
    cost, number = min(fitting)
    return ways[number], cost


def _cost(parts: Parts, spots: Sequence[Spot], size: float) -> int | None:
    """Return what parts of a text cost in a size in their spots as drawn; ``None`` where one of them does not fit."""
    total = 0
    for (atom, insets), part in zip(spots, parts, strict=True):
        item = TextItem(0, part, "text", size=size)
        (best,) = type_choices(atom.element, item, *_size(atom), insets)
        if best is None:
            return None
        total += best.cost
    return total


def _discomfort(sizes: Iterable[float]) -> float:
    """Return by how many points the best of some sizes misses those that cost nothing."""
    return min((max(0.0, COMFORTABLE[0] - size, size - COMFORTABLE[1]) for size in sizes), default=float("inf"))


def _may_be_empty(atom: Atom, settings: Settings) -> bool:
    """Whether a spot may be left without words: it goes, or holds something else."""
    element, limits = atom.element, atom.element.limits
    if limits.fixed or element.id in settings.wishes.stay:
        return False
    goes = settings.may("drop") and Part("dropped", element.id) not in settings.forbidden
    allowed = limits.may_be is None or {"photo", "paper"} & set(limits.may_be)
    swapped = settings.may("swap-role") and Part("role", element.id) not in settings.forbidden
    return goes or bool(atom.part == "block" and swapped and allowed)
