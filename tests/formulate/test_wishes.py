"""Wishes for single photos and slots, from words to pages."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from typing import Any

import pytest

from fitter.earlier import slot_of
from fitter.errors import UseError
from fitter.layout import Layout
from fitter.presets import PRESETS
from fitter.template import Template
from fitter.wishes import make_wishes
from tests.proofs.fitting import best, fit, photo, photos, slot, sound, template

MADE = template(
    (8, 8),
    slot("a", 0.5, 0.5, 3, 2),
    slot("b", 4, 0.5, 3.5, 2),
    slot("sheet", 0.5, 3, 3, 4, "paper"),
    slot("card", 4, 3, 3.5, 3, "journaling"),
)
TAKEN = photos((1800, 1200), (2100, 1200))
FIRST, SECOND = (taken.path.name for taken in TAKEN)


@cache
def start() -> Layout:
    """Return the page without wishes: the template as it is."""
    return best(MADE, TAKEN, words=60)


def wished(**wishes: Any) -> Layout:
    """Return the best page, proved and checked, for wishes from there on."""
    return best(MADE, TAKEN, words=60, wishes=make_wishes(MADE, TAKEN, start=start(), **wishes))


def test_without_a_wish_it_is_the_same_page() -> None:
    """Nothing departs from the page started from."""
    assert wished().elements == start().elements


def test_the_page_started_from_is_at_hand() -> None:
    """Before anything else the search looks where nothing departs: hardly any effort finds that page again."""
    hurried = fit(MADE, TAKEN, words=60, effort=0.01, wishes=make_wishes(MADE, TAKEN, start=start()))
    assert hurried.layouts[0].costs.total == start().costs.total
    assert fit(MADE, TAKEN, words=60, effort=0.01).layouts[0].search.status != "proved"


def area(layout: Layout, name: str) -> int:
    """Return the area a photo's slot has."""
    item = next(e for e in layout.elements if e.photo is not None and e.photo.file.endswith(name))
    return item.size[0] * item.size[1]


def test_a_photo_becomes_bigger_or_smaller() -> None:
    """By a tenth at least; everything else keeps its content."""
    bigger, smaller = wished(bigger=[FIRST]), wished(smaller=[FIRST])
    assert area(bigger, FIRST) >= 1.1 * area(start(), FIRST)
    assert area(smaller, FIRST) <= 0.9 * area(start(), FIRST)
    for page in (bigger, smaller):
        assert [e.role for e in page.elements] == [e.role for e in start().elements]


def test_a_photo_is_pinned() -> None:
    """The two photos change places; nothing else does, but that the page may drift by a hair."""
    page = wished(pins=[(FIRST, "b")])
    assert [p.sha256 for p in slot_of(page, "b").photos] == [TAKEN[0].sha256]
    now, before = slot_of(page, "sheet"), slot_of(start(), "sheet")
    assert replace(now, center=before.center) == before
    assert max(abs(a - b) for a, b in zip(now.center, before.center, strict=True)) <= 635


def test_two_photos_are_pinned_to_one_slot() -> None:
    """It is divided, though there is a slot for each."""
    held = slot_of(wished(pins=[(FIRST, "b"), (SECOND, "b")]), "b")
    assert held.division is not None
    assert len(held.photos) == 2


@pytest.mark.parametrize("name", ["a", "card"])
def test_a_slot_is_avoided(name: str) -> None:
    """Neither photo nor words stand in it."""
    held = slot_of(wished(avoid=[name]), name)
    assert not held.photos
    assert not held.words


def test_slots_stay_while_another_changes() -> None:
    """What stays is exactly where and as it was."""
    page = wished(stay=["a", "card"], bigger=[SECOND])
    for name in ("a", "card"):
        assert slot_of(page, name) == slot_of(start(), name)
    assert area(page, SECOND) >= 1.1 * area(start(), SECOND)


def test_a_slot_stays_on_a_turned_page() -> None:
    """A page that lay on its side stays so where a slot stays, and the slot where it was on the page."""
    made = template((6, 6), slot("a", 0.5, 0.5, 5, 1.75), slot("b", 0.5, 2.5, 5, 3))
    taken = photos((1050, 3000), (1800, 3000))
    turned = best(made, taken)
    assert turned.transform.rotate in (90, 270)
    more = [*taken[:1], photo(2, 3000, 1800)]
    page = best(made, more, wishes=make_wishes(made, more, start=turned, stay=["a"]))
    assert page.transform.rotate == turned.transform.rotate
    assert slot_of(page, "a") == slot_of(turned, "a")


def test_a_size_off_the_lattice_stays() -> None:
    """Three photos have coarser sizes than two; the slot of the two that stays keeps its own."""
    made = template((8, 8), slot("a", 0.5, 0.5, 3, 3), slot("b", 4, 0.5, 3, 3), slot("c", 2, 4, 4, 3, "paper"))
    two = photos((1950, 1800), (1800, 1800))
    before = best(made, two, weights={"resize": 0.1, "alignment": 0})
    assert slot_of(before, "a").size != (76_200, 76_200)
    three = [*two, photo(2, 2400, 1800)]
    page = best(made, three, wishes=make_wishes(made, three, start=before, stay=["a"]), effort=10.0)
    assert slot_of(page, "a") == slot_of(before, "a")


def test_a_photo_a_wish_speaks_of_is_not_left_out() -> None:
    """Of two photos one may be left out, which the pinned one, badly shown, would be."""
    made = template((6, 6), slot("a", 1, 1, 3, 2, "photo"))
    taken = photos((1800, 1200), (700, 1800))
    wishes = make_wishes(made, taken, pins=[(taken[1].path.name, "a")])
    page = best(made, taken, leave_out=1, allow=("assign",), wishes=wishes)
    assert page.left_out == (str(taken[0].path),)


def test_what_cannot_be_says_which_wish_is_in_the_way() -> None:
    """A slot as wide as the page cannot become bigger; no rule is waived for it."""
    made = template((6, 6), slot("a", 0.25, 0.25, 5.5, 5.5))
    taken = photos((2200, 2200))
    full = best(made, taken)
    result = fit(made, taken, wishes=make_wishes(made, taken, start=full, bigger=[taken[0].path.name]))
    assert not result.layouts
    assert any("--bigger p0.png" in reason for reason in result.reasons)


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        ({"pins": [("nobody.png", "a")]}, "--pin 'nobody.png' is not known"),
        ({"pins": [(FIRST, "z")]}, "--pin slot 'z' is not known"),
        ({"pins": [(FIRST, "a"), (FIRST, "b")]}, "two slots, a and b"),
        ({"pins": [(FIRST, "a")], "avoid": ["a"]}, "contradict"),
        ({"bigger": [FIRST], "smaller": [FIRST]}, "both bigger and smaller"),
        ({"stay": ["a"], "bigger": [FIRST]}, "cannot change its size"),
        ({"stay": ["a"], "pins": [(FIRST, "b")]}, "contradicts --pin a"),
        ({"stay": ["a"], "avoid": ["a"]}, "contradict"),
        ({"avoid": ["z"]}, "--avoid slot 'z' is not known"),
    ],
)
def test_contradictions_are_refused(wishes: dict[str, Any], says: str) -> None:
    """Before anything is solved, and in one sentence."""
    with pytest.raises(UseError, match=says):
        make_wishes(MADE, TAKEN, start=start(), **wishes)


@pytest.mark.parametrize("wishes", [{"stay": ["a"]}, {"bigger": [FIRST]}, {"smaller": [FIRST]}])
def test_what_compares_needs_a_page_to_compare_with(wishes: dict[str, Any]) -> None:
    """Without one it is not known bigger than what."""
    with pytest.raises(UseError, match="in which layout"):
        make_wishes(MADE, TAKEN, **wishes)


def test_a_page_of_another_template_is_no_start() -> None:
    """Slots of the same name mean something else there."""
    other = replace(MADE, sha256="f" * 64)
    with pytest.raises(UseError, match="in another version"):
        make_wishes(other, TAKEN, start=start())


def test_a_photo_that_was_not_there_has_no_size_to_compare() -> None:
    """A photo new to the page cannot become bigger."""
    new = photo(5, 1000, 1000)
    with pytest.raises(UseError, match="not on the page"):
        make_wishes(MADE, [*TAKEN, new], start=start(), bigger=[new.path.name])


def test_what_belongs_to_a_slot_cannot_be_pinned() -> None:
    """A mat goes with its photo, and says so."""
    made: Template = template(
        (6, 6), slot("mat", 0.9, 0.9, 3.2, 3.2, "paper", on="a", tie="mat"), slot("a", 1, 1, 3, 3)
    )
    with pytest.raises(UseError, match="goes with a"):
        make_wishes(made, TAKEN[:1], pins=[(FIRST, "mat")])


@pytest.mark.parametrize("name", PRESETS)
def test_presets_are_balances_of_costs(name: str) -> None:
    """Every preset gives a sound page; its factors are recorded."""
    layout = fit(MADE, TAKEN, words=60, weights=dict(PRESETS[name])).layouts[0]
    sound(layout)
    assert layout.costs.weights == PRESETS[name]


def test_a_photo_in_an_added_slot_has_a_size_to_compare_with() -> None:
    """A slot that was added counts when a photo is to become bigger."""
    made = template((8, 10), *MADE.elements)
    first = best(made, TAKEN, words=60)
    before = best(made, TAKEN, words=60, wishes=make_wishes(made, TAKEN, start=first, avoid=["a"]))
    added = next(e.photo for e in before.elements if e.source is None and e.photo is not None)
    wishes = make_wishes(made, TAKEN, start=before, bigger=[added.file])
    assert area(best(made, TAKEN, words=60, wishes=wishes), added.file) >= 1.1 * area(before, added.file)
