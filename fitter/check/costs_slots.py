"""Costs of what was changed: turns, swaps, added and dropped slots, shifts, sizes, bare room, overlap.

Each cost is one function from a :class:`View` to what every element or pair contributes, in millionths;
the words are those of DEVELOPERS.md, section Costs.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

from fitter.check.report import CostItem
from fitter.check.shapes import TOLERANCE, Box, box_area, box_around, box_inside, meeting, shared_area
from fitter.check.view import View, decimal, is_text, round_half_up
from fitter.layout import Placed
from fitter.template import Element
from fitter.units import INCH

Items = tuple[CostItem, ...]
ROTATE_PAGE, MIRROR_PAGE, ROTATE_SLOT = 15_000, 5_000, 10_000
SWAP_ROLE, ADD_SLOT, DROP, EMPTY_SLOT = 40_000, 150_000, 40_000, 300_000
SHIFT, RESIZE, RESCALE = 12_000, 75_000, 150_000
OVERLAP, HOLE = 6_000_000, 540_000
SPLIT_GAP = INCH // 8
DRIFT, DRIFT_PRICE = INCH // 2, 1_200
_LOOSE = frozenset({"paper", "ribbon", "embellishment"})


def cost_rotate_page(view: View) -> Items:
    """15,000 for a rotated page."""
    return (CostItem("page", ROTATE_PAGE),) if view.layout.transform.rotate else ()


def cost_mirror_page(view: View) -> Items:
    """5,000 for a mirrored page."""
    return (CostItem("page", MIRROR_PAGE),) if view.layout.transform.mirror else ()


def cost_rotate_slot(view: View) -> Items:
    """10,000 for each turned block."""
    return tuple(CostItem(e.id, ROTATE_SLOT) for e in view.placed_blocks if view.is_turned(e.id))


def cost_swap_role(view: View) -> Items:
    """40,000 for each reference element placed in another role, once for a split slot."""
    return tuple(
        CostItem(name, SWAP_ROLE)
        for name, items in view.pieces.items()
        if any(item.role != view.reference[name].role for item in items)
    )


def cost_add_slot(view: View) -> Items:
    """150,000 for each piece of a slot beyond the first, and for each added element."""
    more = (CostItem(item.id, ADD_SLOT) for items in view.pieces.values() for item in items[1:])
    return (*more, *(CostItem(item.id, ADD_SLOT) for item in view.added))


def cost_drop(view: View) -> Items:
    """40,000 for each dropped element, except mats and what was carried by a dropped one."""
    return tuple(
        CostItem(e.id, DROP)
        for e in view.layout.reference
        if e.id in view.dropped and e.tie != "mat" and not (e.tie == "carried" and e.on in view.dropped)
    )


def cost_empty_slot(view: View) -> Items:
    """300,000 times the share of the safe box that a photo slot had in the reference in which no photo is."""
    left, top, right, bottom = view.page.safe
    safe = (right - left) * (bottom - top)
    return tuple(
        CostItem(e.id, round_half_up(Fraction(EMPTY_SLOT * e.size[0] * e.size[1], safe)))
        for e in view.blocks
        if e.role == "photo" and not any(item.role == "photo" for item in view.pieces.get(e.id, ()))
    )


def cost_shift(view: View) -> Items:
    """12,000 per inch, across plus down, between a block's centre and its target, an added slot's and its room's.

    All targets but those of blocks that bleed on the axis may be moved together first, along each axis by up to 1/2 in,
    for 1,200 per inch.
    """
    targets = [(b.id, view.outer(b.id), target_center(view, b), frozenset(b.bleeds)) for b in view.placed_blocks]
    targets += [(i.id, i.box, _middle(i.room), frozenset()) for i in view.added if i.room and i.on is None]
    moved = {name: Fraction(0) for name, *_ in targets}
    drift = Fraction(0)
    most = Fraction(0 if "shift" in view.layout.given.without else DRIFT)
    for axis, sides in enumerate(({"left", "right"}, {"top", "bottom"})):
        away = {name: _middle(box)[axis] - target[axis] for name, box, target, _ in targets}
        free = [name for name, _, _, bleeds in targets if not bleeds & sides]
        together = _together([away[name] for name in free], most)
        drift += abs(together)
        for name, distance in away.items():
            moved[name] += abs(distance - (together if name in free else 0))
    made = [CostItem(name, round_half_up(SHIFT * distance / INCH)) for name, distance in moved.items()]
    return (*made, CostItem("page", round_half_up(DRIFT_PRICE * drift / INCH))) if drift else tuple(made)


def _together(distances: list[Fraction], most: Fraction) -> Fraction:
    """Return by how much to move all for least: a middle distance, of two the one nearer to none."""
    if not distances:
        return Fraction(0)
    ranked = sorted(distances)
    lower, upper = ranked[(len(ranked) - 1) // 2], ranked[len(ranked) // 2]
    nearest = lower if lower > 0 else min(upper, Fraction(0))
    return max(-most, min(most, nearest))


def _middle(box: Box) -> tuple[Fraction, Fraction]:
    return Fraction(box[0] + box[2], 2), Fraction(box[1] + box[3], 2)


def cost_resize(view: View) -> Items:
    """75,000 times the relative change of width plus that of height; 150,000 times a rescale's change."""
    made = [CostItem(b.id, _resized(view, b)) for b in view.placed_blocks]
    rescale = view.layout.transform.rescale
    if rescale is not None:
        made.append(CostItem(rescale.group, round_half_up(RESCALE * abs(decimal(rescale.factor) - 1))))
    return tuple(made)


def cost_overlap(view: View) -> Items:
    """6,000,000 times the share of the page that a pair overlaps beyond the reference."""
    page = view.page.trim[0] * view.page.trim[1]
    made = []
    for a, b in meeting(view.elements):
        if not is_overlap_pair(view, a, b) or _stands_for(view, a, b) or _stands_for(view, b, a):
            continue
        more = shared_area(a, b) - reference_overlap(view, a, b)
        if more > 0:
            made.append(CostItem(f"{a.id} + {b.id}", round_half_up(OVERLAP * more / page)))
    return tuple(made)


def cost_hole(view: View) -> Items:
    """540,000 times the share of the safe box that slots filled in the reference and no longer do.

    On a page on its side counts what they would fill upright, if that is more.
    """
    left, top, right, bottom = view.page.safe
    counted = view.counted_blocks
    before = sum(box_area(e.box) for e in counted) * _upright_gain(view)
    now = sum(box_area(view.outer(e.id)) for e in counted if e.id in view.pieces)
    now += sum(box_area(item.box) for item in view.added if not lies_on_another(view, item))
    amount = round_half_up(HOLE * max(Fraction(0), before - now) / ((right - left) * (bottom - top)))
    return (CostItem("page", amount),)


def _upright_gain(view: View) -> Fraction:
    """Return how many times as large an area the drawing would take upright; 1 on pages that are not on their side."""
    (w, h), (tw, th) = view.layout.template.size, view.page.trim
    if view.layout.transform.rotate not in (90, 270):
        return Fraction(1)
    upright = min(Fraction(tw, w), Fraction(th, h))
    turned = min(Fraction(tw, h), Fraction(th, w))
    gain = max(Fraction(1), upright / turned)
    return gain * gain


SIZE_STEP = 1270
"""Sizes change with a rescale by whole multiples of this many micrometres."""
PLACE_STEP = 635
"""Places move with a rescale by whole multiples of this many micrometres."""


def group_of(view: View) -> tuple[Element, ...]:
    """Return the blocks a rescale takes along; bleeding and fixed ones take no part."""
    rescale = view.layout.transform.rescale
    if rescale is None:
        return ()
    inner = [b for b in view.blocks if not b.bleeds and not b.limits.fixed]
    name = rescale.group
    if name == "photos":
        return tuple(b for b in inner if b.role == "photo")
    if name == "others":
        return tuple(b for b in inner if b.role != "photo")
    if name.startswith("cluster:"):
        return tuple(b for b in inner if b.cluster == name.removeprefix("cluster:"))
    return tuple(inner)


def target_center(view: View, block: Element) -> tuple[Fraction, Fraction]:
    """Return where a block's centre belongs: the reference's, moved by a rescale that moves its group."""
    rescale, group = view.layout.transform.rescale, group_of(view)
    if rescale is None or block not in group or rescale.group in ("photos", "others"):
        return Fraction(block.center[0]), Fraction(block.center[1])
    around = box_around([b.box for b in group])
    middle = Fraction(around[0] + around[2], 2), Fraction(around[1] + around[3], 2)
    change = decimal(rescale.factor) - 1
    x, y = (c + _whole_steps(change * (c - m)) for m, c in zip(middle, block.center, strict=True))
    return Fraction(x), Fraction(y)


def _whole_steps(distance: Fraction) -> int:
    """Return a distance as whole steps, halves away from 0, so that flipped pages move alike."""
    steps = PLACE_STEP * round_half_up(abs(distance) / PLACE_STEP)
    return steps if distance > 0 else -steps


def target_size(view: View, block: Element) -> tuple[int, int]:
    """Return the size a block belongs to: the reference's, scaled with its group, swapped if turned."""
    w, h = block.size
    rescale = view.layout.transform.rescale
    if rescale is not None and block in group_of(view):
        change = decimal(rescale.factor) - 1
        grown = [side + SIZE_STEP * round_half_up(change * side / SIZE_STEP) for side in (w, h)]
        if block.shape != "rect" or block.role == "embellishment":
            grown[1] = 2 * round_half_up(Fraction(h * grown[0], 2 * w))
        w, h = grown
    return (h, w) if view.is_turned(block.id) else (w, h)


def _resized(view: View, block: Element) -> int:
    box = view.outer(block.id)
    size, (w0, h0) = (box[2] - box[0], box[3] - box[1]), target_size(view, block)
    value = _change(size, (w0, h0))
    if view.is_split(block.id):
        n, m = columns_and_rows(view.pieces[block.id])
        value = min(value, _change(size, (n * w0 + (n - 1) * SPLIT_GAP, m * h0 + (m - 1) * SPLIT_GAP)))
    return value


def _change(size: tuple[int, int], target: tuple[int, int]) -> int:
    share = sum(Fraction(abs(a - b), b) for a, b in zip(size, target, strict=True))
    return round_half_up(RESIZE * Fraction(share))


def columns_and_rows(pieces: tuple[Placed, ...]) -> tuple[int, int]:
    """Return how many columns and rows of pieces there are, by their left and top edges."""
    return _distinct([p.box[0] for p in pieces]), _distinct([p.box[1] for p in pieces])


def _distinct(values: list[int]) -> int:
    ordered = sorted(values)
    return 1 + sum(b - a > TOLERANCE for a, b in pairwise(ordered))


def is_overlap_pair(view: View, a: Placed, b: Placed) -> bool:
    """Whether two placed elements form a pair whose overlap is watched, mats and carried ones included."""
    return (
        (a.role in _LOOSE or b.role in _LOOSE)
        and "background" not in (a.role, b.role)
        and not _tied(view, a, b)
        and not _holds_words_of(a, b)
        and not _holds_words_of(b, a)
        and not view.lie_on_each_other(a.source, b.source)
    )


def reference_overlap(view: View, a: Placed, b: Placed) -> Fraction:
    """Return the area the same pair shares in the reference; 0 for added elements and pieces of one slot."""
    if a.source is None or b.source is None or a.source == b.source:
        return Fraction(0)
    return shared_area(view.reference[a.source], view.reference[b.source])


def _tied(view: View, a: Placed, b: Placed) -> bool:
    """Whether one rides on the other, by its reference element or by its own ``on``, or both on the same slot."""
    for one, other in ((a, b), (b, a)):
        origin = view.origin(one)
        names = {other.id, other.source} if other.source is not None else {other.id}
        if (origin is not None and origin.on in names) or one.on in names:
            return True
    root = _slot_of(view, a)
    return root is not None and root == _slot_of(view, b)


def _slot_of(view: View, item: Placed) -> str | None:
    """Return the slot that an element frames or lies on, at the end of all its ties; its own id if it has none."""
    origin = view.origin(item)
    while origin is not None and origin.on is not None and origin.tie in ("mat", "carried"):
        origin = view.reference[origin.on]
    return None if origin is None else origin.id


def _holds_words_of(card: Placed, words: Placed) -> bool:
    """Whether an added text element lies inside the other's box."""
    return words.source is None and is_text(words) and box_inside(words.box, card.box)


def _stands_for(view: View, rider: Placed, other: Placed) -> bool:
    """Whether the rider's partner forms a pair with the other element, which then counts instead."""
    origin = view.origin(rider)
    if origin is None or origin.on is None or origin.tie not in ("mat", "carried"):
        return False
    return any(p is not other and is_overlap_pair(view, p, other) for p in view.pieces.get(origin.on, ()))


def lies_on_another(view: View, item: Placed) -> bool:
    """Whether an element's box lies inside another's, backgrounds apart."""
    others = (o for o in view.elements if o is not item and o.role != "background")
    return any(box_inside(item.box, o.box) for o in others)
