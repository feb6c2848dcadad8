"""With copies of a cluster the proved page costs what enumeration says, on random tiny pages.

The pages are rows of slots with room for one copy of the last one, at its right, where only two gaps are offered;
each of the two drawings is enumerated as a template of its own.
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

ALLOW = (
    ("assign", "repeat-cluster"),
    ("assign", "repeat-cluster", "mirror-page", "shift"),
    ("assign", "repeat-cluster", "swap-role", "drop"),
    ("assign", "repeat-cluster", "scale"),
    ("assign", "repeat-cluster", "widen"),
)


def drawn(rng: random.Random, most: int) -> tuple[Template, list[tuple[Element, ...]]]:
    """Return a page of one or more slots and a cluster of one, and the copies there is room for.

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
    page = left + 2 * width + 0.25 + 0.5
    # The template's own gap is 1/4 in; 1/8 in is offered too.
    steps = [last.size[0] + round(gap * INCH) for gap in (0.25, 0.125)]
    copies = [(replace(last, id="z~2", center=(last.center[0] + step, last.center[1])),) for step in steps]
    return template((page, 3.75), *elements, last), copies


@pytest.mark.parametrize("allow", ALLOW, ids=" ".join)
@pytest.mark.parametrize("seed", range(3))
def test_the_proved_page_costs_what_enumeration_says(allow: tuple[str, ...], seed: int) -> None:
    """The least of the page without copies (some photo left out) and with each copy, 150,000 dearer."""
    rng = random.Random(f"{allow} {seed}")
    made, copies = drawn(rng, 2 if len(allow) == 2 else 1)
    page = Page("template", made.size)
    slots = len(made.elements)
    sizes = [(rng.randrange(1200, 1800, 2), rng.randrange(1600, 2800, 2)) for _ in range(slots + 1)]
    photos = fitting.photos(*sizes)
    out = rng.choice([0, 1])
    wishes = enumeration.Wishes(given(tuple(photos)), fitting.only(*allow), leave_out=out)
    priced = [enumeration.optimum(made, page, wishes)]
    for copy in copies:
        whole = enumeration.optimum(replace(made, elements=(*made.elements, *copy)), page, wishes)
        priced.append(None if whole is None else whole + enumeration.rate("repeat-cluster"))
    wanted = min(cost for cost in priced if cost is not None)
    layout = fitting.best(made, photos, allow=allow, page=page, leave_out=out, effort=10.0)
    assert layout.costs.total == wanted
