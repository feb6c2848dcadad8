"""Why ``swap-role`` offers no strip as a ribbon: the same page costs exactly one swap more, and no rule gains by it.

Sizes and places offered to both are the same, and what a strip covers in the lattice is no more than in the drawing; so
a page with such a swap is never the cheapest, and a freedom that cannot gain is left out (DEVELOPERS.md, The lattice).
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.formulate.columns import block_configs
from fitter.formulate.scene import build_scene
from fitter.formulate.settings import Settings
from fitter.layout import Given, Layout
from fitter.pages import Page
from fitter.photos import given
from fitter.reference import Member, reference_layout
from fitter.starters import starter_names
from fitter.template import Template
from fitter.template_reader import read_template
from fitter.words import given_count
from tests.bench.naive import naive_layout
from tests.proofs.fitting import best, photo, photos, slot, template

SWAP = 40_000
WITH_STRIPS = [name for name in starter_names() if any(e.is_strip for e in read_template(name).elements)]


def as_ribbons(layout: Layout) -> tuple[Layout, int]:
    """Return the page with every strip called a ribbon, and how many there were."""
    strips = {e.id for e in layout.reference if e.is_strip}
    changed = [e.source in strips and e.role == "paper" for e in layout.elements]
    elements = tuple(
        replace(e, role="ribbon") if swap else e for e, swap in zip(layout.elements, changed, strict=True)
    )
    return replace(layout, elements=elements), sum(changed)


def gains_nothing(layout: Layout) -> None:
    """Assert that the swapped page costs a swap a strip more, and that all rules stand as before."""
    swapped, count = as_ribbons(layout)
    assert count
    before, after = check_layout(layout), check_layout(swapped)
    assert [r.status for r in after.rules] == [r.status for r in before.rules]
    terms = before.costs.terms
    assert after.costs.terms == {**terms, "swap-role": terms.get("swap-role", 0) + SWAP * count}


@pytest.mark.parametrize("name", WITH_STRIPS)
def test_on_every_starter_with_a_strip_the_swap_is_dearer(name: str) -> None:
    """Filled naively, each such starter costs exactly 40,000 a strip more, term by term."""
    made = read_template(name)
    natural = sum(e.role == "photo" for e in made.elements)
    shown = given(tuple(photo(n, 3000 + 200 * n, 2400) for n in range(natural)))
    title = "A summer at Marrow Lake" if any(e.role == "title" for e in made.elements) else None
    texts = (given_count(60),) if any(e.role == "journaling" for e in made.elements) else ()
    gains_nothing(naive_layout(made, Page("template", made.size), Given(shown, texts, title)))


def test_a_strip_that_moved_and_overlaps_pays_alike_as_a_ribbon() -> None:
    """Shifts, sizes and overlap count the same for both; here a strip gives way to a photo."""
    made = template(
        (6, 6), slot("a", 0.5, 0.75, 5, 3), slot("strip", 0.5, 4, 5, 0.5, "paper"), slot("b", 0.5, 4.75, 2, 1, "paper")
    )
    gains_nothing(best(made, photos((2000, 1400)), allow=("shift", "widen", "scale", "swap-role")))


def test_both_are_offered_the_same_sizes() -> None:
    """A strip and a ribbon of the same drawing have the same configurations but for their role."""

    def sizes(role: str) -> set[tuple[int, int]]:
        made: Template = template((6, 6), slot("a", 0.5, 0.75, 5, 3), slot("band", 0.5, 4, 5, 0.5, role))
        page = Page("template", made.size)
        scene = build_scene(page, reference_layout(made, page, Member(0, False)), (Member(0, False),))
        settings = Settings(())
        return {c.size for c in block_configs(scene, scene.blocks[1], settings, ()) if c.role == role}

    assert sizes("paper") == sizes("ribbon")
