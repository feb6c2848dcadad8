"""Whether a page breaks one rule and no other: for tests of planted faults."""

from __future__ import annotations

from fitter.check import Violation, check_layout
from fitter.layout import Layout, SetText
from tests import builders as b


def broken(layout: Layout, rule: str) -> tuple[Violation, ...]:
    """Return the violations of a rule, having made sure that it is the only one broken."""
    report = check_layout(layout)
    assert [r.rule for r in report.rules if r.status != "pass"] == [rule], report.lines()
    assert not report.rules_hold
    assert not report.ok
    assert check_layout(layout, without=frozenset({rule})).ok, "switched off, the rule breaks nothing"
    return next(r.violations for r in report.rules if r.rule == rule)


def one(layout: Layout, rule: str) -> Violation:
    """Return the only violation there is."""
    found = broken(layout, rule)
    assert len(found) == 1, [v.message for v in found]
    assert found[0].element in found[0].message
    return found[0]


def holds(layout: Layout) -> bool:
    """Whether a page obeys every rule and states its true costs."""
    return check_layout(layout).ok


def text_of(layout: Layout, name: str = "card") -> SetText:
    """Return the words an element holds."""
    text = b.element(layout, name).text
    assert text is not None
    return text
