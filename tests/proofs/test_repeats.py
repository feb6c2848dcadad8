"""With copies of a cluster the proved page costs what enumeration says, on random tiny pages.

The pages are rows of slots with room for one copy of the last one, at its right: at the gap of the row, 1/4 in, or
where there is no room for that at 1/8 in.  The drawing with the copy is enumerated as a template of its own.
"""

from __future__ import annotations

import random
from dataclasses import replace

import pytest

from fitter.pages import Page
from fitter.photos import given
from fitter.template import Element, Template
from tests.proofs import enumeration, fitting
from tests.proofs.fitting import INCH, slot, template
from tests.proofs.published import FAR, rate
from tests.proofs.spots import Wishes

ALLOW = (
    ("assign", "repeat-cluster"),
    ("assign", "repeat-cluster", "mirror-page", "shift"),
    ("assign", "repeat-cluster", "swap-role", "drop"),
    ("assign", "repeat-cluster", "scale"),
    ("assign", "repeat-cluster", "widen"),
)


def drawn(rng: random.Random, most: int) -> tuple[Template, Element]:
    """Return a page of one or more slots and a cluster of one, and the copy there is room for.

    The cluster is taller than the room beside it is wide, so that it has no room turned by a quarter, and nothing has
    room above or below.
    """
    left, elements = 0.5, []
    widths = [rng.choice([1.25, 1.5]) for _ in range(rng.randint(1, most))]
    for number, width in enumerate(widths):
        high = rng.choice([2.5, 2.75])
        elements.append(slot("xy"[number], left, rng.choice([0.5, 0.625]), width, high))
        left += width + 0.25
    width, high = rng.choice([1.25, 1.375]), rng.choice([2.5, 2.75])
    last = replace(slot("z", left, 0.5, width, high), cluster="end")
    gap, spare = rng.choice([(0.25, 0.375), (0.25, 0.25), (0.125, 0.25)])
    page = left + 2 * width + gap + spare
    step = last.size[0] + round(gap * INCH)
    copy = replace(last, id="z~2", center=(last.center[0] + step, last.center[1]))
    return template((page, 3.75), *elements, last), copy


@pytest.mark.parametrize("allow", ALLOW, ids=" ".join)
@pytest.mark.parametrize("seed", range(3))
def test_the_proved_page_costs_what_enumeration_says(allow: tuple[str, ...], seed: int) -> None:
    """The least of the page without copies (some photo left out) and with the copy, 150,000 dearer."""
    rng = random.Random(f"{allow} {seed}")
    made, copy = drawn(rng, 2 if len(allow) == 2 else 1)
    page = Page("template", made.size)
    slots = len(made.elements)
    sizes = [(rng.randrange(1200, 1800, 2), rng.randrange(1600, 2800, 2)) for _ in range(slots + 1)]
    photos = fitting.photos(*sizes)
    out = rng.choice([0, 1])
    wishes = Wishes(given(tuple(photos)), fitting.only(*allow), leave_out=out)
    whole = enumeration.optimum(replace(made, elements=(*made.elements, copy)), page, wishes)
    assert whole is not None
    plain = enumeration.optimum(made, page, wishes)
    wanted = min(whole + rate("repeat-cluster"), FAR if plain is None else plain)
    layout = fitting.best(made, photos, allow=allow, page=page, leave_out=out, effort=10.0)
    assert layout.costs.total == wanted
