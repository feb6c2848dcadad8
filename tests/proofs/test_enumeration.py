"""The page that is proved best costs what exhaustive enumeration says, on random tiny pages.

The enumeration (:mod:`tests.proofs.enumeration`) shares no code with steps 2 to 4.
"""

from __future__ import annotations

import random

import pytest

from fitter.pages import Page
from fitter.photos import given
from tests.proofs import enumeration, fitting
from tests.proofs.showing import ppi_cost
from tests.proofs.spots import Wishes
from tests.proofs.standing import KEPT
from tests.proofs.tiny import FAMILIES, Family, bound, drawn, taken

CASES = [(name, seed) for name, family in FAMILIES.items() for seed in range(family.seeds)]


@pytest.mark.parametrize(("name", "seed"), CASES)
def test_the_proved_page_costs_what_enumeration_says(name: str, seed: int) -> None:
    """The least total of all pages of the lattice, each priced anew, is the total of the page that is proved."""
    family = FAMILIES[name]
    rng = random.Random(f"{name} {seed}")
    made, photos = drawn(rng, family), taken(rng, family)
    page = bound(rng, made, family.gutter)
    wishes = Wishes(
        given(tuple(photos)), fitting.only(*family.allow), leave_out=family.options.get("leave_out", 0)
    )
    wanted = enumeration.optimum(made, page, wishes)
    result = fitting.fit(made, photos, allow=family.allow, page=page, effort=10.0, **family.options)
    if wanted is None:
        # A page may still exist on the wider lattice, or once a rule is waived; what the enumeration leaves out.
        found = result.layouts[:1]
        assert all(layout.waived or layout.search.lattice["apart_um"] < KEPT for layout in found)
        return
    layout = result.layouts[0]
    fitting.sound(layout)
    assert layout.search.status == "proved"
    assert layout.costs.total == wanted


HEAVY = 20
"""A factor with which slots are moved for balance alone."""
WEIGHED = {
    "drop, shift": Family(3, 1, ("assign", "drop", "shift", "mirror-page"), size=5.0, seeds=3),
    "scale, shift": Family(2, 2, ("assign", "scale", "shift"), size=5.0, seeds=2),
    "rotate slot, shift": Family(2, 2, ("assign", "rotate-slot", "shift"), size=5.0, seeds=3),
    "bleeding": Family(2, 1, ("assign", "drop", "shift"), size=5.0, seeds=2, bleed=True),
}


@pytest.mark.parametrize(("name", "seed"), [(name, seed) for name, f in WEIGHED.items() for seed in range(f.seeds)])
@pytest.mark.parametrize("factor", [2, HEAVY])
def test_pages_weighed_for_balance_cost_what_enumeration_says(name: str, seed: int, factor: int) -> None:
    """Whether the relaxation counts the cost or not."""
    family = WEIGHED[name]
    rng = random.Random(f"{name} {seed}")
    made, photos = drawn(rng, family), taken(rng, family)
    weights = {"balance": factor}
    page = Page("template", made.size)
    wishes = Wishes(given(tuple(photos)), fitting.only(*family.allow), weights=weights)
    wanted = enumeration.optimum(made, page, wishes)
    layout = fitting.best(made, photos, allow=family.allow, weights=weights, effort=10.0)
    assert layout.costs.total == wanted


def test_the_enumeration_tells_pages_apart() -> None:
    """A page two slots of which are exchanged costs more when their photos are cut: the enumeration is not constant."""
    made = fitting.template((6, 6), fitting.slot("a", 0.5, 0.5, 3, 2), fitting.slot("b", 3.75, 0.5, 1.5, 2))
    page = Page("template", made.size)
    wide, tall = fitting.photo(0, 1800, 1200), fitting.photo(1, 1200, 1600)
    fits = Wishes(given((wide, tall)), fitting.only())
    crossed = Wishes(given((tall, wide)), fitting.only())
    assert enumeration.optimum(made, page, fits) == 0
    # The tall one in 3:2 keeps 1200 × 800 of 1200 × 1600, the wide one in 3:4 900 × 1200 of 1800 × 1200; by hand.
    assert enumeration.optimum(made, page, crossed) == 500_000 + 500_000 + ppi_cost(800 * 1 / 2, 300)


def test_a_long_paper_gives_way_by_half_an_inch(monkeypatch: pytest.MonkeyPatch) -> None:
    """A photo grows into the room of a paper 6 in long, which shrinks by one step; a step of 0.15 would be 0.9 in."""
    made = fitting.template(
        (8, 8), fitting.slot("a", 0.25, 1, 1.25, 6), fitting.slot("paper", 1.75, 2.25, 6, 2, "paper")
    )
    page, photos = Page("template", made.size), [fitting.photo(0, 1750, 6000)]
    allow = ("widen", "scale", "shift")
    wishes = Wishes(given(tuple(photos)), fitting.only(*allow))
    wanted = enumeration.optimum(made, page, wishes)
    layout = fitting.best(made, photos, allow=allow, effort=10.0)
    assert layout.costs.total == wanted
    paper = next(element for element in layout.elements if element.id == "paper")
    assert paper.size[0] == round(5.5 * fitting.INCH)
    monkeypatch.setattr("fitter.formulate.size_grid.even_factors", lambda element, whole: (0.7, 0.85, 1.15))
    assert fitting.best(made, photos, allow=allow, effort=10.0).costs.total > layout.costs.total
