"""With slots that partly overlap the proved page costs what enumeration says, on random tiny pages."""

from __future__ import annotations

import random
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from fitter.pages import Page
from fitter.photos import Photo, given
from fitter.template import Template
from tests.proofs import enumeration, fitting, standing
from tests.proofs.fitting import slot, template
from tests.proofs.spots import Array, Wishes
from tests.proofs.standing import Lap, lapped

ALLOW = {
    "scale, shift": ("assign", "scale", "shift"),
    "widen, shift": ("assign", "widen", "shift"),
    "widen, drop, eight pages": ("assign", "widen", "drop", "rotate-page", "mirror-page"),
    "scale, widen": ("assign", "scale", "widen", "mirror-page"),
}
KINDS = (("photo", "photo"), ("photo", "paper"), ("paper", "photo"))
CASES = [(name, seed) for name in ALLOW for seed in range(6)]


@pytest.mark.parametrize(("name", "seed"), CASES)
def test_the_proved_page_costs_what_enumeration_says(name: str, seed: int) -> None:
    """A photo or paper over the corner, or the whole side, of another."""
    made, photos = lapping(name, seed)
    layout = fitting.best(made, photos, allow=ALLOW[name], effort=10.0)
    assert layout.costs.total == enumerated(name, seed)


def test_what_laps_over_a_photo_moves_with_its_edge() -> None:
    """A photo that grows takes the paper on its right edge along: the lap is as deep as drawn, or a tenth less."""
    lower = slot("lower", 0.5, 0.5, 2, 2.5)
    upper = slot("upper", 2.25, 1, 1.25, 1.5, "paper", on="lower", tie="lapped")
    made, photos, allow = template((5, 5), lower, upper), [fitting.photo(0, 3000, 2500)], ("widen", "shift")
    layout = fitting.best(made, photos, allow=allow, effort=10.0)
    wishes = Wishes(given(tuple(photos)), fitting.only(*allow))
    assert layout.costs.total == enumeration.optimum(made, Page("template", made.size), wishes)
    boxes = {e.id: e.box for e in layout.elements}
    assert boxes["lower"][2] > lower.box[2] + fitting.INCH // 4
    assert 5715 <= boxes["lower"][2] - boxes["upper"][0] <= 6350


def _anyhow(lower: Lap, upper: Lap, axis: int) -> bool:
    return True


def _deeper(lower: Lap, upper: Lap, axis: int) -> Array:
    """Keep boxes in touch, however deep they lap."""
    return np.asarray((lower[2] > upper[1]) & (upper[2] > lower[1]))


def _unmoved(lower: Lap, upper: Lap, axis: int) -> Array:
    """Let no lap become less deep: edges at the depth drawn."""
    one, two = sorted((lower, upper), key=lambda lap: lap[0].low(axis))
    depth = one[0].high(axis) - two[0].low(axis)
    return np.asarray(lapped(lower, upper, axis) & ((one[2] - two[1] == depth) | (two[2] < one[2])))


@pytest.mark.parametrize("rule", [_anyhow, _deeper, _unmoved])
def test_another_rule_gives_another_optimum(rule: object, monkeypatch: pytest.MonkeyPatch) -> None:
    """How deep laps stay matters on these pages, so that they would notice if the program did otherwise."""
    published = {case: enumerated(*case) for case in CASES}
    monkeypatch.setattr(standing, "lapped", rule)
    assert any(enumerated.__wrapped__(*case) != published[case] for case in CASES)


@cache
def enumerated(name: str, seed: int) -> int | None:
    """Return what enumeration says of a page."""
    made, photos = lapping(name, seed)
    wishes = Wishes(given(tuple(photos)), fitting.only(*ALLOW[name]))
    return enumeration.optimum(made, Page("template", made.size), wishes)


def lapping(name: str, seed: int) -> tuple[Template, list[Photo]]:
    """Return two slots of which the upper one laps over the lower one's right, low or both, and photos for them."""
    rng = random.Random(f"laps {name} {seed}")
    roles = KINDS[seed % len(KINDS)]
    width, height = rng.choice([1.75, 2, 2.25]), rng.choice([2, 2.5, 2.75])
    lower = slot("lower", 0.5, rng.choice([0.5, 0.75]), width, height, roles[0])
    deep = rng.choice([0.25, 0.375, 0.5])
    top = rng.choice([1, 1.25, lower.box[3] / fitting.INCH - deep])
    high = rng.choice([1, 1.25, 1.5])
    upper = slot("upper", 0.5 + width - deep, top, rng.choice([1.5, 1.75, 2]), min(high, 4.5 - top), roles[1])
    upper = replace(upper, on="lower", tie="lapped")
    photos = [
        fitting.photo(n, rng.randrange(1200, 3000, 2), rng.randrange(1200, 3000, 2))
        for n in range(roles.count("photo"))
    ]
    return template((5, 5), lower, upper), photos
