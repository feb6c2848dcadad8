"""Columns: every configuration each block may take, priced as a whole.

One function per kind of content.  What breaks a rule is never generated: R4–R6 and R8 for photos, R2 and
R8 for words, the freedoms that are switched off.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import combinations, product

import numpy as np
from numpy.typing import NDArray

from fitter.formulate import rates
from fitter.formulate.cards import carried_area, clear_area, panel_settings, text_area
from fitter.formulate.content import (
    SPLIT_GAP,
    STEP,
    Carried,
    Config,
    Division,
    Floats,
    Ints,
    Panel,
    TextItem,
    copies_size,
    divisions,
    journaling_options,
    photo_prices,
    piece_boxes,
    resize_price,
    title_options,
    visible,
)
from fitter.formulate.groups import Rescaling
from fitter.formulate.keeps import PANEL_INSET
from fitter.formulate.relations import overlapping, related_pairs
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.formulate.settings import Settings
from fitter.formulate.sizes import EVEN_FACTORS, even_sizes, free_sizes, size_step
from fitter.layout import Box
from fitter.template import Element, Role
from fitter.units import INCH, divide_nearest

SMALLEST_PHOTO = INCH
SMALLEST_TEXT = INCH
PANEL_WIDTHS = (0.35, 0.5, 0.7, 0.94)
"""Widths of a words panel on a photo, as shares of the photo's width."""
LARGEST_PANEL_SHARE = 0.5
FEW_PHOTOS = 2
MOST_PIECES = 4
MOST_DIVIDED_SIZES = 60
"""Pieces a slot may be divided into."""
MOST_PAIRED = 5
"""Up to this many photos any two may share a slot; of more only neighbours in time."""
TEXT_STRETCH = 0.45
"""Words' spots change their width and height by at most this share."""


@dataclass(frozen=True)
class Grid:
    """All sizes offered for one content: widths, heights and the cost of resizing, in step."""

    width: Ints
    height: Ints
    resize: Ints
    turned: Ints

    def pick(self, mask: NDArray[np.bool_]) -> Grid:
        """Return the sizes a mask selects."""
        return Grid(self.width[mask], self.height[mask], self.resize[mask], self.turned[mask])


def block_configs(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...]
) -> list[Config]:
    """Return everything a block may be; its reference configuration first where that is possible."""
    if atom.added:
        return list(_waiving(settings, _added(scene, atom, settings)))
    element = atom.element
    found: list[Config] = []
    for role in _roles(element, settings):
        if role == "photo":
            found += _photos(scene, atom, settings, scalings)
        elif role in ("journaling", "title"):
            found += _words(scene, atom, settings, scalings, role)
        else:
            found += _plain(scene, atom, settings, scalings, role)
    if not element.limits.fixed and settings.may("drop"):
        found.append(Config(None, element.size, terms={"drop": rates.DROP}))
    return list(_waiving(settings, found))


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
    return photo.keep if ("R5", number) in config.waived else (*photo.keep, *photo.detected)


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
            roles += ["photo", "paper"]
        elif own == "title":
            roles += ["paper"]
    allowed = element.limits.may_be
    return [r for r in roles if r == own or allowed is None or r in allowed]


def _smallest(element: Element, least: int) -> int:
    return max(least, element.limits.smallest_side)


def _room(scene: Scene, element: Element) -> tuple[int, int]:
    safe = scene.page.safe
    room = [safe[2] - safe[0], safe[3] - safe[1]]
    for axis, sides in enumerate((("left", "right"), ("top", "bottom"))):
        if set(sides) & set(element.bleeds):
            room[axis] = scene.page.trim[axis] + scene.page.bleed
    return room[0], room[1]


def _pinned(element: Element) -> bool:
    """Whether a bleeding thing is tilted or round and so stays as it is."""
    return bool(element.bleeds) and (element.tilt != 0 or element.shape != "rect")


def _grid(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...], least: int, *, free: bool
) -> Grid:
    """Return the sizes for one content of a block, each with the cheaper of turned and not turned."""
    element = atom.element
    smallest = _smallest(element, least)
    room = _room(scene, element)
    fixed = (
        {"left", "right"} <= set(element.bleeds),
        {"top", "bottom"} <= set(element.bleeds),
    )
    factors = tuple(s.factor for s in scalings if atom.block in s.sizes)
    if element.limits.fixed or _pinned(element):
        width, height = np.array([element.size[0]]), np.array([element.size[1]])
    elif free and settings.may("widen") and element.shape == "rect":
        few = len(settings.photos) <= FEW_PHOTOS
        step = size_step(scene.page.trim, element, few)
        width, height = free_sizes(element, smallest, room, step, fixed)
        extra = even_sizes(element, factors, room) if not any(fixed) else (width[:0], height[:0])
        width, height = _union((width, height), extra)
    elif settings.may("scale") and not any(fixed):
        width, height = even_sizes(element, tuple(dict.fromkeys(factors + EVEN_FACTORS)), room)
    else:
        width, height = np.array([element.size[0]]), np.array([element.size[1]])
    mask = (np.minimum(width, height) >= smallest) | (
        (width == element.size[0]) & (height == element.size[1]) & (least == 0)
    )
    width, height = width[mask].astype(np.int64), height[mask].astype(np.int64)
    resize = resize_price(element, width, height)
    turned = np.zeros(len(width), dtype=np.int64)
    return Grid(width, height, resize, turned)


def _union(first: tuple[Ints, Ints], second: tuple[Ints, Ints]) -> tuple[Ints, Ints]:
    seen = dict.fromkeys(zip(first[0].tolist(), first[1].tolist(), strict=True))
    seen.update(dict.fromkeys(zip(second[0].tolist(), second[1].tolist(), strict=True)))
    pairs = np.array(list(seen), dtype=np.int64).reshape(-1, 2)
    return pairs[:, 0], pairs[:, 1]


def _with_turns(element: Element, grid: Grid, settings: Settings) -> Grid:
    """Let each size count as the slot turned by a quarter where that is cheaper; offer the turned size itself too."""
    if not settings.may("rotate-slot") or element.bleeds or element.limits.fixed or element.shape != "rect":
        return grid
    w0, h0 = element.size
    width, height = _union((grid.width, grid.height), (np.array([h0]), np.array([w0])))
    mask = np.minimum(width, height) >= _smallest(element, SMALLEST_PHOTO)
    width, height = width[mask], height[mask]
    plain, turned = resize_price(element, width, height), resize_price(element, width, height, (h0, w0))
    factor = settings.rates.factors.get("resize", 1.0)
    cheaper = turned * factor + settings.rates.of("rotate-slot", rates.ROTATE_SLOT) < plain * factor
    return Grid(width, height, np.where(cheaper, turned, plain), cheaper.astype(np.int64))


def _beyond(scene: Scene, element: Element) -> tuple[int, int]:
    """Return how much of a slot lies outside the trim on each axis (its bleeding edges stay put)."""
    if element.tilt or element.shape != "rect":
        return (0, 0)
    left, top, right, bottom = element.box
    tw, th = scene.page.trim
    return max(0, -left) + max(0, right - tw), max(0, -top) + max(0, bottom - th)


def _photos(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...]
) -> Iterator[Config]:
    """One photo, or several in a row, a column or a grid."""
    element = atom.element
    covered = _is_covered(scene, atom)
    if not settings.photos or (element.role != "photo" and covered):
        return
    swap = {"swap-role": rates.SWAP_ROLE} if element.role != "photo" else {}
    spots = [r for r in scene.riders_of(atom.block) if is_text(r.element)]
    grid = _with_turns(element, _grid(scene, atom, settings, scalings, SMALLEST_PHOTO, free=True), settings)
    if not len(grid.width):
        return
    beyond = _beyond(scene, element)
    shown = visible(grid.width, grid.height, beyond)
    for number in range(len(settings.photos)):
        yield from _single(scene, atom, settings, grid, shown, number, swap)
    dividable = element.shape == "rect" and not element.tilt and not element.limits.fixed
    if settings.may("add-slot") and dividable and not covered and not spots:
        slots = photo_slots(scene) - wants_panels(scene, settings)
        for pieces in range(2, most_pieces(scene, settings) + 1):
            for chosen in companies(settings, pieces, slots):
                yield from _divided(scene, atom, settings, grid, chosen, swap)


def photo_slots(scene: Scene) -> int:
    """Return how many photo slots the template has."""
    return sum(1 for a in scene.blocks if not a.added and a.element.role == "photo")


def companies(settings: Settings, pieces: int, slots: int) -> Iterator[tuple[int, ...]]:
    """Return the photos that may share a slot of a template with a number of photo slots to give.

    None while there is a slot for each; else any pair of few photos, or neighbours in time.
    """
    count = len(settings.photos)
    if count <= slots:
        return
    if pieces == 2 and count <= MOST_PAIRED:
        yield from combinations(range(count), 2)
        return
    order = sorted(range(count), key=lambda n: settings.photos[n].order)
    for start in range(count - pieces + 1):
        yield tuple(sorted(order[start : start + pieces], key=lambda n: settings.photos[n].order))


def most_pieces(scene: Scene, settings: Settings) -> int:
    """Return into how many pieces a slot may be divided: more only when photos outnumber the slots."""
    count = len(settings.photos)
    slots = photo_slots(scene)
    return min(MOST_PIECES, count, 2 + max(0, math.ceil((count - 2 * slots) / max(1, slots))))


def _is_covered(scene: Scene, atom: Atom) -> bool:
    """Whether anything but what it carries lies on a block in the reference."""
    return any(lower is atom and overlapping(scene, lower, upper) for lower, upper in related_pairs(scene))


def _single(
    scene: Scene,
    atom: Atom,
    settings: Settings,
    grid: Grid,
    shown: Floats,
    number: int,
    swap: dict[str, int],
) -> Iterator[Config]:
    photo = settings.photos[number]
    loss, low, _, ppi = photo_prices(photo, grid.width, grid.height, shown, settings.target_ppi)
    waivable = "R8" in settings.waive
    for i in range(len(grid.width)):
        waived: tuple[tuple[str, int], ...] = ()
        if ppi[i] < settings.min_ppi:
            if not waivable:
                continue
            waived = (("R8", number),)
        terms = {"crop-loss": int(loss[i]), "ppi": int(low[i]), "resize": int(grid.resize[i]), **swap}
        if grid.turned[i]:
            terms["rotate-slot"] = rates.ROTATE_SLOT
        if waived:
            terms["waived"] = rates.WAIVED
        base = Config(
            "photo",
            (int(grid.width[i]), int(grid.height[i])),
            photos=(number,),
            turned=bool(grid.turned[i]),
            terms=terms,
            waived=waived,
        )
        yield from _with_words(scene, atom, settings, base)


def _divided(
    scene: Scene, atom: Atom, settings: Settings, grid: Grid, chosen: tuple[int, ...], swap: dict[str, int]
) -> Iterator[Config]:
    """R4, add-slot: the slot divided among several photos, in the order they were taken."""
    element = atom.element
    photos = [settings.photos[n] for n in chosen]
    for division in divisions(len(chosen)):
        target = copies_size(element, division)
        width, height = _union((grid.width, grid.height), _beside(scene, element, division))
        resize = np.minimum(resize_price(element, width, height, target), resize_price(element, width, height))
        order = np.argsort(resize, kind="stable")[:MOST_DIVIDED_SIZES]
        for i in order.tolist():
            size = (int(width[i]), int(height[i]))
            boxes = piece_boxes(size, division, photos)
            if min(min(b[2], b[3]) for b in boxes) < _smallest(element, SMALLEST_PHOTO):
                continue
            terms = {
                "crop-loss": 0,
                "ppi": 0,
                "resize": int(resize[i]),
                "add-slot": rates.ADD_SLOT * (len(chosen) - 1),
                **swap,
            }
            if _price_pieces(scene, element, settings, size, boxes, chosen, terms):
                yield Config("photo", size, photos=chosen, division=division, terms=terms)


def _beside(scene: Scene, element: Element, division: Division) -> tuple[Ints, Ints]:
    """add-slot: the size of a slot repeated beside itself, in whole steps, where the page has room for it."""
    sides = [
        side + STEP * divide_nearest((count - 1) * (side + SPLIT_GAP), STEP)
        for side, count in zip(element.size, (division.columns, division.rows), strict=True)
    ]
    room = _room(scene, element)
    fits = not element.bleeds and sides[0] <= room[0] and sides[1] <= room[1]
    pair = np.array([sides] if fits else [], dtype=np.int64).reshape(-1, 2)
    return pair[:, 0], pair[:, 1]


def _price_pieces(
    scene: Scene,
    element: Element,
    settings: Settings,
    size: tuple[int, int],
    boxes: list[tuple[int, int, int, int]],
    chosen: tuple[int, ...],
    terms: dict[str, int],
) -> bool:
    """Add what the pieces of a divided slot cost; ``False`` when one of them is not allowed."""
    sides = set(element.bleeds)
    over = _overshoot(scene, element)
    for number, (left, top, width, height) in zip(chosen, boxes, strict=True):
        beyond_x = (over[0] if left == 0 and "left" in sides else 0) + (
            over[2] if left + width >= size[0] - 8 and "right" in sides else 0
        )
        beyond_y = (over[1] if top == 0 and "top" in sides else 0) + (
            over[3] if top + height >= size[1] - 8 and "bottom" in sides else 0
        )
        w, h = np.array([width]), np.array([height])
        shown = visible(w, h, (beyond_x, beyond_y))
        loss, low, kept, ppi = photo_prices(settings.photos[number], w, h, shown, settings.target_ppi)
        if ppi[0] < settings.min_ppi or kept[0] < 0.3:
            return False
        terms["crop-loss"] += int(loss[0])
        terms["ppi"] += int(low[0])
    return True


def _overshoot(scene: Scene, element: Element) -> tuple[int, int, int, int]:
    left, top, right, bottom = element.box
    tw, th = scene.page.trim
    return max(0, -left), max(0, -top), max(0, right - tw), max(0, bottom - th)


def _with_words(scene: Scene, atom: Atom, settings: Settings, base: Config) -> Iterator[Config]:
    """Yield a configuration without words, and again with words on what the block carries or on a panel."""
    spots = [r for r in scene.riders_of(atom.block) if is_text(r.element)]
    if base.role == "photo" and base.division is None and wants_panels(scene, settings):
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
        width, height = carried_area(spot.element.size, scale)
        found: list[tuple[Carried, int] | None] = [None] if settings.may("drop") else []
        for item in settings.items:
            own = "title" if item.is_title else "journaling"
            if spot.element.role != own or not item_allowed(item, spot.element, settings):
                continue
            options = title_options if item.is_title else journaling_options
            best = options(item.text, np.array([width]), np.array([height]))[0]
            if best is not None:
                found.append((Carried(spot.rider, item.index, best[0]), best[1]))
        offers.append(found)
    for choice in product(*offers):
        carried = tuple(entry[0] for entry in choice if entry is not None)
        if len({c.item for c in carried}) < len(carried):
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


def carried_scale(element: Element, size: tuple[int, int]) -> float:
    """Return the scale of what a block carries."""
    return min(size[0] / element.size[0], size[1] / element.size[1])


def wants_panels(scene: Scene, settings: Settings) -> bool:
    """Whether words lack a spot of their own in the template, so that panels on photos are offered."""
    if not settings.items or not settings.may("add-slot"):
        return False
    for item in settings.items:
        wanted = "title" if item.is_title else "journaling"
        spots = [e for e in scene.reference.elements if e.role == wanted]
        crowded = len(settings.photos) > photo_slots(scene)
        if not spots or (crowded and all(e.tie == "carried" for e in spots)):
            return True
    return False


def _panelled(scene: Scene, atom: Atom, settings: Settings, base: Config) -> Iterator[Config]:
    """add-slot: words on a plain panel on a photo, the cheapest panel for each text."""
    width, height = base.size
    over = _overshoot(scene, atom.element)
    inner_w = width - over[0] - over[2] - 2 * PANEL_INSET
    inner_h = height - over[1] - over[3] - 2 * PANEL_INSET
    if atom.element.tilt or atom.element.shape != "rect" or min(inner_w, inner_h) < 3 * INCH // 2:
        return
    photo = settings.photos[base.photos[0]]
    loss = base.terms["crop-loss"]
    kept = 1.0 - loss / (rates.CROP_LOSS * photo.weight)
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
            hidden, cost, panel, size = best
            terms = dict(base.terms)
            terms["crop-loss"] = loss + hidden
            terms["add-slot"] = terms.get("add-slot", 0) + rates.ADD_SLOT
            terms["text"] = terms.get("text", 0) + cost
            yield replace(base, terms=terms, item=item.index, type_size=size, panel=panel)


def _words(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...], role: Role
) -> Iterator[Config]:
    """R2: journaling or a title, in the type size that suits it best."""
    element = atom.element
    items = [
        item
        for item in settings.items
        if ("title" if item.is_title else "journaling") == role and item_allowed(item, element, settings)
    ]
    if not items:
        return
    insets = clear_area(scene, atom)
    if insets is None:
        return
    least = INCH // 2 if is_text(element) else SMALLEST_TEXT
    grid = _grid(scene, atom, settings, scalings, least, free=role == "journaling")
    if not len(grid.width):
        return
    near = (np.abs(grid.width - element.size[0]) <= TEXT_STRETCH * element.size[0]) & (
        np.abs(grid.height - element.size[1]) <= TEXT_STRETCH * element.size[1]
    )
    grid = grid.pick(near)
    width, height = text_area(element, grid.width, grid.height, insets)
    swap = {"swap-role": rates.SWAP_ROLE} if role != element.role else {}
    spots = [r for r in scene.riders_of(atom.block) if is_text(r.element)]
    extra = {"drop": rates.DROP * len(spots)} if spots else {}
    if spots and not settings.may("drop"):
        return
    for item in items:
        options = title_options if item.is_title else journaling_options
        for i, best in enumerate(options(item.text, width, height)):
            if best is None:
                continue
            terms = {"resize": int(grid.resize[i]), "text": best[1], **swap, **extra}
            yield Config(
                role,
                (int(grid.width[i]), int(grid.height[i])),
                item=item.index,
                type_size=best[0],
                terms=terms,
            )


def _plain(
    scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...], role: Role
) -> Iterator[Config]:
    """Paper, ribbon or ornament; a slot without content becomes paper."""
    element = atom.element
    swap = {"swap-role": rates.SWAP_ROLE} if role != element.role else {}
    grid = _grid(scene, atom, settings, scalings, 0, free=False)
    for i in range(len(grid.width)):
        base = Config(
            role, (int(grid.width[i]), int(grid.height[i])), terms={"resize": int(grid.resize[i]), **swap}
        )
        yield from _with_words(scene, atom, settings, base)


def _added(scene: Scene, atom: Atom, settings: Settings) -> Iterator[Config]:
    """add-slot: a photo or words in a free rectangle of the page, or nothing."""
    element = atom.element
    yield Config(None, element.size)
    if not settings.may("add-slot"):
        return
    step = INCH // 2
    widths = range(element.size[0], 3 * INCH // 2, -step)
    heights = range(element.size[1], INCH, -step)
    pairs = [(w, h) for w in widths for h in heights]
    if not pairs:
        return
    width, height = np.array([p[0] for p in pairs]), np.array([p[1] for p in pairs])
    grid = Grid(width, height, np.zeros_like(width), np.zeros_like(width))
    cost = {"add-slot": rates.ADD_SLOT}
    shown = visible(width, height, (0, 0))
    for number in range(len(settings.photos)):
        for config in _single(scene, atom, settings, grid, shown, number, cost):
            if config.panel is None:
                yield config
    area = text_area(element, width, height, (0, 0, 0, 0))
    for item in settings.items:
        if item.slot is not None:
            continue
        options = title_options if item.is_title else journaling_options
        for i, best in enumerate(options(item.text, *area)):
            if best is not None:
                terms = {"text": best[1], **cost}
                yield Config(
                    "title" if item.is_title else "journaling",
                    pairs[i],
                    item=item.index,
                    type_size=best[0],
                    terms=terms,
                )
