"""With slots on mats the proved page costs what enumeration says, on random tiny pages.

A mat reaches beyond its slot by the same borders in every size; it counts for the safe box and for what stands beside
it, not for lines, gaps and areas.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence
from functools import cache

import pytest

from fitter.pages import Page
from fitter.photos import Photo, given
from fitter.template import Element, Limits, Template
from fitter.words import given_count
from tests.proofs import enumeration, fitting, standing
from tests.proofs.fitting import rect, slot, template
from tests.proofs.spots import Spot, Wishes
from tests.proofs.tiny import Family, drawn, taken

FAMILIES = {
    "widen, shift": Family(2, 2, ("assign", "widen", "shift"), size=5.0, mats=True, seeds=6),
    "eight pages": Family(2, 2, ("assign", "widen", "rotate-page", "mirror-page"), mats=True),
    "scale, shift": Family(2, 2, ("assign", "scale", "shift"), size=5.0, mats=True),
    "rotate slot, drop": Family(2, 1, ("assign", "rotate-slot", "drop", "swap-role", "shift"), size=5.0, mats=True),
    "divided": Family(2, 3, ("assign", "widen", "add-slot"), fill=True, mats=True),
    "paper": Family(3, 2, ("assign", "scale", "swap-role", "drop"), papers=1, mats=True),
    "card": Family(2, 1, ("assign", "widen", "shift", "swap-role"), size=5.0, cards=1, words=24, mats=True),
}
CASES = [(name, seed) for name, family in FAMILIES.items() for seed in range(family.seeds)]


@pytest.mark.parametrize(("name", "seed"), CASES)
def test_the_proved_page_costs_what_enumeration_says(name: str, seed: int) -> None:
    """Whatever is on mats: photo slots, papers, cards."""
    family = FAMILIES[name]
    made, photos = drawn_on_mats(name, seed)
    layout = fitting.best(made, photos, allow=family.allow, words=family.words, effort=10.0)
    assert layout.costs.total == enumerated(name, seed)


def test_a_mat_keeps_its_photo_from_the_end_of_the_safe_box() -> None:
    """A wide photo grows over the whole safe box, 4 1/2 in; on a mat with borders of 1/8 in it ends 1/4 in sooner."""
    limits = Limits(smallest_side=fitting.inches(1.5)[0])
    photo, borders = slot("photo", 1, 1.5, 3, 1.5, limits=limits), (3175, 3175, 3175, 3175)
    photos, allow, weights = [fitting.photo(0, 3000, 1000)], ("widen", "shift"), {"resize": 0}
    widths = []
    for made in (template((5, 5), photo), template((5, 5), mat("mat", photo, borders), photo)):
        layout = fitting.best(made, photos, allow=allow, weights=weights, effort=10.0)
        assert layout.costs.total == least(made, photos, allow, weights)
        boxes = {e.id: e.box for e in layout.elements}
        widths.append(boxes["photo"][2] - boxes["photo"][0])
    assert widths == [round(4.5 * fitting.INCH), round(4.25 * fitting.INCH)]
    assert tuple(abs(a - b) for a, b in zip(boxes["mat"], boxes["photo"], strict=True)) == borders


def test_mats_may_touch_where_photos_may_not() -> None:
    """Photos too wide for their slots grow until their mats touch: 1/8 in is kept from photos, none between mats."""
    one, two = slot("one", 0.5, 0.5, 1.75, 2), slot("two", 2.75, 0.5, 1.75, 2)
    borders = (2540, 2540, 2540, 2540)
    made = template((5, 3), mat("mat-one", one, borders), one, mat("mat-two", two, borders), two)
    photos, allow = fitting.photos((2000, 2000), (2000, 2000)), ("widen", "shift")
    layout = fitting.best(made, photos, allow=allow, effort=10.0, weights={"gap": 0, "shift": 0})
    assert layout.costs.total == least(made, photos, allow, {"gap": 0, "shift": 0})
    boxes = {e.id: e.box for e in layout.elements}
    assert 0 <= boxes["mat-two"][0] - boxes["mat-one"][2] < fitting.INCH // 8


def _wide_apart(first: Spot, second: Spot, axis: int) -> int:
    mats = first.border[axis + 2] + second.border[axis]
    return mats + min(second.low(axis) - first.high(axis) - mats, standing.KEPT)


def _lapping(first: Spot, second: Spot, axis: int) -> int:
    return min(second.low(axis) - first.high(axis), standing.KEPT)


@pytest.mark.parametrize("kept", [_wide_apart, _lapping])
def test_another_rule_gives_another_optimum(kept: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """Were 1/8 in kept between mats, or nothing from them at all, some of these pages would cost something else."""
    cases = [(name, seed) for name in ("widen, shift", "scale, shift") for seed in range(4)]
    published = {case: enumerated(*case) for case in cases}
    monkeypatch.setattr(standing, "kept_between", kept)
    assert any(of_family(*case) != published[case] for case in cases)


@cache
def enumerated(name: str, seed: int) -> int | None:
    """Return what enumeration says of a page of a family."""
    return of_family(name, seed)


def of_family(name: str, seed: int) -> int | None:
    """Return the same without remembering it."""
    family = FAMILIES[name]
    return least(*drawn_on_mats(name, seed), family.allow, words=family.words)


def drawn_on_mats(name: str, seed: int) -> tuple[Template, list[Photo]]:
    """Return a page of a family and its photos."""
    rng = random.Random(f"mats {name} {seed}")
    return drawn(rng, FAMILIES[name]), taken(rng, FAMILIES[name])


def least(
    made: Template,
    photos: Sequence[Photo],
    allow: Collection[str],
    weights: Mapping[str, int] | None = None,
    words: int = 0,
) -> int | None:
    """Return what enumeration says."""
    text = given_count(words).text if words else None
    wishes = Wishes(given(tuple(photos)), fitting.only(*allow), weights=weights or {}, text=text)
    return enumeration.optimum(made, Page("template", made.size), wishes)


def mat(name: str, on: Element, borders: tuple[int, int, int, int]) -> Element:
    """Return a mat that reaches beyond a slot: left, top, right, bottom."""
    left, top, right, low = (edge + sign * b for edge, b, sign in zip(on.box, borders, (-1, -1, 1, 1), strict=True))
    center, size = ((left + right) // 2, (top + low) // 2), (right - left, low - top)
    return rect(name, "paper", center, size, on=on.id, tie="mat")
