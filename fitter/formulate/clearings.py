"""R2: the free rectangle of a card, where its words stand among what lies on it.

What lies on a card and belongs to another block goes when that block goes, and what the card carries may be given
up, so a card may have several free rectangles: each is offered for what it depends on being there, or gone.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import compress, product

from fitter.formulate.cards import STEEPEST, Insets, inner_share
from fitter.formulate.content import Clearing, Config
from fitter.formulate.expr import at_most
from fitter.formulate.relations import are_loose, is_held, is_loose_text, is_turned, outer, overlapping
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.reference_boxes import Box, empty_rectangles, extents
from fitter.template import Element
from fitter.units import nearest
from solver.problem import Block, Lit, Row, Rule

NEARLY = 899
"""A rectangle of this many thousandths of another's area is nearly as large; drawings meet 9/10 itself exactly."""
SAME = 16
"""Widths that differ by this many micrometres are equal but for rounding."""
MOST_CHOICES = 3
"""Up to this many things on a card take nothing of it once they are gone; more count always."""


@dataclass(frozen=True)
class _Cover:
    """Something on a card and its box, with the card level; ``barring``: no words are set on a card under it."""

    atom: Atom
    box: Box
    barring: bool


def clearings(scene: Scene, card: Atom) -> tuple[Clearing, ...]:
    """R2: return the free rectangles a card may have, for what lies on it being there or gone.

    There is none where another block lies within it, which could move anywhere on it, nor under words that look for a
    place of their own as the page turns; not even where these go, as good pages for that would be few among many.
    """
    covers = _covers_on(scene, card)
    if any(cover.barring for cover in covers):
        return ()
    room = _room(card.element)
    things = tuple({_thing(card, c): c for c in covers})
    if len(things) > MOST_CHOICES:
        insets = _insets(room, [c.box for c in covers])
        return () if insets is None else (Clearing(insets),)
    outcomes: dict[tuple[bool, ...], Insets | None] = {}
    for state in product((True, False), repeat=len(things)):
        there = set(compress(things, state))
        outcomes[state] = _insets(room, [c.box for c in covers if _thing(card, c) in there])
    found = []
    for known, insets in _cases(outcomes, (None,) * len(things)):
        if insets is not None:
            gone = tuple(thing for thing, stays in zip(things, known, strict=True) if stays is False)
            found.append(Clearing(insets, tuple(compress(things, known)), gone))
    return tuple(found)


def largest_free(room: Box, taken: Sequence[Box]) -> Box | None:
    """Return a room's free rectangle: the largest, of nearly equal ones the widest, then the topmost, the leftmost."""
    rooms = list(empty_rectangles(room, taken))
    if not rooms:
        return None
    least = NEARLY * max(map(_area, rooms))
    large = [r for r in rooms if 1000 * _area(r) >= least]
    widest = max(r[2] - r[0] for r in large)
    return min((r for r in large if r[2] - r[0] >= widest - SAME), key=lambda r: (-_area(r), r[1], r[0]))


def clearing_clashes(blocks: Sequence[Block], configs: Sequence[Sequence[Config]]) -> tuple[Block, ...]:
    """Return the blocks with what cannot be together with words where they stand: what must be gone, or there."""
    made = []
    for block, options in zip(blocks, configs, strict=True):
        columns = []
        for column, config in zip(block.columns, options, strict=True):
            barred: list[tuple[Lit, ...]] = [(thing,) for thing in config.clearing.gone]
            for kind, number, _ in config.clearing.there:
                if kind == "rider":
                    barred.append((("not-rider", number, 0),))
                    continue
                absent = (index for index, other in enumerate(configs[number]) if other.role is None)
                barred += [(("column", number, index),) for index in absent]
            columns.append(replace(column, clashes=(*column.clashes, *barred)) if barred else column)
        made.append(replace(block, columns=tuple(columns)))
    return tuple(made)


def clearing_rules(scene: Scene, configs: Sequence[Sequence[Config]]) -> Iterator[Rule]:
    """R2: what could slide along a card with words stays beside their rectangle, on the side it is on.

    For rectangles that are not tilted; of others nothing slides that is not carried by something else.
    """
    for card, options in zip(scene.blocks, configs, strict=True):
        words: dict[Clearing, list[int]] = {}
        for index, config in enumerate(options):
            if config.role in ("journaling", "title"):
                words.setdefault(config.clearing, []).append(index)
        if not words or card.added or card.element.tilt or card.element.shape != "rect":
            continue
        covers = [c for c in _covers_on(scene, card) if c.atom.block != card.block]
        for clearing, indices in words.items():
            for cover in covers:
                row = None if _thing(card, cover) in clearing.gone else _beside(scene, card, cover, clearing.insets)
                if row is not None:
                    yield from (Rule("R2", (row,), (("column", card.block, i), cover.atom.lit)) for i in indices)


def _beside(scene: Scene, card: Atom, cover: _Cover, insets: Insets) -> Row | None:
    """Return the row that keeps a cover beside a free rectangle; ``None`` where it is kept there anyway."""
    room = card.element.box
    cuts = [cover.box[side + 2] - room[side] if side < 2 else room[side] - cover.box[side - 2] for side in range(4)]
    beside = [side for side in range(4) if cuts[side] <= insets[side]]
    if any(is_held(card, cover.atom, side) for side in beside):
        return None
    side = max(beside, key=lambda s: insets[s] - cuts[s])
    axis = side % 2
    (near, far), (low, high) = scene.span(card, axis), outer(scene, cover.atom, axis)
    slack = min(scene.slack(cover.atom), insets[side] - cuts[side])
    return at_most(high - near if side < 2 else far - low, insets[side] - slack)


def _covers_on(scene: Scene, card: Atom) -> list[_Cover]:
    """Return what lies on a card, apart from its mat and words it carries.

    What the card carries counts from the corner it is fixed to, as it moves with that corner.
    """
    found = []
    for upper in scene.atoms[scene.atoms.index(card) + 1 :]:
        own = upper.block == card.block
        if own and (upper.part == "mat" or is_text(upper.element)):
            continue
        if not own and (not overlapping(scene, card, upper) or are_loose(scene, card, upper)):
            continue
        seen = _seen_from(card.element, upper.element)
        box = extents(seen)
        seeking = not own and is_turned(scene) and is_loose_text(upper)
        within = upper.part == "block" and _is_within(box, card.element.box)
        found.append(_Cover(upper, _to_corner(card.element, seen) if own else box, seeking or within))
    return found


def _thing(card: Atom, cover: _Cover) -> Lit:
    """Return what has to go for a cover to take nothing of a card: itself if the card carries it, else its block."""
    return cover.atom.lit if cover.atom.block == card.block else ("block", cover.atom.block, 0)


def _to_corner(card: Element, carried: Element) -> Box:
    """Return the box of something carried, extended to the corner of its card that it is fixed to."""
    box, room = list(extents(carried)), card.box
    for axis in (0, 1):
        side = axis if carried.center[axis] <= card.center[axis] else axis + 2
        box[side] = min(box[side], room[side]) if side < 2 else max(box[side], room[side])
    return box[0], box[1], box[2], box[3]


def _is_within(box: Box, room: Box) -> bool:
    return box[0] > room[0] and box[1] > room[1] and box[2] < room[2] and box[3] < room[3]


def _room(card: Element) -> Box:
    """Return the box of a card, of a round or free shape the largest in proportion that lies inside it."""
    share = inner_share(card)
    half_w, half_h = (math.floor(side * share / 2) for side in card.size)
    x, y = card.center
    return x - half_w, y - half_h, x + half_w, y + half_h


def _insets(room: Box, taken: Sequence[Box]) -> Insets | None:
    free = largest_free(room, taken)
    return free and (free[0] - room[0], free[1] - room[1], room[2] - free[2], room[3] - free[3])


def _area(box: Box) -> int:
    return (box[2] - box[0]) * (box[3] - box[1])


def _cases(
    outcomes: Mapping[tuple[bool, ...], Insets | None], known: tuple[bool | None, ...]
) -> Iterator[tuple[tuple[bool | None, ...], Insets | None]]:
    """Yield the cases to tell apart, each with its outcome: nothing is asked that does not matter."""
    left = {s: o for s, o in outcomes.items() if all(k is None or k == v for k, v in zip(known, s, strict=True))}
    for place, value in enumerate(known):
        if value is None and any(o != left[(*s[:place], not s[place], *s[place + 1 :])] for s, o in left.items()):
            for answer in (True, False):
                yield from _cases(outcomes, (*known[:place], answer, *known[place + 1 :]))
            return
    yield known, next(iter(left.values()))


def _seen_from(card: Element, other: Element) -> Element:
    """Return an element turned with a slightly tilted card about its centre, so that the card stands level."""
    if not card.tilt or abs(card.tilt) > STEEPEST:
        return other
    angle = math.radians(-card.tilt)
    dx, dy = other.center[0] - card.center[0], other.center[1] - card.center[1]
    x = card.center[0] + nearest(dx * math.cos(angle) - dy * math.sin(angle))
    y = card.center[1] + nearest(dx * math.sin(angle) + dy * math.cos(angle))
    return replace(other, center=(x, y), tilt=other.tilt - card.tilt)
