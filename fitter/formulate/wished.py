"""R9, wishes: photos that are pinned, slots that stay or are avoided, photos that become bigger or smaller.

Columns that go against a wish are never generated; a slot that stays has rows for its place.  How far a page departs
from the one it starts from is a cost of columns (``departure``), and of the page's turning.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from fitter.formulate import rates
from fitter.formulate.content import Config, piece_boxes
from fitter.formulate.expr import between
from fitter.formulate.scene import GRID, Atom, Scene
from fitter.formulate.settings import Settings
from fitter.layout import Before, Start
from fitter.reference import MEMBERS, Member
from solver.problem import Row, Rule, TextNeed

NEVER = Row((), 1, None)
"""A row that nothing keeps."""


def wished_members(settings: Settings) -> tuple[Member, ...]:
    """Return the pages there are: where a slot stays, only those turned and mirrored as the one started from."""
    start = settings.wishes.start
    if start is None or not settings.wishes.stay:
        return MEMBERS
    return tuple(m for m in MEMBERS if (m.rotate, m.mirror) == (start.rotate, start.mirror))


def wished_configs(scene: Scene, atom: Atom, settings: Settings, configs: Iterable[Config]) -> Iterator[Config]:
    """Keep what suits the wishes, and charge what departs from the page started from."""
    wishes = settings.wishes
    before = None if atom.added else settings.before(atom.element.id)
    homes = {settings.number_of(file): slot for file, slot in wishes.pins}
    limits = _area_limits(settings)
    spots = {rider.rider for rider in scene.riders_of(atom.block) if rider.element.id in wishes.avoid}
    avoided = atom.element.id in wishes.avoid
    stays = atom.element.id in wishes.stay
    for config in configs:
        if any(homes.get(n, atom.element.id) != atom.element.id for n in config.photos):
            continue
        if avoided and (config.photos or config.item is not None):
            continue
        if any(carried.rider in spots for carried in config.carried):
            continue
        if limits and not _sizes_suit(config, settings, limits):
            continue
        if before is None:
            yield config
            continue
        if stays and not _is_as_before(config, settings, before):
            continue
        charge = departure(config, settings, before)
        yield replace(config, terms={**config.terms, "departure": charge}) if charge else config


def wished_companies(settings: Settings, slot: str) -> tuple[tuple[int, ...], ...]:
    """Return the photos that wishes want together in a slot: those pinned there, those there before if it stays."""
    pinned = [settings.number_of(file) for file, where in settings.wishes.pins if where == slot]
    found = [tuple(sorted(pinned, key=lambda n: settings.photos[n].order))]
    before = settings.before(slot) if slot in settings.wishes.stay else None
    if before is not None:
        numbers = {photo.sha256: n for n, photo in enumerate(settings.photos)}
        found.append(tuple(numbers[photo.sha256] for photo in before.photos))
    return tuple(company for company in found if len(company) > 1)


def stay_rules(scene: Scene, settings: Settings) -> Iterator[Rule]:
    """R9: a slot that stays is where it was."""
    for atom in scene.blocks:
        if atom.element.id not in settings.wishes.stay:
            continue
        before = settings.before(atom.element.id)
        if before is None or before.role is None:
            continue
        rows = []
        for axis in (0, 1):
            where = before.center[axis]
            if scene.members[0].flips[axis]:
                where = scene.page.trim[axis] - where
            on_grid = (where - atom.element.center[axis]) % GRID == 0
            rows.append(between(scene.center(atom, axis), where, where) if on_grid else NEVER)
        yield Rule("R9", tuple(rows), (atom.lit,))


def wished_photos(settings: Settings) -> frozenset[int]:
    """Return the photos that may not be left out, for a wish speaks of them."""
    wishes = settings.wishes
    if not settings.leave_out:
        return frozenset()
    files = (*(file for file, _ in wishes.pins), *wishes.bigger, *wishes.smaller)
    return frozenset(settings.number_of(file) for file in files)


def shown_needs(settings: Settings) -> tuple[TextNeed, ...]:
    """R9: what says that photos are there: each counts as words of its own that have to be set."""
    return tuple(TextNeed(settings.photos[n].file, (shown_id(settings, n),)) for n in sorted(wished_photos(settings)))


def shown_id(settings: Settings, number: int) -> int:
    """Return the number under which a photo counts as words."""
    return len(settings.items) + number


def nearest_columns(scene: Scene, settings: Settings, kept: Sequence[Sequence[Config]]) -> tuple[tuple[int, ...], ...]:
    """Return, per block, the columns that depart least from the page started from; none in a class that is without it.

    Parameters
    ----------
    kept
        Per block, the configuration of each column.
    """
    start = settings.wishes.start
    if start is None or all(page_departure(start, member) for member in scene.members):
        return ()
    found = []
    for configs in kept:
        charges = [config.terms.get("departure", 0) for config in configs]
        found.append(tuple(j for j, charge in enumerate(charges) if charge == min(charges)))
    return tuple(found)


def page_departure(start: Start | None, member: Member) -> int:
    """Return what it costs that a page is turned or mirrored otherwise than the one started from."""
    same = start is None or (start.rotate, start.mirror) == (member.rotate, member.mirror)
    return 0 if same else rates.DEPARTURE


def departure(config: Config, settings: Settings, before: Before) -> int:
    """Return what it costs that a slot holds something else than before, or the same in another size."""
    if not _same_content(config, settings, before):
        return rates.DEPARTURE
    return 0 if config.role is None or config.size == before.size else rates.DEPARTURE_SIZE


def _same_content(config: Config, settings: Settings, before: Before) -> bool:
    words = () if config.item is None else (settings.items[config.item].which,)
    kind = None if config.division is None else config.division.kind
    hashes = [settings.photos[n].sha256 for n in config.photos]
    return (config.role, kind, words) == (before.role, before.division, before.words) and hashes == [
        photo.sha256 for photo in before.photos
    ]


def _is_as_before(config: Config, settings: Settings, before: Before) -> bool:
    same = _same_content(config, settings, before)
    return same and (config.role is None or (config.size, config.turned) == (before.size, before.turned))


def _area_limits(settings: Settings) -> dict[int, tuple[Fraction, Fraction | None]]:
    """Return the least and the most area of the photos that are to become bigger or smaller."""
    found: dict[int, tuple[Fraction, Fraction | None]] = {}
    for file in (*settings.wishes.bigger, *settings.wishes.smaller):
        number = settings.number_of(file)
        area = settings.area_before(number)
        bigger = file in settings.wishes.bigger
        found[number] = (Fraction(11 * area, 10), None) if bigger else (Fraction(0), Fraction(9 * area, 10))
    return found


def _sizes_suit(config: Config, settings: Settings, limits: dict[int, tuple[Fraction, Fraction | None]]) -> bool:
    concerned = [n for n in config.photos if n in limits]
    if not concerned:
        return True
    areas = {config.photos[0]: config.size[0] * config.size[1]}
    if config.division is not None:
        boxes = piece_boxes(config.size, config.division, [settings.photos[n] for n in config.photos])
        areas = {n: box[2] * box[3] for n, box in zip(config.photos, boxes, strict=True)}
    for number in concerned:
        low, high = limits[number]
        if areas[number] < low or (high is not None and areas[number] > high):
            return False
    return True
