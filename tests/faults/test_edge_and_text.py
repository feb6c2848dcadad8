"""Planted faults against rules R1 and R2: for every clause a page that breaks just that, and is told so."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.layout import Fill, Layout
from fitter.template import Element
from tests import builders as b
from tests.faults.planted import broken, holds, one, text_of


def test_the_page_to_start_from_obeys_every_rule(page: Layout) -> None:
    """Without a fault nothing is reported."""
    assert holds(page)


# R1 edge


def test_edge_past_the_safe_line(page: Layout) -> None:
    """An element that does not bleed reaches 3.65 mm past the safe line on the right."""
    found = one(b.move(page, "photo-2", dx=10_000), "R1")
    assert (found.element, found.side, found.amount_um) == ("photo-2", "right", 139_700 + 10_000 - 146_050)


def test_edge_past_the_gutter(page: Layout) -> None:
    """A gutter of 3/4 in pushes the safe line on the left; everything at 1/2 in breaks it by 1/4 in."""
    bound = b.priced(replace(page, page=replace(page.page, gutter={"left": 19_050})))
    found = {v.element: v.amount_um for v in broken(bound, "R1")}
    assert found["photo-1"] == 6_350
    assert found["ribbon-1"] == 12_700
    assert "photo-2" not in found


def test_edge_short_of_the_bleed_line(page: Layout) -> None:
    """The background ends 1 mm before the bleed line on the right."""
    short = b.change(page, "bg", center=(75_700, 76_200), size=(157_750, 158_750))
    found = one(short, "R1")
    assert (found.element, found.side, found.amount_um) == ("bg", "right", 1_000)


def test_edge_of_an_ellipse_is_its_real_shape(page: Layout) -> None:
    """A circle may poke its box's corner anywhere, but its own edge must be safe."""
    fine = b.both(page, "bloom", shape="ellipse")
    assert holds(fine)
    assert one(b.move(fine, "bloom", dx=4_000), "R1").amount_um == pytest.approx(4_000 - 0, abs=2)


def test_edge_corner_between_the_lines(page: Layout) -> None:
    """A tilted bleeding paper leaves one corner between bleed line and safe line."""
    tilted = Element("band", "paper", "rect", (5_000, 120_000), (20_000, 8_000), tilt=20.0, bleeds=("left",))
    layout = b.insert(page, tilted, b.place(tilted, fill=b.PALE), 1)
    found = one(layout, "R1")
    assert (found.element, found.side) == ("band", "left")
    # By hand: the corners are at x = 5000 ± 10000·cos 20° ± 4000·sin 20°, so −3029 and −5765 on the left.
    assert found.amount_um == pytest.approx(3_175 - 3_029, abs=2)


def test_edge_bleeding_side_of_its_own_making(page: Layout) -> None:
    """An element says it bleeds where its slot in the template does not."""
    found = one(b.change(page, "paper-1", bleeds=("left",)), "R1")
    assert (found.element, found.side) == ("paper-1", "left")


def test_edge_text_never_bleeds(page: Layout) -> None:
    """Words stand in a slot that bleeds in the template."""
    layout = b.both(page, "title", bleeds=("bottom",))
    found = one(layout, "R1")
    assert (found.element, found.side) == ("title", "bottom")
    assert "text never bleeds" in found.message
    assert holds(b.change(layout, "title", bleeds=()))


def test_edge_pieces_of_a_bleeding_slot_share_its_sides(page: Layout) -> None:
    """Each piece bleeds on its own side; a side on which none bleeds is a fault."""
    pieces = b.split(page, "bg", "row", [(x, -3_175, 79_376, 158_750) for x in (-3_175, 76_199)])
    for name, side in (("bg.1", "left"), ("bg.2", "right")):
        pieces = b.change(pieces, name, bleeds=(side, "top", "bottom"))
    assert holds(pieces)
    missing = b.change(pieces, "bg.2", bleeds=("top", "bottom"))
    assert {v.side for v in broken(missing, "R1")} == {"right"}


# R2 text


def test_text_tilted_on_a_level_card(page: Layout) -> None:
    """Words run at 3° on a card without tilt."""
    found = broken(b.change(page, "card", text=replace(text_of(page), tilt=3.0)), "R2")
    assert "3°" in found[0].message


def test_text_follows_a_steep_card(page: Layout) -> None:
    """On a card tilted by 20° words run level; here they follow it."""
    small = b.journaling("Biscuit swam first.", (111_125, 98_425), (40_000, 40_000))
    layout = b.both(
        b.give(page, texts=(replace(page.given.texts[0], text="Biscuit swam first."),)),
        "card",
        tilt=20.0,
        size=(40_000, 40_000),
    )
    layout = b.change(layout, "card", text=small)
    assert holds(layout)
    assert one(b.change(layout, "card", text=replace(small, tilt=20.0)), "R2").element == "card"


def test_text_too_near_the_edge(page: Layout) -> None:
    """The ink is moved 2 mm left, nearer to the card's edge than 1/8 in."""
    text = text_of(page)
    x, y = text.ink.center
    room = (57_150 - text.ink.size[0]) // 2 - 3_175
    found = one(b.change(page, "card", text=replace(text, ink=replace(text.ink, center=(x - room - 2_000, y)))), "R2")
    assert (found.element, found.amount_um) == ("card", 2_000)


def test_text_inside_a_circle_means_the_circle(page: Layout) -> None:
    """Ink that fills the box of a round card sticks out of the circle."""
    layout = b.both(page, "card", shape="ellipse")
    assert one(layout, "R2").element == "card"


def test_text_under_a_ribbon(page: Layout) -> None:
    """A ribbon lies across the words; over the rest of the card it may lie."""
    layout = b.change(page, "ribbon-1", center=(111_125, 98_425))
    found = one(layout, "R2")
    assert (found.element, found.other, found.amount_um) == ("card", "ribbon-1", 12_700)
    assert holds(b.change(page, "ribbon-1", center=(111_125, 66_000)))


def test_text_of_too_little_contrast(page: Layout) -> None:
    """#777777 on white has 4.48:1, just under 4.5:1 (published WCAG example); #767676 has 4.54:1."""
    found = one(b.change(page, "card", text=replace(text_of(page), color="#777777")), "R2")
    assert "4.48:1" in found.message
    assert holds(b.change(page, "card", text=replace(text_of(page), color="#767676")))


def on_a_photo(page: Layout) -> Layout:
    """Return the page with the card bare and the second photo under it, in the reference as well."""
    return b.change(b.both(page, "photo-2", center=(111_125, 98_425)), "card", fill=None)


def test_text_directly_on_a_photo(page: Layout) -> None:
    """Words without a panel stand on a photo; with a flat fill between, they may."""
    found = one(on_a_photo(page), "R2")
    assert (found.element, found.other) == ("card", "photo-2")
    assert holds(b.change(on_a_photo(page), "card", fill=b.WHITE))


def test_text_on_an_ornament(page: Layout) -> None:
    """Words stand on a fill that is an ornament."""
    found = one(b.change(page, "card", fill=Fill("motif", "#ffffff", "#dddddd", "leaves")), "R2")
    assert "ornament" in found.message


def test_text_dark_on_the_ground_below(page: Layout) -> None:
    """A title without fill is judged on what it lies on: here a dark background."""
    found = one(b.change(page, "bg", fill=Fill("flat", "#303030")), "R2")
    assert (found.element, found.other) == ("title", "bg")


def test_text_cut_short(page: Layout) -> None:
    """The last line of the words is not set."""
    text = text_of(page)
    found = one(b.change(page, "card", text=replace(text, lines=text.lines[:-1])), "R2")
    assert "words instead of" in found.message


def test_text_lines_in_another_order(page: Layout) -> None:
    """Two lines are swapped."""
    text = text_of(page)
    lines = (text.lines[1], text.lines[0], *text.lines[2:])
    found = broken(b.change(page, "card", text=replace(text, lines=lines)), "R2")
    assert any("differing from word 1" in v.message for v in found)


def test_text_with_a_word_broken_over_lines(page: Layout) -> None:
    """Half a word on the next line is not the given word."""
    text = text_of(page)
    lines = (text.lines[0][:-1], text.lines[0][-1] + " " + text.lines[1][:-9], *text.lines[2:])
    assert broken(b.change(page, "card", text=replace(text, lines=lines)), "R2")


def flowing(page: Layout, second_pt: float) -> Layout:
    """Return the page with two low cards in the card's place and the words on both, on the second in a size."""
    words = page.given.texts[0].text.split()
    halves = " ".join(words[:25]), " ".join(words[25:])
    size, upper, lower = (57_150, 28_500), (111_125, 84_100), (111_125, 112_750)
    first = b.both(page, "card", center=upper, size=size)
    first = b.change(first, "card", text=b.journaling(halves[0], upper, size))
    more = Element("card-2", "journaling", "rect", lower, size)
    placed = b.place(more, fill=b.WHITE, text=b.journaling(halves[1], lower, size, second_pt))
    return b.insert(first, more, placed, 1 + [e.id for e in page.elements].index("card"))


def test_text_of_two_sizes(page: Layout) -> None:
    """A text that flows over two cards is set in 10 pt on one and in 9 on the other."""
    assert holds(flowing(page, 10.0))
    found = one(flowing(page, 9.0), "R2")
    assert (found.element, found.other) == ("card-2", "card")
    assert "one type size" in found.message


def test_text_states_too_small_an_ink_box(page: Layout) -> None:
    """The ink box is 2 mm narrower than the widest line set anew."""
    text = text_of(page)
    width, height = text.ink.size
    short = b.change(page, "card", text=replace(text, ink=replace(text.ink, size=(width - 2_000, height))))
    assert one(short, "R2").amount_um == pytest.approx(2_000, abs=2)
    low = b.change(page, "card", text=replace(text, ink=replace(text.ink, size=(width, height - 1_000))))
    found = broken(low, "R2")
    assert any(v.amount_um == pytest.approx(1_000, abs=2) for v in found)


def test_text_in_a_font_nobody_has(page: Layout) -> None:
    """A layout names a family that is not bundled."""
    assert "not bundled" in one(b.change(page, "card", text=replace(text_of(page), font="Nowhere Sans")), "R2").message
