"""For every freedom a named page whose optimum is dearer, or gone, once just that freedom is switched off."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import pytest

from fitter.freedoms import FREEDOMS
from fitter.layout import Layout
from fitter.photos import Photo
from fitter.template import Element, Limits, Template
from tests.proofs.fitting import INCH, best, fit, photo, photos, slot, template


@dataclass(frozen=True)
class Instance:
    """A page, what is asked for, and how the freedom shows on it."""

    template: Template
    photos: list[Photo]
    shows: Callable[[Layout], bool]
    wishes: dict[str, Any]


def three_across() -> Template:
    """Return three unlike slots in a row on a square page."""
    return template((8, 8), slot("a", 0.5, 2, 2.7, 1.8), slot("b", 3.4, 2, 1.8, 1.8), slot("c", 5.4, 1.55, 1.8, 2.7))


def circle(name: str, x: float, y: float, across: float) -> Element:
    """Return a round photo slot."""
    return replace(slot(name, x, y, across, across), shape="ellipse")


def make(name: str) -> Instance:
    """Return the instance of a freedom."""
    wide, square, tall = (2400, 1600), (2000, 2000), (1600, 2400)
    if name == "rotate-page":
        tall_slots = [slot(f"p{k}", 0.5 + 1.8 * k, 1.5, 1.6, 3.2) for k in range(3)]
        return Instance(
            template((8, 8), *tall_slots), photos(*[(2400, 1200)] * 3), lambda page: page.transform.rotate != 0, {}
        )
    if name == "mirror-page":
        return Instance(three_across(), photos(tall, square, wide), lambda page: page.transform.mirror, {})
    if name == "rotate-slot":
        made = template((7, 7), slot("a", 1.5, 2.25, 4, 2.5))
        return Instance(made, photos((1500, 2400)), lambda page: page.elements[0].turned, {})
    if name == "assign":
        made = template((8, 8), slot("a", 0.5, 1, 4, 2.5), slot("b", 4.75, 1, 2.5, 4))
        swapped = [photo(0, 1500, 2400), photo(1, 2400, 1500)]
        return Instance(made, swapped, lambda page: "order" in page.costs.terms, {})
    if name == "swap-role":
        made = template((8, 8), slot("a", 0.5, 0.5, 7, 3.5), slot("sheet", 0.5, 4.25, 7, 3.25, "paper"))
        pair = photos((2400, 1200), (2400, 1150))
        return Instance(made, pair, lambda page: any(e.source == "sheet" and e.photo for e in page.elements), {})
    if name == "add-slot":
        made = template((6, 6), slot("a", 0.5, 0.5, 5, 5))
        return Instance(made, photos(square, square), lambda page: page.elements[0].split is not None, {})
    if name == "repeat-cluster":
        pair = [slot("b", 3.25, 0.5, 1.75, 1.9), slot("c", 3.25, 2.65, 1.75, 1.85)]
        made = template((8, 5), slot("a", 0.5, 0.5, 2.5, 4), *(replace(e, cluster="pair") for e in pair))
        more = photos((2000, 3200), *[(1750, 1900), (1750, 1850)] * 2)
        return Instance(made, more, lambda page: any(e.source == "c~2" and e.photo for e in page.elements), {})
    if name == "drop":
        corner = Element("corner", "embellishment", "rect", (INCH, INCH), (INCH // 2, INCH // 2), on="a", tie="carried")
        made = template((6, 6), slot("a", 0.5, 0.5, 5, 5), corner)
        marked = [photo(0, 2000, 2000, keep=((0.02, 0.02, 0.96, 0.96),))]
        return Instance(made, marked, lambda page: page.dropped == ("corner",), {})
    if name == "scale":
        made = template((8, 8), circle("a", 0.5, 2, 3), circle("b", 4.5, 2, 3))
        return Instance(made, photos((420, 420), (420, 420)), lambda page: page.elements[0].size[0] < 3 * INCH, {})
    if name == "widen":
        made = template((6, 6), slot("a", 1, 1, 3, 3))
        weighty = [photo(0, 2400, 1800, weight=2.0)]
        return Instance(made, weighty, lambda page: page.elements[0].size[0] > page.elements[0].size[1], {})
    if name == "shift":
        made = template((6, 6), slot("a", 0.25, 1, 3, 3))
        weighty = [photo(0, 2700, 1800, weight=2.0)]
        return Instance(made, weighty, lambda page: "shift" in page.costs.terms, {})
    assert name == "crop"
    made = template((6, 6), slot("a", 0.5, 1, 3, 3, limits=Limits(fixed=True)))
    marked = [photo(0, 3000, 2000, keep=((0.02, 0.2, 0.3, 0.5),))]
    return Instance(made, marked, lambda page: page.elements[0].photo.crop[0] < 100, {})  # type: ignore[union-attr]


@pytest.mark.parametrize("name", FREEDOMS)
def test_every_freedom_makes_a_page_cheaper_or_possible(name: str) -> None:
    """With all freedoms the page uses this one; without it the best page costs more, or there is none unwaived."""
    case = make(name)
    page = best(case.template, case.photos, effort=6.0, **case.wishes)
    assert case.shows(page)
    without = fit(case.template, case.photos, effort=6.0, without=frozenset({name}), **case.wishes)
    if without.layouts:
        other = without.layouts[0]
        assert other.search.bound > page.costs.total
        assert not case.shows(other)
    else:
        assert without.reasons
