"""What can stand in a block: configurations and what each costs by itself.

A :class:`Config` is the decoded form of a solver column: role, size, photos, words.  Prices follow
DEVELOPERS.md, section Costs; arrays run over all offered sizes of a block at once.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from functools import lru_cache
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from fitter.formulate import rates
from fitter.layout import GivenPhoto
from fitter.template import Element, Role
from fitter.typesetting import JOURNALING_SIZES, TITLE_SIZES, block_heights, title_heights
from fitter.units import INCH
from solver.problem import Lit

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

SPLIT_GAP = INCH // 8
"""Distance between the pieces of a divided slot."""
INK_CLEAR = INCH // 8
"""Distance kept between ink and the edge of its card."""
STEP = 1270
"""Sizes differ from the reference by whole multiples of this many micrometres."""

SplitKind = Literal["row", "column", "grid"]


@dataclass(frozen=True)
class Division:
    """How a slot is divided: ``columns`` × ``rows`` pieces."""

    kind: SplitKind
    columns: int
    rows: int

    @property
    def count(self) -> int:
        """Number of pieces."""
        return self.columns * self.rows


@dataclass(frozen=True)
class TextItem:
    """Words to be set in one place.

    ``which`` is ``title`` or ``text-N``; ``slot`` the template slot the user (or the flow over several
    slots) fixes it to; ``size`` the type size in points that all parts of a text have, ``None`` for whole texts.
    """

    index: int
    text: str
    which: str
    slot: str | None = None
    size: float | None = None

    @property
    def is_title(self) -> bool:
        """Whether it is set as a title."""
        return self.which == "title"


@dataclass(frozen=True)
class Panel:
    """A plain panel for words on a photo: its size in micrometres."""

    width: int
    height: int


@dataclass(frozen=True)
class Carried:
    """Words in a text slot that a block carries: the rider, the words, their type size, whether they run vertically."""

    rider: int
    item: int
    type_size: float
    vertical: bool = False


@dataclass(frozen=True)
class Under:
    """What lies on a slot that takes a photo: the blocks that stay as they are, and those that go."""

    stay: tuple[int, ...]
    go: tuple[int, ...]


@dataclass(frozen=True)
class Clearing:
    """Where words stand in their card: insets of its free rectangle, from left, top, right and bottom, micrometres.

    It is the free rectangle where the blocks and carried things ``there`` are on the page and those ``gone`` are not;
    others may be there or not.
    """

    insets: tuple[int, int, int, int] = (0, 0, 0, 0)
    there: tuple[Lit, ...] = ()
    gone: tuple[Lit, ...] = ()


@dataclass(frozen=True)
class Config:
    """One configuration of a block; ``role`` is ``None`` when the block is dropped.

    ``terms`` are its costs by name before weighting (``crop-loss`` is added by :mod:`fitter.formulate.priced`);
    ``waived`` names rules it breaks; ``vertical`` says that its title runs vertically; ``clearing`` where its words
    stand; ``under`` what becomes of the things that lie on its photo.
    """

    role: Role | None
    size: tuple[int, int]
    photos: tuple[int, ...] = ()
    division: Division | None = None
    turned: bool = False
    item: int | None = None
    type_size: float = 0.0
    vertical: bool = False
    clearing: Clearing = Clearing()
    carried: tuple[Carried, ...] = ()
    panel: Panel | None = None
    under: Under | None = None
    terms: dict[str, int] = field(default_factory=dict)
    waived: tuple[tuple[str, int], ...] = ()


def windows(pixels: tuple[int, int], width: Ints, height: Ints) -> tuple[Ints, Ints]:
    """Return window sizes in pixels for many slots at once; as :func:`fitter.crops.window_size`."""
    pw, ph = pixels
    wide = pw * height >= ph * width
    narrow = np.clip((2 * ph * width + height) // (2 * height), 1, pw)
    low = np.clip((2 * pw * height + width) // (2 * width), 1, ph)
    return np.where(wide, narrow, pw), np.where(wide, ph, low)


def photo_prices(photo: GivenPhoto, width: Ints, height: Ints, target: int) -> tuple[Ints, Floats, Floats]:
    """Return resolution cost, effective ppi and share of the picture's area in a crop, for slots of many sizes."""
    cw, ch = windows(photo.pixels, width, height)
    kept = cw * ch / (photo.pixels[0] * photo.pixels[1])
    ppi = np.minimum(cw * INCH / width, ch * INCH / height)
    knee, half = 2 * target / 3, target / 2
    upper = 50_000 * (target - ppi) / (target - knee)
    lower = 50_000 + 150_000 * (knee - ppi) / (knee - half)
    cost = np.where(ppi >= target, 0.0, np.where(ppi >= knee, upper, lower))
    return _rounded(cost), ppi, kept


def _rounded(values: Floats) -> Ints:
    """Return :func:`fitter.formulate.rates.rounded` of each value."""
    return np.floor(np.round(values, 6) + 0.5).astype(np.int64)


def resize_price(element: Element, width: Ints, height: Ints, against: tuple[int, int] | None = None) -> Ints:
    """Return the cost of sizes against the reference's (or another target size)."""
    w0, h0 = against or element.size
    amount = rates.RESIZE * (np.abs(width - w0) / w0 + np.abs(height - h0) / h0)
    return _rounded(amount)


def copies_size(element: Element, division: Division) -> tuple[int, int]:
    """Return the size of a slot repeated beside itself."""
    w0, h0 = element.size
    return (
        division.columns * w0 + (division.columns - 1) * SPLIT_GAP,
        division.rows * h0 + (division.rows - 1) * SPLIT_GAP,
    )


def divisions(pieces: int) -> tuple[Division, ...]:
    """Return the ways to divide a slot into a number of pieces."""
    ways = [Division("row", pieces, 1), Division("column", 1, pieces)]
    if pieces == 4:
        ways.append(Division("grid", 2, 2))
    return tuple(ways)


def piece_spans(total: int, shares: Sequence[Fraction | float]) -> list[tuple[int, int]]:
    """Divide a length among pieces with gaps between them; starts and even lengths, micrometres.

    Each piece gets its share of the length less the gaps, rounded down to even; what is left over widens the
    gaps by a few micrometres.
    """
    room = total - (len(shares) - 1) * SPLIT_GAP
    whole = sum(shares)
    lengths = [max(2, 2 * math.floor(float(room * share / whole) / 2)) for share in shares]
    spare = total - sum(lengths)
    starts, at = [], 0
    for number, length in enumerate(lengths):
        starts.append((at, length))
        gap = spare // (len(lengths) - 1 - number) if number < len(lengths) - 1 else 0
        spare -= gap
        at += length + gap
    return starts


def piece_boxes(
    size: tuple[int, int], division: Division, photos: Sequence[GivenPhoto]
) -> tuple[tuple[int, int, int, int], ...]:
    """Return left, top, width and height of each piece within a slot of a size.

    In a row widths are in proportion to the photos' aspects, in a column heights to their inverse, so that all
    lose the same share; a grid has equal cells.
    """
    return _piece_boxes(size, division, tuple(photo.pixels for photo in photos))


@lru_cache(maxsize=1 << 14)
def _piece_boxes(
    size: tuple[int, int], division: Division, pixels: tuple[tuple[int, int], ...]
) -> tuple[tuple[int, int, int, int], ...]:
    if division.kind == "row":
        spans = piece_spans(size[0], [width / height for width, height in pixels])
        return tuple((left, 0, width, size[1]) for left, width in spans)
    if division.kind == "column":
        spans = piece_spans(size[1], [height / width for width, height in pixels])
        return tuple((0, top, size[0], height) for top, height in spans)
    across = piece_spans(size[0], [1] * division.columns)
    down = piece_spans(size[1], [1] * division.rows)
    return tuple((left, top, width, height) for top, height in down for left, width in across)


def journaling_options(
    text: str, width: Ints, height: Ints | Floats, sizes: Sequence[float] = JOURNALING_SIZES
) -> list[tuple[float, int] | None]:
    """Return, per text area, the best of some type sizes and its cost; ``None`` where the words fit in none of them.

    ``width`` and ``height`` are those of the area in which ink may lie (already 1/8 in inside the card).
    """
    unique = sorted({int(w) for w in width if w > 0})
    if not unique:
        return [None] * len(width)
    table = block_heights(text, unique, sizes)
    column = {w: i for i, w in enumerate(unique)}
    found: list[tuple[float, int] | None] = []
    for w, h in zip(width.tolist(), height.tolist(), strict=True):
        best: tuple[float, int] | None = None
        for row, size in enumerate(sizes):
            if w <= 0:
                continue
            i = column[w]
            lines = int(table.lines[row, i])
            ink = 2 * math.ceil(int(table.ink_height[row, i]) / 2)
            measure = float(table.measure[row, i])
            if lines == 0 or ink > h or measure > 80 or (lines > 1 and measure < 22):
                continue
            cost = text_cost(size, ink, h, measure)
            if best is None or cost < best[1] or (cost == best[1] and size > best[0]):
                best = (size, cost)
        found.append(best)
    return found


def text_cost(size: float, ink: int, room: float, measure: float) -> int:
    """Return the cost of journaling set at a size, filling ``ink`` of a height of ``room``."""
    cost = rates.rounded(rates.TEXT_PER_POINT * max(0.0, 10 - size, size - 12))
    if 100 * ink < 60 * room or 100 * ink > 95 * room:
        cost += rates.TEXT_FILL
    if not 45 <= measure <= 75:
        cost += rates.TEXT_MEASURE
    return cost


def title_options(text: str, width: Ints, height: Ints | Floats) -> list[tuple[float, int] | None]:
    """Return, per text area, the largest title size that fits (at no cost), else ``None``."""
    unique = sorted({int(w) for w in width if w > 0})
    if not unique:
        return [None] * len(width)
    table = title_heights(text, unique)
    column = {w: i for i, w in enumerate(unique)}
    found: list[tuple[float, int] | None] = []
    for w, h in zip(width.tolist(), height.tolist(), strict=True):
        best: tuple[float, int] | None = None
        if w > 0:
            for row, size in enumerate(TITLE_SIZES):
                ink = int(table.ink_height[row, column[w]])
                if 0 < ink <= h:
                    best = (float(size), 0)
        found.append(best)
    return found
