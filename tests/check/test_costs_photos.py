"""Costs of photos and words but crop loss on a tiny page, with their values worked out by hand in the test."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.layout import GivenPhoto, Layout, Waiver
from tests import builders as b
from tests.check.costing import cost


@pytest.mark.parametrize(
    ("width", "price"),
    [(750, 0), (900, 0), (500, 50_000), (375, 200_000), (625, 25_000), (438, 124_400), (250, 350_000)],
)
def test_ppi(page: Layout, width: int, price: int) -> None:
    """On 2.5 in 750 px are 300 ppi, 500 px 200, 375 px 150; linear between and on below."""
    photo = replace(b.A, pixels=(width, width), keep=())
    layout = b.both(
        b.give(page, photos=(photo, b.B), min_ppi=1),
        "photo-1",
        size=(63_500, 63_500),
        center=(44_450, 38_100),
    )
    layout = b.change(layout, "photo-1", photo=b.whole(photo, (63_500, 63_500)))
    assert cost(layout, "ppi") == price


def reset(page: Layout, size_pt: float, width: int = 57_150, height: int | None = None) -> Layout:
    """Return the page with the words set anew, alone on a card as wide and high as asked."""
    layout = b.give(b.remove(page, "paper-1", "ribbon-1", "bloom", "title"), title=None)
    text = b.journaling(b.WORDS, (76_200, 98_425), (width, 57_150), size_pt)
    height = height or round(text.ink.size[1] / 0.8 / 2) * 2 + 6_350
    return b.change(layout, "card", center=(76_200, 98_425), size=(width, height), text=text)


@pytest.mark.parametrize(
    ("size_pt", "price"), [(8.0, 40_000), (9.5, 10_000), (10.0, 0), (12.0, 0), (12.5, 10_000), (14.0, 40_000)]
)
def test_text_type_size(page: Layout, size_pt: float, price: int) -> None:
    """10 to 12 pt are free, 8 pt cost 2 × 20,000, 14 pt as much, 9.5 and 12.5 pt 10,000."""
    # 95 mm hold 54 characters at 10 pt, from 12 pt on fewer than 45.
    layout = reset(page, size_pt, 101_600)
    assert cost(layout, "text") == price + (0 if 45 <= mean(layout) <= 75 else 5_000)


def mean(layout: Layout) -> float:
    """Return the mean length of all but the last line on the card, counted anew."""
    text = b.element(layout, "card").text
    assert text is not None
    return sum(map(len, text.lines[:-1])) / (len(text.lines) - 1)


@pytest.mark.parametrize(
    ("lengths", "price"),
    [((44,), 5_000), ((45,), 0), ((75,), 0), ((76,), 5_000), ((74, 76), 0), ((75, 76), 5_000), ((44, 45), 5_000)],
)
def test_text_measure(page: Layout, lengths: tuple[int, ...], price: int) -> None:
    """A mean of 45 to 75 characters in the full lines is free; the last line, here of 20, does not count.

    74 and 76 make 75 and pass, 75 and 76 make 75.5 and do not.
    """
    layout = reset(page, 10.0, 57_150)
    text = b.element(layout, "card").text
    assert text is not None
    lines = tuple("n" * length for length in (*lengths, 20))
    assert cost(b.change(layout, "card", text=replace(text, lines=lines)), "text") == price


def test_text_fill(page: Layout) -> None:
    """Ink over 95 % or under 60 % of the height less 1/8 in above and below costs 20,000."""
    text = b.element(page, "card").text
    assert text is not None
    ink = text.ink.size[1]
    room = {0.59: 20_000, 0.61: 0, 0.94: 0, 0.96: 20_000}
    for share, price in room.items():
        layout = reset(page, 10.0, 57_150, height=round(ink / share / 2) * 2 + 6_350)
        assert cost(layout, "text") == 5_000 + price, share


@pytest.mark.parametrize(
    ("shape", "tilt", "room"),
    [
        ("ellipse", 0.0, 80_000 / 2**0.5),
        ("rect", 30.0, 80_000 / (0.5 + 3**0.5 / 2)),
        ("rect", 10.0, 80_000.0),
    ],
)
def test_text_fill_of_round_and_steep_cards(page: Layout, shape: str, tilt: float, room: float) -> None:
    """The square inside a circle has 1/√2 of its width; the level one in a tilted square 1/(sin + cos)."""
    words = "Biscuit swam out to the red buoy and back, twice, and slept all the way home."
    given = {"title": None, "texts": (replace(page.given.texts[0], text=words),)}
    layout = b.give(b.remove(page, "paper-1", "ribbon-1", "bloom", "title"), **given)
    for name in ("bloom", "title"):
        layout = b.redraw(layout, name, center=(10_000, 10_000), size=(10, 10))
    layout = b.both(layout, "card", center=(76_200, 104_000), size=(80_000, 80_000), shape=shape, tilt=tilt)
    text = b.journaling(words, (76_200, 104_000), (46_350, 60_000))
    for share, price in {0.59: 20_000, 0.61: 0, 0.94: 0, 0.96: 20_000}.items():
        ink = replace(text.ink, size=(40_000, round((room - 6_350) * share)))
        assert cost(b.change(layout, "card", text=replace(text, ink=ink)), "text") == 5_000 + price, share


def test_text_fill_beside_what_lies_on_the_card(page: Layout) -> None:
    """A ribbon that laps 10 mm of the card's lower end in the template takes them from the room for words."""
    layout = b.both(page, "ribbon-1", center=(111_125, 127_000 - 3_650), on="card")
    # The ribbon is 117,000 … 129,700; the card ends at 127,000.
    room = 57_150 - 6_350 - 10_000
    text = b.element(layout, "card").text
    assert text is not None
    for share, price in {0.59: 20_000, 0.61: 0, 0.94: 0, 0.96: 20_000}.items():
        ink = replace(text.ink, size=(text.ink.size[0], round(room * share)))
        assert cost(b.change(layout, "card", text=replace(text, ink=ink)), "text") == 5_000 + price, share


def test_titles_cost_nothing(page: Layout) -> None:
    """A title in the smallest allowed size is free."""
    assert cost(b.give(b.remove(page, "card"), texts=()), "text") == 0


def test_emphasis(page: Layout) -> None:
    """The favourite has the smaller slot: 20,000; the other way round nothing."""
    assert cost(b.give(page, photos=(b.A, replace(b.B, weight=3.0))), "emphasis") == 20_000
    assert cost(b.give(page, photos=(replace(b.A, weight=3.0), b.B)), "emphasis") == 0


def test_order(page: Layout) -> None:
    """The photo on the left was taken after the one on the right: 3,000."""
    assert cost(page, "order") == 0
    later = b.give(page, photos=(replace(b.A, order=1), replace(b.B, order=0)))
    assert cost(later, "order") == 3_000
    # A sixth of the page further up the right one is read first anyhow.
    up = b.redraw(later, "photo-2", center=(111_125, 10_000))
    assert cost(up, "order") == 0


def test_order_of_pieces_of_one_slot_is_free(page: Layout) -> None:
    """Two pieces of a slot never count against each other."""
    c = GivenPhoto("c.jpg", "c" * 64, (500, 1000), order=2)
    layout = b.give(page, photos=(b.A, b.B, c))
    layout = b.split(layout, "photo-2", "row", [(82_550, 12_700, 26_988, 50_800), (112_712, 12_700, 26_988, 50_800)])
    layout = b.change(layout, "photo-2.1", photo=b.cropped(c, (0, 0, 500, 941), (26_988, 50_800)))
    assert cost(layout, "order") == 0


def test_left_out_and_waived(page: Layout) -> None:
    """A photo left out costs 300,000, a waiver 1,000,000."""
    assert cost(b.remove(page, "photo-2"), "left-out") == 300_000
    waived = replace(page, waived=(Waiver("R5", "photo-1", "no other way"), Waiver("R8", "photo-2", "too small")))
    assert cost(waived, "waived") == 2_000_000
