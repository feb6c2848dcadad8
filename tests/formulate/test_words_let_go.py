"""A title carried by a band looks for another place when the page lies on its side and the band no longer holds it."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.layout import Layout
from fitter.pages import Page
from fitter.reference import Member, reference_layout
from fitter.template import Element, Limits, Template
from fitter.template_reader import read_template
from tests.proofs.fitting import best, photos

TITLE = "A summer at Marrow Lake"
ON_ITS_SIDE = photos((3240, 6260), (6960, 5020), (6960, 5020))
"""One upright photo and two level ones: what the starter's slots become on their side."""


def band(*, vertical: bool) -> Template:
    """Return the starter with a title on a band that bleeds on three sides."""
    made = read_template("band-over-three")
    elements = tuple(
        replace(e, limits=Limits(vertical=vertical)) if e.id == "title" else e for e in made.elements
    )
    return replace(made, elements=elements)


def fitted(*, vertical: bool) -> Layout:
    """Return the starter fitted to photos that ask for a quarter turn."""
    layout = best(band(vertical=vertical), ON_ITS_SIDE, title=TITLE, weights={"hole": 0}, without={"drop"}, effort=8.0)
    assert layout.transform.rotate in (90, 270)
    return layout


def reference_title(layout: Layout) -> Element:
    """Return the title's spot in the reference layout."""
    return next(e for e in layout.reference if e.id == "title")


def test_a_vertical_title_keeps_its_spot_on_the_band() -> None:
    """It turns with the band, at the scaled distance from the page's edge it was drawn at."""
    layout = fitted(vertical=True)
    spot = reference_title(layout)
    assert (spot.tie, spot.on) == ("carried", "paper-band")
    (placed,) = (e for e in layout.elements if e.role == "title")
    assert placed.source == "title"
    assert placed.text is not None and abs(placed.text.tilt) == 90
    from_edge = min(placed.center[0], layout.page.trim[0] - placed.center[0])
    assert from_edge == pytest.approx(1.25 * 25_400 * layout.transform.scale, abs=2)


def test_a_level_title_is_let_go_and_finds_another_place() -> None:
    """Level, it is wider than the band is then; no card is added and nothing is dropped for it."""
    layout = fitted(vertical=False)
    spot = reference_title(layout)
    assert (spot.tie, spot.on) == (None, None)
    (placed,) = (e for e in layout.elements if e.role == "title")
    assert placed.source == "title"
    assert placed.text is not None and placed.text.tilt == 0
    assert not layout.dropped


@pytest.mark.parametrize("rotate", [0, 180])
def test_upright_and_on_its_head_the_title_stays_on_its_band(rotate: int) -> None:
    """Without a quarter turn nothing is let go."""
    made = band(vertical=False)
    reference = reference_layout(made, Page("template", made.size), Member(rotate, False))  # type: ignore[arg-type]
    assert reference.element("title").tie == "carried"
