"""Set text against the printers' copyfitting method and the statistics of English words."""

import math

import pytest

from fitter import fonts
from fitter.typesetting import block_heights, set_block
from fitter.units import INCH, POINTS_PER_INCH
from fitter.words import filler

PICA = INCH // 6
LEADING = {8: 10.5, 10: 13.0, 12: 15.5}
"""Points from line to line that are promised for a size: 1.3 em to half points.  Leading of 1.2 to 1.45 em is usual
for lines of this length (common practice, no source)."""

SPECIMEN = (
    "It was quiet on the shore when the first boats came in, and for a time the only sound was the water "
    "against the stones and the slow creak of the oars."
)
"""A sample other than the text that is fitted, as type specimens show one to count characters per pica."""


def characters_per_pica(size_pt):
    """Return the mean characters in a pica of the specimen, measured with Pillow alone."""
    width_pt = fonts.drawing_font(fonts.JOURNALING_FONT, 1000).getlength(SPECIMEN) / 1000 * size_pt
    return len(SPECIMEN) / (width_pt / 12)


@pytest.mark.parametrize("words", [60, 120, 300])
@pytest.mark.parametrize("size_pt", [8, 10, 12])
@pytest.mark.parametrize("picas", [18, 24, 30])
def test_depth_follows_the_copyfitting_method(words, size_pt, picas):
    """Characters / characters per line = lines; lines x leading = depth (King & Esposito, copyfitting).

    The method leaves the ends of ragged lines and of paragraphs unfilled only on average, so a tenth more
    lines and one more for each paragraph are allowed, and a twentieth fewer.
    """
    text = filler(words)
    per_line = characters_per_pica(size_pt) * picas
    by_method = math.ceil(len(" ".join(text.split())) / per_line)
    made = set_block(text, size_pt=size_pt, width=picas * PICA)
    assert made is not None
    assert math.floor(by_method * 0.95) <= len(made.lines)
    assert len(made.lines) <= math.ceil(by_method * 1.1) + 1 + text.count("\n\n")
    depth_pt = made.ink_height * POINTS_PER_INCH / INCH
    assert 1.2 <= LEADING[size_pt] / size_pt <= 1.45
    assert abs(depth_pt - len(made.lines) * LEADING[size_pt]) <= LEADING[size_pt]


@pytest.mark.parametrize("size_pt", [9, 11])
def test_full_lines_hold_the_characters_the_method_counts(size_pt):
    """Mean characters of the full lines are within a tenth below the method's characters per line."""
    made = set_block(filler(400), size_pt=size_pt, width=27 * PICA)
    assert made is not None
    per_line = characters_per_pica(size_pt) * 27
    assert 0.9 * per_line <= made.measure <= 1.03 * per_line


@pytest.mark.parametrize("words", [20, 60, 150, 400, 1000])
def test_filler_words_have_the_mean_length_of_english_words(words):
    """4.79 letters a word (Norvig, English Letter Frequency Counts, 2012), within one percent."""
    letters = sum(character.isalpha() for character in filler(words))
    assert letters / words == pytest.approx(4.79, rel=0.01)


def test_the_measure_most_books_prefer_is_reached_at_usual_sizes():
    """45 to 75 characters a line (Bringhurst, from memory) fit a card of 3 1/2 in at 10 pt."""
    table = block_heights(filler(150), [7 * INCH // 2], [10])
    assert 45 <= table.measure[0, 0] <= 75
