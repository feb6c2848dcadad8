"""Typesetting: how wide and high words become, broken into lines with the bundled fonts.

Enters: text, a type size in points and a width in micrometres.  Leaves: lines with the size of their
ink box, or ``None`` when the words do not fit the width.  Refuses characters the font has no glyph for.

Paragraphs (separated by blank lines) after the first are indented by :data:`INDENT`, so every line
advances by the same leading.  The ink box is as wide as the widest line and reaches from the top of
the tallest glyph above the first base line to the bottom of the deepest one below the last.  Nothing is
hyphenated.  Widths add up exactly because a space takes no kerning in the bundled fonts (tested).
"""

from __future__ import annotations

import math
import re
from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import accumulate
from typing import TYPE_CHECKING

from fitter import fonts
from fitter.errors import InputError
from fitter.units import LARGEST, needed, points

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

JOURNALING_SIZES: tuple[float, ...] = tuple(half / 2 for half in range(16, 29))
"""Type sizes of journaling in points, 8 to 14 by halves."""
TITLE_SIZES: tuple[int, ...] = tuple(range(24, 97, 4))
"""Type sizes of titles in points, 24 to 96 by fours."""
INDENT = "    "
"""What a paragraph after the first starts with: about one em."""
LONGEST_TITLE = 120
"""Characters a title may have."""

_JOURNALING_LEADING = Fraction(13, 10)
_TITLE_LEADING = Fraction(11, 10)
_BLANK_LINE = re.compile(r"\n[^\S\n]*\n")


@dataclass(frozen=True)
class Setting:
    """Text as set.

    Parameters
    ----------
    lines
        Top to bottom; lines that start a paragraph after the first begin with :data:`INDENT`.
    font
        Family of :mod:`fitter.fonts`.
    size_pt, leading_pt
        Type size and distance of base lines, in points.
    ink_width, ink_height
        Size of the ink box in micrometres, rounded up.
    measure
        Mean characters of the full lines, see :func:`mean_line`.
    """

    lines: tuple[str, ...]
    font: str
    size_pt: float
    leading_pt: float
    ink_width: int
    ink_height: int
    measure: float


@dataclass(frozen=True)
class SettingTable:
    """Sizes of one text for many type sizes and widths.

    All arrays have the shape (sizes, widths); where the text does not fit the width ``ink_height``,
    ``ink_width`` and ``lines`` are 0 and ``measure`` is NaN.

    Parameters
    ----------
    sizes
        Type sizes in points.
    widths
        Widths offered, in micrometres.
    ink_width, ink_height
        As in :class:`Setting`, micrometres.
    lines
        Number of lines.
    measure
        As in :class:`Setting`, characters.
    """

    sizes: tuple[float, ...]
    widths: tuple[int, ...]
    ink_width: NDArray[np.int64]
    ink_height: NDArray[np.int64]
    lines: NDArray[np.int64]
    measure: NDArray[np.float64]


@dataclass(frozen=True)
class _Measured:
    """A text measured once; ``ends`` and ``counts`` accumulate widths and characters, spaces included."""

    words: tuple[str, ...]
    starts: tuple[int, ...]
    ends: tuple[int, ...]
    counts: tuple[int, ...]
    widest: int
    above: int
    below: int


def leading(size_pt: float, *, title: bool = False) -> float:
    """Return the distance of base lines in points: 1.3 em for journaling, 1.1 em for titles, to half points.

    Books take about 1.2 em (common practice); cards read across a table take more.
    """
    factor = _TITLE_LEADING if title else _JOURNALING_LEADING
    return math.floor(Fraction(size_pt) * factor * 2 + Fraction(1, 2)) / 2


def check_characters(text: str, *, what: str = "text", font: str = fonts.JOURNALING_FONT) -> None:
    """Refuse text with a character the font cannot show.

    Raises
    ------
    InputError
        Naming the first such character.
    """
    known = fonts.covered(font)
    for character in text:
        if not character.isspace() and ord(character) not in known:
            raise InputError(
                f"{what}: the character {character!r} (U+{ord(character):04X}) is not in the font {font}; "
                "write it another way or leave it out"
            )


def paragraphs(text: str) -> tuple[tuple[str, ...], ...]:
    """Return the words of each paragraph; blank lines separate paragraphs, other white space words."""
    found = (tuple(part.split()) for part in _BLANK_LINE.split(text))
    return tuple(words for words in found if words)


def mean_line(lines: Sequence[str]) -> float:
    """Return the mean number of characters of the full lines: all but the last of each paragraph.

    When no paragraph has a second line, the mean of all lines.  Indents do not count.
    """
    after = [*lines[1:], INDENT]
    full = [len(a.strip()) for a, b in zip(lines, after, strict=False) if not b.startswith(INDENT)]
    counted = full or [len(line.strip()) for line in lines]
    return sum(counted) / len(counted) if counted else 0.0


def set_block(text: str, *, size_pt: float, width: int, font: str = fonts.JOURNALING_FONT) -> Setting | None:
    """Set journaling, ragged right.

    Parameters
    ----------
    text
        Words; blank lines separate paragraphs.
    size_pt
        Type size in points.
    width
        Width the lines may have, micrometres.

    Returns
    -------
    Setting or None
        ``None`` when there are no words, or a word is wider than the width.
    """
    measured = _measure(text, font)
    breaks = _break(measured, _units(width, size_pt, font), font)
    if breaks is None:
        return None
    starts = frozenset(measured.starts[1:])
    lines = tuple((INDENT if a in starts else "") + " ".join(measured.words[a:b]) for a, b in breaks)
    spacing = leading(size_pt)
    return Setting(
        lines,
        font,
        size_pt,
        spacing,
        _micrometres(_widest(measured, breaks, font), size_pt, font),
        _height(measured, len(lines), size_pt, spacing, font),
        mean_line(lines),
    )


def block_heights(
    text: str,
    widths: Sequence[int],
    sizes: Sequence[float] = JOURNALING_SIZES,
    font: str = fonts.JOURNALING_FONT,
) -> SettingTable:
    """Return what :func:`set_block` gives for every size and width, without building the lines."""
    measured = _measure(text, font)
    cells = []
    for size in sizes:
        spacing = leading(size)
        for width in widths:
            breaks = _break(measured, _units(width, size, font), font)
            if breaks is None:
                cells.append((0, 0, 0, math.nan))
                continue
            cells.append(
                (
                    _micrometres(_widest(measured, breaks, font), size, font),
                    _height(measured, len(breaks), size, spacing, font),
                    len(breaks),
                    _mean_of(measured, breaks),
                )
            )
    return _table(sizes, widths, cells)


def set_title(
    text: str, *, size_pt: float, width: int, max_lines: int = 2, font: str = fonts.TITLE_FONT
) -> Setting | None:
    """Set a title, centred, in as few lines as fit, the lines as even as can be.

    The ink box is wide enough for glyphs that reach past their advance on either side.

    Returns
    -------
    Setting or None
        ``None`` when it has no words or does not fit the width in ``max_lines``.
    """
    if len(text) > LONGEST_TITLE:
        raise InputError(f"title: {len(text)} characters; at most {LONGEST_TITLE} can be set large, shorten it")
    measured = _measure(" ".join(text.split()), font)
    most = _units(width, size_pt, font)
    for count in range(1, min(max_lines, len(measured.words)) + 1):
        breaks, used = _balanced(measured, count, font)
        if used <= most:
            lines = tuple(" ".join(measured.words[a:b]) for a, b in breaks)
            spacing = leading(size_pt, title=True)
            ink_width = _micrometres(used, size_pt, font)
            ink_height = _height(measured, count, size_pt, spacing, font)
            return Setting(lines, font, size_pt, spacing, ink_width, ink_height, mean_line(lines))
    return None


def title_heights(
    text: str, widths: Sequence[int], sizes: Sequence[float] = TITLE_SIZES, max_lines: int = 2
) -> SettingTable:
    """Return what :func:`set_title` gives for every size and width."""
    cells = []
    for size in sizes:
        for width in widths:
            made = set_title(text, size_pt=size, width=width, max_lines=max_lines)
            if made is None:
                cells.append((0, 0, 0, math.nan))
            else:
                cells.append((made.ink_width, made.ink_height, len(made.lines), made.measure))
    return _table(sizes, widths, cells)


def first_baseline(lines: Sequence[str], *, font: str, size_pt: float) -> float:
    """Return how far the first base line lies below the top of the ink box, in micrometres."""
    words = [fonts.shape_word(word, font) for line in lines for word in line.split()]
    above = max((word.above for word in words), default=0)
    return float(above * points(size_pt) / fonts.units_per_em(font))


def line_width(line: str, *, font: str, size_pt: float) -> float:
    """Return the advance width of one line, indent included, in micrometres."""
    words = line.split()
    gaps = max(len(words) - 1, 0) + (len(line) - len(line.lstrip()))
    units = sum(fonts.shape_word(word, font).advance for word in words) + gaps * fonts.space(font)
    return float(units * points(size_pt) / fonts.units_per_em(font))


def _indent(font: str) -> int:
    return len(INDENT) * fonts.space(font)


@lru_cache(maxsize=256)
def _measure(text: str, font: str) -> _Measured:
    check_characters(text, font=font)
    parts = paragraphs(text)
    words = tuple(word for part in parts for word in part)
    shaped = [fonts.shape_word(word, font) for word in words]
    space = fonts.space(font)
    return _Measured(
        words,
        tuple(accumulate((len(part) for part in parts), initial=0)),
        tuple(accumulate((word.advance + space for word in shaped), initial=0)),
        tuple(accumulate((len(word) + 1 for word in words), initial=0)),
        max((word.advance for word in shaped), default=0),
        max((word.above for word in shaped), default=0),
        max((word.below for word in shaped), default=0),
    )


def _units(width: int, size_pt: float, font: str) -> int:
    """Return a width in whole font units at a size, rounded down."""
    if not 0 < width <= LARGEST or not 0 < size_pt <= 1000:
        return 0
    return math.floor(width / _unit(size_pt, font))


@lru_cache(maxsize=1 << 10)
def _unit(size_pt: float, font: str) -> Fraction:
    """Return a font unit at a size in micrometres."""
    return points(size_pt) / fonts.units_per_em(font)


def _micrometres(units: int, size_pt: float, font: str) -> int:
    return needed(units * _unit(size_pt, font))


def _height(measured: _Measured, count: int, size_pt: float, spacing: float, font: str) -> int:
    return needed((measured.above + measured.below) * _unit(size_pt, font) + (count - 1) * points(spacing))


def _break(measured: _Measured, most: int, font: str) -> list[tuple[int, int]] | None:
    """Fill lines from the first word on; a word alone on a last line gets company from the line above."""
    if not measured.words or measured.widest > most:
        return None
    ends, space = measured.ends, fonts.space(font)
    breaks: list[tuple[int, int]] = []
    for number, (start, stop) in enumerate(zip(measured.starts, measured.starts[1:], strict=False)):
        room = most - (_indent(font) if number else 0)
        first = start
        while first < stop:
            last = bisect_right(ends, ends[first] + room + space, first, stop + 1) - 1
            if last <= first:
                return None
            lonely = last == stop and last - first == 1 and first > start
            if lonely and breaks[-1][1] - breaks[-1][0] >= 3 and ends[stop] - ends[first - 1] - space <= most:
                breaks[-1] = (breaks[-1][0], first - 1)
                first -= 1
            breaks.append((first, last))
            first, room = last, most
    return breaks


def _widest(measured: _Measured, breaks: list[tuple[int, int]], font: str) -> int:
    indented = frozenset(measured.starts[1:])
    return max(
        measured.ends[b] - measured.ends[a] + (_indent(font) if a in indented else 0) for a, b in breaks
    ) - fonts.space(font)


def _mean_of(measured: _Measured, breaks: list[tuple[int, int]]) -> float:
    """Return :func:`mean_line` of the lines that the breaks make."""
    stops = frozenset(measured.starts)
    full = [measured.counts[b] - measured.counts[a] - 1 for a, b in breaks if b not in stops]
    counted = full or [measured.counts[b] - measured.counts[a] - 1 for a, b in breaks]
    return sum(counted) / len(counted)


def _title_line(measured: _Measured, first: int, last: int, font: str) -> int:
    sides = max(fonts.shape_word(measured.words[i], font).overhang for i in (first, last - 1))
    return measured.ends[last] - measured.ends[first] - fonts.space(font) + 2 * sides


@lru_cache(maxsize=256)
def _balanced(measured: _Measured, count: int, font: str) -> tuple[tuple[tuple[int, int], ...], int]:
    """Return the breaks of a title into ``count`` lines, as even as can be, and the width of the widest line."""
    breaks = tuple(_balance(measured, count, font))
    return breaks, max(_title_line(measured, a, b, font) for a, b in breaks)


def _balance(measured: _Measured, count: int, font: str) -> list[tuple[int, int]]:
    """Return the breaks into ``count`` lines whose widest line is narrowest, the earliest breaks first."""
    total = len(measured.words)
    best: list[list[tuple[int, int] | None]] = [[None] * (total + 1) for _ in range(count + 1)]
    best[0][0] = (0, 0)
    for row in range(1, count + 1):
        for last in range(row, total + 1):
            found: tuple[int, int] | None = None
            for first in range(row - 1, last):
                before = best[row - 1][first]
                if before is None:
                    continue
                widest = max(before[0], _title_line(measured, first, last, font))
                if found is None or widest < found[0]:
                    found = (widest, first)
            best[row][last] = found
    breaks: list[tuple[int, int]] = []
    last = total
    for row in range(count, 0, -1):
        cell = best[row][last]
        assert cell is not None  # count never exceeds the number of words
        breaks.insert(0, (cell[1], last))
        last = cell[1]
    return breaks


def _table(sizes: Sequence[float], widths: Sequence[int], cells: list[tuple[int, int, int, float]]) -> SettingTable:
    import numpy as np

    shape = (len(sizes), len(widths))
    columns = list(zip(*cells, strict=True)) if cells else [(), (), (), ()]
    width, height, count = (np.array(column, dtype=np.int64).reshape(shape) for column in columns[:3])
    measure = np.array(columns[3], dtype=np.float64).reshape(shape)
    return SettingTable(tuple(sizes), tuple(widths), width, height, count, measure)
