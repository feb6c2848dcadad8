"""Tilted shapes that overlap although their boxes before tilting do not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.template import Element
from solver.problem import Row
from tests.proofs.fitting import INCH, best, fit, photos, slot, template

STRIP_UNDER = (slot("band", 0.5, 2.75, 5, 0.5, "paper", tilt=6.0), slot("a", 4, 3.35, 1.5, 1.5))
STRIP_OVER = STRIP_UNDER[::-1]


@pytest.mark.parametrize("elements", [STRIP_UNDER, STRIP_OVER])
def test_they_stay_together_as_drawn(elements: tuple[Element, ...]) -> None:
    """R7 knows no depth where boxes are apart: the page as drawn costs nothing."""
    page = best(template((6, 6), *elements), photos((1500, 1500)))
    assert page.costs.total == 0
    assert {e.id for e in page.elements} == {"band", "a"}


def test_a_photo_under_a_tilted_strip_keeps_its_size() -> None:
    """R3: shrunk beside a strip that stays, more of the photo's share would be covered; it may be cropped instead."""
    page = best(template((6, 6), *STRIP_OVER), photos((1500, 1200)), weights={"resize": 0, "hole": 0, "drop": 100})
    assert next(e for e in page.elements if e.id == "a").size == (round(1.5 * INCH), round(1.5 * INCH))


def test_no_row_is_made_that_nothing_can_keep() -> None:
    """A row whose bounds contradict each other is refused where it is made."""
    with pytest.raises(ValueError, match="nothing can keep"):
        Row((), 1, 0)


def test_a_photo_that_laps_another_does_not_shrink_into_it() -> None:
    """R7 by hand: 3 in of overlap in height are kept within a tenth, though a slot 2.5 in high would cut nothing."""
    made = template(
        (8, 8),
        slot("a", 0.5, 0.5, 4, 5),
        slot("b", 4, 2.5, 3, 4, on="a", tie="lapped"),
    )
    free: dict[str, float] = {"resize": 0.1, "shift": 0, "hole": 0, "alignment": 0}
    page = best(made, photos((2400, 3000), (1800, 1500)), weights=free)
    boxes = [next((e.box for e in page.elements if e.source == name), None) for name in ("a", "b")]
    if None not in boxes:
        (_, top, _, bottom), (_, other_top, _, other_bottom) = boxes  # type: ignore[misc]
        overlap = min(bottom, other_bottom) - max(top, other_top)
        assert 2.7 * INCH <= overlap <= 3 * INCH


def test_what_a_tilted_card_carries_beside_a_photo_makes_no_numbers_too_large() -> None:
    """Rows of an ornament whose card is tilted have large coefficients, which the relaxation has to hold."""
    bloom = slot("bloom", 3.5, 3.125, 1.25, 1.25, "embellishment", on="card", tie="carried")
    made = template(
        (12, 12),
        slot("card", 3, 3, 2.75, 2.75, "journaling", tilt=7.0),
        slot("a", 4.125, 3.375, 0.75, 1.125),
        slot("b", 2.5, 6.75, 1.125, 2.75),
        replace(bloom, shape="ellipse"),
    )
    result = fit(made, photos((3000, 2000), (2000, 3000)), words=20, effort=1, leave_out=1)
    assert result.layouts
