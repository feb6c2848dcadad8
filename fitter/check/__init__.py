"""Step 5, check: the *written* layout judged anew.

Enters: a layout (and, where they are at hand, its photos and template).  Leaves: a :class:`Report`
with a verdict on every rule R1–R9 and every cost recomputed from the layout alone.  Written without
the code that formulates, places and solves, which it must not import.
"""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

from fitter.check import costs_order, costs_photos, costs_slots
from fitter.check.copies import cost_repeat_cluster
from fitter.check.costs_balance import cost_balance
from fitter.check.inputs import compare_photos, template_differences
from fitter.check.report import CostDifference, CostItem, Report, RuleResult, Violation
from fitter.check.rules_given import rule_given, rule_limits, rule_true
from fitter.check.rules_page import rule_edge, rule_keep, rule_photos
from fitter.check.rules_text import rule_text
from fitter.check.rules_ties import rule_ties
from fitter.check.search import search_faults
from fitter.check.view import View, decimal, round_half_up
from fitter.check.wishes import cost_departure, rule_wishes
from fitter.errors import InputError, UseError
from fitter.layout import Costs, Layout
from fitter.layout_bounds import contradictions
from fitter.template import Template

__all__ = [
    "COSTS",
    "RULES",
    "CostDifference",
    "CostItem",
    "Report",
    "RuleResult",
    "Violation",
    "check_layout",
    "recompute",
]

RULES: dict[str, tuple[str, Callable[[View], tuple[Violation, ...]]]] = {
    "R1": ("edge", rule_edge),
    "R2": ("text", rule_text),
    "R3": ("photos", rule_photos),
    "R4": ("given", rule_given),
    "R5": ("keep", rule_keep),
    "R6": ("true", rule_true),
    "R7": ("ties", rule_ties),
    "R8": ("limits", rule_limits),
    "R9": ("wishes", rule_wishes),
}
COSTS: dict[str, Callable[[View], tuple[CostItem, ...]]] = {
    "crop-loss": costs_photos.cost_crop_loss,
    "overlap": costs_slots.cost_overlap,
    "ppi": costs_photos.cost_ppi,
    "rotate-page": costs_slots.cost_rotate_page,
    "mirror-page": costs_slots.cost_mirror_page,
    "rotate-slot": costs_slots.cost_rotate_slot,
    "swap-role": costs_slots.cost_swap_role,
    "add-slot": costs_slots.cost_add_slot,
    "repeat-cluster": cost_repeat_cluster,
    "drop": costs_slots.cost_drop,
    "empty-slot": costs_slots.cost_empty_slot,
    "shift": costs_slots.cost_shift,
    "resize": costs_slots.cost_resize,
    "alignment": costs_order.cost_alignment,
    "gap": costs_order.cost_gap,
    "hole": costs_slots.cost_hole,
    "balance": cost_balance,
    "text": costs_photos.cost_text,
    "emphasis": costs_photos.cost_emphasis,
    "order": costs_photos.cost_order,
    "left-out": costs_photos.cost_left_out,
    "waived": costs_photos.cost_waived,
    "departure": cost_departure,
}
ROUNDED = frozenset({"crop-loss", "overlap", "ppi", "shift", "resize", "hole", "balance", "text"})
"""Costs whose contributions are rounded: each may differ by one unit between implementations."""


def check_layout(
    layout: Layout,
    *,
    base: str | os.PathLike[str] | None = None,
    photos: str | os.PathLike[str] | None = None,
    template: Template | None = None,
    without: frozenset[str] = frozenset(),
) -> Report:
    """Judge a layout.

    Parameters
    ----------
    layout
        The page as written.
    base
        Folder of the layout file: photos found from there are compared with the given ones.
    photos
        Folder the photos lie in now, if that is another; it is looked through first.
    template
        The template, to compare with the layout's reference.
    without
        Names of rules (``R3``) or costs (``gap``) to leave out; they pass, or cost nothing.

    Returns
    -------
    Report

    Raises
    ------
    InputError
        When the layout contradicts itself, so that nothing can be judged.
    UseError
        When ``without`` names something that is neither a rule nor a cost.
    """
    unknown = sorted(without - set(RULES) - set(COSTS))
    if unknown:
        raise UseError(
            f"{unknown[0]!r} is neither a rule nor a cost; expected one of {', '.join((*RULES, *COSTS))}"
        )
    problem = next(contradictions(layout), None)
    if problem is not None:
        raise InputError(problem)
    view = View(layout)
    details = {name: () if name in without else cost(view) for name, cost in COSTS.items()}
    costs = _summed(layout, details)
    at = None if photos is None else Path(photos)
    different, absent = ((), ()) if base is None else compare_photos(layout, Path(base), at)
    drawn = () if template is None else template_differences(layout, template)
    return Report(
        rules=tuple(_verdict(view, rule, without) for rule in RULES),
        costs=costs,
        details=details,
        cost_differences=tuple(_cost_differences(layout, costs, details, without)),
        differences=(*different, *drawn),
        search=tuple(search_faults(layout)),
        not_compared=absent,
    )


def recompute(layout: Layout) -> Costs:
    """Return a layout's costs, computed from the layout alone."""
    view = View(layout)
    return _summed(layout, {name: cost(view) for name, cost in COSTS.items()})


def _verdict(view: View, rule: str, without: frozenset[str]) -> RuleResult:
    title, judge = RULES[rule]
    violations = () if rule in without else judge(view)
    waived = {(w.rule, w.element) for w in view.layout.waived}
    broken = tuple(v for v in violations if not (v.waivable and (v.rule, v.element) in waived))
    if broken:
        return RuleResult(rule, title, "broken", broken)
    return RuleResult(rule, title, "waived" if violations else "pass", violations)


def _summed(layout: Layout, details: dict[str, tuple[CostItem, ...]]) -> Costs:
    weights = layout.costs.weights
    terms = {name: sum(item.amount for item in items) for name, items in details.items()}
    total = sum(round_half_up(amount * decimal(weights.get(name, 1.0))) for name, amount in terms.items())
    return Costs(total, terms, dict(weights))


def _cost_differences(
    layout: Layout, costs: Costs, details: dict[str, tuple[CostItem, ...]], without: frozenset[str]
) -> list[CostDifference]:
    stated, weights = layout.costs.terms, layout.costs.weights
    made = []
    for name in (*COSTS, *sorted(set(stated) - set(COSTS))):
        if name in without:
            continue
        allowed = len(details.get(name, ())) if name in ROUNDED else 0
        got, want = stated.get(name, 0), costs.terms.get(name, 0)
        if abs(got - want) > allowed or name not in COSTS:
            made.append(CostDifference(name, got, want))
    # The total is judged by the stated terms, so that one wrong term is told once.
    total = sum(round_half_up(amount * decimal(weights.get(name, 1.0))) for name, amount in stated.items())
    if total != layout.costs.total:
        made.append(CostDifference("total", layout.costs.total, total))
    return made
