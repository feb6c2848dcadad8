"""A text and several journaling spots: whole where one spot suffices, else in parts of one type size."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from fitter.check import check_layout
from fitter.formulate import flows
from fitter.formulate.content import text_cost
from fitter.layout import Layout, SetText
from fitter.template import Limits, Template
from fitter.typesetting import JOURNALING_SIZES, block_heights
from fitter.wishes import make_wishes
from fitter.words import filler, given_count, given_text, split_text
from tests.proofs.fitting import INCH, best, fit, photos, slot, template


def two_cards(first: tuple[float, float] = (4, 3), second: tuple[float, float] = (4, 3)) -> Template:
    """Return a photo above two cards of some sizes in inches."""
    cards = slot("left", 1, 5.5, *first, "journaling"), slot("right", 6, 5.5, *second, "journaling")
    return template((12, 12), slot("a", 1, 1, 6, 4), *cards)


def set_on(layout: Layout) -> dict[str, SetText]:
    """Return the words set on each element."""
    return {e.id: e.text for e in layout.elements if e.text is not None}


def count(text: SetText) -> int:
    """Return how many words are set."""
    return len(" ".join(text.lines).split())


@pytest.mark.parametrize("words", [8, 20, 100])
def test_a_text_that_one_card_takes_stands_on_one(words: int) -> None:
    """Although the other card then goes, or stays as paper, at a price."""
    layout = best(two_cards(), photos((3000, 2000)), words=words)
    (text,) = set_on(layout).values()
    assert 10 <= text.size_pt <= 12


def test_the_larger_of_two_cards_takes_it() -> None:
    """One card that suffices is enough: here the second alone."""
    layout = best(two_cards((2, 1.5)), photos((3000, 2000)), words=90)
    assert list(set_on(layout)) == ["right"]


@pytest.mark.parametrize("words", [160, 200, 250, 330])
def test_parts_of_a_text_have_one_size(words: int) -> None:
    """A text too long for a card flows over both, comfortably where both together have the room."""
    layout = best(two_cards(), photos((3000, 2000)), words=words, effort=6.0)
    texts = list(set_on(layout).values())
    assert len(texts) == 2
    assert len({text.size_pt for text in texts}) == 1
    assert 10 <= texts[0].size_pt <= 12
    assert sum(map(count, texts)) == words


def test_parts_of_a_text_in_unlike_cards_have_one_size() -> None:
    """A card too narrow for the other's size decides."""
    layout = best(two_cards((4, 3), (1.7, 3)), photos((3000, 2000)), words=150, allow=())
    assert {text.size_pt for text in set_on(layout).values()} == {8.5}


def test_without_what_says_so_sizes_differ(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same page with the rule's rows taken out: cheaper, and refused by the checker."""
    made, given = two_cards((4, 3), (1.7, 3)), photos((3000, 2000))
    legal = best(made, given, words=150, allow=())
    monkeypatch.setattr(flows, "pairwise", lambda numbers: ())
    layout = fit(made, given, words=150, allow=()).layouts[0]
    assert layout.costs.total < legal.costs.total
    assert [r.rule for r in check_layout(layout).rules if r.status == "broken"] == ["R2"]


@pytest.mark.parametrize("words", [150, 240, 310, 390])
def test_the_common_size_is_the_cheapest_of_all(words: int) -> None:
    """With nothing to change but the words: every size and cut tried, each priced as published."""
    layout = best(two_cards((4, 3), (3, 4)), photos((3000, 2000)), words=words, allow=())
    areas, text = [(3.75, 2.75), (2.75, 3.75)], filler(words)
    cuts = {
        split_text(text, [w * h for w, h in areas], ends=ends)
        for ends in (("paragraph", "sentence"), ("sentence",), ())
    }
    costs = [_price(cut, areas, row) for cut in cuts for row in range(len(JOURNALING_SIZES))]
    assert layout.costs.terms.get("text", 0) == min(costs)


def _price(parts: tuple[str, ...], areas: list[tuple[float, float]], row: int) -> float:
    total = 0.0
    for part, (width, height) in zip(parts, areas, strict=True):
        table = block_heights(part, [math.floor(width * INCH) - 8])
        ink, measure = 2 * math.ceil(int(table.ink_height[row, 0]) / 2), float(table.measure[row, 0])
        if ink > height * INCH or not 22 <= measure <= 80:
            return math.inf
        total += text_cost(JOURNALING_SIZES[row], ink, height * INCH, measure)
    return total


@pytest.mark.parametrize("held", ["nothing is given up", "both are fixed"])
def test_a_short_text_flows_where_both_cards_have_to_be_filled(held: str) -> None:
    """With spots that may not stay empty there is no other page; the size is common all the same."""
    made = two_cards()
    if held == "both are fixed":
        cards = tuple(replace(e, limits=Limits(fixed=True)) if e.role == "journaling" else e for e in made.elements)
        layout = best(replace(made, elements=cards), photos((3000, 2000)), words=60)
    else:
        layout = best(made, photos((3000, 2000)), words=60, without={"drop", "swap-role"})
    assert len(set_on(layout)) == 2
    assert len({text.size_pt for text in set_on(layout).values()}) == 1


def test_texts_for_two_slots_keep_sizes_of_their_own() -> None:
    """What the user parted is two texts."""
    texts = [given_count(40, slot="left"), given_count(190, slot="right")]
    layout = best(two_cards(), photos((3000, 2000)), texts=texts, allow=())
    left, right = set_on(layout)["left"], set_on(layout)["right"]
    assert (left.which, right.which) == ("text-1", "text-2")
    assert left.size_pt > right.size_pt


def test_an_avoided_card_takes_no_part() -> None:
    """A text too long for one card flows over the other two of three."""
    made = two_cards()
    made = replace(made, elements=(*made.elements, slot("low", 1, 8.75, 4, 3, "journaling")))
    wishes = make_wishes(made, [], avoid=["right"])
    layout = best(made, photos((3000, 2000)), words=220, wishes=wishes, effort=6.0)
    assert set(set_on(layout)) == {"left", "low"}


def test_fewer_words_than_cards() -> None:
    """One word and two cards that may not go: there is no page, and no failure either."""
    made = two_cards()
    assert best(made, photos((3000, 2000)), texts=[given_text("Ahoy")])
    assert not fit(made, photos((3000, 2000)), texts=[given_text("Ahoy")], allow=()).layouts
