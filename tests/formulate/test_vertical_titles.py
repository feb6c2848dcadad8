"""Titles whose spot allows it run vertically where that takes a larger size; never upside down, and only there."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.layout import Layout, Placed
from fitter.template import Limits
from tests.proofs.fitting import best, fit, photos, slot, template

TITLE = "Marrow Lake"
UPRIGHT = Limits(vertical=True)


def title_of(layout: Layout) -> Placed:
    """Return the element that holds the title."""
    return next(e for e in layout.elements if e.text is not None and e.text.which == "title")


def tilt_of(layout: Layout) -> float:
    """Return the angle the title runs at."""
    text = title_of(layout).text
    assert text is not None
    return text.tilt


def beside(x: float, limits: Limits) -> Layout:
    """Return a page whose title spot stands upright beside a photo, left or right of it."""
    left = 1.75 if x < 3 else 0.5
    made = template((6, 6), slot("a", left, 0.5, 3.75, 5), slot("title", x, 0.5, 1, 5, "title", limits=limits))
    return best(made, photos((1125, 1500)), title=TITLE, allow=())


def test_left_of_the_middle_it_reads_upwards_right_of_it_downwards() -> None:
    """The letters' feet point to the middle of the page (common practice, no source)."""
    assert tilt_of(beside(0.5, UPRIGHT)) == -90
    assert tilt_of(beside(4.5, UPRIGHT)) == 90
    assert beside(0.5, UPRIGHT).changes == ("Set the title on title vertically, reading from bottom to top.",)


def test_an_upright_spot_that_does_not_allow_it_is_set_level_or_not_at_all() -> None:
    """A spot 1 in wide takes no level title of eleven letters at 24 pt."""
    made = template((6, 6), slot("a", 1.75, 0.5, 3.75, 5), slot("title", 0.5, 0.5, 1, 5, "title"))
    assert not fit(made, photos((1125, 1500)), title=TITLE, allow=()).layouts


def test_a_wide_spot_stays_level() -> None:
    """Where level type can be as large it stays level."""
    made = template((6, 6), slot("a", 0.5, 1.75, 5, 3.75), slot("title", 0.5, 0.5, 5, 1, "title", limits=UPRIGHT))
    assert tilt_of(best(made, photos((2000, 1500)), title=TITLE, allow=())) == 0


@pytest.mark.parametrize("flip", [(), ("mirror-page",)])
def test_a_page_on_its_side_has_its_title_on_its_side(flip: tuple[str, ...]) -> None:
    """Two upright photos turn a page of two level ones; the title over them then stands beside them."""
    made = template(
        (6, 6),
        slot("title", 0.5, 0.5, 5, 1, "title", limits=UPRIGHT),
        slot("a", 0.5, 1.75, 5, 1.75),
        slot("b", 0.5, 3.75, 5, 1.75),
    )
    layout = best(made, photos((1050, 3000), (1050, 3000)), title=TITLE, allow=("rotate-page", *flip))
    assert layout.transform.rotate in (90, 270)
    placed = title_of(layout)
    assert placed.size[0] < placed.size[1]
    assert tilt_of(layout) == (-90 if placed.center[0] < layout.page.trim[0] / 2 else 90)


def test_a_carried_title_too() -> None:
    """A title on a band of paper turns with it."""
    made = template(
        (6, 6),
        slot("band", 0.5, 0.5, 1.5, 5, "paper"),
        slot("title", 0.75, 0.75, 1, 4.5, "title", limits=UPRIGHT, on="band", tie="carried"),
        slot("a", 2.25, 0.5, 3.25, 5),
    )
    assert tilt_of(best(made, photos((975, 1500)), title=TITLE, allow=())) == -90


@pytest.mark.parametrize("tilt", [90.0, 180.0, -80.0])
def test_r2_no_other_way(tilt: float) -> None:
    """R2 planted: left of the middle a vertical title reads upwards, and neither downwards nor on its head."""
    layout = beside(0.5, UPRIGHT)
    placed = title_of(layout)
    assert placed.text is not None
    wrong = replace(placed, text=replace(placed.text, tilt=tilt))
    planted = replace(layout, elements=tuple(wrong if e is placed else e for e in layout.elements))
    assert [r.rule for r in check_layout(planted).rules if r.status == "broken"] == ["R2"]


def test_r2_only_where_the_template_allows_it() -> None:
    """R2 planted: the same page from a template that does not let its title run vertically."""
    layout = beside(0.5, UPRIGHT)
    reference = tuple(replace(e, limits=Limits()) for e in layout.reference)
    planted = replace(layout, reference=reference)
    assert [r.rule for r in check_layout(planted).rules if r.status == "broken"] == ["R2"]
