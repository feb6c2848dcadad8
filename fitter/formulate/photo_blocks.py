"""Photos in a block: one, or several that share it; R4–R6 and R8 for photos, one function per kind."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from fitter.formulate import rates
from fitter.formulate.content import Config, photo_prices
from fitter.formulate.divided_blocks import MOST_PIECES, companies, divided, most_pieces
from fitter.formulate.groups import Rescaling
from fitter.formulate.relations import overlapping, related_pairs
from fitter.formulate.scene import Atom, Scene, is_text
from fitter.formulate.settings import Settings
from fitter.formulate.size_grid import SMALLEST_PHOTO, Grid, size_grid, with_turns
from fitter.formulate.text_blocks import with_words
from fitter.formulate.under import ways_under
from fitter.formulate.wished import wished_companies


def photo_configs(scene: Scene, atom: Atom, settings: Settings, scalings: tuple[Rescaling, ...]) -> Iterator[Config]:
    """One photo, or several in a row, a column or a grid."""
    element = atom.element
    covered = is_covered(scene, atom)
    if not settings.photos:
        return
    swap = {"swap-role": rates.SWAP_ROLE} if element.role != "photo" else {}
    spots = [r for r in scene.riders_of(atom.block) if is_text(r.element)]
    grid = with_turns(element, size_grid(scene, atom, settings, scalings, SMALLEST_PHOTO, free=True), settings)
    if not len(grid.width):
        return
    if element.role != "photo" and covered:
        yield from _under_others(scene, atom, settings, grid, swap)
        return
    for number in range(len(settings.photos)):
        yield from single_photo(scene, atom, settings, grid, number, swap)
    dividable = element.shape == "rect" and not element.tilt and not element.limits.fixed
    if settings.may("add-slot") and dividable and not covered and not spots:
        slots = scene.photo_slots - settings.panels
        pieces = range(2, most_pieces(scene, settings) + 1)
        offered = [chosen for count in pieces for chosen in companies(settings, count, slots)]
        wished = [chosen for chosen in wished_companies(settings, element.id) if len(chosen) <= MOST_PIECES]
        for chosen in dict.fromkeys((*offered, *wished)):
            yield from divided(scene, atom, settings, grid, chosen, swap)


def single_photo(
    scene: Scene,
    atom: Atom,
    settings: Settings,
    grid: Grid,
    number: int,
    swap: dict[str, int],
) -> Iterator[Config]:
    """One photo in a block, in every size that keeps its resolution (R8)."""
    photo = settings.photos[number]
    low, ppi, _ = photo_prices(photo, grid.width, grid.height, settings.target_ppi)
    waivable = "R8" in settings.waive
    for i in range(len(grid.width)):
        waived: tuple[tuple[str, int], ...] = ()
        if ppi[i] < settings.min_ppi:
            if not waivable:
                continue
            waived = (("R8", number),)
        terms = {"ppi": int(low[i]), "resize": int(grid.resize[i]), **swap}
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
        yield from with_words(scene, atom, settings, base)


def _under_others(scene: Scene, atom: Atom, settings: Settings, grid: Grid, swap: dict[str, int]) -> Iterator[Config]:
    """R3: one photo in a slot drawn for something else, under what lies on that."""
    grid = grid.pick((grid.width == atom.element.size[0]) & (grid.height == atom.element.size[1]))
    for under in ways_under(scene, atom):
        for number in range(len(settings.photos)):
            for config in single_photo(scene, atom, settings, grid, number, swap):
                if config.panel is None:
                    yield replace(config, under=under)


def is_covered(scene: Scene, atom: Atom) -> bool:
    """Whether anything but what it carries lies on a block in the reference."""
    return any(lower is atom and overlapping(scene, lower, upper) for lower, upper in related_pairs(scene))
