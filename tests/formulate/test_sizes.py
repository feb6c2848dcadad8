"""The lattice of sizes: no two neighbours over 1/2 in apart, whatever is scaled."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.formulate.content import STEP
from fitter.formulate.sizes import SIZE_STEP, even_factors, even_sizes
from fitter.reference_edges import even
from fitter.template import Element
from tests.proofs.fitting import INCH, best, photos, slot, sound, template

ROOM = (60 * INCH, 60 * INCH)


def of_size(width: int, height: int, shape: str = "rect") -> Element:
    """Return a slot of a size, in micrometres."""
    return Element("a", "title" if shape == "rect" else "photo", shape, (0, 0), (even(width), even(height)))  # type: ignore[arg-type]


@given(
    width=st.integers(INCH // 4, 24 * INCH),
    height=st.integers(INCH // 4, 24 * INCH),
    shape=st.sampled_from(["rect", "ellipse"]),
    whole=st.booleans(),
)
def test_neighbouring_sizes_are_at_most_half_an_inch_apart(width: int, height: int, shape: str, whole: bool) -> None:
    """Both ways; the height of what is round follows its width, which goes by whole steps: it may be off by one."""
    element = of_size(width, height, shape)
    rounding = (0, 0 if shape == "rect" else STEP * element.size[1] / element.size[0])
    for sides, more in zip(even_sizes(element, even_factors(element, whole=whole), ROOM), rounding, strict=True):
        assert all(larger - smaller <= SIZE_STEP + more for smaller, larger in pairwise(sorted(sides.tolist())))


@pytest.mark.parametrize(
    ("longest", "few", "whole"),
    [
        (2.0, [0.7, 0.85, 1.15], [0.7, 0.85, 1.15]),
        (10 / 3, [0.7, 0.85, 1.15], [0.7, 0.85, 1.15]),
        (5.0, [0.8, 0.9, 1.1], [0.7, 0.8, 0.9, 1.1, 1.15]),
        (8.0, [0.875, 0.9375, 1.0625], [0.7, 0.75, 0.8125, 0.875, 0.9375, 1.0625, 1.125, 1.15]),
    ],
)
def test_scales_of_what_is_short_and_long(longest: float, few: list[float], whole: list[float]) -> None:
    """By hand: steps of 0.15, or of 1/2 in of the longer side; the last one reaches the end of the range."""
    element = of_size(round(longest * INCH), INCH)
    assert even_factors(element, whole=False) == pytest.approx(tuple(few), abs=1e-4)
    assert even_factors(element, whole=True) == pytest.approx(tuple(whole), abs=1e-4)


@pytest.mark.parametrize(("least", "high"), [(1.5, 1.5), (1.6, 1.7), (2.0, None)])
def test_a_paper_drawn_under_its_least_side_grows_or_goes(least: float, high: float | None) -> None:
    """A paper 1 1/2 in high: it stays at that least side, takes the next size above another, or is dropped."""
    paper = slot("paper", 0.5, 4, 5, 1.5, "paper")
    limits = replace(paper.limits, smallest_side=round(least * INCH))
    made = template((6, 6), slot("photo", 0.5, 0.5, 5, 3), replace(paper, limits=limits))
    layout = best(made, photos((5000, 3000)))
    sound(layout)
    placed = [element for element in layout.elements if element.id == "paper"]
    assert [element.size[1] >= limits.smallest_side for element in placed] == ([] if high is None else [True])
    assert all(element.size[1] <= (high or 0) * INCH for element in placed)
