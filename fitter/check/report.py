"""What the checker says: plain data, and the same in words."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from fitter.layout import Costs

Amount = int | float | Fraction


@dataclass(frozen=True)
class Violation:
    """One place where a rule does not hold.

    Parameters
    ----------
    rule
        ``R1`` … ``R9``.
    element
        Id of the element, or name of the photo or text, that breaks it.
    message
        One sentence for people.
    other
        The second element concerned, if any.
    side
        The side of the page or element concerned, if any.
    amount_um
        By how many micrometres, where it is a length.
    share
        By what share (0…1), where it is an area.
    waivable
        Whether the layout may waive this very violation (detected keep boxes, ``min_ppi``).
    """

    rule: str
    element: str
    message: str
    other: str | None = None
    side: str | None = None
    amount_um: int | None = None
    share: float | None = None
    waivable: bool = False


@dataclass(frozen=True)
class RuleResult:
    """A rule's verdict; ``violations`` of a waived rule are those that were waived."""

    rule: str
    title: str
    status: Literal["pass", "broken", "waived"]
    violations: tuple[Violation, ...] = ()


@dataclass(frozen=True)
class CostItem:
    """What one element or pair contributes to a cost, in millionths."""

    element: str
    amount: int


@dataclass(frozen=True)
class CostDifference:
    """A cost term, or ``total``, that the layout states otherwise than recomputed."""

    term: str
    stated: int
    recomputed: int


@dataclass(frozen=True)
class Report:
    """Everything the checker found.

    Parameters
    ----------
    rules
        One verdict per rule, in order.
    costs
        Recomputed, weighted as the layout says.
    details
        The contributions to each cost term.
    cost_differences
        Terms that differ by more than their published rounding.
    differences
        Sentences on photos, template or reference that are not those the layout was made from.
    search
        Sentences on what the layout says of its search and cannot be.
    not_compared
        Sentences on what was not at hand to be compared; no fault of the layout.
    """

    rules: tuple[RuleResult, ...]
    costs: Costs
    details: dict[str, tuple[CostItem, ...]]
    cost_differences: tuple[CostDifference, ...] = ()
    differences: tuple[str, ...] = ()
    search: tuple[str, ...] = ()
    not_compared: tuple[str, ...] = ()

    @property
    def rules_hold(self) -> bool:
        """Whether every rule holds or is legitimately waived."""
        return all(result.status != "broken" for result in self.rules)

    @property
    def ok(self) -> bool:
        """Whether the rules hold, costs and search are as stated and the inputs at hand are the ones named."""
        return self.rules_hold and not (self.cost_differences or self.differences or self.search)

    def lines(self) -> tuple[str, ...]:
        """Return the report for people, a sentence or figure a line."""
        made = []
        for result in self.rules:
            made.append(f"{result.rule} {result.title}: {result.status}")
            made.extend(f"   {violation.message}" for violation in result.violations)
        made.append("costs (millionths, before weighting)")
        wrong = {difference.term: difference for difference in self.cost_differences}
        for name, amount in (*self.costs.terms.items(), ("total", self.costs.total)):
            note = f"   the layout states {wrong[name].stated:,}" if name in wrong else ""
            made.append(f"   {name:14} {amount:>12,}{note}")
        unknown = (d for d in self.cost_differences if d.term not in self.costs.terms and d.term != "total")
        made.extend(f"   {d.term}: stated as {d.stated:,}, but there is no such cost" for d in unknown)
        made.extend((*self.search, *self.differences, *self.not_compared))
        return tuple(made)


def millimetres(length: Amount) -> str:
    """Write a length for people: millimetres to two places, or micrometres when tiny.

    Examples
    --------
    >>> millimetres(1270), millimetres(4)
    ('1.27 mm', '4 µm')
    """
    value = float(length)
    return f"{value / 1000:.2f} mm" if abs(value) >= 100 else f"{value:.0f} µm"


def percent(share: Amount) -> str:
    """Write a share for people, to a tenth of a percent."""
    return f"{float(share) * 100:.1f} %"


def by(length: Amount) -> int:
    """Return the whole micrometres of a violation, at least 1."""
    return max(1, round(float(length)))
