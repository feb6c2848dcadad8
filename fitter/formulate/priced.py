"""From configurations to what the solver sees: columns with their whole own cost, blocks and riders."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from fitter.formulate import rates as r
from fitter.formulate.balance import block_moments, block_swing, priced_moments
from fitter.formulate.bans import may_move, must_stay
from fitter.formulate.content import Config, piece_boxes
from fitter.formulate.groups import Rescaling
from fitter.formulate.holes import cover_gain
from fitter.formulate.scene import GRID, Atom, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.sights import sights_of
from fitter.formulate.text_blocks import carried_scale
from fitter.formulate.wished import shown_id, wished_photos
from fitter.template import Element
from solver.problem import Block, Column, Lit, Rider


def area_ranks(configs: list[list[Config]], settings: Settings) -> dict[int, int]:
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


def priced(
    scene: Scene, atom: Atom, config: Config, settings: Settings, covers: tuple[tuple[Atom, str], ...]
) -> list[tuple[Config, int, list[tuple[Lit, ...]]]]:
    """Return a configuration with its crop loss: once for each price it has on pages of the class.

    Returns
    -------
    list of (configuration, members, clashes)
        The members as a bit set, -1 for all; what would hide a keep box there (R5).  Empty when no page can show every
        keep box.
    """
    if not config.photos:
        return [(config, -1, [])]
    shown = [sights_of(scene, atom, config, settings, number, covers) for number in config.photos]
    if all(sights.count(sights[0]) == len(sights) and sights[0] and not sights[0].hiding for sights in shown):
        loss = sum(sights[0].loss for sights in shown if sights[0])
        return [(replace(config, terms={"crop-loss": loss, **config.terms}), -1, [])]
    by_price: dict[int, list[int]] = {}
    clashes: dict[int, list[tuple[Lit, ...]]] = {}
    for index in range(len(scene.members)):
        sights = [sights[index] for sights in shown]
        there = [sight for sight in sights if sight is not None]
        if len(there) == len(sights):
            loss = sum(sight.loss for sight in there)
            by_price.setdefault(loss, []).append(index)
            hiding = {(cover.kind, cover.number) for sight in there for cover in sight.hiding}
            barred = [((kind, number, 0), ("member", index, 0)) for kind, number in sorted(hiding)]
            clashes.setdefault(loss, []).extend(barred)  # type: ignore[arg-type]
    made = []
    for loss, members in by_price.items():
        mask = -1 if len(members) == len(scene.members) else sum(1 << index for index in members)
        made.append((replace(config, terms={"crop-loss": loss, **config.terms}), mask, clashes[loss]))
    return made


def columns_of(
    scene: Scene,
    atom: Atom,
    config: Config,
    settings: Settings,
    scalings: tuple[Rescaling, ...],
    areas: dict[int, int],
    covers: tuple[tuple[Atom, str], ...],
) -> Iterator[tuple[Column, Config]]:
    """Yield the solver's columns for a configuration, each with the configuration at its price."""
    element = atom.element
    if config.role is None:
        yield Column(cost=settings.rates.total(config.terms), kind=0, present=False, scale=4096), config
        return
    spots = [rider for rider in scene.riders_of(atom.block) if rider.element.role in ("title", "journaling")]
    riders = tuple(c.rider for c in config.carried)
    gone = [spot.rider for spot in spots if spot.rider not in riders]
    if config.photos and element.role != "photo" and not atom.added:
        gone += [rider.rider for rider in scene.riders_of(atom.block) if rider not in spots]
    sizes = {n: areas[a] for n, a in photo_areas(config, settings).items()}
    made_of = partial(
        Column,
        dw=config.size[0] - element.size[0],
        dh=config.size[1] - element.size[1],
        photos=config.photos,
        texts=(
            *(() if config.item is None else (config.item,)),
            *(c.item for c in config.carried),
            *(shown_id(settings, n) for n in config.photos if n in wished_photos(settings)),
        ),
        kind=_kind(config),
        scale=int(4096 * carried_scale(element, config.size)),
        areas=tuple(sizes.get(n, 0) for n in config.photos),
        cover=cover_gain(scene, atom, config.size, settings),
        moments=priced_moments(scene, block_moments(scene, atom.block, config.size), settings),
        gains=_gains(atom, config, scalings, settings),
        riders=riders,
    )
    for made, members, hiding in priced(scene, atom, config, settings, covers):
        barred: list[tuple[Lit, ...]] = [*hiding, *((("rider", rider, 0),) for rider in gone)]
        cost = settings.rates.total(made.terms)
        yield made_of(cost=cost, members=members, clashes=tuple(barred)), made


def _kind(config: Config) -> int:
    """Number a configuration's role and division."""
    roles = ("photo", "paper", "journaling", "title", "ribbon", "embellishment", "background")
    assert config.role is not None
    kind = 1 + roles.index(config.role)
    if config.division is not None:
        kind += 10 * (1 + ("row", "column", "grid").index(config.division.kind)) + 100 * config.division.count
    return kind + (5000 if config.panel is not None else 0)


def _gains(atom: Atom, config: Config, scalings: tuple[Rescaling, ...], settings: Settings) -> tuple[int | None, ...]:
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


def block_of(
    scene: Scene, atom: Atom, columns: tuple[Column, ...], scalings: tuple[Rescaling, ...], settings: Settings
) -> Block:
    """Return the solver's block: its columns, and how far it may move."""
    page = scene.page
    reach = (page.trim[0] // GRID, page.trim[1] // GRID)
    frozen = atom.element.limits.fixed or (
        bool(atom.element.bleeds) and (atom.element.tilt != 0 or atom.element.shape != "rect")
    )
    limit_x, limit_y = (0, 0) if frozen or not may_move(atom, settings) else reach
    if not settings.may("shift") and not atom.added and not atom.element.bleeds:
        limit_x = limit_y = 0
    return Block(
        name=atom.element.id,
        columns=columns,
        x=(-limit_x, limit_x),
        y=(-limit_y, limit_y),
        shift=settings.rates.of("shift", r.SHIFT_PER_INCH * GRID / 25_400),
        targets=tuple(s.targets.get(atom.block, (0, 0)) for s in scalings),
        swings=priced_moments(scene, (block_swing(scene, atom.block),) * 2, settings),
        anchored=anchored(atom.element),
    )


def anchored(element: Element) -> tuple[bool, bool]:
    """Return along which axes something stays when the page drifts: those on which it bleeds."""
    return bool({"left", "right"} & set(element.bleeds)), bool({"top", "bottom"} & set(element.bleeds))


def rider_of(scene: Scene, atom: Atom, settings: Settings) -> Rider:
    """Return the solver's rider for something carried."""
    text = atom.element.role in ("title", "journaling")
    pinned = atom.element.limits.fixed or not settings.may("drop") or must_stay(atom, settings)
    drop = None if pinned and not text else settings.rates.of("drop", 0 if text else r.DROP)
    return Rider(atom.element.id, atom.block, drop, chosen=text)
