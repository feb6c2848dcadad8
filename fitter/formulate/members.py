"""The pages of a symmetry class: what each costs by itself, and in which order its slots are read."""

from __future__ import annotations

from itertools import combinations

from fitter.formulate import rates as r
from fitter.formulate.lines import alignments, equal_gaps
from fitter.formulate.scene import GRID, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.wished import page_departure
from fitter.pages import Page
from fitter.reference import Member
from fitter.reference_boxes import covers, extents, moved
from fitter.template import Element
from solver.problem import Member as ProblemMember

BANDS = 6
"""Reading order goes by this many bands of the page height."""


def problem_member(scene: Scene, page: Page, member: Member, settings: Settings) -> ProblemMember:
    """Return a page of the class: its own cost, and the reading rank of every block."""
    rates = settings.rates
    cost = rates.of("departure", page_departure(settings.wishes.start, member))
    if member.rotate:
        cost += rates.of("rotate-page", r.ROTATE_PAGE)
    if member.mirror:
        cost += rates.of("mirror-page", r.MIRROR_PAGE)
    cost += rates.of("repeat-cluster", r.REPEAT_CLUSTER * copies_of(scene))
    aside = _off_centre(scene)
    places = []
    for atom in scene.blocks:
        slides = not atom.added and not atom.element.bleeds
        twice = [2 * atom.element.center[a] - (aside[a] if slides else 0) for a in (0, 1)]
        twice = [2 * page.trim[a] - twice[a] if member.flips[a] else twice[a] for a in (0, 1)]
        places.append((BANDS * twice[1] // (2 * page.trim[1]), twice[0], atom.element.id))
    order = sorted(range(len(places)), key=lambda b: places[b])
    ranks = [0] * len(places)
    for rank, block in enumerate(order):
        ranks[block] = rank
    return ProblemMember(f"{member.rotate}{' mirrored' if member.mirror else ''}", cost, tuple(ranks))


def copies_of(scene: Scene) -> int:
    """Return how many copies of a cluster the pages of a class have."""
    repeat = scene.reference.transform.repeat
    return 0 if repeat is None else len(repeat.copies)


def _off_centre(scene: Scene) -> tuple[int, int]:
    """Return twice how far the drawing's middle is from the page's: reading order stays when the drawing slides."""
    boxes = [a.element.box for a in scene.blocks if not a.added and not a.element.bleeds]
    if not boxes:
        return 0, 0
    twice = [min(b[a] for b in boxes) + max(b[a + 2] for b in boxes) - scene.page.trim[a] for a in (0, 1)]
    return twice[0], twice[1]


def slide_places(scene: Scene, settings: Settings) -> tuple[int, ...] | None:
    """Return the places (in grid units) the refitted drawing may slide to: centred, or to either end.

    What bleeds stays where it is, so that only ends count at which nothing comes to lie on, beside or in line with it
    that did not in the middle: all rules and lines are stated against the drawing as it stands there.
    """
    if scene.reference.free is None or not settings.may("shift"):
        return None
    low, high = scene.reference.slack
    ends = sorted({-(-low // GRID), 0, high // GRID})
    return tuple(e for e in ends if low <= e * GRID <= high and (not e or _same_relations(scene, e))) or None


def _same_relations(scene: Scene, slide: int) -> bool:
    """Whether everything lies to each other after sliding as before, and the same lines and equal gaps are there."""
    step = (slide * GRID, 0) if scene.reference.free == "x" else (0, slide * GRID)
    atoms = [atom for atom in scene.atoms if not atom.added]
    before = [atom.element for atom in atoms]
    after = [moved(atom.element, step) if scene.slides(atom.block) else atom.element for atom in atoms]
    for one, other in combinations(range(len(atoms)), 2):
        if scene.slides(atoms[one].block) == scene.slides(atoms[other].block):
            continue
        lies = _lie(before[one], before[other], scene.apart)
        if lies is None or lies != _lie(after[one], after[other], scene.apart):
            return False
    return alignments(before) == alignments(after) and equal_gaps(before) == equal_gaps(after)


def _lie(one: Element, other: Element, kept: int) -> tuple[int, bool, bool] | None:
    """Return how far two boxes are apart, at most what is kept between them, and which lies within which.

    ``None`` where they partly overlap, for then the depth changes with every step.
    """
    a, b = extents(one), extents(other)
    apart = max(max(b[k] - a[k + 2], a[k] - b[k + 2]) for k in (0, 1))
    inside = covers(a, b), covers(b, a)
    if apart < 0 and not any(inside):
        return None
    return (min(apart, kept) if apart >= 0 else -1, *inside)
