"""Step 6 on tiny canvases: where things land, in what order, and with what edges."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageOps
from shapely.geometry import Polygon

from fitter.errors import InputError, UseError
from fitter.layout import Fill, Layout, Placed
from fitter.pages import Page
from fitter.proof import draw_proof
from fitter.proof.shapes import Canvas, coverage, ring

Make = Callable[..., Placed]
MakeLayout = Callable[..., Layout]
INCH = 25_400


def plain(layout: Layout, base: Path, ppi: int = 20) -> Image.Image:
    return draw_proof(layout, base=base, ppi=ppi, plain=True)


def test_level_rectangles_have_hard_edges_on_whole_pixels(
    layout_of: MakeLayout, flat: Make, same_picture: Callable[..., None], tmp_path: Path
) -> None:
    """A level rectangle is exactly its pixels, without a grey rim."""
    wanted = Image.new("RGB", (40, 40), "#ffffff")
    wanted.paste((10, 120, 200), (10, 5, 30, 20))
    box = (INCH // 2, INCH // 4, 3 * INCH // 2, INCH)
    same_picture(plain(layout_of((flat(box, "#0a78c8"),)), tmp_path), wanted)


def test_later_elements_lie_on_top(layout_of: MakeLayout, flat: Make, tmp_path: Path) -> None:
    """Elements are drawn bottom to top."""
    lower, upper = flat((0, 0, INCH, INCH), "#ff0000"), flat((0, 0, INCH, INCH), "#0000ff", id="b")
    assert plain(layout_of((lower, upper)), tmp_path).getpixel((5, 5)) == (0, 0, 255)
    assert plain(layout_of((upper, lower)), tmp_path).getpixel((5, 5)) == (255, 0, 0)


@pytest.mark.parametrize("bleed", [0, 3175, 3000])
def test_plain_is_the_bleed_box(layout_of: MakeLayout, flat: Make, tmp_path: Path, bleed: int) -> None:
    """Plain pictures are as large as the bleed box, and what bleeds reaches their edge."""
    page = Page("2x3in", (2 * INCH, 3 * INCH), bleed=bleed)
    ground = flat((-bleed, -bleed, 2 * INCH + bleed, 3 * INCH + bleed), "#336699")
    image = plain(layout_of((ground,), page), tmp_path, 100)
    assert image.size == (round((2 * INCH + 2 * bleed) / 254), round((3 * INCH + 2 * bleed) / 254))
    assert image.getcolors() == [(image.width * image.height, (0x33, 0x66, 0x99))]


def test_a_crop_lands_pixel_for_pixel(layout_of: MakeLayout, photo_at: Make, ramp: Path) -> None:
    """At one picture pixel per page pixel the crop's own pixels appear, within one pixel."""
    crop = (40, 30, 140, 130)
    element = photo_at((INCH // 2, INCH // 2, 3 * INCH // 2, 3 * INCH // 2), (200, 150), crop)
    drawn = np.asarray(plain(layout_of((element,)), ramp, 100), dtype=int)[50:150, 50:150]
    y, x = np.mgrid[0:100, 0:100]
    assert np.abs(drawn[..., 0] - (x + 40)).max() <= 1
    assert np.abs(drawn[..., 1] - (y + 30)).max() <= 1


@pytest.mark.parametrize("ppi", [36, 64, 234])
def test_a_crop_keeps_its_edges_at_any_scale(
    layout_of: MakeLayout, photo_at: Make, ramp: Path, ppi: int
) -> None:
    """First and last columns and rows show the crop's edges, at odd resolutions too."""
    element = photo_at((INCH // 2, INCH // 2, 3 * INCH // 2, 3 * INCH // 2), (200, 150), (40, 30, 140, 130))
    image = plain(layout_of((element,)), ramp, ppi)
    first, last = round(ppi / 2), round(ppi * 1.5) - 1
    step = 100 / ppi
    left, right = image.getpixel((first, ppi)), image.getpixel((last, ppi))
    assert isinstance(left, tuple) and isinstance(right, tuple)
    assert left[0] == pytest.approx(40, abs=step + 1)
    assert right[0] == pytest.approx(139, abs=step + 1)


def test_a_slot_partly_off_the_page_shows_the_right_part(
    layout_of: MakeLayout, photo_at: Make, ramp: Path
) -> None:
    """What lies beyond the bleed is cut off, the rest does not move."""
    element = photo_at((-INCH, 0, INCH, 3 * INCH // 2), (200, 150), (0, 0, 200, 150))
    drawn = np.asarray(plain(layout_of((element,)), ramp, 100), dtype=int)
    assert np.abs(drawn[0, :100, 0] - (np.arange(100) + 100)).max() <= 1


def test_a_tilted_photo_turns_clockwise_about_its_centre(
    layout_of: MakeLayout, photo_at: Make, ramp: Path
) -> None:
    """Points of a photo tilted by 20° are found where trigonometry puts them."""
    element = photo_at((INCH // 2, INCH // 2, 3 * INCH // 2, 3 * INCH // 2), (200, 150), (40, 30, 140, 130))
    image = plain(layout_of((replace(element, tilt=20.0),)), ramp, 100)
    c, s = math.cos(math.radians(20)), math.sin(math.radians(20))
    for dx, dy in ((-40, -40), (40, -40), (40, 40), (-40, 40), (0, 0), (25, -10)):
        pixel = image.getpixel((int(100 + dx * c - dy * s), int(100 + dx * s + dy * c)))
        assert isinstance(pixel, tuple)
        assert pixel[0] == pytest.approx(90 + dx, abs=1.6)
        assert pixel[1] == pytest.approx(80 + dy, abs=1.6)


def test_tilted_edges_are_smooth_and_carry_no_dark_fringe(
    layout_of: MakeLayout, photo_at: Make, tmp_path: Path
) -> None:
    """A white photo tilted on a white page leaves no trace: its rim is mixed from its own pixels."""
    Image.new("RGB", (60, 60), "#ffffff").save(tmp_path / "photo.png")
    element = photo_at((INCH // 2, INCH // 2, 3 * INCH // 2, 3 * INCH // 2), (60, 60), (0, 0, 60, 60))
    image = plain(layout_of((replace(element, tilt=7.0),)), tmp_path, 60)
    assert np.asarray(image).min() >= 254


@given(
    width=st.integers(20, 300),
    height=st.integers(20, 300),
    tilt=st.floats(-45, 45),
    shape=st.sampled_from(["rect", "ellipse"]),
)
@settings(max_examples=40, deadline=None)
def test_masks_cover_the_area_that_shapely_measures(width: int, height: int, tilt: float, shape: str) -> None:
    """Outside check against shapely: the mask's sum is the polygon's area, to a tenth of a pixel."""
    page = Page("4x4in", (4 * INCH, 4 * INCH), bleed=0)
    canvas = Canvas(page, 100)
    size = (2 * width * 127, 2 * height * 127)
    element = Placed("a", "a", "paper", shape, (2 * INCH, 2 * INCH), size, tilt)  # type: ignore[arg-type]
    points = ring(element, canvas)
    region = (-120, -120, 520, 520)
    mask = np.asarray(coverage([points], region), dtype=float) / 255
    polygon = Polygon(points)
    assert mask.sum() == pytest.approx(polygon.area, abs=0.1 * polygon.length)
    exact = width * height * (1.0 if shape == "rect" else math.pi / 4)
    assert polygon.area == pytest.approx(exact, rel=1e-3)


def test_tilted_masks_have_many_steps_between_free_and_covered(layout_of: MakeLayout, flat: Make) -> None:
    """Edges are graded, not stepped, and only near the edge."""
    canvas = Canvas(Page("2x2in", (2 * INCH, 2 * INCH), bleed=0), 100)
    element = replace(flat((INCH // 2, INCH // 2, 3 * INCH // 2, 3 * INCH // 2), "#000000"), tilt=3.0)
    mask = np.asarray(coverage([ring(element, canvas)], canvas.region))
    between = (mask > 0) & (mask < 255)
    assert len(np.unique(mask[between])) > 20
    assert between.sum() < 4 * 100 * 3


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_is_applied_once(
    layout_of: MakeLayout, photo_at: Make, tmp_path: Path, orientation: int
) -> None:
    """Outside check against ``PIL.ImageOps.exif_transpose``: photos are drawn the way round they are seen."""
    stored = Image.new("RGB", (96, 64), "#204080")
    stored.paste((230, 40, 40), (0, 0, 48, 32))
    stored.paste((40, 200, 60), (48, 32, 96, 64))
    exif = Image.Exif()
    exif[0x0112] = orientation
    stored.save(tmp_path / "photo.jpg", quality=95, exif=exif)
    with Image.open(tmp_path / "photo.jpg") as opened:
        seen = ImageOps.exif_transpose(opened).convert("RGB")
    w, h = seen.size
    element = photo_at((0, 0, w * 254, h * 254), (w, h), (0, 0, w, h), "photo.jpg")
    drawn = plain(layout_of((element,)), tmp_path, 100).crop((0, 0, w, h))
    for x, y in ((w // 4, h // 4), (3 * w // 4, h // 4), (w // 4, 3 * h // 4), (3 * w // 4, 3 * h // 4)):
        assert np.abs(np.subtract(drawn.getpixel((x, y)), seen.getpixel((x, y)))).max() <= 12


def test_shadows_fall_beside_papers_and_not_on_them(
    layout_of: MakeLayout, flat: Make, tmp_path: Path
) -> None:
    """A paper keeps its colour; the page just below it is darker than far away."""
    paper = replace(flat((INCH // 2, INCH // 2, 3 * INCH // 2, 3 * INCH // 2), "#aabbcc"), role="paper")
    image = plain(layout_of((paper,)), tmp_path, 200)
    assert image.crop((100, 100, 300, 300)).getcolors() == [(40_000, (0xAA, 0xBB, 0xCC))]
    below, far = image.getpixel((200, 302)), image.getpixel((200, 390))
    assert isinstance(below, tuple) and below[0] < 250
    assert far == (255, 255, 255)


@pytest.mark.parametrize("kind, motif", [("pattern", "plaid"), ("motif", "unicorn")])
def test_unknown_papers_and_ornaments_are_named(
    layout_of: MakeLayout, flat: Make, tmp_path: Path, kind: str, motif: str
) -> None:
    """A fill this version does not know is refused by name, with the choices."""
    element = flat((0, 0, INCH, INCH), "#ffffff", fill=Fill(kind, "#ffffff", "#000000", motif))  # type: ignore[arg-type]
    with pytest.raises(InputError, match=rf"'ground'.*'{motif}' is none of .*,"):
        plain(layout_of((element,)), tmp_path)


def test_a_bad_colour_is_named(layout_of: MakeLayout, flat: Make, tmp_path: Path) -> None:
    """Colours are checked before they reach the drawing library."""
    with pytest.raises(InputError, match="'beige-ish' is not a colour"):
        plain(layout_of((flat((0, 0, INCH, INCH), "beige-ish"),)), tmp_path)


def test_a_missing_photo_is_named(layout_of: MakeLayout, photo_at: Make, tmp_path: Path) -> None:
    """A photo that is gone is one clear error."""
    element = photo_at((0, 0, INCH, INCH), (200, 150), (0, 0, 150, 150), "gone.jpg")
    with pytest.raises(InputError, match=r"gone\.jpg"):
        plain(layout_of((element,)), tmp_path)


def test_another_picture_under_the_same_name_is_noticed(
    layout_of: MakeLayout, photo_at: Make, ramp: Path
) -> None:
    """A file of other proportions than the layout records is refused."""
    element = photo_at((0, 0, INCH, INCH), (150, 200), (0, 0, 150, 150))
    with pytest.raises(InputError, match="not the picture the layout was made with"):
        plain(layout_of((element,)), ramp)


@pytest.mark.parametrize("crop", [(0, 0, 201, 150), (-1, 0, 100, 100), (50, 50, 50, 100)])
def test_a_crop_outside_the_picture_is_refused(
    layout_of: MakeLayout, photo_at: Make, ramp: Path, crop: tuple[int, int, int, int]
) -> None:
    """A crop must be a part of the picture."""
    with pytest.raises(InputError, match="crop"):
        plain(layout_of((photo_at((0, 0, INCH, INCH), (200, 150), crop),)), ramp)


@pytest.mark.parametrize("ppi", [-1, 0, 5, 50_000])
def test_impossible_resolutions_are_refused(layout_of: MakeLayout, tmp_path: Path, ppi: int) -> None:
    """Resolutions that give no picture, or one larger than memory, name the range that works."""
    with pytest.raises(UseError, match="use 18 to"):
        draw_proof(layout_of(()), base=tmp_path, ppi=ppi)


@pytest.mark.parametrize("motif", ["rosette", "rays", "rings", "star", "sprig", "facet"])
@pytest.mark.parametrize("size", [(INCH, INCH), (INCH // 2, INCH), (INCH, INCH // 4)])
def test_ornaments_stay_inside_their_box(
    layout_of: MakeLayout, flat: Make, tmp_path: Path, motif: str, size: tuple[int, int]
) -> None:
    """Every motif shows, and no ink leaves the element's box by more than its shadow's tint."""
    left, top = INCH - size[0] // 2, INCH - size[1] // 2
    box = (left, top, left + size[0], top + size[1])
    fill = Fill("motif", "#ffffff", "#cc0000", motif)
    element = flat(box, "#ffffff", fill=fill, role="embellishment")
    drawn = np.asarray(plain(layout_of((element,)), tmp_path, 100), dtype=int)
    red = drawn[..., 0] - drawn[..., 1] > 40
    rows, columns = np.nonzero(red)
    assert red.sum() > 50
    assert columns.min() >= left // 254 - 1 and columns.max() <= box[2] // 254 + 1
    assert rows.min() >= top // 254 - 1 and rows.max() <= box[3] // 254 + 1


@pytest.mark.parametrize("pattern", ["dots", "lines", "stripes", "grid", "crosses", "stitch"])
@pytest.mark.parametrize("tilt", [0.0, 5.0])
def test_patterns_are_quiet_and_repeat(
    layout_of: MakeLayout, flat: Make, tmp_path: Path, pattern: str, tilt: float
) -> None:
    """A pattern mixes only ground and ink, and both show; most of the paper stays ground."""
    ground = flat((0, 0, 2 * INCH, 2 * INCH), "#e0e0e0")
    fill = Fill("pattern", "#e0e0e0", "#404040", pattern)
    box = (INCH // 4, INCH // 4, 7 * INCH // 4, 7 * INCH // 4)
    paper = flat(box, "#ffffff", id="paper", fill=fill, tilt=tilt)
    drawn = np.asarray(plain(layout_of((ground, paper)), tmp_path, 150), dtype=int)
    assert 0x40 <= drawn.min() < 0xC0
    assert drawn.max() == 0xE0
    assert 0.4 < (drawn == 0xE0).mean() < 0.998
