"""Words in a block: a card of its own, a carried spot, a panel on a photo; R2 and R8 for words."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace
from itertools import product

import numpy as np

from fitter.crops import window_size
from fitter.formulate import rates
from fitter.formulate.cards import carried_choice, panel_settings, type_choices
from fitter.formulate.clearings import clearings
from fitter.formulate.content import Carried, Config, Panel, TextItem
from fitter.formulate.groups import Rescaling
from fitter.formulate.keeps import PANEL_INSET
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.formulate.settings import Settings
from fitter.formulate.size_grid import SMALLEST_TEXT, overshoot, size_grid
from fitter.template import Element, Role
from fitter.units import INCH

PANEL_WIDTHS = (0.35, 0.5, 0.7, 0.94)
"""Widths of a words panel on a photo, as shares of the photo's width."""
LARGEST_PANEL_SHARE = 0.5
TEXT_STRETCH = 0.45
"""Words' spots change their width and height by at most this share."""


def text_configs(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...], role: Role
) -> Iterator[Config]:
    """R2: journaling or a title, in the type size that suits it best; R1: text never bleeds."""
    element = atom.element
    if element.bleeds:
        return
    items = [
        item
        for item in settings.items
        if ("title" if item.is_title else "journaling") == role and item_allowed(item, element, settings)
    ]
    if not items:
        return
    offered = [c for c in clearings(scene, atom) if all(_can_go(scene.element_of(thing), settings) for thing in c.gone)]
    if not offered:
        return
    least = INCH // 2 if is_text(element) else SMALLEST_TEXT
    grid = size_grid(scene, atom, settings, scalings, least, free=role == "journaling")
    if not len(grid.width):
        return
    near = (np.abs(grid.width - element.size[0]) <= TEXT_STRETCH * element.size[0]) & (
        np.abs(grid.height - element.size[1]) <= TEXT_STRETCH * element.size[1]
    )
    grid = grid.pick(near)
    swap = {"swap-role": rates.SWAP_ROLE} if role != element.role else {}
    spots = [r for r in scene.riders_of(atom.block) if is_text(r.element)]
    extra = {"drop": rates.DROP * len(spots)} if spots else {}
    if spots and not settings.may("drop"):
        return
    for item, clearing in product(items, offered):
        for i, best in enumerate(type_choices(element, item, grid.width, grid.height, clearing.insets)):
            if best is None:
                continue
            terms = {"resize": int(grid.resize[i]), "text": best.cost, **swap, **extra}
            yield Config(
                role,
                (int(grid.width[i]), int(grid.height[i])),
                item=item.index,
                type_size=best.size,
                vertical=best.vertical,
                clearing=clearing,
                terms=terms,
            )


def with_words(scene: Scene, atom: Atom, settings: Settings, base: Config) -> Iterator[Config]:
    """Yield a configuration without words, and again with words on what the block carries or on a panel."""
    spots = [r for r in scene.riders_of(atom.block) if is_text(r.element)]
    if base.role == "photo" and base.division is None and settings.panels:
        without_words = {"drop": base.terms.get("drop", 0) + rates.DROP * len(spots)} if spots else {}
        if settings.may("drop") or not spots:
            yield from _panelled(scene, atom, settings, replace(base, terms={**base.terms, **without_words}))
    if not spots:
        yield base
        return
    if base.role == "photo" and atom.element.role != "photo":
        if settings.may("drop"):
            yield replace(base, terms={**base.terms, "drop": base.terms.get("drop", 0) + rates.DROP * len(spots)})
        return
    scale = carried_scale(atom.element, base.size)
    offers: list[list[tuple[Carried, int] | None]] = []
    for spot in spots:
        found: list[tuple[Carried, int] | None] = [None] if settings.may("drop") else []
        for item in settings.items:
            own = "title" if item.is_title else "journaling"
            if spot.element.role != own or spot.element.bleeds or not item_allowed(item, spot.element, settings):
                continue
            best = carried_choice(spot.element, item, scale)
            if best is not None:
                found.append((Carried(spot.rider, item.index, best.size, best.vertical), best.cost))
        offers.append(found)
    for choice in product(*offers):
        carried = tuple(entry[0] for entry in choice if entry is not None)
        sizes = {settings.items[c.item].size for c in carried}
        if len({c.item for c in carried}) < len(carried) or len(sizes - {None}) > 1:
            continue
        terms = dict(base.terms)
        terms["text"] = terms.get("text", 0) + sum(entry[1] for entry in choice if entry is not None)
        empty = len(choice) - len(carried)
        if empty:
            terms["drop"] = terms.get("drop", 0) + rates.DROP * empty
        yield replace(base, terms=terms, carried=carried)


def item_allowed(item: TextItem, element: Element, settings: Settings) -> bool:
    """Whether words may stand in a text slot of the template or something turned into one."""
    if item.slot is not None:
        return item.slot == element.id
    own = "title" if item.is_title else "journaling"
    return element.role == own or settings.may("swap-role")


def _can_go(element: Element, settings: Settings) -> bool:
    """Whether something of the template may be left out."""
    return settings.may("drop") and not element.limits.fixed


def carried_scale(element: Element, size: tuple[int, int]) -> float:
    """Return the scale of what a block carries."""
    return min(size[0] / element.size[0], size[1] / element.size[1])


def without_spot(scene: Scene, settings: Settings) -> tuple[TextItem, ...]:
    """Return the words that have no spot of their own that can hold them.

    For these panels on photos and small free rooms are offered.  Spots on carriers that photos may need do not count.
    """
    found = []
    crowded = len(settings.photos) > scene.photo_slots
    for item in settings.items:
        own = "title" if item.is_title else "journaling"
        spots = [a for a in scene.atoms if a.element.role == own and not (crowded and a.part == "rider")]
        if item.slot is None and not any(_can_hold(scene, spot, settings, item) for spot in spots):
            found.append(item)
    return tuple(found)


def _can_hold(scene: Scene, spot: Atom, settings: Settings, item: TextItem) -> bool:
    """Whether a text spot takes words in one of the sizes that it, or what carries it, may have."""
    if spot.part != "rider":
        alone = replace(settings, items=(item,))
        return next(text_configs(scene, spot, alone, (), spot.element.role), None) is not None
    host = scene.blocks[spot.block]
    grid = size_grid(scene, host, settings, (), 0, free=host.element.role == "photo")
    sizes = zip(grid.width.tolist(), grid.height.tolist(), strict=True)
    scales = sorted({carried_scale(host.element, size) for size in sizes}, reverse=True)
    return not spot.element.bleeds and any(carried_choice(spot.element, item, scale) is not None for scale in scales)


def _panelled(scene: Scene, atom: Atom, settings: Settings, base: Config) -> Iterator[Config]:
    """add-slot: words on a plain panel on a photo, for each text the panel that is cheapest where all matters alike."""
    width, height = base.size
    over = overshoot(scene, atom.element)
    inner_w = width - over[0] - over[2] - 2 * PANEL_INSET
    inner_h = height - over[1] - over[3] - 2 * PANEL_INSET
    if atom.element.tilt or atom.element.shape != "rect" or min(inner_w, inner_h) < 3 * INCH // 2:
        return
    photo = settings.photos[base.photos[0]]
    window = window_size(photo.pixels, base.size)
    kept = window[0] * window[1] / (photo.pixels[0] * photo.pixels[1])
    highest = min(inner_h, math.floor(height * LARGEST_PANEL_SHARE))
    for item in settings.items:
        if item.slot is not None:
            continue
        best: tuple[int, int, Panel, float] | None = None
        for share in PANEL_WIDTHS:
            panel_w = 2 * math.floor(inner_w * share / 2)
            for panel_h, size, cost in panel_settings(item.text, item.is_title, panel_w):
                if panel_h > highest:
                    break
                area = panel_w * panel_h / (width * height)
                hidden = rates.rounded(rates.CROP_LOSS * photo.weight * kept * area)
                if best is None or hidden + cost < best[0] + best[1]:
                    best = (hidden, cost, Panel(panel_w, panel_h), size)
        if best is not None:
            _, cost, panel, size = best
            terms = dict(base.terms)
            terms["add-slot"] = terms.get("add-slot", 0) + rates.ADD_SLOT
            terms["text"] = terms.get("text", 0) + cost
            yield replace(base, terms=terms, item=item.index, type_size=size, panel=panel)
