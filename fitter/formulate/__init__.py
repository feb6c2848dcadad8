"""Step 2, formulate: from template, page, photos and words to integer problems, one per symmetry class.

Enters: validated data.  Leaves: :class:`Formulation` objects, each a :class:`solver.problem.Problem` with what is
needed to read a solution back.  Refuses nothing: what cannot be is simply not among the columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import overload

from fitter.formulate import rates as r
from fitter.formulate.columns import block_configs, carried_scale, keep_boxes
from fitter.formulate.content import Config, piece_boxes
from fitter.formulate.covers import covers_of
from fitter.formulate.groups import Rescaling, rescalings
from fitter.formulate.keeps import Cover, Pane, choose_window, panel_spot
from fitter.formulate.relations import (
    apart_rules,
    edge_rules,
    lap_rules,
    line_costs,
    soft_laps,
    tracks,
)
from fitter.formulate.rooms import free_rooms
from fitter.formulate.scene import GRID, Atom, Scene, build_scene
from fitter.formulate.settings import Settings
from fitter.layout import Box
from fitter.pages import Page
from fitter.reference import MEMBERS, Member, flipped_page, reference_layout
from fitter.template import Element, Template
from solver.problem import (
    Block,
    Column,
    Group,
    Lit,
    Problem,
    Rider,
    Rule,
    TextNeed,
)
from solver.problem import Member as ProblemMember
from solver.solution import Solution

__all__ = ["Formulation", "Formulations", "Problems", "Settings", "formulate"]

BANDS = 6
"""Reading order goes by this many bands of the page height."""


@dataclass(frozen=True)
class Formulation:
    """A problem and how to read its solutions.

    ``configs`` runs parallel to the problem's blocks and their columns.
    """

    problem: Problem
    scene: Scene
    settings: Settings
    configs: tuple[tuple[Config, ...], ...]
    scalings: tuple[Rescaling, ...]
    page: Page


class Formulations(Sequence[Formulation]):
    """The formulations of all symmetry classes, each made when it is first asked for."""

    def __init__(self, template: Template, page: Page, settings: Settings) -> None:
        self._template, self._page, self._settings = template, page, settings
        classes: dict[tuple[bool, tuple[tuple[str, int], ...]], list[Member]] = {}
        for member in MEMBERS:
            if member.rotate and not settings.may("rotate-page"):
                continue
            if member.mirror and not settings.may("mirror-page"):
                continue
            gutter = flipped_page(page, member.flips).gutter
            key = (member.quarter, tuple(sorted(gutter.items())))
            classes.setdefault(key, []).append(member)
        self._members = tuple(classes.values())
        self._made: dict[int, Formulation] = {}

    def __len__(self) -> int:
        return len(self._members)

    @overload
    def __getitem__(self, index: int) -> Formulation: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Formulation]: ...

    def __getitem__(self, index: int | slice) -> Formulation | Sequence[Formulation]:
        if isinstance(index, slice):
            return [self[number] for number in range(*index.indices(len(self)))]
        members = self._members[index]
        if index not in self._made:
            self._made[index] = _formulation(self._template, self._page, members, self._settings)
        return self._made[index]


class Problems(Sequence[Problem]):
    """The problems of formulations, made when they are first asked for."""

    def __init__(self, formulations: Sequence[Formulation]) -> None:
        self._formulations = formulations

    def __len__(self) -> int:
        return len(self._formulations)

    @overload
    def __getitem__(self, index: int) -> Problem: ...

    @overload
    def __getitem__(self, index: slice) -> Sequence[Problem]: ...

    def __getitem__(self, index: int | slice) -> Problem | Sequence[Problem]:
        if isinstance(index, slice):
            return [f.problem for f in self._formulations[index]]
        return self._formulations[index].problem


def formulate(template: Template, page: Page, settings: Settings) -> Formulations:
    """Return one formulation per symmetry class of the page.

    Parameters
    ----------
    template, page
        The drawing and the page it is fitted to.
    settings
        What was given and what is allowed.
    """
    return Formulations(template, page, settings)


def _formulation(template: Template, page: Page, members: list[Member], settings: Settings) -> Formulation:
    frame_page = flipped_page(page, members[0].flips)
    frame_member = Member(90 if members[0].quarter else 0, False)
    reference = reference_layout(template, frame_page, frame_member)
    added = free_rooms(frame_page, reference) if settings.may("add-slot") else ()
    scene = build_scene(frame_page, reference, tuple(members), added)
    scalings = rescalings(scene) if settings.may("scale") else ()
    configs = [block_configs(scene, atom, settings, scalings) for atom in scene.blocks]
    panes = {atom.block: covers_of(scene, atom) for atom in scene.blocks}
    blocks, kept = [], []
    areas = _area_ranks(configs, settings)
    for atom, options in zip(scene.blocks, configs, strict=True):
        columns: list[Column] = []
        chosen: list[Config] = []
        for config in options:
            column = _column(scene, atom, config, settings, scalings, areas, panes[atom.block])
            if column is not None:
                columns.append(column)
                chosen.append(config)
        blocks.append(_block(scene, atom, tuple(columns), scalings, settings))
        kept.append(tuple(chosen))
    drawn = {e.id: e.box for e in template.elements}
    quarter = members[0].quarter
    rules: list[Rule] = [*edge_rules(scene), *lap_rules(scene, quarter=quarter, drawn=drawn)]
    choices = []
    for found in apart_rules(scene, quarter=quarter, drawn=drawn):
        if isinstance(found, Rule):
            rules.append(found)
        else:
            choices.append(found)
    rates = settings.rates
    photos = settings.photos
    problem = Problem(
        name=f"{'turned' if quarter else 'upright'}",
        blocks=tuple(blocks),
        riders=tuple(_rider(scene, atom, settings) for atom in scene.riders),
        members=tuple(_member(scene, page, member, rates) for member in members),
        groups=tuple(Group(f"{s.group} ×{s.factor:g}", rates.of("resize", s.cost)) for s in scalings),
        photos=len(photos),
        texts=tuple(
            TextNeed(settings.items[ids[0]].which, tuple(ids)) for ids in settings.needs
        ),
        rules=tuple(rules),
        choices=tuple(choices),
        softs=tuple(line_costs(scene, rates.of("alignment", r.ALIGNMENT), rates.of("gap", r.GAP))),
        laps=tuple(soft_laps(scene, rates.of("overlap", r.OVERLAP_PER_PERCENT))),
        tracks=tracks(scene),
        bare=_bare(scene, rates),
        emphasis=tuple(
            (p, q)
            for p in range(len(photos))
            for q in range(len(photos))
            if photos[p].weight > photos[q].weight
        ),
        emphasis_cost=rates.of("emphasis", r.EMPHASIS),
        early=tuple(
            (p, q) for p in range(len(photos)) for q in range(len(photos)) if photos[p].order < photos[q].order
        ),
        order_cost=rates.of("order", r.ORDER),
        ordered=not settings.may("assign"),
        leave_out=settings.leave_out,
        left_out_cost=rates.of("left-out", r.LEFT_OUT),
        slide=_slide(scene, settings),
        areas=tuple(sorted(areas)),
        alike=_alike(settings),
        rotations=tuple((m.rotate, m.mirror) for m in members),
    )
    return Formulation(problem, scene, settings, tuple(kept), scalings, page)


def _alike(settings: Settings) -> tuple[int, ...]:
    """Return the class of every photo: look-alikes share aspect, weight and keep boxes."""
    classes: dict[tuple[object, ...], int] = {}
    found = []
    for photo in settings.photos:
        key = (photo.pixels[0] / photo.pixels[1], photo.weight, photo.keep, photo.detected)
        found.append(classes.setdefault(key, len(classes)))
    return tuple(found)


def _area_ranks(configs: list[list[Config]], settings: Settings) -> dict[int, int]:
    """Return the rank of every photo area that occurs."""
    areas: set[int] = set()
    for options in configs:
        for config in options:
            areas.update(photo_areas(config, settings).values())
    return {area: rank for rank, area in enumerate(sorted(areas), 1)}


def photo_areas(config: Config, settings: Settings) -> dict[int, int]:
    """Return the box area, in square micrometres, of each photo of a configuration."""
    if config.division is None:
        return {number: config.size[0] * config.size[1] for number in config.photos}
    boxes = piece_boxes(config.size, config.division, [settings.photos[n] for n in config.photos])
    return {n: b[2] * b[3] for n, b in zip(config.photos, boxes, strict=True)}


def _column(
    scene: Scene,
    atom: Atom,
    config: Config,
    settings: Settings,
    scalings: tuple[Rescaling, ...],
    areas: dict[int, int],
    covers: tuple[tuple[Atom, str], ...],
) -> Column | None:
    element = atom.element
    if config.role is None:
        return Column(cost=settings.rates.total(config.terms), kind=0, present=False, scale=4096)
    clashes: list[tuple[Lit, ...]] = []
    members = -1
    for number in config.photos:
        keep = keep_boxes(settings, config, number)
        if not keep and config.panel is None:
            continue
        found = _keep_limits(scene, atom, config, settings, number, keep, covers)
        if found is None:
            return None
        mask, extra = found
        members &= mask
        clashes += extra
    if members != -1 and not members & ((1 << len(scene.members)) - 1):
        return None
    spots = [rider for rider in scene.riders_of(atom.block) if rider.element.role in ("title", "journaling")]
    riders = tuple(c.rider for c in config.carried)
    clashes += [(("rider", spot.rider, 0),) for spot in spots if spot.rider not in riders]
    if config.photos and element.role != "photo" and not atom.added:
        clashes += [(("rider", r.rider, 0),) for r in scene.riders_of(atom.block) if r not in spots]
    sizes = {n: areas[a] for n, a in photo_areas(config, settings).items()}
    return Column(
        cost=settings.rates.total(config.terms),
        dw=config.size[0] - element.size[0],
        dh=config.size[1] - element.size[1],
        photos=config.photos,
        texts=(*(() if config.item is None else (config.item,)), *(c.item for c in config.carried)),
        kind=_kind(config),
        scale=int(4096 * carried_scale(element, config.size)),
        areas=tuple(sizes.get(n, 0) for n in config.photos),
        cover=_cover(scene, atom, config.size, settings),
        gains=_gains(atom, config, scalings, settings),
        members=members,
        clashes=tuple(clashes),
        riders=riders,
    )


def _kind(config: Config) -> int:
    """Number a configuration's role and division."""
    roles = ("photo", "paper", "journaling", "title", "ribbon", "embellishment", "background")
    assert config.role is not None
    kind = 1 + roles.index(config.role)
    if config.division is not None:
        kind += 10 * (1 + ("row", "column", "grid").index(config.division.kind)) + 100 * config.division.count
    return kind + (5000 if config.panel is not None else 0)


def _gains(
    atom: Atom, config: Config, scalings: tuple[Rescaling, ...], settings: Settings
) -> tuple[int | None, ...]:
    gains: list[int | None] = []
    w, h = config.size
    for scaling in scalings:
        target = scaling.sizes.get(atom.block)
        if target is None:
            gains.append(0)
        elif config.turned or config.division is not None:
            gains.append(None)
        else:
            amount = r.rounded(r.RESIZE * (abs(w - target[0]) / target[0] + abs(h - target[1]) / target[1]))
            plain = config.terms.get("resize", 0)
            gains.append(settings.rates.of("resize", plain) - settings.rates.of("resize", amount))
    return tuple(gains)


def _safe_area(scene: Scene) -> int:
    left, top, right, bottom = scene.page.safe
    return (right - left) * (bottom - top)


def bare_area(scene: Scene) -> int:
    """Return the area all counted blocks cover in the reference, in square micrometres."""
    return sum(a.element.size[0] * a.element.size[1] for a in scene.counted)


def covered_area(formulation: Formulation, solution: Solution) -> int:
    """Return the area the counted blocks and added slots of a page cover."""
    counted = {a.block for a in formulation.scene.counted}
    total = 0
    for atom, options, index in zip(
        formulation.scene.blocks, formulation.configs, solution.columns, strict=True
    ):
        config = options[index]
        if config.role is not None and (atom.added or atom.block in counted):
            total += config.size[0] * config.size[1]
    return total


def _bare(scene: Scene, rates: r.Rates) -> int:
    return rates.of("hole", r.HOLE * bare_area(scene) / _safe_area(scene))


def _cover(scene: Scene, atom: Atom, size: tuple[int, int], settings: Settings) -> int:
    if not atom.added and all(a is not atom for a in scene.counted):
        return 0
    return settings.rates.of("hole", r.HOLE * size[0] * size[1] / _safe_area(scene))


def _block(
    scene: Scene, atom: Atom, columns: tuple[Column, ...], scalings: tuple[Rescaling, ...], settings: Settings
) -> Block:
    page = scene.page
    reach = (page.trim[0] // GRID, page.trim[1] // GRID)
    frozen = atom.element.limits.fixed or (
        bool(atom.element.bleeds) and (atom.element.tilt != 0 or atom.element.shape != "rect")
    )
    limit_x, limit_y = (0, 0) if frozen else reach
    if not settings.may("shift") and not atom.added and not atom.element.bleeds:
        limit_x = limit_y = 0
    return Block(
        name=atom.element.id,
        columns=columns,
        x=(-limit_x, limit_x),
        y=(-limit_y, limit_y),
        shift=0 if atom.added else settings.rates.of("shift", r.SHIFT_PER_INCH * GRID / 25_400),
        targets=tuple(s.targets.get(atom.block, (0, 0)) for s in scalings),
    )


def _rider(scene: Scene, atom: Atom, settings: Settings) -> Rider:
    text = atom.element.role in ("title", "journaling")
    pinned = atom.element.limits.fixed or not settings.may("drop")
    drop = None if pinned and not text else settings.rates.of("drop", 0 if text else r.DROP)
    return Rider(atom.element.id, atom.block, drop, chosen=text)


def _member(scene: Scene, page: Page, member: Member, rates: r.Rates) -> ProblemMember:
    cost = 0
    if member.rotate:
        cost += rates.of("rotate-page", r.ROTATE_PAGE)
    if member.mirror:
        cost += rates.of("mirror-page", r.MIRROR_PAGE)
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


def _off_centre(scene: Scene) -> tuple[int, int]:
    """Return twice how far the drawing's middle is from the page's: reading order stays when the drawing slides."""
    boxes = [a.element.box for a in scene.blocks if not a.added and not a.element.bleeds]
    if not boxes:
        return 0, 0
    twice = [min(b[a] for b in boxes) + max(b[a + 2] for b in boxes) - scene.page.trim[a] for a in (0, 1)]
    return twice[0], twice[1]


def _slide(scene: Scene, settings: Settings) -> tuple[int, ...] | None:
    """Return the places (in grid units) the refitted drawing may slide to: centred, or to either end."""
    if scene.reference.free is None or not settings.may("shift"):
        return None
    low, high = scene.reference.slack
    ends = sorted({-(-low // GRID), 0, high // GRID})
    return tuple(e for e in ends if low <= e * GRID <= high) or None


def pane_of(
    scene: Scene, atom: Atom, config: Config, covers: tuple[tuple[Atom, str], ...]
) -> Pane:
    """Return the visible part of a block in a configuration, with everything that may cover it."""
    element = atom.element
    w, h = config.size
    (left, top, right, bottom), page = element.box, scene.page
    safe = page.safe
    insets = [0.0, 0.0, 0.0, 0.0]
    if "left" in element.bleeds:
        insets[0] = safe[0] - left
    if "top" in element.bleeds:
        insets[1] = safe[1] - top
    if "right" in element.bleeds:
        insets[2] = right - safe[2]
    if "bottom" in element.bleeds:
        insets[3] = bottom - safe[3]
    room = (insets[0] / w, insets[1] / h, 1 - insets[2] / w, 1 - insets[3] / h)
    scale = carried_scale(element, config.size)
    rects = []
    for upper, how in covers:
        rect = _cover_rect(element, upper.element, (w, h), scale if how == "rider" else 1.0, how)
        rects.append(Cover(rect, *(upper.lit[:2])))
    return Pane(config.size, room, element.shape != "rect", tuple(rects))


def _cover_rect(
    under: Element, over: Element, size: tuple[int, int], scale: float, how: str
) -> tuple[float, float, float, float]:
    """Return the part of a slot that something on it can hide, in the slot's frame, on the safe side."""
    from fitter.reference import extents

    spans = []
    box = extents(over)
    for axis in (0, 1):
        low, high = box[axis] - under.box[axis], box[axis + 2] - under.box[axis]
        full, length = under.size[axis], size[axis]
        if how == "rider":
            if over.center[axis] <= under.center[axis]:
                spans.append((low * scale - 50, high * scale + 50))
            else:
                spans.append((length - (full - low) * scale - 50, length - (full - high) * scale + 50))
        elif low <= 0 and high < full:
            spans.append((0.0, high + 50.0))
        elif high >= full and low > 0:
            spans.append((length - (full - low) - 50.0, float(length)))
        else:
            spans.append((0.0, float(length)))
    return spans[0][0], spans[1][0], spans[0][1], spans[1][1]


def _keep_limits(
    scene: Scene,
    atom: Atom,
    config: Config,
    settings: Settings,
    number: int,
    keep: tuple[Box, ...],
    covers: tuple[tuple[Atom, str], ...],
) -> tuple[int, list[tuple[Lit, ...]]] | None:
    """R5: in which members a photo's keep boxes can be shown, and what must go for it."""
    photo = settings.photos[number]
    pane = pane_of(scene, atom, config, covers)
    if config.division is not None:
        pane = piece_pane(pane, config, number, settings)
    symmetric = pane.room == (0.0, 0.0, 1.0, 1.0) and not pane.covers
    mask, clashes = 0, []
    for index, member in enumerate(scene.members):
        if symmetric and index:
            mask |= (mask & 1) << index
            continue
        flipped = pane if config.division is not None else pane.flipped(member.flips)
        found = choose_window(photo, keep, flipped, centred=not settings.may("crop"))
        if found is None:
            continue
        if config.panel is not None:
            size = (config.panel.width, config.panel.height)
            if panel_spot(photo, keep, found[0], flipped, size) is None:
                continue
        mask |= 1 << index
        for cover in found[1]:
            clashes.append(((cover.kind, cover.number, 0), ("member", index, 0)))
    if not mask:
        return None
    return mask if mask != (1 << len(scene.members)) - 1 else -1, clashes  # type: ignore[return-value]


def piece_pane(pane: Pane, config: Config, number: int, settings: Settings) -> Pane:
    """Return the part of a divided slot's pane that one photo has; symmetric, on the safe side."""
    assert config.division is not None
    boxes = piece_boxes(config.size, config.division, [settings.photos[n] for n in config.photos])
    _, _, w, h = boxes[config.photos.index(number)]
    inset_x = max(pane.room[0], 1 - pane.room[2]) * config.size[0]
    inset_y = max(pane.room[1], 1 - pane.room[3]) * config.size[1]
    covers = tuple(Cover((0.0, 0.0, float(w), float(h)), c.kind, c.number) for c in pane.covers)
    return Pane((w, h), (inset_x / w, inset_y / h, 1 - inset_x / w, 1 - inset_y / h), pane.round, covers)
