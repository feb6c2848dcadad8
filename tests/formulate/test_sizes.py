"""The lattice of sizes: no two neighbours over 1/2 in apart, whatever is scaled."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.formulate.content import STEP
from fitter.formulate.sizes import SIZE_STEP, even_factors, even_sizes
from fitter.reference_edges import even
from fitter.template import Element
from tests.proofs.fitting import INCH

ROOM = (60 * INCH, 60 * INCH)


def of_size(width: int, height: int, shape: str = "rect") -> Element:
    """Return a slot of a size, in micrometres."""
    return Element("a", "title" if shape == "rect" else "photo", shape, (0, 0), (even(width), even(height)))  # type: ignore[arg-type]


@given(
    width=st.integers(INCH // 4, 24 * INCH),
    height=st.integers(INCH // 4, 24 * INCH),
    shape=st.sampled_from(["rect", "ellipse"]),
)
def test_neighbouring_sizes_are_at_most_half_an_inch_apart(width: int, height: int, shape: str) -> None:
    """Both ways; the height of what is round follows its width, which goes by whole steps: it may be off by one."""
    element = of_size(width, height, shape)
    rounding = (0, 0 if shape == "rect" else STEP * element.size[1] / element.size[0])
    for sides, more in zip(even_sizes(element, even_factors(element), ROOM), rounding, strict=True):
        assert all(larger - smaller <= SIZE_STEP + more for smaller, larger in pairwise(sorted(sides.tolist())))


@pytest.mark.parametrize(
    ("longest", "wanted"),
    [
        (2.0, [0.7, 0.85, 1.15]),
        (10 / 3, [0.7, 0.85, 1.15]),
        (5.0, [0.8, 0.9, 1.1]),
        (8.0, [0.875, 0.9375, 1.0625]),
    ],
)
def test_scales_of_what_is_short_and_long(longest: float, wanted: list[float]) -> None:
    """By hand: steps of 0.15, or of 1/2 in of the longer side."""
    assert even_factors(of_size(round(longest * INCH), INCH)) == pytest.approx(tuple(wanted), abs=1e-4)
