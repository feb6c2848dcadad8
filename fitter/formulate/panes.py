"""The visible part of a block in a configuration: its shape, the trim, and what may lie on it."""

from __future__ import annotations

from dataclasses import replace

from fitter.formulate.content import Config
from fitter.formulate.keeps import Cover, Pane, Rect
from fitter.formulate.scene import Atom, Scene
from fitter.formulate.size_grid import overshoot
from fitter.formulate.text_blocks import carried_scale
from fitter.reference_boxes import extents, turn
from fitter.template import Element
from fitter.units import nearest

_SLACK = 50.0
"""Micrometres that rounding may move what lies on a slot."""


def pane_of(scene: Scene, atom: Atom, config: Config, covers: tuple[tuple[Atom, str], ...]) -> Pane:
    """Return the visible part of a block in a configuration, with everything that may cover it.

    What goes when the photo comes (``Config.under``) does not count.
    """
    element = atom.element
    w, h = config.size
    (left, top, right, bottom), safe = element.box, scene.page.safe
    insets = [0.0, 0.0, 0.0, 0.0]
    if "left" in element.bleeds:
        insets[0] = safe[0] - left
    if "top" in element.bleeds:
        insets[1] = safe[1] - top
    if "right" in element.bleeds:
        insets[2] = right - safe[2]
    if "bottom" in element.bleeds:
        insets[3] = bottom - safe[3]
    gone = () if config.under is None else config.under.go
    scale = carried_scale(element, config.size)
    found = tuple(
        Cover(_cover_rect(atom, upper, (w, h), scale, how), *(upper.lit[:2]))
        for upper, how in covers
        if upper.block not in gone
    )
    return Pane(
        config.size,
        room=(insets[0] / w, insets[1] / h, 1 - insets[2] / w, 1 - insets[3] / h),
        beyond=(0, 0, 0, 0) if element.tilt else overshoot(scene, element),
        round=element.shape == "ellipse",
        outline=tuple((x * w / element.size[0] + w / 2, y * h / element.size[1] + h / 2) for x, y in element.outline),
        covers=found,
    )


def _cover_rect(lower: Atom, upper: Atom, size: tuple[int, int], scale: float, how: str) -> Rect:
    """Return the part of a slot that something on it can hide, in the slot's frame, on the safe side."""
    under, over = lower.element, in_frame_of(lower.element, upper.element)
    box, whole = extents(over), (0.0, 0.0, float(size[0]), float(size[1]))
    straight = not under.tilt and under.shape == "rect" and not upper.element.tilt and upper.element.shape == "rect"
    contained = _inside(upper.element.box, under.box) or _inside(under.box, upper.element.box)
    if how == "lap" and not straight and (contained or upper.part == "rider"):
        return whole
    spans = []
    for axis in (0, 1):
        low, high = box[axis] - under.box[axis], box[axis + 2] - under.box[axis]
        full, length = under.size[axis], size[axis]
        if how == "rider":
            if over.center[axis] <= under.center[axis]:
                spans.append((low * scale - _SLACK, high * scale + _SLACK))
            else:
                spans.append((length - (full - low) * scale - _SLACK, length - (full - high) * scale + _SLACK))
        elif not straight:
            # They move together and do not grow: what lies where is known from the middle.
            spans.append((low + (length - full) / 2 - _SLACK, high + (length - full) / 2 + _SLACK))
        elif low <= 0 and high < full:
            spans.append((0.0, high + _SLACK))
        elif high >= full and low > 0:
            spans.append((length - (full - low) - _SLACK, float(length)))
        else:
            spans.append((0.0, float(length)))
    return spans[0][0], spans[1][0], spans[0][1], spans[1][1]


def in_frame_of(under: Element, over: Element) -> Element:
    """Return an element as it lies when another one is turned level about its centre."""
    if not under.tilt:
        return over
    (ux, uy), (x, y) = under.center, over.center
    dx, dy = turn((x - ux, y - uy), -under.tilt)
    return replace(over, center=(ux + nearest(dx), uy + nearest(dy)), tilt=over.tilt - under.tilt)


def _inside(inner: tuple[int, int, int, int], outer: tuple[int, int, int, int]) -> bool:
    near = all(inner[axis] >= outer[axis] - _SLACK for axis in (0, 1))
    return near and all(inner[axis] <= outer[axis] + _SLACK for axis in (2, 3))
