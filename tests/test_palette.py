"""Colours: published values, contrasts that always hold, and fills for every element."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from PIL import Image

from fitter.color_space import contrast, from_oklch, luminance, rgb, to_oklch
from fitter.layout import Ink, Placed, PlacedPhoto, SetText
from fitter.painting import paint
from fitter.palette import (
    COMFORTABLE,
    READABLE,
    UNPRINTED,
    PhotoColour,
    choose_palette,
    photo_hues,
    readable,
)
from fitter.template import Role

HEX = st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}")
COLOURS = st.lists(
    st.builds(
        PhotoColour,
        hue=st.floats(0, 359.99),
        lightness=st.floats(0.2, 0.97),
        chroma=st.floats(0.025, 0.32),
        share=st.floats(0.02, 1.0),
    ),
    max_size=6,
)


def box(identity: str, role: Role, x: int, y: int, w: int, h: int, **more: object) -> Placed:
    size = (w * 2000, h * 2000)
    fields: dict[str, object] = {"source": identity, "shape": "rect"} | more
    return Placed(identity, role=role, center=(x * 2000 + w * 1000, y * 2000 + h * 1000), size=size, **fields)  # type: ignore[arg-type]


def words(which: str = "text-1") -> SetText:
    return SetText(which, ("Marrow Lake",), "Lora", 11.0, 14.0, "#000000", Ink((0, 0), (100, 100)))


PHOTO = PlacedPhoto("lake.jpg", "0" * 64, (300, 200), (0, 0, 300, 200), 300)
PAGE = (
    box("background", "background", 0, 0, 150, 150),
    box("paper-1", "paper", 5, 5, 80, 80),
    box("paper-2", "paper", 40, 40, 80, 80),
    box("paper-3", "paper", 60, 20, 80, 60),
    box("strip", "paper", 0, 70, 150, 8),
    box("mat", "paper", 10, 10, 50, 40, tie="mat", on="photo"),
    box("photo", "photo", 12, 12, 46, 36, photo=PHOTO),
    box("card", "journaling", 70, 90, 60, 40, text=words()),
    box("title", "title", 10, 100, 50, 20, text=words("title")),
    box("title-2", "title", 20, 20, 20, 10, text=words("title")),
    box("ribbon", "ribbon", 0, 130, 150, 6),
    box("flower", "embellishment", 100, 10, 12, 12, shape="ellipse"),
    box("leaf", "embellishment", 120, 10, 12, 24),
    box(
        "corner",
        "embellishment",
        12,
        12,
        8,
        8,
        shape="path",
        outline=((-8000, -8000), (8000, -8000), (0, 8000)),
    ),
)


# --- outside values


@pytest.mark.parametrize(
    "first, second, ratio",
    [
        ("#000000", "#ffffff", 21.0),
        ("#ffffff", "#ffffff", 1.0),
        ("#777777", "#ffffff", 4.48),
        ("#767676", "#ffffff", 4.54),
        ("#0000ff", "#ffffff", 8.59),
        ("#ff0000", "#ffffff", 4.00),
    ],
)
def test_contrast_agrees_with_published_examples(first: str, second: str, ratio: float) -> None:
    """WCAG 2.2: 21:1 and 1:1 by its definition of contrast; the rest known values from memory."""
    assert contrast(first, second) == pytest.approx(ratio, abs=0.005)
    assert contrast(second, first) == contrast(first, second)


def test_luminance_weights_are_those_of_wcag() -> None:
    """WCAG 2.2, relative luminance: 0.2126 R + 0.7152 G + 0.0722 B."""
    assert [luminance(c) for c in ("#ff0000", "#00ff00", "#0000ff")] == pytest.approx(
        [0.2126, 0.7152, 0.0722]
    )


@pytest.mark.parametrize(
    "color, lightness, chroma, hue",
    [
        ("#ff0000", 0.628, 0.2577, 29.23),
        ("#00ff00", 0.8664, 0.2948, 142.5),
        ("#0000ff", 0.452, 0.3132, 264.05),
    ],
)
def test_oklch_agrees_with_published_primaries(
    color: str, lightness: float, chroma: float, hue: float
) -> None:
    """OKLCH of the sRGB primaries (as in CSS Color 4; values from memory)."""
    assert to_oklch(color) == pytest.approx((lightness, chroma, hue), abs=0.02, rel=1e-3)


def test_white_is_neutral_in_oklab() -> None:
    """Ottosson 2020: white has lightness 1 and no chroma."""
    assert to_oklch("#ffffff")[:2] == pytest.approx((1.0, 0.0), abs=1e-4)


@given(HEX)
@example("#000000")
@example("#ffffff")
def test_oklch_there_and_back_is_the_same_colour(color: str) -> None:
    """The two directions undo each other within one step of a channel."""
    assert rgb(from_oklch(*to_oklch(color))) == pytest.approx(rgb(color), abs=1)


@given(st.floats(0.2, 1), st.floats(0, 0.5), st.floats(0, 360))
def test_every_wish_becomes_a_colour_as_light(lightness: float, chroma: float, hue: float) -> None:
    """Chroma gives way, lightness stays, from dark grey to white."""
    assert to_oklch(from_oklch(lightness, chroma, hue))[0] == pytest.approx(lightness, abs=0.02)


# --- palettes


@given(COLOURS)
def test_text_reads_on_every_ground(colours: list[PhotoColour]) -> None:
    """Ink at least 7:1, titles at least 4.5:1 on papers, ground, mat and card, whatever the photos."""
    palette = choose_palette(colours)
    for ground in (palette.ground, palette.mat, palette.card, *palette.papers):
        assert contrast(palette.ink, ground) >= COMFORTABLE
        assert contrast(palette.accent_dark, ground) >= READABLE


@given(COLOURS)
def test_papers_are_pale_and_low_in_chroma(colours: list[PhotoColour]) -> None:
    """Papers stay behind the photos: lightness over 0.85, chroma under 0.04, no two alike."""
    palette = choose_palette(colours)
    for paper in (palette.ground, palette.mat, palette.card, *palette.papers):
        lightness, chroma, _ = to_oklch(paper)
        assert lightness > 0.85
        assert chroma < 0.04
    assert len(set(palette.papers)) == len(palette.papers)
    assert to_oklch(palette.mat)[0] > 0.97


def test_papers_take_the_photos_hue_and_the_accent_another() -> None:
    """A blue lake under an orange sky: bluish papers, an orange accent."""
    sky, lake = Image.new("RGB", (60, 20), "#e08a3c"), Image.new("RGB", (60, 60), "#2f6fa8")
    lake.paste(sky, (0, 0))
    hues = photo_hues([lake])
    assert [round(colour.hue, -1) for colour in hues] == pytest.approx([250, 60], abs=10)
    palette = choose_palette(hues)
    assert to_oklch(palette.papers[0])[2] == pytest.approx(hues[0].hue, abs=15)
    assert to_oklch(palette.accent)[2] == pytest.approx(hues[1].hue, abs=10)


def test_grey_photos_get_a_quiet_neutral_palette() -> None:
    """Without hues in the photos nothing on the page is colourful."""
    hues = photo_hues([Image.linear_gradient("L")])
    assert hues == ()
    palette = choose_palette(hues)
    assert max(to_oklch(c)[1] for c in (palette.accent, palette.ground, *palette.papers)) < 0.05


def test_every_photo_counts_the_same_whatever_its_size() -> None:
    """A large picture does not outvote a small one."""
    small, large = Image.new("RGB", (10, 10), "#b03030"), Image.new("RGB", (400, 300), "#3030b0")
    shares = sorted(colour.share for colour in photo_hues([small, large]))
    assert shares[0] > 0.35


@given(HEX, st.lists(HEX, max_size=3))
def test_something_readable_is_always_found(ground: str, wished: list[str]) -> None:
    """Black or white reaches 4.5:1 on any colour, so text never fails."""
    assert contrast(readable(ground, wished), ground) >= READABLE


# --- painting


@given(COLOURS, st.integers(0, 30))
def test_every_element_is_painted_and_every_text_reads(colours: list[PhotoColour], seed: int) -> None:
    """All but photos get a fill, nothing else changes, and rule R2's contrast holds."""
    painted = paint(PAGE, choose_palette(colours), seed)
    for before, after in zip(PAGE, painted, strict=True):
        if before.photo is not None:
            assert after == before
            continue
        assert after.fill is not None
        assert replace(after, fill=None, text=before.text) == before
        if after.text is not None:
            assert contrast(after.text.color, after.fill.color) >= READABLE
            assert before.text is not None
            assert replace(after.text, color=before.text.color) == before.text


@given(COLOURS, st.integers(0, 30))
def test_papers_that_touch_differ(colours: list[PhotoColour], seed: int) -> None:
    """Overlapping papers have tints of their own."""
    fills = {e.id: e.fill for e in paint(PAGE, choose_palette(colours), seed)}
    tints = [fill.color for name in ("paper-1", "paper-2", "paper-3") if (fill := fills[name])]
    assert len(set(tints)) == 3


def colors_of(painted: tuple[Placed, ...]) -> dict[str, str]:
    return {e.id: e.fill.color for e in painted if e.fill is not None}


def test_each_role_has_its_colour() -> None:
    """Mats near white, strips and ribbons in the accent, cards the card's colour, titles what they lie on."""
    palette = choose_palette([PhotoColour(240, 0.6, 0.1, 0.6)])
    painted = paint(PAGE, palette)
    colors = colors_of(painted)
    assert colors["background"] == palette.ground
    assert colors["mat"] == palette.mat
    assert colors["strip"] == colors["ribbon"] == palette.accent
    assert colors["card"] == palette.card
    assert colors["title"] == palette.ground
    assert colors["title-2"] == palette.card, "on a photo a title gets a plain panel"
    kinds = {e.id: (e.fill.kind, e.fill.motif) for e in painted if e.fill is not None}
    assert kinds["corner"] == ("motif", "facet")
    assert kinds["leaf"] == ("motif", "sprig")
    assert kinds["ribbon"] == ("pattern", "stitch")
    assert {kinds[p][0] for p in ("paper-1", "paper-2", "paper-3")} == {"flat", "pattern"}


def test_a_title_on_the_bare_page_lies_on_white() -> None:
    """Where nothing is below, the page is unprinted."""
    (title,) = paint([box("title", "title", 0, 0, 20, 10, text=words("title"))], choose_palette(()))
    assert title.fill is not None and title.fill.color == UNPRINTED


def test_the_full_accent_is_used_about_three_times() -> None:
    """More strips than three take the softer tint."""
    palette = choose_palette(())
    strips = [box(f"strip-{n}", "paper", 0, 10 * n, 100, 4) for n in range(6)]
    used = [e.fill.color for e in paint(strips, palette) if e.fill is not None]
    assert used == [palette.accent] * 3 + [palette.accent_soft] * 3


def test_painting_repeats_and_seeds_differ() -> None:
    """The same input gives the same page; another seed another one."""
    palette = choose_palette([PhotoColour(150, 0.5, 0.1, 1.0)])
    assert paint(PAGE, palette, 4) == paint(PAGE, palette, 4)
    assert paint(PAGE, palette, 4) != paint(PAGE, palette, 5)


def test_a_broad_band_is_pale() -> None:
    """A strip of more than an inch takes the palest tint of the accent, patterned."""
    palette = choose_palette([PhotoColour(150, 0.5, 0.1, 1.0)])
    (band,) = paint([box("band", "paper", 0, 0, 60, 15)], palette)
    assert band.fill is not None
    assert (band.fill.kind, band.fill.color) == ("pattern", palette.accent_pale)
    assert contrast(palette.accent_pale, palette.ink) >= READABLE


def test_mats_of_a_page_are_alike_and_show_on_white() -> None:
    """Mats share one colour, a tint on the bare page; a mat on a mat differs."""
    palette = choose_palette([PhotoColour(240, 0.5, 0.1, 1.0)])
    first, second = (box(f"mat-{n}", "paper", 50 * n, 50 * n, 30, 20, tie="mat", on="x") for n in (0, 1))
    paper, inner = (
        box("paper", "paper", 50, 50, 40, 40),
        box("inner", "paper", 2, 2, 26, 16, tie="mat", on="x"),
    )
    colors = colors_of(paint((paper, first, second, inner), palette))
    assert colors["mat-0"] == colors["mat-1"] != UNPRINTED
    assert colors["inner"] != colors["mat-0"]


def test_a_paper_under_a_title_stays_plain() -> None:
    """A broad band is striped; one that a title lies on is not, as the title's spot would cut the stripes."""
    palette = choose_palette(())
    band = box("band", "paper", 0, 0, 80, 15)
    title = box("title", "title", 10, 4, 60, 7)
    assert paint((band,), palette)[0].fill.kind == "pattern"  # type: ignore[union-attr]
    under, over = paint((band, title), palette)
    assert under.fill is not None and over.fill is not None
    assert (under.fill.kind, over.fill.kind) == ("flat", "flat")
    assert under.fill.color == over.fill.color
