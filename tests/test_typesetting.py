"""Line breaking, ink boxes and the fast tables."""

import math
from itertools import pairwise

import pytest

from fitter import fonts
from fitter.errors import InputError, UseError
from fitter.typesetting import (
    INDENT,
    JOURNALING_SIZES,
    TITLE_SIZES,
    block_heights,
    check_characters,
    first_baseline,
    leading,
    line_width,
    mean_line,
    set_block,
    set_title,
    title_heights,
)
from fitter.units import INCH
from fitter.words import filler

CARD = 3 * INCH
TWO_PARAGRAPHS = (
    "Biscuit ran down the jetty before anyone could stop her.\n\nThe lake was cold, and nobody minded."
)


def test_every_word_is_set_once_in_order():
    """Breaking lines neither loses nor repeats a word."""
    text = filler(150)
    made = set_block(text, size_pt=11, width=CARD)
    assert made is not None
    assert " ".join(made.lines).split() == text.split()


@pytest.mark.parametrize("size", [8, 10.5, 14])
@pytest.mark.parametrize("width", [2 * INCH, CARD, 6 * INCH])
def test_no_line_is_wider_than_the_width(size, width):
    """The widest line, measured by Pillow's own shaping, is the ink width and within the room."""
    made = set_block(filler(120), size_pt=size, width=width)
    assert made is not None
    font = fonts.drawing_font(made.font, 1000)
    widest = max(font.getlength(line) for line in made.lines) / 1000 * size * INCH / 72
    assert made.ink_width <= width
    assert abs(made.ink_width - widest) <= 2


def test_a_line_takes_every_word_that_fits():
    """First fit: the next line's first word would not have fitted, unless it kept a lone word company."""
    made = set_block(filler(60), size_pt=10, width=CARD)
    assert made is not None
    for upper, lower in pairwise(made.lines[:-1]):
        if not lower.startswith(INDENT):
            longer = upper + " " + lower.split()[0]
            assert line_width(longer, font=made.font, size_pt=10) > CARD


def test_a_lone_last_word_gets_company():
    """A paragraph does not end on a line of one word when the line above can spare one."""
    text = "one two three four five six"
    width = math.ceil(line_width("one two three four five", font="Lora", size_pt=10))
    made = set_block(text, size_pt=10, width=width)
    assert made is not None
    assert made.lines == ("one two three four", "five six")


def test_paragraphs_after_the_first_are_indented():
    """Blank lines become an indent, single line ends become spaces."""
    made = set_block("One\ntwo.\n\n \nThree.", size_pt=10, width=CARD)
    assert made is not None
    assert made.lines == ("One two.", INDENT + "Three.")


def test_ink_height_counts_leading_and_the_tallest_glyphs():
    """Height = one leading for each line after the first + the reach of the glyphs, drawn by Pillow."""
    made = set_block(filler(100), size_pt=12, width=CARD)
    assert made is not None
    left, top, right, bottom = fonts.drawing_font(made.font, 1000).getbbox(filler(100), anchor="ls")
    assert right > left
    expected = (len(made.lines) - 1) * made.leading_pt * INCH / 72 + (bottom - top) / 1000 * 12 * INCH / 72
    assert abs(made.ink_height - expected) < 20
    assert abs(first_baseline(made.lines, font=made.font, size_pt=12) + top / 1000 * 12 * INCH / 72) < 10


def test_the_table_says_what_setting_does():
    """The fast table and the real setting agree in every cell, fitting or not."""
    text = filler(70) + "\n\n" + filler(25)
    widths = (5_000, 20_000, 38_000, 61_000, 90_000)
    table = block_heights(text, widths)
    assert table.ink_height.shape == (len(JOURNALING_SIZES), len(widths))
    for i, size in enumerate(table.sizes):
        for j, width in enumerate(widths):
            made = set_block(text, size_pt=size, width=width)
            if made is None:
                assert table.lines[i, j] == table.ink_height[i, j] == 0 and math.isnan(table.measure[i, j])
            else:
                cell = table.ink_width[i, j], table.ink_height[i, j], table.lines[i, j], table.measure[i, j]
                assert cell == (made.ink_width, made.ink_height, len(made.lines), made.measure)


def test_the_title_table_says_what_setting_does():
    """The same for titles."""
    widths = (40_000, 90_000, 200_000)
    table = title_heights("A summer at Marrow Lake", widths)
    assert table.sizes == TITLE_SIZES
    for i, size in enumerate(table.sizes):
        for j, width in enumerate(widths):
            made = set_title("A summer at Marrow Lake", size_pt=size, width=width)
            assert table.ink_height[i, j] == (made.ink_height if made else 0)
            assert table.ink_width[i, j] == (made.ink_width if made else 0)


def test_a_title_stays_on_one_line_where_it_fits():
    """Two lines only when one is too wide."""
    made = set_title("A summer at Marrow Lake", size_pt=24, width=8 * INCH)
    assert made is not None and made.lines == ("A summer at Marrow Lake",)


def test_two_title_lines_are_even():
    """The break that makes the wider line narrowest is chosen."""
    made = set_title("The whole summer at Marrow Lake", size_pt=60, width=8 * INCH)
    assert made is not None and len(made.lines) == 2
    words = ["The", "whole", "summer", "at", "Marrow", "Lake"]
    widest = [
        max(line_width(" ".join(part), font=made.font, size_pt=60) for part in (words[:cut], words[cut:]))
        for cut in range(1, len(words))
    ]
    assert abs(made.ink_width - min(widest)) < line_width("a", font=made.font, size_pt=60)


def test_what_does_not_fit_is_none():
    """A word wider than the width, no words, or no width at all."""
    assert set_block("Unforgettable", size_pt=14, width=INCH // 2) is None
    assert set_block("  \n ", size_pt=10, width=CARD) is None
    assert set_block("word", size_pt=10, width=0) is None
    assert set_block("word", size_pt=10, width=-5) is None
    assert set_title("Unforgettable", size_pt=96, width=2 * INCH) is None
    assert set_title("", size_pt=24, width=CARD) is None


@pytest.mark.parametrize(
    ("lines", "mean"),
    [
        (("abcd", "ab", "a"), 3.0),
        (("abcdef",), 6.0),
        (("abcd", "ab", INDENT + "abcdef", "a"), 5.0),
        (("abcd", INDENT + "ab"), 3.0),
        ((), 0.0),
    ],
)
def test_mean_line_leaves_out_last_lines(lines, mean):
    """Last lines of paragraphs count only when there is nothing else."""
    assert mean_line(lines) == mean


def test_a_character_without_a_glyph_is_named():
    """Nothing is silently replaced by an empty box."""
    with pytest.raises(InputError, match=r"U\+1F436"):
        check_characters("Biscuit \N{DOG FACE}")
    with pytest.raises(InputError, match=r"U\+6E56"):
        set_block("湖", size_pt=10, width=CARD)


def test_an_endless_title_is_refused():
    """A title that no page can hold is refused by its length."""
    with pytest.raises(InputError, match="title"):
        set_title("lake " * 100, size_pt=24, width=CARD)


@pytest.mark.parametrize("family", list(fonts.FAMILIES))
def test_a_space_takes_no_kerning(family):
    """Adding up words and spaces is exact only because of this."""
    font = fonts.drawing_font(family, 1000)
    letters = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ.,;!?’”"
    gap = fonts.space(family)
    for first in letters:
        for second in letters:
            apart = font.getlength(first) + gap + font.getlength(second)
            assert abs(font.getlength(f"{first} {second}") - apart) < 0.1, (first, second)


def test_leading_is_in_half_points():
    """1.3 em for journaling, 1.1 em for titles."""
    assert [leading(size) for size in (8, 10, 11, 14)] == [10.5, 13, 14.5, 18]
    assert [leading(size, title=True) for size in (24, 96)] == [26.5, 105.5]


def test_metrics_are_those_of_the_font():
    """Lora at 1000 units an em: x-height 500, cap height 700 (its OS/2 table)."""
    found = fonts.metrics("Lora", 72)
    assert found.x_height == pytest.approx(0.5 * INCH)
    assert found.cap_height == pytest.approx(0.7 * INCH)


def test_an_unknown_family_is_refused():
    """The choices are named."""
    with pytest.raises(UseError, match="Lora"):
        fonts.font_path("Nowhere Sans")


def test_the_fonts_come_with_their_licence():
    """The licence lies beside the font it belongs to."""
    for family in fonts.FAMILIES:
        path = fonts.font_path(family)
        assert path.is_file()
        assert "SIL OPEN FONT LICENSE" in path.with_name("Lora-LICENSE.txt").read_text(encoding="utf-8")
