"""For every rule a named page that breaks just this rule once the function that owns it is taken out.

The checker, which shares no code with it, then reports that rule and no other; with the function in, it reports none
and the page costs more.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

import pytest

from fitter.check import RULES, check_layout
from fitter.formulate import cards, formulation, keeps, sights, size_grid
from fitter.layout import Layout
from fitter.photos import Photo
from fitter.template import Limits, Template
from fitter.wishes import make_wishes
from solver.problem import Problem
from tests.proofs.fitting import INCH, best, fit, photo, photos, slot, template


@dataclass(frozen=True)
class Instance:
    """A page, what is asked for, and how the rule's owner is taken out."""

    template: Template
    photos: list[Photo]
    out: Callable[[pytest.MonkeyPatch], None]
    wishes: dict[str, Any] = field(default_factory=dict)


def _nothing(*args: object, **kwargs: object) -> tuple[()]:
    return ()


def edge() -> Instance:
    """R1: a slot on the safe line would grow across it."""
    made = template((6, 6), slot("a", 0.25, 1, 3, 3))
    return Instance(
        made,
        photos((3000, 1800)),
        lambda patch: patch.setattr(formulation, "edge_rules", _nothing),
        {"allow": ("widen",)},
    )


def words() -> Instance:
    """R2: words would run to the edge of their card."""

    def out(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(cards, "INK_CLEAR", -INCH // 32)

    made = template((6, 6), slot("card", 1, 1, 2.5, 3, "journaling"))
    return Instance(made, [], out, {"words": 100, "allow": ()})


def apart() -> Instance:
    """R3: two photos side by side would both grow, one over the other."""
    made = template((8, 8), slot("a", 0.5, 2, 3, 3), slot("b", 4, 2, 3, 3))
    return Instance(
        made,
        photos((2700, 1500), (2700, 1500)),
        lambda patch: patch.setattr(formulation, "apart_rules", _nothing),
        {"allow": ("widen",)},
    )


def given_words() -> Instance:
    """R4: words that cost something to set would be left away."""

    def out(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(formulation, "Problem", lambda **parts: Problem(**{**parts, "texts": ()}))

    made = template((6, 6), slot("a", 0.5, 0.5, 5, 3), slot("card", 0.5, 3.75, 5, 1.75, "journaling"))
    return Instance(made, photos((2500, 1500)), out, {"words": 190, "allow": ("drop", "swap-role", "widen")})


def keep() -> Instance:
    """R5: a marked region at the picture's end would be cut."""

    def out(patch: pytest.MonkeyPatch) -> None:
        patch.setattr("fitter.formulate.sights.keep_boxes", _nothing)

    made = template((6, 6), slot("a", 1, 1, 3, 3))
    marked = [photo(0, 3000, 2000, keep=((0.02, 0.3, 0.8, 0.3),))]
    return Instance(made, marked, out, {"allow": ("widen", "crop"), "weights": {"resize": 20}})


def true() -> Instance:
    """R6: a picture would be pressed into its slot whole."""

    def out(patch: pytest.MonkeyPatch) -> None:
        patch.setattr(sights, "choose_window", keeps.choose_window.__wrapped__)  # nothing remembered
        patch.setattr(keeps, "window_size", lambda pixels, slot: pixels)

    return Instance(template((6, 6), slot("a", 1, 1, 3, 3)), photos((3000, 2000)), out, {"allow": ()})


def ties() -> Instance:
    """R7: a photo that laps a sheet would grow and lap it deeper."""
    made = template(
        (7, 7),
        slot("sheet", 0.5, 2.5, 2.5, 2, "paper"),
        slot("a", 2.5, 1, 3, 4, on="sheet", tie="lapped"),
    )
    return Instance(
        made,
        photos((2100, 2100)),
        lambda patch: patch.setattr(formulation, "lap_rules", _nothing),
        {"allow": ("widen",)},
    )


def limits() -> Instance:
    """R8: a slot of at least 3 in would become lower."""
    made = template((6, 6), slot("a", 1, 1, 3, 3, limits=Limits(smallest_side=3 * INCH)))
    return Instance(
        made,
        photos((3000, 2250)),
        lambda patch: patch.setattr(size_grid, "smallest_side", lambda element, least: least),
        {"allow": ("widen",), "weights": {"hole": 0}},
    )


def wished() -> Instance:
    """R9: a photo pinned to the slot that suits it less would stand in the other."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 2), slot("b", 4, 0.5, 2, 3))
    taken = photos((1800, 1200), (1200, 1800))
    wishes = make_wishes(made, taken, pins=[(str(taken[0].path), "b")])
    return Instance(
        made,
        taken,
        lambda patch: patch.setattr(formulation, "wished_configs", lambda scene, atom, settings, configs: configs),
        {"allow": ("assign",), "wishes": wishes},
    )


INSTANCES = {
    "R1": edge,
    "R2": words,
    "R3": apart,
    "R4": given_words,
    "R5": keep,
    "R6": true,
    "R7": ties,
    "R8": limits,
    "R9": wished,
}


def broken(layout: Layout) -> list[str]:
    """Return the rules a layout breaks."""
    return [result.rule for result in check_layout(layout).rules if result.status == "broken"]


def test_no_rule_is_forgotten() -> None:
    """There is an instance for each rule."""
    assert tuple(INSTANCES) == tuple(RULES)


@pytest.mark.parametrize("rule", RULES)
def test_without_its_owner_a_rule_is_broken_and_no_other(rule: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The optimum changes when the rule is taken out, and the checker names that rule alone."""
    case = INSTANCES[rule]()
    obeying = best(case.template, case.photos, **case.wishes)
    case.out(monkeypatch)
    result = fit(case.template, case.photos, **case.wishes)
    freed = result.layouts[0]
    assert broken(freed) == [rule]
    assert freed.elements != obeying.elements
    assert freed.costs.total <= obeying.costs.total


def test_a_wider_margin_makes_a_slot_smaller() -> None:
    """R1 by variation: the same slot on a page with a gutter ends before it."""
    from fitter.pages import Page

    made = template((6, 6), slot("a", 0.25, 0.25, 5.5, 5.5))
    plain = best(made, photos((2200, 2200)))
    bound = Page("bound", made.size, gutter={"left": INCH})
    narrow = best(made, photos((2200, 2200)), page=bound)
    assert plain.costs.total == 0
    assert narrow.elements[0].box[0] >= INCH
    assert narrow.transform.scale < 1


def test_the_least_resolution_makes_a_slot_smaller() -> None:
    """R8 by variation: 560 pixels may stand in 4 in at 100 ppi, but at 150 ppi only in 3.73 in or less."""
    made = template((6, 6), slot("a", 1, 1, 4, 4))
    wishes: dict[str, Any] = {"allow": ("widen",), "weights": {"ppi": 0}}
    assert best(made, photos((560, 560)), min_ppi=100, **wishes).elements[0].size == (4 * INCH, 4 * INCH)
    assert max(best(made, photos((560, 560)), min_ppi=150, **wishes).elements[0].size) <= 560 * INCH / 150


def test_what_a_slot_may_be_binds() -> None:
    """R8 by variation: a sheet that may be nothing else takes no photo."""
    sheet = slot("sheet", 0.5, 3.5, 5, 2, "paper", limits=Limits(may_be=("paper",)))
    free = slot("sheet", 0.5, 3.5, 5, 2, "paper")
    roles = []
    for other in (sheet, free):
        page = best(
            template((6, 6), slot("a", 0.5, 0.5, 5, 2.75), other), photos((2500, 1375), (2500, 1000)), allow=None
        )
        roles.append(next((e.role for e in page.elements if e.source == "sheet"), None))
    assert roles[1] == "photo"
    assert roles[0] in (None, "paper")
