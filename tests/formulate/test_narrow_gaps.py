"""Gaps do not become narrower than 1/8 in, save where there is no page otherwise; then R3's 1/16 in is kept.

That narrower gaps look like slips is common practice, no source.
"""

from __future__ import annotations

from functools import partial

import pytest

from fitter.explain import explain_layout
from fitter.formulate.settings import Settings
from fitter.layout import Layout
from fitter.template import Limits, Template
from tests.proofs.fitting import INCH, best, fit, photos, slot, template


def beside(gap: float) -> Template:
    """Return a page with a photo that stays and a card so far to its right; 0.09 in are free to the margin."""
    return template(
        (6, 6),
        slot("a", 0.25, 0.25, 2.5, 5.5, limits=Limits(fixed=True)),
        slot("card", 2.75 + gap, 0.25, 2.91 - gap, 5.5, "journaling"),
    )


def filled(words: int) -> Layout:
    """Return the best page with a number of words, for which only the card may change."""
    return best(beside(0.25), photos((2500, 5500)), words=words, allow=("widen", "shift"))


def gap_of(layout: Layout) -> float:
    """Return what stands between photo and card, in inches."""
    by_id = {element.id: element for element in layout.elements}
    return (by_id["card"].box[0] - by_id["a"].box[2]) / INCH


@pytest.mark.parametrize(("words", "narrow"), [(220, False), (250, False), (260, True), (280, True)])
def test_only_words_that_need_the_room_come_nearer(words: int, narrow: bool) -> None:
    """The next width leaves 0.09 in altogether: between 1/16 and 1/8 in."""
    layout = filled(words)
    assert (gap_of(layout) < 1 / 8) == narrow
    assert gap_of(layout) >= 1 / 16
    assert any("half of that" in note for note in layout.notes) == narrow
    assert layout.search.lattice["apart_um"] == (1_587 if narrow else 3_175)


def test_words_that_need_still_more_do_not_fit() -> None:
    """What is in the way is said as if 1/16 in were kept: 290 words do not fit so either."""
    result = fit(beside(0.25), photos((2500, 5500)), words=290, allow=("widen", "shift"))
    assert not result.layouts
    assert result.reasons


def test_photos_that_would_grow_leave_an_eighth(monkeypatch: pytest.MonkeyPatch) -> None:
    """Pictures wider than their slots would take half an inch of the 0.6 between them; with 1/16 in enough they do."""
    made = template(
        (8, 8),
        *(slot(name, x, 2, 3.45, 3, limits=Limits(smallest_side=3 * INCH)) for name, x in (("a", 0.25), ("b", 4.3))),
    )
    wide = photos((4200, 3000), (4200, 3000))

    def between() -> float:
        layout = best(made, wide, allow=("widen", "shift"), weights={"crop-loss": 5})
        boxes = {element.id: element.box for element in layout.elements}
        return (boxes["b"][0] - boxes["a"][2]) / INCH

    assert 1 / 8 <= between() < 0.6
    monkeypatch.setattr("fitter.asked.Settings", partial(Settings, cramped=True))
    assert 1 / 16 <= between() < 1 / 8


def test_what_a_change_gained_is_solved_with_narrow_gaps_where_needed() -> None:
    """Without the wider card 280 words do not fit, however near it stands."""
    layout = filled(280)
    found = explain_layout(layout, beside(0.25), effort=2.0, time_limit=None)
    assert [one.verdict for one in found if "card" in one.sentence] == ["impossible"]
