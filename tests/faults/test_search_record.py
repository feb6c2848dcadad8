"""Planted faults in what a layout says of its search: status, bound and gap against the page's own cost."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

import pytest

from fitter.check import check_layout
from fitter.layout import Layout


def told(page: Layout, status: Literal["proved", "feasible"], bound: int, gap: float) -> tuple[str, ...]:
    """Return what the checker says of a page with such a record, having made sure that this alone decides."""
    report = check_layout(replace(page, search=replace(page.search, status=status, bound=bound, gap=gap)))
    assert report.ok == (not report.search)
    assert report.rules_hold
    assert set(report.search) <= set(report.lines())
    return report.search


def test_records_that_agree(page: Layout) -> None:
    """The page costs 5,000: proved at that, or feasible with a bound below, given better pages or not."""
    assert page.costs.total == 5_000
    assert told(page, "proved", 5_000, 0.0) == ()
    assert told(page, "feasible", 5_000, 0.0) == ()
    assert told(page, "feasible", 3_000, 0.4) == ()
    assert told(page, "feasible", 4_999, 0.0002) == ()


def test_gaps_are_rounded(page: Layout) -> None:
    """2,000 of 3,000 are 0.666667; six decimals count."""
    layout = replace(page, costs=replace(page.costs, weights={"text": 0.6}, total=3_000))
    assert told(layout, "feasible", 1_000, 0.666667) == ()
    assert len(told(layout, "feasible", 1_000, 0.66667)) == 1


@pytest.mark.parametrize(("bound", "gap"), [(0, 1.0), (1, 0.9998), (4_999, 0.0002)])
def test_proved_without_the_bound(page: Layout, bound: int, gap: float) -> None:
    """A page is proved only where the bound is its cost."""
    (sentence,) = told(page, "proved", bound, gap)
    assert "called proved" in sentence


def test_a_bound_above_the_cost(page: Layout) -> None:
    """No bound is above what the page costs."""
    (sentence,) = told(page, "feasible", 5_001, 0.0)
    assert "above" in sentence


def test_a_gap_that_does_not_follow(page: Layout) -> None:
    """A gap of 40 % is stated as 4 %; a proved page has none."""
    assert "0.400000" in told(page, "feasible", 3_000, 0.04)[0]
    assert len(told(page, "proved", 5_000, 0.1)) == 1


def test_a_page_that_costs_nothing(page: Layout) -> None:
    """Where nothing is charged there is no gap."""
    layout = replace(page, costs=replace(page.costs, weights={"text": 0.0}, total=0))
    assert told(layout, "proved", 0, 0.0) == ()
    assert len(told(layout, "feasible", 0, 1.0)) == 1
