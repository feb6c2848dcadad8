"""Alternatives are at least 0.3 apart by the published page distance, worked out here from the layouts alone."""

from __future__ import annotations

from itertools import combinations, pairwise
from pathlib import Path

import pytest

from fitter import read_photos, read_template
from fitter.layout import Layout
from fitter.words import given_count
from tests.proofs.distance import distance
from tests.proofs.fitting import fit, photos, slot, sound, template

TINY = template(
    (8, 8),
    slot("photo-1", 0.5, 0.5, 4, 3),
    slot("photo-2", 4.75, 0.5, 2.75, 3),
    slot("paper-1", 0.5, 3.75, 3, 3.5, "paper"),
    slot("photo-3", 3.75, 3.75, 3.75, 3.5),
)


@pytest.mark.parametrize("sizes", [((1500, 1200), (1200, 1500), (1800, 1200)), ((1800, 1200),) * 3])
def test_three_alternatives_of_a_tiny_page(sizes: tuple[tuple[int, int], ...]) -> None:
    """Unlike photos, and look-alikes, whose exchange makes no difference."""
    result = fit(TINY, photos(*sizes), top=3, effort=1.2, min_ppi=100)
    assert len(result.layouts) == 3
    judge(result.layouts)


@pytest.mark.parametrize("name", ["pair-and-story", "window-of-four", "ribbon-pair"])
def test_alternatives_of_starters(name: str, demo_photos: Path) -> None:
    """Three pages of a starter differ pairwise, and the first costs least."""
    files = ["creek.jpg", "dandelions.jpg", "figs.jpg", "hill-meadow.jpg"]
    made = read_template(name)
    count = min(4, sum(e.role == "photo" for e in made.elements))
    words = [given_count(40)] if any(e.role == "journaling" for e in made.elements) else []
    result = fit(made, read_photos([demo_photos / f for f in files[:count]]), texts=words, top=3, effort=1.2)
    assert len(result.layouts) == 3
    judge(result.layouts)


def judge(layouts: tuple[Layout, ...]) -> None:
    """Assert that pages are sound, apart, and ordered by cost where proofs are complete."""
    for layout in layouts:
        sound(layout)
    for one, other in combinations(layouts, 2):
        assert distance(other, one) >= 0.3
    for one, other in pairwise(layouts):
        if one.search.status == "proved":
            assert one.costs.total <= other.costs.total


def test_the_distance_by_hand(demo_photos: Path) -> None:
    """A page is nothing apart from itself; a half turn and a mirroring are 0.5 together."""
    from dataclasses import replace

    page = fit(TINY, photos((1800, 1200), (1200, 1500), (1500, 1500)), min_ppi=100).layouts[0]
    turned = replace(page.transform, rotate=(page.transform.rotate + 180) % 360, mirror=not page.transform.mirror)
    assert distance(page, page) == 0
    assert distance(page, replace(page, transform=turned)) == 0.5
