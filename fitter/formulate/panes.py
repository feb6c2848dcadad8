"""The visible part of a block in a configuration: what may lie on it, and R5 for its photos."""

from __future__ import annotations

from fitter.formulate.content import Config, piece_boxes
from fitter.formulate.keeps import Cover, Pane, choose_window, panel_spot
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.settings import Settings
from fitter.formulate.text_blocks import carried_scale
from fitter.layout import Box
from fitter.reference_boxes import extents
from fitter.template import Element
from solver.problem import Lit


def pane_of(scene: Scene, atom: Atom, config: Config, covers: tuple[tuple[Atom, str], ...]) -> Pane:
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


def keep_limits(
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
