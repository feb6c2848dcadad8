"""R1: text never bleeds, whatever the slot was drawn for."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.template import Element, Role
from tests.proofs.fitting import best, fit, photos, rect, slot, template


def over_the_edge(role: Role) -> Element:
    """Return the upper half of an 8 in square page, bleeding left, top and right."""
    box = (-3_175, -3_175, 206_375, 101_599)
    center, size = ((box[0] + box[2]) // 2, (box[1] + box[3]) // 2), (box[2] - box[0], box[3] - box[1])
    return rect("a", role, center, size, bleeds=("left", "top", "right"))


def test_a_bleeding_photo_slot_takes_no_words() -> None:
    """Words and two photos on two slots: the bleeding one is divided, though words in it would cost less."""
    made = template((8, 8), over_the_edge("photo"), slot("b", 0.5, 4.75, 2.5, 2.5))
    page = best(made, photos((2400, 2400), (2400, 2400)), words=150)
    assert {e.role for e in page.elements if e.source == "a"} == {"photo"}


@pytest.mark.parametrize("role", ["paper", "journaling", "title"])
def test_nor_does_any_other_bleeding_slot(role: Role) -> None:
    """A template made by a program may have words that bleed, which the reader of drawings never lets happen."""
    made = template((8, 8), over_the_edge(role), slot("b", 0.5, 4.75, 4, 2.5))
    wishes = {"title": "Lake"} if role == "title" else {"words": 60}
    result = fit(made, photos((2400, 1500)), **wishes)
    for layout in result.layouts:
        assert all(e.text is None or not e.bleeds for e in layout.elements)
        assert [r.rule for r in check_layout(layout).rules if r.status == "broken"] == []
    assert result.layouts


def test_nor_does_a_bleeding_spot_carried_by_a_photo() -> None:
    """Words on a bleeding photo whose own spot for them bleeds too find another place."""
    spot = replace(slot("card", 1, 1, 2.5, 1.5, "journaling", on="a", tie="carried"), bleeds=("left",))
    made = template((8, 8), over_the_edge("photo"), spot, slot("b", 0.5, 4.75, 4, 2.5))
    result = fit(made, photos((2400, 1500)), words=40)
    assert result.layouts
    for layout in result.layouts:
        assert all(e.source != "card" for e in layout.elements)
