"""The contact sheet: photos side by side with what the program believes about them.

Enters: cells with a small picture, marks and words.  Leaves: a picture.  Decides nothing.

Each kind of mark has its own colour and its own line.  Ticks along the top and left of a photo count its tenths, in
which corrections are written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from PIL import Image, ImageDraw

from fitter.photos import Mark
from fitter.proof.frame import GROUND, INK, QUIET, RULE, Frame, page_shadow
from fitter.proof.guides import BLEED, SAFE, TRIM, Guide, draw_box, draw_samples
from fitter.proof.type import BOLD, REGULAR, draw_label, shorten, wrap_label

ACROSS, DOWN = 5, 6
PER_SHEET = ACROSS * DOWN
PICTURE = (372, 279)
"""Room for a photo in pixels."""
GUIDES = (
    Guide("face, kept", "solid", TRIM),
    Guide("subject or correction, kept", "dashed", SAFE),
    Guide("found or aimed at, kept where possible", "dotted", BLEED),
)
_SIDE, _GAP = 72, 36
_HEAD, _FOOT = 190, 40
_NAME, _LINE = 17.0, 14.5
_LEADING = 20
_LINES, _MOST_WARNING = 4, 3
_CAPTION = 34 + _LEADING * (_LINES - 1) + 22
_ROOM = 12
"""Distance of the ticks' outer end from the room's edge."""
_WIDTH, _UNIT = 2, 9.0
_FADED = 0.68
_WARNING = (160, 60, 20)


@dataclass(frozen=True)
class Cell:
    """One photo of the sheet.

    Parameters
    ----------
    number
        By which the table and other cells speak of it.
    name
        File name.
    lines
        Words below it; what follows the last fitting line is cut.
    marks
        Regions with what they show.
    warning
        What is wrong with it, below the other words; a line of photos with a warning among them is higher.
    faded
        Whether it is left out.
    problem
        Why there is no picture; empty if there is one.
    """

    number: int
    name: str
    lines: tuple[str, ...] = ()
    marks: tuple[Mark, ...] = ()
    warning: str = ""
    faded: bool = False
    problem: str = ""


def draw_contact_sheet(
    cells: Sequence[Cell], picture: Callable[[Cell], Image.Image], *, title: str, summary: str
) -> Image.Image:
    """Draw one sheet.

    Parameters
    ----------
    cells
        Up to :data:`PER_SHEET`.
    picture
        Returns a cell's photo as seen, RGB; not called for cells with a problem.
    title, summary
        Words at the top.

    Returns
    -------
    PIL.Image.Image
        RGB, five photos across; as high as it needs to be.
    """
    rows = [cells[start : start + ACROSS] for start in range(0, len(cells), ACROSS)]
    heights = [PICTURE[1] + _CAPTION + _LEADING * max(len(_warning(cell)) for cell in row) for row in rows]
    across = min(ACROSS, max(len(cells), 3))
    width = 2 * _SIDE + across * PICTURE[0] + (across - 1) * _GAP
    image = Image.new("RGB", (width, _HEAD + sum(heights) + _FOOT), GROUND)
    room = width - 2 * _SIDE
    draw_label(image, (_SIDE, 78), shorten(title, room, BOLD, 38), INK, pixels=38, family=BOLD)
    draw_label(image, (_SIDE, 112), shorten(summary, room, REGULAR, 19), QUIET, pixels=19)
    draw_samples(image, GUIDES, (_SIDE, 147), 16, QUIET)
    image.paste(RULE, (_SIDE, 163, width - _SIDE, 164))
    y = _HEAD
    for row, height in zip(rows, heights, strict=True):
        for column, cell in enumerate(row):
            _draw_cell(image, cell, picture, (_SIDE + column * (PICTURE[0] + _GAP), y))
        y += height
    return image


def guide_of(mark: Mark) -> Guide:
    """Return the line a mark is drawn with."""
    if mark.source in ("camera", "found"):
        return GUIDES[2]
    return GUIDES[0] if mark.kind == "face" else GUIDES[1]


def _draw_cell(image: Image.Image, cell: Cell, picture: Callable[[Cell], Image.Image], at: tuple[int, int]) -> None:
    room = PICTURE[0] - _ROOM, PICTURE[1] - _ROOM
    if cell.problem:
        _draw_gap(image, cell, (at[0] + _ROOM, at[1] + _ROOM, at[0] + PICTURE[0], at[1] + PICTURE[1]))
    else:
        photo = picture(cell)
        scale = min(room[0] / photo.width, room[1] / photo.height)
        size = max(1, round(photo.width * scale)), max(1, round(photo.height * scale))
        photo = photo.resize(size, Image.Resampling.LANCZOS)
        if cell.faded:
            photo = Image.blend(photo, Image.new("RGB", size, GROUND), _FADED)
        # All photos of a row stand on one line.
        left, top = at[0] + _ROOM, at[1] + PICTURE[1] - size[1]
        page_shadow(image, (left, top), Frame(5.0, size))
        image.paste(photo, (left, top))
        _draw_ticks(image, (left, top), size)
        for mark in cell.marks:
            _draw_mark(image, mark, (left, top), size)
    x, y = at[0] + _ROOM, at[1] + PICTURE[1] + 30
    used = draw_label(image, (x, y), f"{cell.number}", QUIET, pixels=_NAME, family=BOLD) + 9
    name = shorten(cell.name, room[0] - used, BOLD, _NAME)
    draw_label(image, (x + used, y), name, INK, pixels=_NAME, family=BOLD)
    lines = [(shorten(line, room[0], REGULAR, _LINE), QUIET) for line in cell.lines[: _LINES - 1]]
    lines += [(line, _WARNING) for line in _warning(cell)]
    for number, (line, ink) in enumerate(lines, 1):
        draw_label(image, (x, y + 2 + number * _LEADING), line, ink, pixels=_LINE)


def _warning(cell: Cell) -> list[str]:
    """Return a cell's warning in lines."""
    return wrap_label(cell.warning, PICTURE[0] - _ROOM, REGULAR, _LINE, most=_MOST_WARNING)


def _draw_ticks(image: Image.Image, at: tuple[int, int], size: tuple[int, int]) -> None:
    """Draw the tenths of a photo outside its top and left edges, the middle one longer."""
    for tenth in range(11):
        length = 6 if tenth in (0, 5, 10) else 3
        x = at[0] + round((size[0] - 1) * tenth / 10)
        y = at[1] + round((size[1] - 1) * tenth / 10)
        image.paste(QUIET, (x, at[1] - 3 - length, x + 1, at[1] - 3))
        image.paste(QUIET, (at[0] - 3 - length, y, at[0] - 3, y + 1))


def _draw_mark(image: Image.Image, mark: Mark, at: tuple[int, int], size: tuple[int, int]) -> None:
    """Draw a mark's line around its box, on a pale ground that shows on any photo."""
    x, y, w, h = mark.box
    reach = _WIDTH + 2
    left, top = round(at[0] + x * size[0]), round(at[1] + y * size[1])
    right, bottom = round(at[0] + (x + w) * size[0]), round(at[1] + (y + h) * size[1])
    left, top = max(left, at[0] + reach), max(top, at[1] + reach)
    right = max(left + 2, min(right, at[0] + size[0] - reach))
    bottom = max(top + 2, min(bottom, at[1] + size[1] - reach))
    outside = (left - reach, top - reach, right + reach, bottom + reach)
    ring = Image.new("L", (outside[2] - outside[0], outside[3] - outside[1]))
    ImageDraw.Draw(ring).rectangle((0, 0, ring.width - 1, ring.height - 1), outline=175, width=reach)
    image.paste((255, 255, 255), outside, ring)
    draw_box(image, (left - 1, top - 1, right + 1, bottom + 1), guide_of(mark), _WIDTH, _UNIT)


def _draw_gap(image: Image.Image, cell: Cell, box: tuple[int, int, int, int]) -> None:
    """Draw an empty frame that says why there is no picture."""
    ImageDraw.Draw(image).rectangle((box[0], box[1], box[2] - 1, box[3] - 1), outline=RULE, width=2)
    room = box[2] - box[0] - 48
    lines = wrap_label(cell.problem, room, REGULAR, 16, most=5)
    middle = (box[0] + box[2]) / 2
    y = (box[1] + box[3]) / 2 - (len(lines) * 22 + 26) / 2 + 18
    draw_label(image, (middle, y), "cannot be used", _WARNING, pixels=18, family=BOLD, align="center")
    for number, line in enumerate(lines, 1):
        draw_label(image, (middle, y + 4 + number * 22), line, QUIET, pixels=16, align="center")
