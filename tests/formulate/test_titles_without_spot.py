"""Titles that no title spot can hold: in a journaling spot no text needs, in small free room, or on a photo."""

from __future__ import annotations

import pytest

from fitter.asked import settings_of
from fitter.formulate import formulate
from fitter.formulate.cards import least_title_cards
from fitter.layout import Given, Layout, Placed
from fitter.pages import Page
from fitter.photos import given
from fitter.template import Limits, Template
from fitter.template_reader import read_template
from fitter.typesetting import set_title
from tests.proofs.fitting import INCH, best, fit, photos, slot, sound, template

TITLE = "Marrow Lake"
SMALL = {"4x6in": (4 * INCH, 6 * INCH), "5x7in": (5 * INCH, 7 * INCH)}


def title_of(layout: Layout) -> Placed:
    """Return the element that holds the title."""
    return next(e for e in layout.elements if e.text is not None and e.text.which == "title")


def with_a_card(**limits: object) -> Template:
    """Return a photo above a card for words, and no spot for a title."""
    card = slot("card", 0.5, 4.25, 5, 1.25, "journaling", limits=Limits(**limits))  # type: ignore[arg-type]
    return template((6, 6), slot("a", 0.5, 0.5, 5, 3.5), card)


def test_a_title_stands_in_a_journaling_spot_that_no_text_needs() -> None:
    """At the price of a swap, which is less than a panel over the photo and a card that stays blank."""
    layout = best(with_a_card(), photos((3000, 2100)), title=TITLE)
    held = title_of(layout)
    assert (held.source, held.role) == ("card", "title")
    assert layout.costs.terms["swap-role"] == 40_000
    assert "Used the journaling spot card as title." in layout.changes
    assert not any(e.source is None for e in layout.elements)


def test_a_journaling_spot_with_words_holds_no_title() -> None:
    """The words have it, and the title has a panel."""
    layout = best(with_a_card(), photos((3000, 2100)), title=TITLE, words=40)
    assert next(e for e in layout.elements if e.source == "card").role == "journaling"
    assert title_of(layout).source is None


@pytest.mark.parametrize("kept", ["may be a photo only", "is fixed"])
def test_a_journaling_spot_that_may_not_hold_a_title(kept: str) -> None:
    """The template's limits hold for titles too."""
    made = with_a_card(may_be=("photo",)) if kept == "may be a photo only" else with_a_card(fixed=True)
    result = fit(made, photos((3000, 2100)), title=TITLE)
    assert all(title_of(layout).source != "card" for layout in result.layouts)


def test_a_journaling_spot_holds_no_title_with_swapping_off() -> None:
    """It is a use of that freedom."""
    layout = best(with_a_card(), photos((3000, 2100)), title=TITLE, without={"swap-role"})
    assert title_of(layout).source != "card"


def over_a_spot(width: float) -> Template:
    """Return a photo over a title spot of a width in inches, and no other free room."""
    return template((4, 4), slot("a", 0.25, 0.25, 3.5, 2.5), slot("title", 2 - width / 2, 2.9, width, 0.85, "title"))


def panels(made: Template) -> bool:
    """Whether panels on photos are offered for a title."""
    asked = Given(photos=given(tuple(photos((3000, 2100)))), title=TITLE)
    formulation = formulate(made, Page("template", made.size), settings_of(made, asked, {}))[0]
    return any(config.panel is not None for options in formulation.configs for config in options)


def test_panels_are_offered_where_the_own_spot_is_too_small_and_nowhere_else() -> None:
    """A spot of 1 in cannot hold the title at 24 pt in any size it may have; one of 3 1/2 in can."""
    assert panels(over_a_spot(1))
    assert not panels(over_a_spot(3.5))


def test_a_title_too_long_for_its_spot_goes_on_the_photo() -> None:
    """With added slots there is a page, without there is none."""
    made, given_photos = over_a_spot(1), photos((3000, 2100))
    layout = best(made, given_photos, title=TITLE, allow=("add-slot", "drop"))
    assert title_of(layout).on == "a"
    assert not fit(made, given_photos, title=TITLE, allow=("drop",)).layouts


def test_words_too_long_for_their_spot_go_on_the_photo() -> None:
    """The same for journaling: a card of an inch cannot hold 30 words, the photo can."""
    card = slot("card", 0.25, 5.5, 1, 0.75, "journaling")
    made = template((6.5, 6.5), slot("a", 0.25, 0.25, 6, 5), card)
    layout = best(made, photos((3600, 3000)), words=30, allow=("add-slot", "drop"))
    (held,) = (e for e in layout.elements if e.text is not None)
    assert held.on == "a"


def test_a_title_stands_in_small_free_room() -> None:
    """A strip of 0.95 in under the photo is too low for a photo or journaling, but holds a title."""
    made = template((5, 5), slot("a", 0.25, 0.25, 4.5, 3.425))
    layout = best(made, photos((3600, 2740)), title=TITLE, allow=("add-slot",))
    held = title_of(layout)
    assert held.source is None and held.on is None
    assert held.room is not None and held.room[3] - held.room[1] < INCH
    assert layout.costs.terms["add-slot"] == 150_000


def test_the_least_cards_hold_the_title_and_smaller_ones_do_not() -> None:
    """On one line and on two, each 1/8 in larger all round than its ink."""
    one, two = least_title_cards(TITLE)
    assert one[0] > two[0] and one[1] < two[1]
    for (width, height), lines in ((one, 1), (two, 2)):
        fits = set_title(TITLE, size_pt=24, width=width - INCH // 4)
        assert fits is not None and len(fits.lines) == lines and fits.ink_height == height - INCH // 4
        short = set_title(TITLE, size_pt=24, width=width - INCH // 4 - 20)
        assert short is None or len(short.lines) > lines


@pytest.mark.parametrize(
    ("name", "size"),
    [
        ("band-over-three", "4x6in"),
        ("quiet-single", "4x6in"),
        ("ribbon-pair", "4x6in"),
        ("round-focus", "4x6in"),
        ("tilted-trio", "4x6in"),
        ("ribbon-pair", "5x7in"),
        ("uneven-four", "5x7in"),
    ],
)
def test_starters_take_a_title_on_small_pages(name: str, size: str) -> None:
    """Two photos and a title find a page, and it obeys every rule at the cost it states."""
    result = fit(
        read_template(name), photos((1500, 1000), (1500, 1000)), title=TITLE, page=Page(size, SMALL[size]), effort=0.3
    )
    assert result.layouts, result.reasons
    sound(result.layouts[0])


def test_a_blank_card_takes_the_title_before_a_photo_does() -> None:
    """Four photos on a starter of six with a card for words and no spot for a title."""
    four = photos((3000, 2000), (3000, 2000), (2000, 3000), (2400, 2400))
    layout = fit(read_template("six-in-tiers"), four, title="Lake", effort=0.7).layouts[0]
    sound(layout)
    assert title_of(layout).source == "journaling"
    assert not any(e.on is not None and e.source is None for e in layout.elements)
