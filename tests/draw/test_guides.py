"""The frame around the page: guides told apart by pattern, nothing of the page hidden."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import groupby
from pathlib import Path

import numpy as np
from PIL import Image

from fitter.layout import GivenPhoto, Layout, Placed
from fitter.pages import Page
from fitter.proof import draw_proof, figures
from fitter.proof.frame import GROUND
from fitter.proof.guides import BLEED, SAFE, TRIM, guides_of
from fitter.proof.shapes import Canvas
from fitter.units import format_length, format_size

Make = Callable[..., Placed]
MakeLayout = Callable[..., Layout]
INCH = 25_400
PAGE = Page("4x3in", (4 * INCH, 3 * INCH))
PPI = 80


def framed(layout: Layout, base: Path) -> tuple[Image.Image, Image.Image, tuple[int, int]]:
    """Draw with and without frame; find the page inside the frame by its safe box."""
    proof = draw_proof(layout, base=base, ppi=PPI)
    plain = draw_proof(layout, base=base, ppi=PPI, plain=True)
    left = (proof.width - plain.width) // 2
    inner = np.asarray(plain.crop(Canvas(layout.page, PPI).box(layout.page.safe)))
    whole = np.asarray(proof)
    x0, y0 = Canvas(layout.page, PPI).box(layout.page.safe)[:2]
    for top in range(proof.height - plain.height):
        part = whole[top + y0 : top + y0 + inner.shape[0], left + x0 : left + x0 + inner.shape[1]]
        if part.shape == inner.shape and (part == inner).all():
            return proof, plain, (left, top)
    raise AssertionError("the safe box of the plain page is not in the proof unchanged")


def a_page(layout_of: MakeLayout, flat: Make) -> Layout:
    """A busy page: a full-bleed ground and two blocks, so that a place on it is unmistakable."""
    b = PAGE.bleed
    return layout_of(
        (
            flat((-b, -b, 4 * INCH + b, 3 * INCH + b), "#203040"),
            flat((INCH // 2, INCH // 2, 2 * INCH, INCH), "#d0a040", id="b"),
            flat((2 * INCH, INCH, 3 * INCH, 5 * INCH // 2), "#40a0d0", id="c"),
        ),
        PAGE,
    )


def test_nothing_inside_the_safe_box_is_covered(layout_of: MakeLayout, flat: Make, tmp_path: Path) -> None:
    """Guides lie outside what they mark: the safe box in the proof equals the plain picture."""
    proof, plain, (left, top) = framed(a_page(layout_of, flat), tmp_path)
    assert proof.width > plain.width and proof.height > plain.height
    assert left > 0 and top > 0


def strokes(proof: Image.Image, row: int, columns: range, color: tuple[int, int, int]) -> list[int]:
    """Return the lengths of the runs of a colour along a row."""
    hits = [proof.getpixel((x, row)) == color for x in columns]
    return [len(list(run)) for hit, run in groupby(hits) if hit]


def test_lines_are_told_apart_by_pattern(layout_of: MakeLayout, flat: Make, tmp_path: Path) -> None:
    """Without colour: trim is one solid run, safe some long dashes, bleed many short dots."""
    proof, plain, (left, top) = framed(a_page(layout_of, flat), tmp_path)
    canvas = Canvas(PAGE, PPI)

    def above(box: tuple[int, int, int, int], color: tuple[int, int, int]) -> list[int]:
        x0, y0, x1, _ = canvas.box(box)
        rows = range(top + y0 - 4, top + y0)
        return max((strokes(proof, row, range(left + x0, left + x1), color) for row in rows), key=sum)

    trim, safe = above((0, 0, *PAGE.trim), TRIM), above(PAGE.safe, SAFE)
    assert trim == [4 * PPI]
    assert len(safe) > 5
    assert min(safe) >= 3
    y = top - 2
    dots = strokes(proof, y, range(left, left + plain.width), BLEED)
    assert len(dots) > 2 * len(safe)
    assert max(dots) < min(safe)


def test_the_bleed_is_dimmed_but_visible(layout_of: MakeLayout, flat: Make, tmp_path: Path) -> None:
    """Beyond the trim the page is mixed with the ground of the frame, and still differs from it."""
    proof, plain, (left, top) = framed(a_page(layout_of, flat), tmp_path)
    seen = np.array(proof.getpixel((left + 3, top + plain.height // 2)), dtype=int)
    full = np.array(plain.getpixel((3, plain.height // 2)), dtype=int)
    ground = np.array(GROUND)
    assert (np.abs(seen - ground) < np.abs(full - ground)).all()
    assert np.abs(seen - ground).max() > 30


def test_a_page_without_bleed_has_no_bleed_line(layout_of: MakeLayout) -> None:
    """Two guides remain, and no dot is drawn."""
    page = Page("3x3in", (3 * INCH, 3 * INCH), bleed=0)
    assert [guide.line for guide, _ in guides_of(page)] == ["solid", "dashed"]
    proof = draw_proof(layout_of((), page), base=Path(), ppi=60)
    colors = {color for _, color in proof.getcolors(proof.width * proof.height) or []}
    assert BLEED not in colors and TRIM in colors and SAFE in colors


def test_guide_colours_are_those_of_okabe_and_ito() -> None:
    """Vermilion, blue and bluish green of the published palette (Okabe & Ito 2008, values from memory)."""
    assert {TRIM, SAFE, BLEED} == {(213, 94, 0), (0, 114, 178), (0, 158, 115)}


def test_numbers_appear_only_where_asked_for(layout_of: MakeLayout, flat: Make, tmp_path: Path) -> None:
    """The numbered proof is taller by its slot list and differs on the page."""
    page = a_page(layout_of, flat)
    page = layout_of(
        (*page.elements, flat((INCH, INCH, 2 * INCH, 2 * INCH), "#ffffff", id="p", role="paper")), PAGE
    )
    bare, numbered = (draw_proof(page, base=tmp_path, ppi=PPI, numbers=n) for n in (False, True))
    assert numbered.height > bare.height
    same = np.asarray(bare) == np.asarray(numbered)[: bare.height]
    assert not same.all()


def test_key_figures_are_in_words(layout_of: MakeLayout, photo_at: Make) -> None:
    """Page, cost, proof, what is lost and smallest resolution are told as people say them."""
    photo = photo_at((0, 0, INCH, INCH), (200, 150), (0, 0, 150, 150))
    layout = layout_of((photo,))
    assert figures.key_figures(layout) == [
        ("page", "2 × 2 in"),
        ("cost", "0.123"),
        ("search", "proved best"),
        ("cut away", "25 % of pictures"),
        ("cut away or covered", "10 % of pictures"),
        ("smallest resolution", "300 ppi"),
    ]
    known = replace(layout.given, photos=(GivenPhoto("photo.png", "0" * 64, (200, 150), importance=((1, 2),)),))
    assert ("cut away or covered", "10 % of what matters") in figures.key_figures(replace(layout, given=known))


def test_lengths_are_shown_as_they_are() -> None:
    """A bleed and a page in millimetres are not rounded to inches; the trade's inches stay fractions."""
    page = Page("a5", (148_000, 210_000), bleed=3000)
    assert [guide.name for guide, _ in guides_of(page)] == [
        "trim",
        "safe box, 1/4 in inside",
        "bleed, 3 mm outside",
    ]
    assert format_size(page.trim) == "148 × 210 mm"
    assert format_length(3175) == "1/8 in"


def test_long_names_and_many_changes_stay_in_the_frame(layout_of: MakeLayout, tmp_path: Path) -> None:
    """No ink gets into the outermost margin (only shadow), however much there is to say."""
    page = Page("2x2in", (2 * INCH, 2 * INCH))
    layout = replace(
        layout_of((), page), changes=tuple(f"Change number {n} " + "long " * 40 for n in range(30))
    )
    layout = replace(layout, template=replace(layout.template, name="a-very-long-name-" * 9))
    proof = np.asarray(draw_proof(layout, base=tmp_path, ppi=100))
    edge = 6
    for strip in (proof[:edge], proof[-edge:], proof[:, :edge], proof[:, -edge:]):
        assert np.abs(strip.astype(int) - np.array(GROUND)).max() <= 60
