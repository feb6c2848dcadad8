"""How a photo shows in a configuration: its crop window and what of it is lost, on each page of a class.

One function decides both what a column costs and what :mod:`fitter.place` writes.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache

from fitter.crops import Importance, PixelBox, importance_of, seen_part
from fitter.formulate import rates
from fitter.formulate.columns import keep_boxes
from fitter.formulate.content import Config, piece_boxes
from fitter.formulate.keeps import Cover, Pane, choose_window, has_corner, panel_spots, share_under
from fitter.formulate.panes import pane_of
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.size_grid import overshoot
from fitter.formulate.under import shaded_share, shades_of, slot_shape
from fitter.units import nearest


@dataclass(frozen=True)
class Sight:
    """A photo in a slot.

    Parameters
    ----------
    window
        The crop: left, top, right and bottom in pixels.
    loss
        Its crop loss.
    hiding
        What would hide a keep box if it were there.
    panel
        Box of the words on it, in the slot's frame.
    """

    window: PixelBox
    loss: int
    hiding: tuple[Cover, ...] = ()
    panel: PixelBox | None = None


def sights_of(
    scene: Scene,
    atom: Atom,
    config: Config,
    settings: Settings,
    number: int,
    covers: tuple[tuple[Atom, str], ...],
) -> tuple[Sight | None, ...]:
    """Return how a photo of a configuration shows on each page of the class.

    Parameters
    ----------
    number
        Of the photo.
    covers
        Everything that may lie on the block, there or not.

    Returns
    -------
    tuple
        For each member; ``None`` where a keep box cannot be shown (R5) or there is no room for the words.
    """
    bound = config.panel is not None or config.under is not None or keep_boxes(settings, config, number)
    inside = atom.element.tilt or not any(overshoot(scene, atom.element))
    # Where nothing is to be kept clear of anything, what lies on the slot does not matter.
    whole = pane_of(scene, atom, config, covers) if bound or not inside else Pane(config.size)
    if config.panel is not None and not has_corner(whole, (config.panel.width, config.panel.height)):
        return (None,) * len(scene.members)
    if config.under is None and whole.symmetric:
        sight = _sight(atom, config, settings, number, _own(whole, config, settings, number), (False, False), covers)
        return (sight,) * len(scene.members)
    known: dict[tuple[bool, bool], Sight | None] = {}
    for member in scene.members:
        if member.flips not in known:
            pane = _own(whole.flipped(member.flips), config, settings, number)
            known[member.flips] = _sight(atom, config, settings, number, pane, member.flips, covers)
    return tuple(known[member.flips] for member in scene.members)


def _own(pane: Pane, config: Config, settings: Settings, number: int) -> Pane:
    """Return the part of a pane that one photo has."""
    if config.division is None:
        return pane
    boxes = piece_boxes(config.size, config.division, [settings.photos[n] for n in config.photos])
    return pane.part(boxes[config.photos.index(number)])


def _sight(
    atom: Atom,
    config: Config,
    settings: Settings,
    number: int,
    pane: Pane,
    flips: tuple[bool, bool],
    covers: tuple[tuple[Atom, str], ...],
) -> Sight | None:
    photo = settings.photos[number]
    keep = keep_boxes(settings, config, number)
    given_up = photo.detected if ("R5", number) in config.waived else ()
    shades = () if config.under is None else shades_of(atom, config.under, covers, flips)
    found = choose_window(
        photo,
        keep,
        pane,
        given_up=given_up,
        fixed=not settings.may("crop"),
        shades=tuple(shade.box for shade in shades if shade.straight),
    )
    if found is None:
        return None
    window, hiding = found
    slot = pane.size if any(pane.beyond) else (1, 1)
    loss, kept = _cut(importance_of(photo.importance), photo.pixels, photo.weight, window, slot, pane.beyond)
    covered, spot = Fraction(0), None
    if config.panel is not None:
        spots = panel_spots(photo, keep, window, pane, (config.panel.width, config.panel.height))
        if photo.importance:
            spot = min(spots, key=lambda box: share_under(photo, window, pane, box), default=None)
        else:
            spot = next(spots, None)  # it hides as much anywhere
        if spot is None:
            return None
        covered = share_under(photo, window, pane, spot)
    if shades:
        covered = shaded_share(photo, window, pane, slot_shape(atom.element, flips), shades)
    if covered:
        loss += nearest(_price(photo.weight) * kept * min(Fraction(1), covered))
    return Sight(window, loss, hiding, spot)


@lru_cache(maxsize=1 << 16)
def _cut(
    importance: Importance,
    pixels: tuple[int, int],
    weight: float,
    window: PixelBox,
    slot: tuple[int, int],
    beyond: tuple[int, int, int, int],
) -> tuple[int, Fraction]:
    """Return the cost of what a window and the trim cut away, and the share they leave."""
    kept = importance.share(*seen_part(pixels, window, slot, beyond))
    return nearest(_price(weight) * (1 - kept)), kept


@lru_cache(maxsize=1 << 8)
def _price(weight: float) -> Fraction:
    """Return the cost of a whole photo; weights are the decimals written."""
    return rates.CROP_LOSS * Fraction(repr(float(weight)))
