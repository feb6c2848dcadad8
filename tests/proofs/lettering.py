"""Words on a card: lines broken anew from the widths of single words, and what the cheapest type size costs."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from fractions import Fraction
from functools import cache
from itertools import pairwise

from fitter import fonts
from tests.proofs.published import INCH, rate
from tests.proofs.spots import Wishes

FONT = fonts.JOURNALING_FONT
TYPE_SIZES = tuple(Fraction(halves, 2) for halves in range(16, 29))
"""8 to 14 pt by half points."""
CLEAR = INCH // 8
"""Kept free around the ink."""
SPARE = 8
"""Width, in micrometres, that lines leave free for rounding."""
INDENT = "    "
"""What a paragraph after the first starts with."""


@cache
def card_cost(text: str, width: int, height: int, factor: int) -> float | None:
    """Return what words cost on an upright card with nothing on it, in the type size that is cheapest there."""
    costs = [size_cost(text, size, width, height) for size in TYPE_SIZES]
    return min((cost * factor for cost in costs if cost is not None), default=None)


def words_cost(wishes: Wishes, size: tuple[int, int]) -> float | None:
    """Return what the given words cost on a card; ``None`` if they do not fit it."""
    assert wishes.text is not None
    return card_cost(wishes.text, *size, wishes.factor("text"))


def size_cost(text: str, size: Fraction, width: int, height: int) -> int | None:
    """Return what words cost in a type size; ``None`` if they do not fit the card, or break R8's measure."""
    em = size * Fraction(INCH, 72)
    lines = broken(text, (width - 2 * CLEAR - SPARE) * fonts.units_per_em(FONT) / em)
    if lines is None:
        return None
    words = [fonts.shape_word(word, FONT) for word in text.split()]
    glyphs = (max(w.above for w in words) + max(w.below for w in words)) * em / fonts.units_per_em(FONT)
    leading = Fraction(math.floor(size * Fraction(13, 10) * 2 + Fraction(1, 2)), 2)
    ink = 2 * math.ceil((glyphs + (len(lines) - 1) * leading * Fraction(INCH, 72)) / 2)
    room = height - 2 * CLEAR
    measure = mean_line(lines)
    if ink > room or measure > 80 or (len(lines) > 1 and measure < 22):
        return None
    cost = math.floor(rate("text") * max(Fraction(0), 10 - size, size - 12) + Fraction(1, 2))
    if not Fraction(60, 100) * room <= ink <= Fraction(95, 100) * room:
        cost += rate("text", 1)
    return cost if 45 <= measure <= 75 else cost + rate("text", 2)


def broken(text: str, most: Fraction) -> list[str] | None:
    """Break words into lines of at most so many font units, each filled before the next is begun.

    A word alone on the last line of a paragraph gets the last word of the line above for company, where that line has
    three words or more and the two fit.  ``None`` if a word is too wide.
    """
    lines: list[str] = []
    for number, paragraph in enumerate(re.split(r"\n\s*\n", text.strip())):
        made: list[list[str]] = []
        for word in paragraph.split():
            indent = INDENT if number and len(made) <= 1 else ""
            if made and width_of(indent + " ".join([*made[-1], word])) <= most:
                made[-1].append(word)
                continue
            if width_of((INDENT if number and not made else "") + word) > most:
                return None
            made.append([word])
        if len(made) > 1 and len(made[-1]) == 1 and len(made[-2]) >= 3:
            company = [made[-2][-1], made[-1][0]]
            if width_of(" ".join(company)) <= most:
                made[-2:] = [made[-2][:-1], company]
        indents = [INDENT if number else "", *[""] * (len(made) - 1)]
        lines += [indent + " ".join(line) for indent, line in zip(indents, made, strict=True)]
    return lines


@cache
def width_of(line: str) -> int:
    """Return the width of a line in font units: its words, and the spaces before and between them."""
    words = line.split()
    spaces = len(line) - len(line.lstrip()) + len(words) - 1
    return sum(fonts.shape_word(word, FONT).advance for word in words) + spaces * fonts.space(FONT)


def mean_line(lines: Sequence[str]) -> Fraction:
    """Return the mean characters of the lines that do not end a paragraph; of all where each does."""
    full = [line for line, after in pairwise([*lines, INDENT]) if not after.startswith(INDENT)]
    counted = [len(line.strip()) for line in full or lines]
    return Fraction(sum(counted), len(counted))
