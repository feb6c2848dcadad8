"""With words the proved page costs what enumeration says, on random tiny pages.

One text, on a card of the template or on what becomes one; its lines are broken anew (:mod:`tests.proofs.lettering`).
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence
from fractions import Fraction
from functools import cache

import pytest

from fitter.layout import GivenText, Layout
from fitter.pages import Page
from fitter.photos import Photo, given
from fitter.template import Element, Limits, Template
from fitter.words import given_count
from tests.proofs import enumeration, fitting, lettering
from tests.proofs.fitting import slot, template
from tests.proofs.published import lattice, rate
from tests.proofs.spots import Wishes
from tests.proofs.tiny import Family, drawn, taken

FAMILIES = {
    "widen, shift": Family(2, 1, ("assign", "widen", "shift"), size=5.0, cards=1, words=24),
    "widen, shift, many words": Family(2, 1, ("assign", "widen", "shift"), size=5.0, cards=1, words=60),
    "scale, mirror": Family(3, 2, ("assign", "scale", "mirror-page"), size=7.0, cards=1, words=24),
    "cluster": Family(2, 1, ("assign", "scale", "shift"), size=5.0, cards=1, words=20, cluster=True, seeds=2),
    "role swapped": Family(2, 1, ("assign", "widen", "swap-role"), cards=1, words=40),
    "role swapped, drop": Family(3, 2, ("assign", "scale", "swap-role", "drop"), size=7.0, cards=1, words=30),
    "paper becomes card": Family(3, 2, ("assign", "widen", "swap-role"), size=7.0, papers=1, words=24),
    "paper, card, drop": Family(2, 1, ("assign", "widen", "swap-role", "drop", "shift"), cards=1, papers=1, words=16),
    "photo slot becomes card": Family(2, 1, ("assign", "widen", "swap-role", "shift"), size=5.0, words=30),
    "rotate slot": Family(2, 1, ("assign", "rotate-slot", "swap-role", "shift"), size=5.0, cards=1, words=20),
    "beside a bleeding slot": Family(2, 1, ("assign", "widen", "swap-role"), cards=1, words=24, bleed=True),
}
CASES = [(name, seed) for name, family in FAMILIES.items() for seed in range(family.seeds)]
Problem = tuple[Template, Sequence[Photo], GivenText, Collection[str]]


@pytest.mark.parametrize(("name", "seed"), CASES)
def test_the_proved_page_costs_what_enumeration_says(name: str, seed: int) -> None:
    """Where the enumeration knows no page, none is found."""
    problem, wanted = drawn_with_words(name, seed), enumerated(name, seed)
    if wanted is None:
        made, photos, text, allow = problem
        assert not fitting.fit(made, photos, allow=allow, texts=[text], effort=10.0).layouts
        return
    assert best(*problem).costs.total == wanted


@pytest.mark.parametrize("factor", [0, 5])
@pytest.mark.parametrize("seed", range(3))
def test_with_a_factor_on_text_the_page_costs_what_enumeration_says(factor: int, seed: int) -> None:
    """A text of two paragraphs, the second of which is indented, at another price than the published one."""
    made, photos, text, allow = drawn_with_words("role swapped", seed)
    words = text.text.split()
    broken = GivenText(" ".join(words[:25]) + "\n\n" + " ".join(words[25:]), len(words))
    weights = {"text": factor}
    assert best(made, photos, broken, allow, weights).costs.total == least(made, photos, broken, allow, weights)


def test_a_card_grows_for_its_words() -> None:
    """A card too small for its words in any size grows, and the photo below gives way; the type is not 8 pt either."""
    problem = of_two(slot("photo", 0.5, 2.25, 4, 2.25), slot("card", 0.5, 0.5, 2.5, 1.25, "journaling"), 36)
    layout = best(*problem)
    assert layout.costs.total == least(*problem)
    card, type_size = card_of(layout)
    assert card == "card"
    assert type_size > 8
    (size,) = (e.size for e in layout.elements if e.source == "card")
    assert size[0] > fitting.inches(2.5)[0]


def test_a_card_as_drawn_takes_the_type_that_suits_it() -> None:
    """Of what 36 words cost in each type size the proved page pays the least, and shows that size."""
    card = slot("card", 0.5, 0.5, 4, 1.25, "journaling")
    made, photos, text, _ = of_two(slot("photo", 0.5, 2.25, 4, 2.25), card, 36)
    layout = best(made, photos, text, ("assign",))
    costs = {size: lettering.size_cost(text.text, size, *card.size) for size in lettering.TYPE_SIZES}
    possible = {size: cost for size, cost in costs.items() if cost is not None}
    assert len(set(possible.values())) > 1
    assert layout.costs.terms.get("text", 0) == min(possible.values())
    assert possible[Fraction(card_of(layout)[1])] == min(possible.values())


def test_a_photo_and_words_change_places() -> None:
    """A wide photo takes the wide card, and the words the slot it fits badly."""
    problem = of_two(slot("photo", 0.5, 0.5, 1.75, 2), slot("card", 0.5, 3, 4, 1.5, "journaling"), 20)
    layout = best(*problem)
    assert layout.costs.total == least(*problem)
    assert card_of(layout)[0] == "photo"
    assert layout.costs.terms["swap-role"] == 2 * rate("swap-role")


def test_words_find_a_paper_where_their_own_spot_goes() -> None:
    """A spot that may be nothing else and that holds no words in any size is dropped."""
    made = template(
        (5, 5),
        slot("photo", 0.5, 0.5, 4, 1.75),
        slot("card", 0.5, 2.5, 1, 2, "journaling", limits=Limits(may_be=("journaling",))),
        slot("paper", 1.75, 2.5, 2.75, 2, "paper"),
    )
    problem = made, [fitting.photo(0, 2400, 1200)], given_count(40), ("assign", "swap-role", "drop")
    layout = best(*problem)
    assert layout.costs.total == least(*problem)
    assert card_of(layout)[0] == "paper"
    assert layout.dropped == ("card",)


RULES = {
    "ink kept clear by 1/4 in": ("lettering.CLEAR", 6350),
    "type from 10 pt on": ("lettering.TYPE_SIZES", tuple(map(Fraction, range(10, 15)))),
    "type of 14 pt for nothing": ("lettering.rate", lambda name, number=0: rate(name, number) * bool(number)),
    "cards of any fullness": ("lettering.rate", lambda name, number=0: rate(name, number) * (number != 1)),
    "lines of any measure": ("lettering.rate", lambda name, number=0: rate(name, number) * (number != 2)),
    "cards a fifth off at most": (
        "sizing.lattice",
        lambda words: (20,) if "words" in words else lattice(words),
    ),
}


@pytest.mark.parametrize("rule", RULES)
def test_another_rule_gives_another_optimum(rule: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is published about words matters on these pages, so that they would notice if the program did otherwise."""
    cases = [(name, seed) for name in ("role swapped", "widen, shift", "scale, mirror") for seed in range(4)]
    published = {case: enumerated(*case) for case in cases}
    where, other = RULES[rule]
    monkeypatch.setattr(f"tests.proofs.{where}", other)
    lettering.card_cost.cache_clear()
    changed = any(least(*drawn_with_words(*case)) != published[case] for case in cases)
    lettering.card_cost.cache_clear()
    assert changed


@cache
def enumerated(name: str, seed: int) -> int | None:
    """Return what enumeration says of a page of a family."""
    return least(*drawn_with_words(name, seed))


def drawn_with_words(name: str, seed: int) -> Problem:
    """Return a page of a family with what is given."""
    family = FAMILIES[name]
    rng = random.Random(f"words {name} {seed}")
    return drawn(rng, family), taken(rng, family), given_count(family.words), family.allow


def of_two(photo: Element, card: Element, words: int) -> Problem:
    """Return a page of a photo slot and a card that may widen, move and change their roles."""
    allow = ("assign", "widen", "shift", "swap-role")
    return template((5, 5), photo, card), [fitting.photo(0, 2400, 900)], given_count(words), allow


def least(
    made: Template,
    photos: Sequence[Photo],
    text: GivenText,
    allow: Collection[str],
    weights: Mapping[str, int] | None = None,
) -> int | None:
    """Return what enumeration says."""
    wishes = Wishes(given(tuple(photos)), fitting.only(*allow), weights=weights or {}, text=text.text)
    return enumeration.optimum(made, Page("template", made.size), wishes)


def best(
    made: Template,
    photos: Sequence[Photo],
    text: GivenText,
    allow: Collection[str],
    weights: Mapping[str, int] | None = None,
) -> Layout:
    """Return the proved page."""
    return fitting.best(made, photos, allow=allow, texts=[text], weights=weights or {}, effort=10.0)


def card_of(layout: Layout) -> tuple[str | None, float]:
    """Return the slot that words stand on, and their type size."""
    ((source, text),) = ((e.source, e.text) for e in layout.elements if e.text is not None)
    return source, text.size_pt
