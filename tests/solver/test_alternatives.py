"""Alternatives are at least 0.3 apart by the published page distance, worked out here from the layouts alone."""

from __future__ import annotations

from itertools import combinations, pairwise
from pathlib import Path

import pytest

from fitter import read_photos, read_template
from fitter.layout import Layout
from fitter.words import given_count
from tests.proofs.fitting import fit, photos, slot, sound, template


def distance(one: Layout, other: Layout) -> float:
    """Return the page distance of two layouts: turns, mirroring, roles and divisions, lead photo and its size."""
    total = {0: 0.0, 180: 0.3}.get((one.transform.rotate - other.transform.rotate) % 360, 0.5)
    total += 0.2 if one.transform.mirror != other.transform.mirror else 0.0
    kinds = [slots(one), slots(other)]
    total += 0.3 * sum(kinds[0].get(name) != kinds[1].get(name) for name in {*kinds[0], *kinds[1]})
    leads = [lead(one), lead(other)]
    if leads[0][0] != leads[1][0]:
        total += 0.3
    elif abs(leads[0][1] - leads[1][1]) >= 0.2 * leads[1][1]:
        total += 0.2
    return round(total, 3)


def slots(layout: Layout) -> dict[str, tuple[object, ...]]:
    """Return role and division of every slot that can hold something of its own; added slots by their room."""
    tied = {e.id for e in layout.reference if e.tie in ("mat", "carried")}
    found: dict[str, tuple[object, ...]] = {}
    for item in layout.elements:
        if item.role == "background" or item.source in tied or (item.source is None and item.on is not None):
            continue
        divided = None if item.split is None else (item.split.kind, item.split.count)
        found[item.source or item.id] = (item.role, divided)
    return found


def lead(layout: Layout) -> tuple[object, int]:
    """Return what the largest photo looks like (aspect, weight, keep boxes) and its area."""
    given = {photo.file: photo for photo in layout.given.photos}
    order = [photo.file for photo in layout.given.photos]
    shown = [(e.size[0] * e.size[1], -order.index(e.photo.file), e.photo) for e in layout.elements if e.photo]
    area, _, photo = max(shown, key=lambda entry: entry[:2])
    known = given[photo.file]
    return (known.pixels[0] / known.pixels[1], known.weight, known.keep, known.detected), area


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
