"""The proof: the page on a neutral ground, with guides, heading, legend and changes outside it."""

from __future__ import annotations

import math
import os
from dataclasses import dataclass
from pathlib import Path

from PIL import Image, ImageDraw, ImageFilter

from fitter.layout import Layout, Placed
from fitter.proof import figures
from fitter.proof.guides import dim_bleed, draw_guides, draw_legend, legend_width
from fitter.proof.page import checked_canvas, draw_page
from fitter.proof.photo import Opener, open_photo
from fitter.proof.shapes import Canvas
from fitter.proof.type import BOLD, REGULAR, draw_label, label_width, shorten, wrap_label

GROUND = (238, 237, 234)
INK = (44, 42, 40)
QUIET = (118, 113, 107)
RULE = (208, 205, 199)
_SHADOW = (60, 54, 48)


@dataclass(frozen=True)
class Frame:
    """Measures of the frame in pixels, all from ``unit``, a hundredth of the page's side."""

    unit: float
    page: tuple[int, int]

    @property
    def side(self) -> int:
        """Room left and right of the page."""
        return math.ceil(self.unit * 6.5)

    @property
    def width(self) -> int:
        """Width of the proof."""
        return self.page[0] + 2 * self.side

    @property
    def text(self) -> float:
        """Size of small type."""
        return self.unit * 1.5


def draw_proof(
    layout: Layout,
    *,
    base: str | os.PathLike[str],
    ppi: int = 150,
    plain: bool = False,
    numbers: bool = False,
    opener: Opener = open_photo,
) -> Image.Image:
    """Draw a proof of a layout.

    Parameters
    ----------
    layout
        The page, as written.
    base
        Folder the photos' file names are relative to: the layout file's.
    ppi
        Pixels per inch.
    plain
        The bleed box alone, without ground, guides, heading and legend.
    numbers
        Small numbers on the elements, keyed to a slot list below the page.
    opener
        Opens a photo as seen, at least so large.

    Returns
    -------
    PIL.Image.Image
        RGB.

    Raises
    ------
    InputError
        When a photo is missing or is not the one the layout speaks of, or a fill is unknown.
    UseError
        When the resolution is out of reach.
    """
    canvas = checked_canvas(layout, ppi)
    page = draw_page(layout, canvas, Path(base), opener)
    if plain:
        return page
    frame = Frame(math.sqrt(canvas.size[0] * canvas.size[1]) / 100, canvas.size)
    heading = _heading_rows(layout, frame)
    numbered = [e for e in layout.elements if e.role != "background"] if numbers else []
    foot = _foot_lines(layout, frame)
    slots = _slot_columns(numbered, frame)
    u = frame.unit
    top = math.ceil(u * (8.6 + 4.7 * len(heading)))
    legend_rows = 1 if legend_width(layout.page, frame.text) <= frame.page[0] else 2
    bottom = math.ceil(
        u * (7.4 + 2.5 * (legend_rows - 1))
        + len(foot) * u * 2.15
        + (u * 2 + len(slots) * u * 2.1 if slots else 0)
    )
    image = Image.new("RGB", (frame.width, top + frame.page[1] + bottom), GROUND)
    at = (frame.side, top)
    page_shadow(image, at, frame)
    image.paste(page, at)
    del page
    dim_bleed(image, canvas, at, GROUND)
    draw_guides(image, canvas, at, u)
    _draw_heading(image, layout, frame, heading)
    y = _draw_foot(image, layout, frame, top + frame.page[1], foot, legend_rows)
    _draw_slots(image, slots, frame, y)
    _draw_numbers(image, numbered, canvas, at, frame)
    return image


def page_shadow(image: Image.Image, at: tuple[int, int], frame: Frame) -> None:
    """Lay a soft shadow under the sheet."""
    factor = max(1, int(frame.unit / 3))
    blur = frame.unit * 0.9
    pad = math.ceil(blur * 3)
    size = frame.page[0] + 2 * pad, frame.page[1] + 2 * pad
    small = Image.new("L", (-(-size[0] // factor), -(-size[1] // factor)))
    box = [pad / factor, pad / factor, (pad + frame.page[0]) / factor, (pad + frame.page[1]) / factor]
    ImageDraw.Draw(small).rectangle(box, fill=72)
    small = small.filter(ImageFilter.GaussianBlur(blur / factor))
    mask = small.resize(size, Image.Resampling.BILINEAR)
    image.paste(_SHADOW, (at[0] - pad, at[1] - pad + round(frame.unit * 0.5)), mask)


def _heading_rows(layout: Layout, frame: Frame) -> list[list[tuple[str, str, float]]]:
    """Break the key figures into rows that fit; each with caption, value and width."""
    rows: list[list[tuple[str, str, float]]] = [[]]
    used = 0.0
    for caption, value in figures.key_figures(layout):
        width = max(
            label_width(value, BOLD, frame.unit * 1.75), label_width(caption, REGULAR, frame.unit * 1.3)
        )
        if rows[-1] and used + width > frame.page[0]:
            rows.append([])
            used = 0.0
        rows[-1].append((caption, value, width))
        used += width + frame.unit * 2.4
    return rows


def _draw_heading(
    image: Image.Image, layout: Layout, frame: Frame, rows: list[list[tuple[str, str, float]]]
) -> None:
    u = frame.unit
    name = shorten(layout.template.name, frame.page[0], BOLD, u * 3.1)
    draw_label(image, (frame.side, u * 5.8), name, INK, pixels=u * 3.1, family=BOLD)
    for number, row in enumerate(rows):
        x, y = float(frame.side), u * (9.6 + 4.7 * number)
        gap = u * 2.4
        for index, (caption, value, width) in enumerate(row):
            if index:
                line = round(x - gap / 2)
                image.paste(
                    RULE, (line, round(y - u * 1.6), line + max(1, round(u * 0.06)), round(y + u * 1.75))
                )
            draw_label(image, (x, y - u * 0.45), caption, QUIET, pixels=u * 1.3)
            draw_label(image, (x, y + u * 1.7), value, INK, pixels=u * 1.75, family=BOLD)
            x += width + gap


def _foot_lines(layout: Layout, frame: Frame) -> list[tuple[str, bool]]:
    """Return the lines that tell what was changed, and whether each starts a sentence."""
    lines: list[tuple[str, bool]] = []
    for sentence in figures.change_words(layout):
        wrapped = wrap_label(sentence, frame.page[0] - frame.unit * 2, REGULAR, frame.text)
        lines += [(line, index == 0) for index, line in enumerate(wrapped)]
    return lines


def _draw_foot(
    image: Image.Image, layout: Layout, frame: Frame, start: int, lines: list[tuple[str, bool]], rows: int
) -> float:
    """Draw legend and changes below the page; return where the next line would start."""
    u = frame.unit
    y = start + u * 3.2
    pixels = (
        frame.text
        if rows == 1
        else frame.text * min(1.0, frame.page[0] / legend_width(layout.page, frame.text))
    )
    draw_legend(image, layout.page, (frame.side, y), pixels, QUIET)
    y += u * 1.5
    image.paste(RULE, (frame.side, round(y), frame.side + frame.page[0], round(y) + max(1, round(u * 0.06))))
    y += u * 2.2
    for line, first in lines:
        if first:
            side = max(2, round(u * 0.42))
            dot = Image.new("L", (side * 4, side * 4))
            ImageDraw.Draw(dot).ellipse((0, 0, side * 4 - 1, side * 4 - 1), fill=255)
            image.paste(QUIET, (frame.side, round(y - u * 0.62)), dot.reduce(4))
        draw_label(image, (frame.side + u * 1.5, y), line, INK, pixels=frame.text)
        y += u * 2.15
    return y


def _slot_columns(numbered: list[Placed], frame: Frame) -> list[list[tuple[int, str]]]:
    """Return the slot list as rows of numbered entries."""
    if not numbered:
        return []
    entries = [(number, figures.slot_words(element)) for number, element in enumerate(numbered, 1)]
    widest = max(label_width(words, REGULAR, frame.text) for _, words in entries) + frame.unit * 4
    columns = max(1, min(3, int(frame.page[0] / widest)))
    rows = -(-len(entries) // columns)
    return [entries[row::rows] for row in range(rows)]


def _draw_slots(image: Image.Image, rows: list[list[tuple[int, str]]], frame: Frame, start: float) -> None:
    if not rows:
        return
    u = frame.unit
    y = start + u * 1.2
    step = frame.page[0] / max(len(row) for row in rows)
    for row in rows:
        for index, (number, words) in enumerate(row):
            x = frame.side + index * step
            draw_label(
                image, (x + u * 1.6, y), str(number), QUIET, pixels=frame.text, family=BOLD, align="right"
            )
            room = step - u * 3
            draw_label(
                image, (x + u * 2.2, y), shorten(words, room, REGULAR, frame.text), INK, pixels=frame.text
            )
        y += u * 2.1


def _draw_numbers(
    image: Image.Image, numbered: list[Placed], canvas: Canvas, at: tuple[int, int], frame: Frame
) -> None:
    """Set a small numbered disc in the upper left of each element's visible part."""
    u = frame.unit
    radius = u * 1.05
    side = math.ceil(radius * 2)
    disc = Image.new("L", (side * 8, side * 8))
    ImageDraw.Draw(disc).ellipse((0, 0, side * 8 - 1, side * 8 - 1), fill=225)
    disc = disc.reduce(8)
    taken: list[tuple[float, float]] = []
    for number, element in enumerate(numbered, 1):
        left, top, right, bottom = canvas.box(element.box)
        x = max(left, 0) + min((right - left) / 2, u * 2.4)
        y = max(top, 0) + min((bottom - top) / 2, u * 2.4)
        while any(abs(x - a) < side and abs(y - b) < side for a, b in taken):
            x += side * 1.05
        taken.append((x, y))
        corner = round(at[0] + x - side / 2), round(at[1] + y - side / 2)
        image.paste((255, 255, 255), corner, disc)
        place = (at[0] + x, at[1] + y + u * 0.44)
        draw_label(image, place, str(number), INK, pixels=u * 1.25, family=BOLD, align="center")
