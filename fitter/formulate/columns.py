"""Columns: every configuration each block may take, priced as a whole.

What breaks a rule is never generated: R4–R6 and R8 for photos, R2 and R8 for words, the freedoms that are switched
off.  What a block may hold is in ``photo_blocks``, ``divided_blocks`` and ``text_blocks``; decoration, added slots
and waivers here.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import lru_cache
from itertools import combinations

import numpy as np

from fitter.formulate import rates
from fitter.formulate.cards import type_choices
from fitter.formulate.content import Config
from fitter.formulate.groups import Rescaling
from fitter.formulate.holes import empty_slot
from fitter.formulate.photo_blocks import photo_configs, single_photo
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.size_grid import Grid, size_grid
from fitter.formulate.text_blocks import text_configs, with_words
from fitter.layout import Box
from fitter.template import Element, Role
from fitter.units import INCH

_NEAR = 1e-9
"""Share of a picture by which sums of decimals may differ."""


def block_configs(scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...]) -> list[Config]:
    """Return everything a block may be; its reference configuration first where that is possible."""
    if atom.added:
        return list(_waiving(settings, added_configs(scene, atom, settings)))
    element = atom.element
    found: list[Config] = []
    for role in _roles(element, settings):
        if role == "photo":
            found += photo_configs(scene, atom, settings, scalings)
        elif role in ("journaling", "title"):
            found += text_configs(scene, atom, settings, scalings, role)
        else:
            found += plain_configs(scene, atom, settings, scalings, role)
    if not element.limits.fixed and settings.may("drop"):
        found.append(Config(None, element.size, terms={"drop": rates.DROP}))
    if element.role == "photo":
        found = [config if config.photos else _without_photo(scene, element, config) for config in found]
    return list(_waiving(settings, found))


def _without_photo(scene: Scene, element: Element, config: Config) -> Config:
    return replace(config, terms={**config.terms, "empty-slot": empty_slot(scene, element)})


def _waiving(settings: Settings, configs: Iterable[Config]) -> Iterator[Config]:
    """R5: each configuration again with detected regions of some of its photos given up, at the price of waivers."""
    for config in configs:
        yield config
        if "R5" not in settings.waive:
            continue
        marked = [n for n in config.photos if settings.photos[n].detected]
        for count in range(1, len(marked) + 1):
            for given_up in combinations(marked, count):
                price = config.terms.get("waived", 0) + rates.WAIVED * count
                waived = (*config.waived, *(("R5", n) for n in given_up))
                yield replace(config, terms={**config.terms, "waived": price}, waived=waived)


def keep_boxes(settings: Settings, config: Config, number: int) -> tuple[Box, ...]:
    """Return the regions of a photo that a configuration keeps in view: all, or those marked by the user."""
    photo = settings.photos[number]
    return photo.keep if ("R5", number) in config.waived else _outermost((*photo.keep, *photo.detected))


@lru_cache(maxsize=1 << 10)
def _outermost(boxes: tuple[Box, ...]) -> tuple[Box, ...]:
    """Return the boxes that lie in no larger one: where that one is kept, so are they."""
    return tuple(box for box in boxes if not any(_holds(other, box) and not _holds(box, other) for other in boxes))


def _holds(outer: Box, inner: Box) -> bool:
    return all(
        outer[axis] <= inner[axis] + _NEAR and inner[axis] + inner[axis + 2] <= outer[axis] + outer[axis + 2] + _NEAR
        for axis in (0, 1)
    )


def _roles(element: Element, settings: Settings) -> list[Role]:
    """Return the roles a slot may take, its own first."""
    own = element.role
    if element.limits.fixed:
        return [own]
    roles: list[Role] = [own]
    if settings.may("swap-role"):
        if element.is_strip:
            roles += ["title"]
        elif own == "photo":
            roles += ["journaling", "paper"]
        elif own == "paper":
            roles += ["photo", "journaling", "title"]
        elif own == "journaling":
            roles += ["photo", "paper", "title"]
        elif own == "title":
            roles += ["paper"]
    allowed = element.limits.may_be
    return [r for r in roles if r == own or allowed is None or r in allowed]


def plain_configs(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...], role: Role
) -> Iterator[Config]:
    """Paper, ribbon or ornament; a slot without content becomes paper."""
    element = atom.element
    swap = {"swap-role": rates.SWAP_ROLE} if role != element.role else {}
    grid = size_grid(scene, atom, settings, scalings, 0, free=False)
    for i in range(len(grid.width)):
        base = Config(role, (int(grid.width[i]), int(grid.height[i])), terms={"resize": int(grid.resize[i]), **swap})
        yield from with_words(scene, atom, settings, base)


def added_configs(scene: Scene, atom: Atom, settings: Settings) -> Iterator[Config]:
    """add-slot: a photo or words that fill the width or the height of a free rectangle of the page, or nothing."""
    element = atom.element
    yield Config(None, element.size)
    if not settings.may("add-slot"):
        return
    grid = _added_sizes(element, (3 * INCH // 2, INCH))
    cost = {"add-slot": rates.ADD_SLOT}
    for number in range(len(settings.photos)):
        for config in single_photo(scene, atom, settings, grid, number, cost):
            if config.panel is None:
                yield config
    for item in settings.items:
        if item.slot is not None:
            continue
        sizes = _added_sizes(element, (INCH // 2, INCH // 2)) if item.is_title else grid
        for i, best in enumerate(type_choices(element, item, sizes.width, sizes.height)):
            if best is not None:
                terms = {"text": best.cost, **cost}
                yield Config(
                    "title" if item.is_title else "journaling",
                    (int(sizes.width[i]), int(sizes.height[i])),
                    item=item.index,
                    type_size=best.size,
                    terms=terms,
                )


def _added_sizes(element: Element, over: tuple[int, int]) -> Grid:
    """Return the sizes of an added slot: that of its room less whole steps one way, longer than some lengths.

    It reaches from side to side of its room at least one way: then it lines up with what the room lies between.
    """
    step = INCH // 2
    sides = (np.arange(side, least, -step, dtype=np.int64) for side, least in zip(element.size, over, strict=True))
    width, height = (axis.ravel() for axis in np.meshgrid(*sides, indexing="ij"))
    spans = (width == element.size[0]) | (height == element.size[1])
    width, height = width[spans], height[spans]
    return Grid(width, height, np.zeros_like(width), np.zeros_like(width))
