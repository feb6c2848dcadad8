"""An aspect-exact slicing-tree layout: no photo is cropped, and the page's photos fill one rectangle.

For a slicing tree with gap *g* each node is ``w = α·h + β``.  A leaf has α = its aspect and β = 0; side by side
α = α₁ + α₂ and β = β₁ + β₂ + g; stacked α = 1/(1/α₁ + 1/α₂) and β = α·(β₁/α₁ + β₂/α₂ − g).  So one pass up the tree
and one down lay out any tree in any height.

Trees are postfix expressions changed by the usual three moves (swap two photos, turn a cut, swap a photo with a cut),
and accepted when not worse than some steps ago.  The rectangle is the box around the template's upright photo slots;
each photo takes the slot it is nearest to in place and size, and with it the slot's tilt, mat and ornaments, so that
the page can be judged like any other.  Photos beyond the slots are added; everything else stays as drawn.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import linear_sum_assignment

from fitter.layout import Given, Layout, Placed
from fitter.pages import Page
from fitter.reference import Member, Reference, reference_layout
from fitter.template import Element, Template
from fitter.units import INCH
from tests.bench.drawn import as_drawn, centred, emptied, finished, words_of

BESIDE, STACKED = -1, -2
Tree = tuple[int, ...]
"""A postfix expression: photo numbers, :data:`BESIDE` and :data:`STACKED`."""
Rect = tuple[float, float, float, float]
"""Left, top, width and height."""
GAP = INCH // 8
SMALLEST = INCH
STEPS = 1500
MEMORY = 40
"""A tree is accepted when it is no worse than that of so many steps ago."""
SHIFT, RESIZE, HOLE, ADDED = 12_000 / INCH, 75_000, 540_000, 150_000
"""Rates of the costs by which trees are compared, as published."""
FAR = 1e12


def coefficients(tree: Tree, aspects: Sequence[float], gap: float) -> tuple[float, float]:
    """Return α and β of a tree: at height *h* it is ``α·h + β`` wide.

    Examples
    --------
    >>> coefficients((0, 1, BESIDE), (1.5, 0.5), 0.25)
    (2.0, 0.25)
    """
    stack: list[tuple[float, float]] = []
    for token in tree:
        if token >= 0:
            stack.append((aspects[token], 0.0))
            continue
        (a2, b2), (a1, b1) = stack.pop(), stack.pop()
        if token == BESIDE:
            stack.append((a1 + a2, b1 + b2 + gap))
        else:
            alpha = 1 / (1 / a1 + 1 / a2)
            stack.append((alpha, alpha * (b1 / a1 + b2 / a2 - gap)))
    return stack[0]


def boxes(tree: Tree, aspects: Sequence[float], gap: float, height: float) -> dict[int, Rect]:
    """Return the box of every photo, the tree's own at the origin."""
    nodes: list[tuple[float, float, int, int, int]] = []
    stack: list[int] = []
    for token in tree:
        if token >= 0:
            nodes.append((aspects[token], 0.0, token, -1, -1))
        else:
            second, first = stack.pop(), stack.pop()
            (a1, b1), (a2, b2) = nodes[first][:2], nodes[second][:2]
            if token == BESIDE:
                nodes.append((a1 + a2, b1 + b2 + gap, token, first, second))
            else:
                alpha = 1 / (1 / a1 + 1 / a2)
                nodes.append((alpha, alpha * (b1 / a1 + b2 / a2 - gap), token, first, second))
        stack.append(len(nodes) - 1)
    found: dict[int, Rect] = {}

    def lay(node: int, x: float, y: float, tall: float) -> None:
        alpha, beta, token, first, second = nodes[node]
        wide = alpha * tall + beta
        if token >= 0:
            found[token] = (x, y, wide, tall)
        elif token == BESIDE:
            lay(first, x, y, tall)
            lay(second, x + nodes[first][0] * tall + nodes[first][1] + gap, y, tall)
        else:
            upper = (wide - nodes[first][1]) / nodes[first][0]
            lay(first, x, y, upper)
            lay(second, x, y + upper + gap, (wide - nodes[second][1]) / nodes[second][0])

    lay(len(nodes) - 1, 0.0, 0.0, height)
    return found


def fitted(tree: Tree, aspects: Sequence[float], gap: float, room: Rect) -> dict[int, Rect] | None:
    """Return the photos as large as a room takes them, in its middle; ``None`` when the gaps leave them nothing."""
    alpha, beta = coefficients(tree, aspects, gap)
    x, y, w, h = room
    height = min(h, (w - beta) / alpha)
    if height <= 0:
        return None
    found = boxes(tree, aspects, gap, height)
    if any(min(rect[2:]) <= 0 for rect in found.values()):
        return None
    left, top = x + (w - alpha * height - beta) / 2, y + (h - height) / 2
    return {n: (left + rect[0], top + rect[1], rect[2], rect[3]) for n, rect in found.items()}


def slicing_layout(template: Template, page: Page, given: Given, seed: int = 0) -> Layout:
    """Return the page of the best tree found in :data:`STEPS` steps, with its costs as the checker finds them."""
    reference = reference_layout(template, page, Member(0, False))
    slots = [e for e in reference.elements if e.role == "photo" and e.shape == "rect" and not e.bleeds]
    slots = [e for e in slots if not e.limits.fixed]
    aspects = [photo.pixels[0] / photo.pixels[1] for photo in given.photos]
    best = _best_tree(aspects, slots, _room(slots, page), page, random.Random(f"slicing {seed}"))
    return _layout(template, page, given, reference, slots, best)


def _room(slots: Sequence[Element], page: Page) -> Rect:
    left, top, right, bottom = page.safe
    if slots:
        left, top = (max(page.safe[a], min(s.box[a] for s in slots)) for a in (0, 1))
        right, bottom = (min(page.safe[a], max(s.box[a] for s in slots)) for a in (2, 3))
    return left, top, right - left, bottom - top


def _best_tree(
    aspects: Sequence[float], slots: Sequence[Element], room: Rect, page: Page, dice: random.Random
) -> dict[int, Rect]:
    tree = _first(len(aspects), dice)
    score, best = _score(tree, aspects, slots, room, page)
    least, memory = score, [score] * MEMORY
    for step in range(STEPS if len(aspects) > 1 else 0):
        other = _neighbour(tree, dice)
        new, rects = _score(other, aspects, slots, room, page)
        if new <= max(score, memory[step % MEMORY]):
            tree, score = other, new
        memory[step % MEMORY] = score
        if new < least:
            least, best = new, rects
    return best


def _first(count: int, dice: random.Random) -> Tree:
    made = [0]
    for photo in range(1, count):
        made += [photo, dice.choice((BESIDE, STACKED))]
    return tuple(made)


def _neighbour(tree: Tree, dice: random.Random) -> Tree:
    made = list(tree)
    photos = [k for k, token in enumerate(made) if token >= 0]
    cuts = [k for k, token in enumerate(made) if token < 0]
    move = dice.randrange(3)
    if move == 0:
        i, j = dice.sample(photos, 2)
        made[i], made[j] = made[j], made[i]
    elif move == 1:
        k = dice.choice(cuts)
        made[k] = BESIDE + STACKED - made[k]
    else:
        k = dice.randrange(len(made) - 1)
        made[k], made[k + 1] = made[k + 1], made[k]
        if not _is_tree(made):
            return tree
    return tuple(made)


def _is_tree(tokens: Sequence[int]) -> bool:
    depth = 0
    for token in tokens:
        depth += 1 if token >= 0 else -1
        if depth < 1:
            return False
    return depth == 1


def _score(
    tree: Tree, aspects: Sequence[float], slots: Sequence[Element], room: Rect, page: Page
) -> tuple[float, dict[int, Rect]]:
    """Return how far a tree is from the template, in costs, and its boxes."""
    found = fitted(tree, aspects, GAP, room)
    if found is None:
        return FAR, {n: (room[0], room[1], aspect * SMALLEST, SMALLEST) for n, aspect in enumerate(aspects)}
    left, top, right, bottom = page.safe
    bare = sum(s.size[0] * s.size[1] for s in slots) - sum(r[2] * r[3] for r in found.values())
    cost = HOLE * max(0.0, bare) / ((right - left) * (bottom - top))
    cost += sum(1e6 * max(0.0, SMALLEST - min(r[2:])) / SMALLEST for r in found.values())
    if slots:
        table = _distances(found, slots)
        cost += float(table[linear_sum_assignment(table)].sum())
    return cost + ADDED * max(0, len(aspects) - len(slots)), found


def _distances(found: dict[int, Rect], slots: Sequence[Element]) -> NDArray[np.float64]:
    made = np.array([found[n] for n in range(len(found))])
    places = np.array([s.center for s in slots], dtype=np.float64)
    sizes = np.array([s.size for s in slots], dtype=np.float64)
    centres = made[:, :2] + made[:, 2:] / 2
    shifts = np.abs(centres[:, None] - places[None]).sum(axis=2)
    changes = (np.abs(made[:, None, 2:] - sizes[None]) / sizes[None]).sum(axis=2)
    distances: NDArray[np.float64] = SHIFT * shifts + RESIZE * changes
    return distances


def _layout(
    template: Template,
    page: Page,
    given: Given,
    reference: Reference,
    slots: Sequence[Element],
    rects: dict[int, Rect],
) -> Layout:
    pairs = zip(*linear_sum_assignment(_distances(rects, slots)), strict=True) if slots else ()
    taken = {slots[s].id: int(n) for n, s in pairs}
    texts = words_of(reference.elements, given)
    gone = emptied(reference.elements, {*taken, *texts})
    by_id = {e.id: e for e in reference.elements}
    placed: list[Placed] = []
    for element in reference.elements:
        if element.id in gone:
            continue
        made = as_drawn(element, {}, texts)
        if element.id in taken:
            made = _filled(made, given, taken[element.id], rects[taken[element.id]])
        elif element.on is not None and element.on in taken and element.tie in ("mat", "carried"):
            made = _following(made, element, by_id[element.on], rects[taken[element.on]])
        placed.append(made)
    for number in sorted(set(rects) - set(taken.values())):
        box = _whole(rects[number])
        added = Placed(f"added-{number + 1}", None, "photo", "rect", box[:2], box[2:], room=_corners(box))
        placed.append(_filled(added, given, number, rects[number]))
    return finished(template, page, given, reference, placed, gone)


def _filled(made: Placed, given: Given, number: int, rect: Rect) -> Placed:
    x, y, w, h = _whole(rect)
    return replace(made, center=(x, y), size=(w, h), photo=centred(given.photos[number], (w, h)))


def _following(made: Placed, element: Element, slot: Element, rect: Rect) -> Placed:
    """Return a mat with its borders, or an ornament at its corner, on a slot's new box."""
    x, y, w, h = _whole(rect)
    if element.tie == "mat":
        borders = [a - b for a, b in zip(element.size, slot.size, strict=True)]
        return replace(made, center=(x, y), size=(w + borders[0], h + borders[1]))
    scale = min(w / slot.size[0], h / slot.size[1])
    turn = math.radians(slot.tilt)
    dx, dy = (element.center[a] - slot.center[a] for a in (0, 1))
    along = (dx * math.cos(turn) + dy * math.sin(turn), dy * math.cos(turn) - dx * math.sin(turn))
    moved = [
        math.copysign(new / 2, offset) + scale * (offset - math.copysign(old / 2, offset))
        for offset, old, new in zip(along, slot.size, (w, h), strict=True)
    ]
    center = (
        round(x + moved[0] * math.cos(turn) - moved[1] * math.sin(turn)),
        round(y + moved[0] * math.sin(turn) + moved[1] * math.cos(turn)),
    )
    size = (_even(scale * element.size[0]), _even(scale * element.size[1]))
    outline = tuple((round(scale * px), round(scale * py)) for px, py in element.outline)
    return replace(made, center=center, size=size, outline=outline)


def _whole(rect: Rect) -> tuple[int, int, int, int]:
    """Return centre and even size of a box in whole micrometres."""
    x, y, w, h = rect
    return round(x + w / 2), round(y + h / 2), _even(w), _even(h)


def _corners(box: tuple[int, int, int, int]) -> tuple[int, int, int, int]:
    x, y, w, h = box
    return x - w // 2, y - h // 2, x + w // 2, y + h // 2


def _even(length: float) -> int:
    return max(2, 2 * math.floor(length / 2))
