"""One problem per symmetry class, put together from columns, places and relations."""

from __future__ import annotations

import gc
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import TypeVar

from fitter.formulate import rates as r
from fitter.formulate.balance import balance_of
from fitter.formulate.bans import configs_left, members_left, scalings_left
from fitter.formulate.clearings import clearing_clashes, clearing_rules
from fitter.formulate.columns import block_configs
from fitter.formulate.content import Config
from fitter.formulate.covers import covers_of
from fitter.formulate.flows import flowing
from fitter.formulate.groups import Rescaling
from fitter.formulate.holes import bare_cost
from fitter.formulate.lazily import Lazily
from fitter.formulate.members import problem_member, slide_places
from fitter.formulate.priced import area_ranks, block_of, columns_of, rider_of
from fitter.formulate.relations import apart_rules, edge_rules, lap_rules, line_costs, soft_laps, tracks
from fitter.formulate.repeats import Extension, extensions
from fitter.formulate.rooms import free_rooms
from fitter.formulate.scene import DRIFT, GRID, Scene, build_scene
from fitter.formulate.settings import Settings
from fitter.formulate.text_blocks import without_spot
from fitter.formulate.under import under_clashes, under_rules
from fitter.formulate.wished import nearest_columns, shown_needs, stay_rules, wished_configs
from fitter.pages import Page
from fitter.reference import Member, Reference, flipped_page, reference_layout
from fitter.reference_copies import drawn_with, repeated
from fitter.template import Element, Template
from solver.problem import Column, Group, NotMadeError, Problem, Rule, TextNeed

T = TypeVar("T")

SLOW = frozenset({"scale", "widen", "shift"})
"""Freedoms without which a problem is a small fraction of the size."""


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
    extension: Extension | None = None


class Formulations(Lazily[Formulation]):
    """The formulations of all symmetry classes, each made when it is first asked for.

    Classes that repeat a cluster come after the others; last of all come quick *openings*, where a first page is had
    while the rest is still put together: that of the first class at the very end.
    """

    def __init__(self, template: Template, page: Page, settings: Settings) -> None:
        classes: dict[tuple[bool, tuple[tuple[str, int], ...]], list[Member]] = {}
        for member in members_left(settings):
            if member.rotate and not settings.may("rotate-page"):
                continue
            if member.mirror and not settings.may("mirror-page"):
                continue
            gutter = flipped_page(page, member.flips).gutter
            key = (member.quarter, tuple(sorted(gutter.items())))
            classes.setdefault(key, []).append(member)
        whole = [_Class(tuple(members), None) for members in classes.values()]
        if whole:
            settings = flowing(_scene(template, page, whole[0], settings), settings)
        self._template, self._page, self._settings = template, page, settings
        repeating = [
            _Class(one.members, extension)
            for one in whole
            for extension in extensions(template, *_frame(page, one.members), settings)
        ]
        self._openings = () if settings.without.issuperset(SLOW) else tuple(map(_opening, reversed(whole)))
        self._classes = (*whole, *repeating, *self._openings)
        self._made: dict[int, Formulation] = {}

    @property
    def made(self) -> tuple[Formulation, ...]:
        """Those that were asked for so far."""
        return tuple(self._made.values())

    @property
    def drawings(self) -> list[tuple[Element, ...]]:
        """The elements there are to be used, of the template as it is and with each cluster repeated."""
        extended = [
            _reference(self._template, self._page, one).elements for one in self._classes if one.extension is not None
        ]
        return [self._template.elements, *extended]

    def __len__(self) -> int:
        return len(self._classes)

    def item(self, number: int) -> Formulation:
        """Return the formulation of a class."""
        return self.made_until(number, lambda: False)

    def made_until(self, number: int, halt: Callable[[], bool]) -> Formulation:
        """Return the formulation of a class, unless it takes too long to make.

        Parameters
        ----------
        halt
            Asked from block to block.

        Raises
        ------
        solver.problem.NotMadeError
            Once it says yes.
        """
        one = self._classes[number]
        if number not in self._made:
            openings = len(self._openings) if one.opening else 0
            with _uncollected():
                self._made[number] = _formulation(self._template, self._page, one, self._settings, openings, halt)
        return self._made[number]


class Problems(Lazily[Problem]):
    """The problems of formulations, made when they are first asked for.

    Parameters
    ----------
    formulations
        Those of all classes.
    halt
        See :meth:`Formulations.made_until`.
    """

    def __init__(self, formulations: Formulations, halt: Callable[[], bool] = lambda: False) -> None:
        self._formulations = formulations
        self._halt = halt

    def __len__(self) -> int:
        return len(self._formulations)

    def item(self, number: int) -> Problem:
        """Return the problem of a formulation."""
        return self._formulations.made_until(number, self._halt).problem


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


@contextmanager
def _uncollected() -> Iterator[None]:
    """Make much that stays, without looking through it again and again for what may go."""
    enabled = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if enabled:
            gc.enable()


@dataclass(frozen=True)
class _Class:
    """A symmetry class: its pages, and what is repeated on them; or an opening, a few of its pages."""

    members: tuple[Member, ...]
    extension: Extension | None
    opening: bool = False


def _opening(one: _Class) -> _Class:
    """Return the first page of a class alone."""
    return replace(one, members=one.members[:1], opening=True)


def _frame(page: Page, members: tuple[Member, ...]) -> tuple[Page, Member]:
    """Return the page and the member that the frame of a class is made for."""
    return flipped_page(page, members[0].flips), Member(90 if members[0].quarter else 0, False)


def _reference(template: Template, page: Page, one: _Class) -> Reference:
    """Return the frame of a class."""
    frame_page, frame_member = _frame(page, one.members)
    if one.extension is None:
        return reference_layout(template, frame_page, frame_member)
    return repeated(reference_layout(template, frame_page, frame_member, one.extension.slide), one.extension.repeat)


def _scene(template: Template, page: Page, one: _Class, settings: Settings, title: str | None = None) -> Scene:
    """Return what a class's pages are made of; with a title that lacks a spot also small free rooms for that."""
    frame_page, _ = _frame(page, one.members)
    reference = _reference(template, page, one)
    added = free_rooms(frame_page, reference, title) if settings.may("add-slot") else ()
    extension = one.extension
    drawing = template.elements if extension is None else drawn_with(template.elements, extension.repeat)
    return build_scene(frame_page, reference, one.members, added, drawing, settings.apart)


def _formulation(
    template: Template, page: Page, one: _Class, settings: Settings, openings: int, halt: Callable[[], bool]
) -> Formulation:
    members, extension = one.members, one.extension
    scene = _scene(template, page, one, settings)
    lacking = without_spot(scene, settings) if settings.may("add-slot") else ()
    title = next((item.text for item in lacking if item.is_title), None)
    if title is not None:
        scene = _scene(template, page, one, settings, title)
    if one.opening:
        settings = replace(settings, without=settings.without | SLOW)
    settings = replace(settings, panels=bool(lacking))
    scalings = scalings_left(scene, settings)
    configs = [
        list(wished_configs(scene, atom, settings, configs_left(scene, atom, settings, offered)))
        for atom, offered in ((a, block_configs(scene, a, settings, scalings)) for a in _until(halt, scene.blocks))
    ]
    panes = {atom.block: covers_of(scene, atom) for atom in scene.blocks}
    blocks, kept = [], []
    areas = area_ranks(configs, settings)
    for atom, options in _until(halt, zip(scene.blocks, configs, strict=True)):
        columns: list[Column] = []
        chosen: list[Config] = []
        for config in options:
            for column, priced in columns_of(scene, atom, config, settings, scalings, areas, panes[atom.block]):
                columns.append(column)
                chosen.append(priced)
        blocks.append(block_of(scene, atom, tuple(columns), scalings, settings))
        kept.append(tuple(chosen))
    rules: list[Rule] = [*edge_rules(scene), *lap_rules(scene), *under_rules(scene, kept), *clearing_rules(scene, kept)]
    rules += stay_rules(scene, settings)
    choices = []
    for found in apart_rules(scene):
        if isinstance(found, Rule):
            rules.append(found)
        else:
            choices.append(found)
    rates = settings.rates
    photos = settings.photos
    problem = Problem(
        name=("turned" if members[0].quarter else "upright") + (", sizes as drawn" if one.opening else ""),
        blocks=clearing_clashes(under_clashes(scene, blocks, kept), kept),
        riders=tuple(rider_of(scene, atom, settings) for atom in scene.riders),
        members=tuple(problem_member(scene, page, member, settings) for member in members),
        groups=tuple(Group(f"{s.group} ×{s.factor:g}", rates.of("resize", s.cost)) for s in scalings),
        photos=len(photos),
        texts=(
            *(TextNeed(settings.items[ids[0]].which, tuple(ids)) for ids in settings.needs),
            *shown_needs(settings),
        ),
        rules=tuple(rules),
        choices=tuple(choices),
        softs=tuple(line_costs(scene, rates.of("alignment", r.ALIGNMENT), rates.of("gap", r.GAP))),
        laps=tuple(soft_laps(scene, rates.of("overlap", r.OVERLAP_PER_PERCENT))),
        tracks=tracks(scene),
        bare=bare_cost(scene, rates),
        balance=balance_of(scene, settings),
        emphasis=tuple(
            (p, q) for p in range(len(photos)) for q in range(len(photos)) if photos[p].weight > photos[q].weight
        ),
        emphasis_cost=rates.of("emphasis", r.EMPHASIS),
        early=tuple(
            (p, q) for p in range(len(photos)) for q in range(len(photos)) if photos[p].order < photos[q].order
        ),
        order_cost=rates.of("order", r.ORDER),
        ordered=not settings.may("assign"),
        leave_out=settings.leave_out,
        left_out_cost=rates.of("left-out", r.LEFT_OUT),
        slide=slide_places(scene, settings),
        drift=DRIFT if settings.may("shift") else 0,
        drift_cost=rates.of("shift", r.DRIFT_PER_INCH * GRID / 25_400),
        areas=tuple(sorted(areas)),
        alike=alike(settings),
        rotations=tuple((m.rotate, m.mirror) for m in members),
        near=() if one.opening else nearest_columns(scene, settings, kept),
        openings=openings,
    )
    return Formulation(problem, scene, settings, tuple(kept), scalings, page, extension)


def _until(halt: Callable[[], bool], items: Iterable[T]) -> Iterator[T]:
    """Yield what there is, as long as nobody wants an end."""
    for item in items:
        if halt():
            raise NotMadeError
        yield item


def alike(settings: Settings) -> tuple[int, ...]:
    """Return the class of every photo: look-alikes share aspect, weight, keep boxes and importance."""
    classes: dict[tuple[object, ...], int] = {}
    found = []
    for photo in settings.photos:
        key = (photo.pixels[0] / photo.pixels[1], photo.weight, photo.keep, photo.detected, photo.importance)
        found.append(classes.setdefault(key, len(classes)))
    return tuple(found)
