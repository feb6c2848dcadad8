"""A refitted drawing slides only where everything keeps lying to what bleeds as it did in the middle."""

from __future__ import annotations

from fitter.asked import settings_of
from fitter.formulate import formulate
from fitter.layout import Given
from fitter.pages import Page
from fitter.template import Template
from tests.proofs.fitting import INCH, best, inches, photos, rect, slot, template

TALL = Page("tall", (6 * INCH, 8 * INCH))


def slides(made: Template) -> tuple[int, ...] | None:
    """Return the places the upright drawing may slide to on a taller page."""
    return formulate(made, TALL, settings_of(made, Given(photos=()), {}))[0].problem.slide


def band(low: float) -> Template:
    """Return a page of a card and a ribbon from edge to edge, at a height."""
    width, height = inches(6.25, 0.25)
    ribbon = rect("ribbon", "ribbon", (3 * INCH, round(low * INCH)), (width, height), bleeds=("left", "right"))
    return template((6, 6), slot("card", 1, 2, 4, 2, "journaling"), slot("a", 1, 0.5, 1.25, 1.25), ribbon)


def test_without_bleeding_things_it_slides_to_both_ends() -> None:
    """By hand: centred it stands from 1.5 to 5 in; 1.25 in up and 2.75 in down are left, in steps of 1/40 in."""
    made = template((6, 6), slot("card", 1, 2, 4, 2, "journaling"), slot("a", 1, 0.5, 1.25, 1.25))
    assert slides(made) == (-50, 0, 110)


def test_it_does_not_slide_onto_a_ribbon() -> None:
    """Ribbon and card are apart in the middle; at one end the card would lie on it, in the reference too."""
    assert slides(band(4.5)) == (-50, 0)
    assert slides(band(0.25)) == (0, 110)


def test_a_page_that_could_slide_is_sound() -> None:
    """The words' room is what the checker finds from the page's own reference."""
    best(band(4.5), photos((1250, 1250)), words=60, page=TALL)
