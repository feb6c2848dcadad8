"""Alternatives are at least 0.3 apart by the published page distance, worked out here from the layouts alone."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import pytest

from fitter import read_photos, read_template
from fitter.errors import UseError
from fitter.freedoms import VARIED
from fitter.layout import Layout
from fitter.words import given_count
from solver.apart import VARIED as SEARCHED
from tests.proofs.distance import differ, distance, lead
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


@pytest.mark.parametrize("aspect", VARIED)
def test_what_is_demanded_differs(aspect: str) -> None:
    """Each of three pages differs there from every better one, and no page comes before a cheaper proved one."""
    result = fit(TINY, photos((1500, 1200), (1200, 1500), (1800, 1200)), top=3, effort=2.0, min_ppi=100, vary=(aspect,))
    assert len(result.layouts) == 3
    judge(result.layouts)
    for one, other in combinations(result.layouts, 2):
        assert differ(other, one, aspect)


def test_two_demands_are_kept_together() -> None:
    """Another turning and another lead photo, both."""
    result = fit(TINY, photos((1500, 1200), (1200, 1500), (1800, 1200)), top=2, effort=6.0, vary=("rotation", "lead"))
    one, other = result.layouts
    assert differ(other, one, "rotation")
    assert differ(other, one, "lead")


def test_what_cannot_differ_gives_fewer_pages() -> None:
    """One photo has no other lead: there is one page, and no reason to doubt it."""
    result = fit(template((6, 6), slot("a", 1, 1, 4, 4)), photos((1500, 1500)), top=3, vary=("lead",))
    assert len(result.layouts) == 1


@pytest.mark.parametrize("vary", [(), ("slots",)])
def test_a_page_without_a_copy_differs_from_one_with_it(vary: tuple[str, ...]) -> None:
    """The copy is a slot that the page without it does not have, though all else is the same."""
    end = replace(slot("photo-2", 2.25, 0.5, 1.25, 2.5), cluster="end")
    made = template((5.5, 3.75), slot("photo-1", 0.5, 0.5, 1.5, 2.5), end)
    taken = photos((1500, 2500), (1250, 2500), (1250, 2500))
    result = fit(made, taken, allow=("repeat-cluster",), leave_out=1, top=2, vary=vary, effort=4.0)
    one, other = result.layouts
    assert one.transform.repeat is not None
    assert other.transform.repeat is None
    assert len(other.left_out) == 1
    assert lead(one) == lead(other)
    judge(result.layouts)


def test_an_unknown_demand_is_refused() -> None:
    """With the names there are."""
    with pytest.raises(UseError, match="differ in 'colour'; choose among rotation, roles"):
        fit(TINY, photos((1500, 1200)), vary=("colour",))


def test_the_names_are_those_of_the_search() -> None:
    """What the command line offers is what the search knows."""
    assert tuple(VARIED) == SEARCHED


@pytest.mark.parametrize(
    ("aspect", "allow", "wanted"),
    [
        # On its head, the second photo is read first.
        ("rotation", ("assign", "rotate-page"), {"rotate-page": 15_000, "order": 3_000}),
        # Exchanged, each photo loses a quarter.
        ("lead", ("assign", "rotate-page"), {"crop-loss": 500_000, "order": 3_000}),
        # A scaling alone is 0.2 apart, so the page is turned too.
        ("scale", ("assign", "rotate-page", "scale"), {"rotate-page": 15_000, "order": 3_000, "resize": 15_000}),
    ],
)
def test_the_second_page_is_the_best_that_differs(
    aspect: str, allow: tuple[str, ...], wanted: dict[str, int]
) -> None:
    """By hand: slots of 4 × 3 and 3 × 3 in side by side, a photo for each."""
    made = template((8, 8), slot("a", 0.25, 0.25, 4, 3), slot("b", 4.5, 0.25, 3, 3))
    given = photos((2400, 1800), (1800, 1800))
    first, second = fit(made, given, top=2, vary=(aspect,), allow=allow, weights={"hole": 0}).layouts
    assert first.costs.total == 0
    assert {k: v for k, v in second.costs.terms.items() if v and k != "hole"} == wanted
    assert differ(second, first, aspect)


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
