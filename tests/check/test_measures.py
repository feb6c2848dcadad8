"""Page figures: by hand on the tiny page, and against published formulas and examples."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.check import measures
from fitter.layout import Layout
from tests import builders as b


def test_lead_share(page: Layout) -> None:
    """The first photo has 63.5 × 50.8 less its 6.35² corner, the second 57.15 × 50.8 mm."""
    found = measures.measure(page)
    lead = 63.5 * 50.8 - 6.35**2
    assert found.lead == "photo-1"
    assert found.lead_share == pytest.approx(lead / (lead + 57.15 * 50.8))


def test_gaps_and_white_space(page: Layout) -> None:
    """Four gaps of 1/4 in and two of 3,174 µm, all repeated; white is what nothing covers."""
    found = measures.measure(page)
    assert found.gaps == (3_174, 3_174, 6_350, 6_350, 6_350, 6_350)
    assert found.repeated_gaps == 6
    # mat with photo, photo-2 less nothing (3,175 apart), paper, card, title, bloom, half-out ribbon.
    covered = 69.85 * 57.15 + 57.15 * 50.8 + 63.5 * 57.15 + 57.15 * 57.15 + 127 * 15.876 + 6.35**2 + 6.35 * 12.7
    assert found.white_space == pytest.approx(1 - covered / 152.4**2, abs=1e-9)


def test_near_misses(page: Layout) -> None:
    """A paper moved by 2 mm almost lines up with what it lined up with."""
    assert measures.measure(page).near_misses == ()
    found = measures.measure(b.move(page, "paper-1", dx=2_000)).near_misses
    assert {(m.a, m.b, m.axis, m.distance) for m in found} == {
        ("photo-1", "paper-1", "x", 2_000),
        ("paper-1", "title", "x", 2_000),
    }


def test_resolution_and_crop_loss(page: Layout) -> None:
    """Of a 1500 × 1200 px photo on 2.5 in 600 ppi, less when half of it is cropped."""
    assert measures.measure(page).smallest_ppi == 600
    layout = b.change(page, "photo-1", photo=b.cropped(b.A, (300, 240, 1200, 960), (63_500, 50_800)))
    assert measures.measure(layout).smallest_ppi == 360
    assert measures.measure(layout).crop_loss["photo-1"] == pytest.approx(1 - 0.36)


def test_overlap_score() -> None:
    """Kikuchi et al. 2021 by hand: a quarter of one box is half of the other."""
    assert measures.overlap_score([(0, 0, 20, 10), (15, 0, 25, 10)]) == pytest.approx((0.25 + 0.5) / 2)
    assert measures.overlap_score([(0, 0, 10, 10), (10, 0, 20, 10)]) == 0


def test_alignment_score() -> None:
    """Kikuchi et al. 2021 by hand: the nearest lines of two boxes are .05 of the height apart."""
    boxes = [(0, 0, 20, 30), (50, 5, 90, 41)]
    # top 0 and 5, middle 15 and 23, bottom 30 and 41; x differs by 50 and more.
    assert measures.alignment_score(boxes, (100, 100)) == pytest.approx(-math.log(0.95))
    assert measures.alignment_score([(0, 0, 20, 30), (50, 0, 90, 40)], (100, 100)) == 0


def test_balance_and_equilibrium_of_the_published_example() -> None:
    """Ngo, Teo & Byrne 2003, Fig. 4: EM 1 and BM .99625 published; their coordinates are rounded."""
    boxes = [(x, y, x + 64, y + 58) for y in (29, 153) for x in (23, 93, 163, 233)]
    boxes += [(x, 91, x + 134, 149) for x in (23, 163)]
    assert measures.balance(boxes, (320, 240)) == pytest.approx(0.99625, abs=0.03)
    assert measures.equilibrium(boxes, (320, 240)) == pytest.approx(1, abs=0.005)


def test_balance_by_hand() -> None:
    """A box twice as large on the left at the same distance is half balanced across, fully down the page."""
    boxes = [(10, 40, 30, 60), (75, 40, 85, 60)]
    # areas 400 and 200, both 30 from the middle: |12000 − 6000| / 12000 = 1/2.
    assert measures.balance(boxes, (100, 100)) == pytest.approx(0.75)
    # centre of mass: (400·(−30) + 200·30)/600 = −10; EMx = 2·(−10)/(2·100) = .1.
    assert measures.equilibrium(boxes, (100, 100)) == pytest.approx(0.95)


coordinate = st.integers(0, 90)
some_boxes = st.lists(
    st.tuples(coordinate, coordinate, st.integers(1, 10), st.integers(1, 10)).map(
        lambda v: (v[0], v[1], v[0] + v[2], v[1] + v[3])
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=50, deadline=None)
@given(some_boxes)
def test_scores_do_not_mind_mirroring(boxes: list[tuple[int, int, int, int]]) -> None:
    """A page mirrored left–right has the same scores."""
    mirrored = [(100 - r, t, 100 - left, bottom) for left, t, r, bottom in boxes]
    for score in (measures.balance, measures.equilibrium, measures.alignment_score):
        assert score(boxes, (100, 100)) == pytest.approx(score(mirrored, (100, 100)))
    assert measures.overlap_score(boxes) == pytest.approx(measures.overlap_score(mirrored))
    assert 0 <= measures.balance(boxes, (100, 100)) <= 1
