"""With wishes, and close to an earlier page, the proved page costs what exhaustive enumeration says."""

from __future__ import annotations

import random
from typing import Any

import pytest

from fitter.pages import Page
from fitter.photos import given
from fitter.wishes import make_wishes
from tests.proofs import enumeration, fitting
from tests.proofs.spots import Wishes
from tests.proofs.tiny import Family, drawn, taken

FAMILIES = {
    "assign, mirror": Family(3, 3, ("assign", "mirror-page", "rotate-page")),
    "widen, drop, swap": Family(2, 2, ("assign", "widen", "drop", "swap-role"), papers=0),
    "widen, paper": Family(3, 2, ("assign", "widen", "swap-role", "drop"), papers=1),
    "shift": Family(2, 2, ("assign", "widen", "shift"), size=5.0),
    "scale": Family(2, 2, ("assign", "widen", "scale", "mirror-page")),
    "one left out": Family(2, 2, ("assign", "drop", "swap-role"), options={"leave_out": 1}),
}
KINDS = ("none", "pins", "stay", "avoid", "bigger", "smaller")
CASES = [
    (name, kind, seed)
    for name in FAMILIES
    for kind in KINDS
    for seed in range(2)
    # The enumeration does not hold a slot in its place while others move.
    if (name, kind) != ("shift", "stay")
]


@pytest.mark.parametrize(("name", "kind", "seed"), CASES)
def test_the_proved_page_with_a_wish_costs_what_enumeration_says(name: str, kind: str, seed: int) -> None:
    """A wish at random, from the best page without; where the enumeration knows no page, none is found."""
    family = FAMILIES[name]
    rng = random.Random(f"{name} {kind} {seed}")
    made, photos = drawn(rng, family), taken(rng, family)
    options: dict[str, Any] = {"allow": family.allow, "effort": 10.0, **family.options}
    start = fitting.best(made, photos, **options)
    shown = [e.photo.file for e in start.elements if e.photo is not None]
    photo, slot = rng.choice(shown), rng.choice([e.id for e in made.elements if e.role == "photo"])
    wish: dict[str, Any] = {
        "none": {},
        "pins": {"pins": [(photo, slot)]},
        "stay": {"stay": [slot]},
        "avoid": {"avoid": [slot]},
        "bigger": {"bigger": [photo]},
        "smaller": {"smaller": [photo]},
    }[kind]
    asked = make_wishes(made, photos, start=start, **wish)
    page = Page("template", made.size)
    wishes = Wishes(
        given(tuple(photos)), fitting.only(*family.allow), leave_out=family.options.get("leave_out", 0), asked=asked
    )
    wanted = enumeration.optimum(made, page, wishes)
    result = fitting.fit(made, photos, wishes=asked, **options)
    if wanted is None:
        assert not result.layouts
        assert result.reasons
        return
    layout = result.layouts[0]
    fitting.sound(layout)
    assert layout.search.status == "proved"
    assert layout.costs.total == wanted
