"""The bundled type families: their files, axes and measures.

Enters: a family name.  Leaves: a path, measures in micrometres, or a font ready for drawing.  Refuses
families that are not bundled.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING

from fitter import resources
from fitter.errors import UseError
from fitter.units import points

if TYPE_CHECKING:
    import uharfbuzz as hb
    from PIL import ImageFont

JOURNALING_FONT = "Lora"
TITLE_FONT = "Lora SemiBold"


@dataclass(frozen=True)
class Family:
    """One bundled family.

    Parameters
    ----------
    name
        As written in layouts.
    file
        File name below ``shared/fonts``.
    axes
        Variation axes as (tag, value), in the file's order.
    """

    name: str
    file: str
    axes: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True)
class Metrics:
    """Heights of a family at one size, in micrometres above (descent: below) the base line."""

    ascent: float
    descent: float
    x_height: float
    cap_height: float


@dataclass(frozen=True)
class ShapedWord:
    """A word in font units.

    ``advance`` is its width; ``above`` and ``below`` how far its glyphs reach from the base line;
    ``overhang`` how far they reach past the advance at the worse side.
    """

    advance: int
    above: int
    below: int
    overhang: int


FAMILIES: dict[str, Family] = {
    family.name: family
    for family in (
        Family(JOURNALING_FONT, "Lora-Variable.ttf", (("wght", 400.0),)),
        Family(TITLE_FONT, "Lora-Variable.ttf", (("wght", 600.0),)),
    )
}


def family_named(name: str) -> Family:
    """Return a bundled family by name.

    Raises
    ------
    UseError
        When it is not bundled.
    """
    if name not in FAMILIES:
        raise UseError(f"font {name[:60]!r} is not bundled; the families are {', '.join(FAMILIES)}")
    return FAMILIES[name]


def font_path(family: str) -> Path:
    """Return the file of a family; several families may share one variable font file."""
    return resources.root() / "fonts" / family_named(family).file


@cache
def shaping_font(family: str) -> hb.Font:
    """Return the family as a HarfBuzz font in font units (see :func:`units_per_em`)."""
    import uharfbuzz as hb

    face = hb.Face(hb.Blob.from_file_path(str(font_path(family))))
    font = hb.Font(face)
    font.set_variations(dict(family_named(family).axes))
    return font


@cache
def units_per_em(family: str) -> int:
    """Return the font units in one em."""
    return int(shaping_font(family).face.upem)


@cache
def covered(family: str) -> frozenset[int]:
    """Return the code points the family has glyphs for."""
    return frozenset(shaping_font(family).face.unicodes)


@lru_cache(maxsize=65_536)
def shape_word(word: str, family: str) -> ShapedWord:
    """Return a word shaped with kerning and ligatures."""
    import uharfbuzz as hb

    font = shaping_font(family)
    buffer = hb.Buffer()
    buffer.add_str(word)
    buffer.guess_segment_properties()
    hb.shape(font, buffer, {})
    pen = above = below = left = right = 0
    for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        box = font.get_glyph_extents(info.codepoint)
        if box is not None and box.width:
            x = pen + position.x_offset + box.x_bearing
            y = position.y_offset + box.y_bearing
            above, below = max(above, y), max(below, -(y + box.height))
            left, right = min(left, x), max(right, x + box.width)
        pen += position.x_advance
    return ShapedWord(pen, above, below, max(-left, right - pen, 0))


@cache
def space(family: str) -> int:
    """Return the width of a word space in font units."""
    return shape_word(" ", family).advance


def metrics(family: str, size_pt: float) -> Metrics:
    """Return the heights of a family at a size in points.

    Ascent and descent are those the font declares for line spacing; x-height and cap height are
    measured on the letters x and H.
    """
    font = shaping_font(family)
    unit = float(points(size_pt)) / units_per_em(family)
    extents = font.get_font_extents("ltr")

    def top(letter: str) -> float:
        glyph = font.get_nominal_glyph(ord(letter))
        box = font.get_glyph_extents(glyph) if glyph else None
        return box.y_bearing * unit if box else 0.0

    return Metrics(extents.ascender * unit, -extents.descender * unit, top("x"), top("H"))


def drawing_font(family: str, pixels: float) -> ImageFont.FreeTypeFont:
    """Return the family for Pillow at a size in pixels per em, its weight already set."""
    from PIL import ImageFont

    font = ImageFont.truetype(str(font_path(family)), pixels)
    axes = family_named(family).axes
    if axes:
        font.set_variation_by_axes([value for _, value in axes])
    return font
