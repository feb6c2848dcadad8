"""For every cost a named page that is another one once just that cost is nothing.

The rest of the costs, weighed as given, is then lower: the cost was what kept the page from it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import pytest

from fitter.cost_names import COSTS
from fitter.layout import Layout
from fitter.photos import Photo
from fitter.template import Template
from fitter.wishes import make_wishes
from tests.proofs.fitting import best, photo, photos, slot, template


@dataclass(frozen=True)
class Instance:
    """A page and what is asked for; ``weights`` hold in both runs."""

    template: Template
    photos: list[Photo]
    wishes: dict[str, Any] = field(default_factory=dict)
    weights: dict[str, float] = field(default_factory=dict)


def _one(width: float, height: float, page: float = 6, left: float = 1, top: float = 1) -> Template:
    return template((page, page), slot("a", left, top, width, height))


def crop_loss() -> Instance:
    """A slot is widened for a picture."""
    return Instance(_one(3, 3), photos((2700, 1800)))


def ppi() -> Instance:
    """A slot is made smaller, and the page barer, for a picture of few pixels."""
    return Instance(_one(4, 4), photos((640, 640)), {"allow": ("widen", "shift")}, {"hole": 0.2})


def rotate_page() -> Instance:
    """Turning the page would spare a hundredth of a photo's picture."""
    return Instance(_one(3.1, 3), photos((3000, 3100)), {"allow": ("rotate-page",)}, {"crop-loss": 0.2})


def mirror_page() -> Instance:
    """Mirroring would put two photos in order, for more than it costs that they are not."""
    made = template((8, 8), slot("a", 0.5, 1, 4, 2.5), slot("b", 4.75, 0.25, 2.5, 4))
    return Instance(made, photos((1500, 2400), (2400, 1500)), {"allow": ("assign", "mirror-page")})


def rotate_slot() -> Instance:
    """Turning a nearly square slot would spare a little of a square picture."""
    return Instance(_one(3.25, 3), photos((2997, 3000)), {"allow": ("rotate-slot", "shift")})


def swap_role() -> Instance:
    """A sheet suits the photo better than the slot, by less than two changes of roles cost."""
    made = template((6, 6), slot("a", 0.5, 0.5, 2.25, 2), slot("sheet", 3, 0.5, 2, 2, "paper"))
    return Instance(made, photos((2000, 2000)), {"allow": ("swap-role",)}, {"crop-loss": 0.5})


def add_slot() -> Instance:
    """Two photos in one slot cost less than one photo left out, but for the divided slot."""
    taken = photos((1800, 1800), (1800, 1700))
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 5))
    return Instance(made, taken, {"allow": ("add-slot", "assign"), "leave_out": 1}, {"crop-loss": 0.25})


def repeat_cluster() -> Instance:
    """A sheet takes the third photo, which a copy of a small slot would show without any change of roles."""
    small = replace(slot("b", 2.75, 0.5, 2, 2), cluster="small")
    made = template((8, 5.25), slot("a", 0.5, 0.5, 2, 2), small, slot("sheet", 0.5, 2.75, 2, 2, "paper"))
    return Instance(made, photos(*[(2000, 2000)] * 3), {"allow": ("assign", "swap-role", "repeat-cluster")})


def drop() -> Instance:
    """A small slot without a photo becomes a sheet, though its hole would cost less than the change."""
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 3.5), slot("b", 0.5, 4.5, 1, 1))
    return Instance(made, photos((2500, 1750)), {"allow": ("drop", "swap-role")})


def empty_slot() -> Instance:
    """The one photo goes into the large slot, though the small one would cut nothing."""
    made = template((6, 6), slot("a", 0.5, 0.5, 4, 3.7), slot("b", 0.5, 4, 1.5, 1.5))
    return Instance(made, photos((2000, 2000)), {"allow": ("assign", "drop")}, {"hole": 0, "balance": 0})


def shift() -> Instance:
    """A slot at the edge has to move to be widened, and so is widened less."""
    made = template((6, 6), slot("a", 0.25, 0.5, 3, 2), slot("b", 0.5, 3.25, 2, 2))
    return Instance(made, photos((2790, 1800), (2000, 2000)), {"allow": ("widen", "shift", "assign")}, {"shift": 4})


def resize() -> Instance:
    """A slot stays smaller than its picture would like."""
    return Instance(_one(3, 3), photos((3400, 1800)), {"allow": ("widen", "shift")}, {"crop-loss": 0.05})


def alignment() -> Instance:
    """Two slots one above the other stay flush, though one of them would be better wider."""
    made = template((6, 6), slot("a", 0.5, 0.5, 3, 2), slot("b", 0.5, 2.75, 3, 2))
    return Instance(made, photos((1800, 1200), (1900, 1200)))


def gap() -> Instance:
    """Three slots in a row keep their distances, though one of them would be better narrower."""
    row = [slot(f"p{k}", 0.25 + 2.5 * k, 1 + 0.4 * k, 2.25, 3 + 0.35 * k) for k in range(3)]
    taken = photos((1125, 1500), (1080, 1675), (1125, 1850))
    return Instance(template((8, 8), *row), taken, {"allow": ("widen", "shift", "assign")}, {"hole": 0, "alignment": 0})


def overlap() -> Instance:
    """A strip and a ribbon beside a photo keep apart though the photo would push one over the other."""
    made = template(
        (6, 6),
        slot("a", 0.25, 0.25, 3.5, 5.5),
        slot("strip", 3.875, 0.25, 0.75, 5.5, "paper"),
        slot("ribbon", 4.875, 0.25, 0.75, 5.5, "ribbon"),
    )
    return Instance(made, [photo(0, 2400, 2900)], {"allow": ("widen", "shift")}, {"shift": 0, "gap": 0, "alignment": 0})


def hole() -> Instance:
    """A slot is not made smaller because the page would be bare."""
    return Instance(_one(4, 4), photos((800, 800)), {"allow": ("widen", "shift")}, {"resize": 0.3})


def balance() -> Instance:
    """The one photo stays in the middle, though a slot at either side would cut a hundredth less."""
    made = template((8, 8), slot("a", 2.5, 2.49, 3, 3.02), slot("b", 0.25, 3, 2, 2), slot("c", 5.75, 3, 2, 2))
    return Instance(made, photos((2000, 2000)), {"allow": ("assign", "drop")}, {"hole": 0, "empty-slot": 0})


def text() -> Instance:
    """A card is enlarged for words in a readable size."""
    return Instance(template((6, 6), slot("card", 1, 1, 3, 3, "journaling")), [], {"words": 170, "allow": ("widen",)})


def emphasis() -> Instance:
    """The photo that matters gets the larger slot, though the other was taken first."""
    made = template((8, 8), slot("a", 0.5, 0.5, 4.5, 3), slot("b", 0.5, 4, 3, 2))
    return Instance(made, [photo(0, 2700, 1800), photo(1, 2700, 1800, weight=2.0)], {"allow": ("assign",)})


def order() -> Instance:
    """Two nearly alike photos stand in order rather than where a hundredth less is cut."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 2), slot("b", 4, 0.5, 3.02, 2))
    taken = photos((1812, 1200), (1800, 1200))
    return Instance(made, taken, {"allow": ("assign",)}, {"crop-loss": 0.1})


def left_out() -> Instance:
    """Both photos are shown though one of them must be cut in half."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 3), slot("b", 4, 0.5, 3, 3))
    wishes = {"allow": ("assign", "swap-role"), "leave_out": 1}
    return Instance(made, photos((1200, 1200), (1200, 1500)), wishes)


def waived() -> Instance:
    """Of two pictures of few pixels one needs a waiver, the other a smaller slot."""
    made = template((9, 9), slot("a", 0.5, 0.5, 3, 3), slot("b", 4, 0.5, 4, 4))
    taken = photos((200, 200), (560, 560))
    return Instance(made, taken, {"allow": ("widen", "shift")}, {"ppi": 0})


def departure() -> Instance:
    """Two photos stay where an earlier page had them, though each suits the other's slot a little better."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 2), slot("b", 4, 0.5, 2.9, 2))
    taken = photos((1800, 1200), (1740, 1200))
    crossed = best(made, taken, allow=("assign",), wishes=make_wishes(made, taken, pins=[(str(taken[0].path), "b")]))
    wishes = make_wishes(made, taken, start=crossed)
    return Instance(made, taken, {"allow": ("assign",), "wishes": wishes})


INSTANCES: dict[str, Callable[[], Instance]] = {
    "crop-loss": crop_loss,
    "overlap": overlap,
    "ppi": ppi,
    "rotate-page": rotate_page,
    "mirror-page": mirror_page,
    "rotate-slot": rotate_slot,
    "swap-role": swap_role,
    "add-slot": add_slot,
    "repeat-cluster": repeat_cluster,
    "drop": drop,
    "empty-slot": empty_slot,
    "shift": shift,
    "resize": resize,
    "alignment": alignment,
    "gap": gap,
    "hole": hole,
    "balance": balance,
    "text": text,
    "emphasis": emphasis,
    "order": order,
    "left-out": left_out,
    "waived": waived,
    "departure": departure,
}


def rest(layout: Layout, name: str, weights: dict[str, float]) -> int:
    """Return the weighed sum of all costs but one."""
    return sum(round(cost * weights.get(term, 1)) for term, cost in layout.costs.terms.items() if term != name)


def test_no_cost_is_forgotten() -> None:
    """There is an instance for each cost."""
    assert tuple(INSTANCES) == COSTS


@pytest.mark.parametrize("name", COSTS)
def test_every_cost_keeps_some_page_from_another(name: str) -> None:
    """Weighed nothing, the cost gives way: the rest is lower, and the cost itself higher."""
    case = INSTANCES[name]()
    pages = []
    for weight in (case.weights.get(name, 1), 0):
        weights = {**case.weights, name: weight}
        pages.append(best(case.template, case.photos, effort=6.0, weights=weights, **case.wishes))
    kept, free = pages
    assert rest(free, name, case.weights) < rest(kept, name, case.weights)
    assert free.costs.terms.get(name, 0) > kept.costs.terms.get(name, 0)
    assert free.elements != kept.elements
