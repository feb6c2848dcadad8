"""Set text: the ink lands in the ink box the layout promises."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fitter import typesetting
from fitter.layout import Ink, Layout, Placed, SetText
from fitter.proof import draw_proof
from fitter.proof.type import REGULAR, draw_label, label_width, shorten, wrap_label

Make = Callable[..., Placed]
MakeLayout = Callable[..., Layout]
INCH = 25_400
WORDS = "Biscuit fell in the lake twice, and the second time on purpose; he jumped happily."


def test_a_label_is_one_line_whatever_it_holds() -> None:
    """Line breaks, control codes and bytes that are no UTF-8 are drawn as one sign each."""
    image = Image.new("RGB", (400, 60), "white")
    for odd in "\n\x1b\u2028\u202e\udcff":
        width = draw_label(image, (10, 40), f"lake{odd}2.jpg", (0, 0, 0), pixels=20)
        assert width == label_width(f"lake{odd}2.jpg", REGULAR, 20) == label_width("lake�2.jpg", REGULAR, 20)
    assert shorten("lake\n" * 30, 100, REGULAR, 20).endswith("…")


def set_words(tilt: float = 0.0) -> SetText:
    made = typesetting.set_block(WORDS, size_pt=10.0, width=3 * INCH // 2)
    assert made is not None
    ink = Ink((INCH, INCH), (made.ink_width, made.ink_height))
    return SetText("text-1", made.lines, made.font, made.size_pt, made.leading_pt, "#000000", ink, tilt)


def inked(layout: Layout, ppi: int, dark: int = 140) -> np.ndarray:
    image = draw_proof(layout, base=Path(), ppi=ppi, plain=True)
    return np.asarray(image.convert("L")) < dark


def card(flat: Make, text: SetText) -> Placed:
    return flat((0, 0, 2 * INCH, 2 * INCH), "#ffffff", text=text)


@pytest.mark.parametrize("ppi", [100, 150, 300])
def test_ink_fills_its_box_to_the_pixel(layout_of: MakeLayout, flat: Make, ppi: int) -> None:
    """Outside check against HarfBuzz's measures: drawn by Pillow, the ink is as high and wide as measured."""
    text = set_words()
    rows, columns = np.nonzero(inked(layout_of((card(flat, text),)), ppi, 200))
    scale = ppi / INCH
    left, top = ((INCH - side / 2) * scale for side in text.ink.size)
    right, bottom = ((INCH + side / 2) * scale for side in text.ink.size)
    assert rows.min() == pytest.approx(top, abs=1.5)
    assert rows.max() + 1 == pytest.approx(bottom, abs=1.5)
    # Letters such as j reach past their advance by up to an eighth of an em; the ink box counts advances.
    assert columns.min() == pytest.approx(left, abs=0.12 * 10 * ppi / 72)
    assert columns.max() + 1 == pytest.approx(right, abs=0.12 * 10 * ppi / 72)


def test_base_lines_follow_the_leading(layout_of: MakeLayout, flat: Make) -> None:
    """Lines of the same letters repeat at the leading's distance."""
    ink = Ink((INCH, INCH), (INCH, 3 * INCH // 4))
    text = SetText("text-1", ("nnn", "nnn", "nnn"), "Lora", 12.0, 18.0, "#000000", ink)
    rows = np.nonzero(inked(layout_of((card(flat, text),)), 200).any(axis=1))[0]
    ends = [int(row) for row, following in zip(rows, [*rows[1:], 9999], strict=True) if following > row + 1]
    assert np.diff(ends) == pytest.approx([50, 50], abs=1)


def test_centred_lines_share_an_axis(layout_of: MakeLayout, flat: Make) -> None:
    """Short and long lines of a title are centred on the ink box."""
    ink = Ink((INCH, INCH), (INCH, INCH // 2))
    text = SetText("title", ("HOOOH", "HH"), "Lora SemiBold", 14.0, 18.0, "#000000", ink, 0.0, "center")
    dark = inked(layout_of((card(flat, text),)), 200)
    middle = np.nonzero(dark.any(axis=1))[0].mean()
    for half in (dark[: int(middle)], dark[int(middle) :]):
        columns = np.nonzero(half.any(axis=0))[0]
        assert (columns.min() + columns.max() + 1) / 2 == pytest.approx(200, abs=1.5)


@pytest.mark.parametrize("tilt", [-15.0, 4.0, 15.0])
def test_tilted_text_turns_about_its_ink_box(layout_of: MakeLayout, flat: Make, tilt: float) -> None:
    """Turned back, tilted ink lies where level ink lies: the same spread along and across the lines."""
    spreads = []
    for angle in (0.0, tilt):
        rows, columns = np.nonzero(inked(layout_of((card(flat, set_words(angle)),)), 200))
        x, y = columns + 0.5 - 200, rows + 0.5 - 200
        c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
        along, across = x * c + y * s, -x * s + y * c
        spreads.append([along.min(), along.max(), across.min(), across.max(), along.mean(), across.mean()])
    assert spreads[1] == pytest.approx(spreads[0], abs=2)


def test_tilted_text_is_as_dark_as_level_text(layout_of: MakeLayout, flat: Make) -> None:
    """Turning loses no ink: the sum of darkness stays within 3 %."""
    sums = []
    for angle in (0.0, 9.0):
        image = draw_proof(layout_of((card(flat, set_words(angle)),)), base=Path(), ppi=150, plain=True)
        sums.append((255 - np.asarray(image.convert("L"), dtype=float)).sum())
    assert sums[1] == pytest.approx(sums[0], rel=0.03)


def test_labels_break_and_shorten_to_their_width() -> None:
    """Wrapped lines fit, and what is cut says so."""
    lines = wrap_label("several words that need several lines", 90, "Lora", 14)
    assert " ".join(lines) == "several words that need several lines"
    assert all(label_width(line, "Lora", 14) <= 90 for line in lines)
    assert shorten("a-name-without-an-end", 60, "Lora", 14).endswith("…")
    assert wrap_label("one two three four five six", 40, "Lora", 14, most=2)[-1].endswith("…")
