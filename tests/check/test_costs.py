"""Costs as a whole: which there are, what an untouched page and a departure cost, and that wrong ones are told."""

from __future__ import annotations

from dataclasses import replace

from fitter.check import COSTS, check_layout
from fitter.cost_names import COSTS as NAMES
from fitter.earlier import start_of
from fitter.layout import Costs, Layout, Wishes
from tests import builders as b
from tests.check.costing import cost


def test_names_are_the_published_ones() -> None:
    """The checker computes every cost there is, and no other."""
    assert set(COSTS) == set(NAMES)


def test_untouched_template_costs_only_its_narrow_lines(page: Layout) -> None:
    """Lines of about 28 characters cost 5,000; nothing else does."""
    assert {k: v for k, v in check_layout(page).costs.terms.items() if v} == {"text": 5_000}


def test_total_is_the_sum_of_rounded_weighted_terms(page: Layout) -> None:
    """Weights multiply terms, each product is rounded, halves up."""
    layout = b.move(page, "bloom", dy=-38_100)
    layout = b.priced(replace(layout, costs=Costs(0, {}, {"shift": 0.5, "text": 0.0003})))
    # 18,000 · 0.5 = 9,000 and 5,000 · 0.0003 = 1.5, rounded up to 2; the page keeps all else.
    assert layout.costs.total == 9_002
    assert check_layout(layout).ok


def test_wrong_terms_are_told(page: Layout) -> None:
    """A layout that states another term, total or a cost that does not exist is caught, each by name."""
    terms = page.costs.terms
    lie = replace(page, costs=Costs(page.costs.total - 5_000, {**terms, "text": 0}))
    assert [(d.term, d.stated, d.recomputed) for d in check_layout(lie).cost_differences] == [("text", 0, 5_000)]
    total = replace(page, costs=replace(page.costs, total=1))
    assert [d.term for d in check_layout(total).cost_differences] == ["total"]
    odd = replace(page, costs=Costs(page.costs.total, {**terms, "beauty": 0}))
    assert [d.term for d in check_layout(odd).cost_differences] == ["beauty"]
    assert check_layout(odd).rules_hold
    assert not check_layout(odd).ok


def test_one_unit_an_element_is_rounding(page: Layout) -> None:
    """Terms of rounded costs may differ by one unit for each element; exact ones by nothing."""
    blocks = 7
    for off, fine in ((blocks, True), (blocks + 1, False)):
        stated = Costs(page.costs.total + off, {**page.costs.terms, "shift": off})
        assert check_layout(replace(page, costs=stated)).ok is fine
    stated = Costs(page.costs.total + 1, {**page.costs.terms, "drop": 1})
    assert not check_layout(replace(page, costs=stated)).ok


def test_departure_from_the_page_started_from(page: Layout) -> None:
    """By hand: against itself nothing, other content 60,000, the same in another size 30,000, turned 60,000."""
    wishes = Wishes(start=start_of(page))
    assert cost(b.give(page, wishes=wishes), "departure") == 0
    grown = b.change(page, "photo-1", size=(61_000, 48_800), photo=b.whole(b.A, (61_000, 48_800)))
    assert cost(b.give(grown, wishes=wishes), "departure") == 30_000
    other = b.change(page, "photo-1", photo=b.cropped(b.B, (0, 0, 1350, 1080), (63_500, 50_800)))
    assert cost(b.give(other, wishes=wishes), "departure") == 60_000
    without = b.remove(page, "paper-1", "ribbon-1")
    assert cost(b.give(without, wishes=wishes), "departure") == 120_000
    assert cost(b.give(b.transformed(page, mirror=True), wishes=wishes), "departure") == 60_000
