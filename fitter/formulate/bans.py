"""Changes that are forbidden: a page as if one part of its template could not be changed (``fitter explain``).

A slot that may not be dropped is there; one that may not be divided, turned, used otherwise, resized or moved is, where
it is there, as the reference has it in this respect.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from fitter.formulate.content import Config
from fitter.formulate.groups import Rescaling, rescalings
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.formulate.settings import Settings
from fitter.formulate.wished import wished_members
from fitter.parts import Part
from fitter.reference import Member


def members_left(settings: Settings) -> tuple[Member, ...]:
    """Return the pages there are: not rotated, or not mirrored, where that is forbidden."""
    return tuple(
        member
        for member in wished_members(settings)
        if not (member.rotate and Part("rotated") in settings.forbidden)
        and not (member.mirror and Part("mirrored") in settings.forbidden)
    )


def scalings_left(scene: Scene, settings: Settings) -> tuple[Rescaling, ...]:
    """Return the common scalings: none where they are switched off or forbidden."""
    return rescalings(scene) if settings.may("scale") and Part("scaled") not in settings.forbidden else ()


def configs_left(scene: Scene, atom: Atom, settings: Settings, configs: Iterable[Config]) -> Iterator[Config]:
    """Keep what is not forbidden."""
    if not settings.forbidden:
        yield from configs
        return
    riders = scene.riders_of(atom.block)
    must = [rider for rider in riders if must_stay(rider, settings)]
    held = {rider.rider for rider in must if is_text(rider.element)}
    level = {rider.rider for rider in riders if Part("vertical", rider.element.id) in settings.forbidden}
    for config in configs:
        if any(_is(atom, config, part) for part in settings.forbidden):
            continue
        if must and config.role is None:
            continue
        if held - {carried.rider for carried in config.carried}:
            continue
        if any(carried.vertical and carried.rider in level for carried in config.carried):
            continue
        yield config


def must_stay(atom: Atom, settings: Settings) -> bool:
    """Whether something carried may not be given up."""
    return Part("dropped", atom.element.id) in settings.forbidden


def may_move(atom: Atom, settings: Settings) -> bool:
    """Whether a block may have another place than in the reference."""
    return Part("moved", atom.element.id) not in settings.forbidden


def _is(atom: Atom, config: Config, part: Part) -> bool:
    """Whether a configuration makes a change."""
    if part.kind == "added":
        return atom.added and config.role is not None
    if part.kind == "panel":
        return config.panel is not None
    element = atom.element
    if atom.added or part.slot != element.id:
        return False
    if part.kind == "dropped":
        return config.role is None
    if config.role is None:
        return False
    changed = {
        "role": config.role != element.role,
        "divided": config.division is not None,
        "turned": config.turned,
        "vertical": config.vertical,
        "resized": config.size != (element.size[::-1] if config.turned else element.size),
    }
    return changed.get(part.kind, False)
