"""Copies of a cluster: what becomes of its elements, where copies are offered, and that pages with them are sound."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.asked import settings_of
from fitter.changes import changes
from fitter.check import check_layout
from fitter.formulate import Formulation, Formulations, formulate
from fitter.formulate.repeats import MOST_EXTENSIONS
from fitter.layout import Copy, Given, GivenText, Repeat
from fitter.pages import Page, Side
from fitter.parts import Part
from fitter.photos import given
from fitter.reference import MEMBERS, Member, flip_element, flipped_page, reference_layout
from fitter.reference_copies import box_of, copied, flipped_repeat, members_of, repeated
from fitter.template import Element, Template
from tests.proofs.fitting import IN, INCH, best, fit, only, photos, slot, sound, template


def of(name: str, element: Element) -> Element:
    """Return an element of a cluster."""
    return replace(element, cluster=name)


def pair_page(width: float = 8, height: float = 5) -> Template:
    """Return a large slot and a pair beside it, on a page with room for the pair again."""
    pair = [slot("b", 3.25, 0.5, 1.75, 1.9), slot("c", 3.25, 2.65, 1.75, 1.85)]
    return template((width, height), slot("a", 0.5, 0.5, 2.5, 4), *(of("pair", e) for e in pair))


PAIR = [(1750, 1900), (1750, 1850)]


def asked(made: Template, count: int, page: Page | None = None, without: frozenset[str] = frozenset()) -> Formulations:
    """Return the formulations of a page for some photos."""
    record = given(tuple(photos(*[(2000, 2000)] * count)))
    return formulate(
        made, page or Page("template", made.size), settings_of(made, Given(record, without=tuple(without)), {})
    )


def classes(formulations: Formulations) -> list[Formulation]:
    """Return the formulations of classes, the opening left out."""
    return [f for f in formulations if not f.problem.openings]


def test_where_all_bleeds_no_copy_is_offered() -> None:
    """The only slot fills the page: its cluster is not repeated, and two photos share it."""
    sides: tuple[Side, ...] = ("left", "top", "right", "bottom")
    whole = of("c", replace(slot("a", -0.125, -0.125, 6.25, 6.25), bleeds=sides))
    layout = best(template((6, 6), whole), photos((3000, 3000), (3000, 3000)))
    sound(layout)
    assert layout.transform.repeat is None
    assert len([e for e in layout.elements if e.photo]) == 2


def test_a_copy_by_hand() -> None:
    """A cluster of 3 × 2 in mirrored, then turned by a quarter: what was left is at the bottom."""
    wide = of("c", slot("wide", 1, 1, 3, 1))
    low = of("c", replace(slot("low", 1, 2, 1, 1), tilt=5.0))
    first, second = copied((wide, low), Copy(90, True, (10 * IN, 0)), 1)
    assert (first.id, first.box) == ("wide~2", (11 * IN, 0, 12 * IN, 3 * IN))
    # Mirrored it lies below on the right, after the quarter turn at the bottom on the left; its tilt is mirrored.
    assert (second.id, second.box, second.tilt) == ("low~2", (10 * IN, 2 * IN, 11 * IN, 3 * IN), -5.0)


def test_ties_stay_within_a_copy() -> None:
    """What a slot carries is carried by the copy of the slot."""
    host = of("c", slot("host", 1, 1, 2, 2))
    bud = of(
        "c", Element("bud", "embellishment", "ellipse", (2 * IN, 2 * IN), (8_000, 8_000), on="host", tie="carried")
    )
    assert [e.on for e in copied((host, bud), Copy(0, False, (0, 0)), 2)] == [None, "host~3"]


def test_a_mat_does_not_count_for_the_place_of_a_copy() -> None:
    """It is the slots that come to stand at the corner stated; the mat around one reaches beyond."""
    host = of("c", slot("host", 1, 1, 2, 2))
    mat = of("c", replace(slot("mat", 0.75, 0.75, 2.5, 2.5, "paper"), on="host", tie="mat"))
    boxes = [e.box for e in copied((mat, host), Copy(180, False, (5 * IN, 5 * IN)), 1)]
    assert boxes == [tuple(round(v * IN) for v in (4.75, 4.75, 7.25, 7.25)), (5 * IN, 5 * IN, 7 * IN, 7 * IN)]


@pytest.mark.parametrize("turn", [0, 90, 180, 270])
@pytest.mark.parametrize("mirror", [False, True])
@pytest.mark.parametrize("gutter", [{}, {"left": IN}])
def test_a_copy_in_the_frame_is_the_copy_on_each_page(turn: int, mirror: bool, gutter: dict[Side, int]) -> None:
    """The frame with a copy, flipped, is the flipped frame with the flipped copy, to the micrometre."""
    outline = ((-9_000, -7_000), (9_000, -3_000), (1_000, 7_000))
    kite = Element("kite", "photo", "path", (5 * IN + 1, 4 * IN), (18_000, 14_000), outline=outline)
    inner = (slot("b", 3.25, 0.5, 1.75, 1.9), replace(slot("t", 5.3, 0.7, 1.5, 1.2), tilt=-7.0), kite)
    made = template((8, 6), slot("a", 0.5, 0.5, 2.5, 4), *(of("set", e) for e in inner))
    page = Page("wide", (11 * IN, 17 * IN // 2), gutter=gutter)
    repeat = Repeat("set", (Copy(turn, mirror, (7 * IN + 1, 2 * IN)), Copy(0, False, (IN, 6 * IN))))  # type: ignore[arg-type]
    for member in MEMBERS:
        frame = reference_layout(
            made, flipped_page(page, member.flips), Member(90 if member.quarter else 0, False), 635
        )
        left, top, right, bottom = box_of(members_of(frame.elements, "set"))
        copies = flipped_repeat(repeat, (right - left, bottom - top), page, member.flips)
        flipped = repeated(reference_layout(made, page, member, 635), copies)
        wanted = tuple(flip_element(e, page, member.flips) for e in repeated(frame, repeat).elements)
        assert flipped.elements == wanted, member


def test_copies_are_offered_only_where_a_slot_is_missing() -> None:
    """As many photos as slots: two classes, as ever.  Two more: classes with copies after them."""
    made = pair_page()
    assert len(classes(asked(made, 3))) == 2
    more = classes(asked(made, 5))
    assert 2 < len(more) <= 2 * (1 + MOST_EXTENSIONS)
    assert [more[k].extension is None for k in range(len(more))] == [True, True, *[False] * (len(more) - 2)]
    assert len(classes(asked(made, 5, without=frozenset({"repeat-cluster"})))) == 2


def test_copies_can_be_forbidden() -> None:
    """What ``fitter explain`` forbids is not offered."""
    made = pair_page()
    record = given(tuple(photos(*[(2000, 2000)] * 5)))
    settings = replace(settings_of(made, Given(record), {}), forbidden=frozenset({Part("repeated")}))
    assert len(classes(formulate(made, Page("template", made.size), settings))) == 2


def test_a_copy_stands_beside_in_line_and_clear() -> None:
    """The pair is repeated at the template's own gap, both edges in line."""
    first = next(f for k in range(8) if (f := asked(pair_page(), 5)[k]).extension is not None)
    assert first.extension is not None
    (copy,) = first.extension.repeat.copies
    assert (copy.turn, copy.mirror, copy.at) == (0, False, (round(5.25 * IN), IN // 2))


@pytest.mark.parametrize(
    "spoil",
    [
        lambda e: replace(e, bleeds=("right",)) if e.id == "c" else e,
        lambda e: replace(e, on="a", tie="lapped") if e.id == "c" else e,
        lambda e: replace(e, id="b~2") if e.id == "a" else e,
        lambda e: replace(e, on="a", tie="carried") if e.cluster else e,
    ],
    ids=["bleeding", "tied to what is not repeated", "a name that is taken", "nothing stands by itself"],
)
def test_what_cannot_be_repeated_is_not(spoil) -> None:  # type: ignore[no-untyped-def]
    """A cluster that bleeds, lies on something outside, or whose copies would have names that are taken."""
    made = pair_page()
    made = replace(made, elements=tuple(spoil(e) for e in made.elements))
    assert len(classes(asked(made, 5))) == 2


def test_a_refitted_drawing_makes_room() -> None:
    """On a longer page the drawing slides up for a copy below it, and both together are in the middle."""
    low = [of("pair", slot("b", 0.5, 3, 1.5, 1)), of("pair", slot("c", 2.25, 3, 3.25, 1))]
    made = template((6, 4.5), slot("a", 0.5, 0.5, 5, 2.25), *low)
    page = Page("tall", (6 * IN, 13 * IN // 2))
    repeats = [f for f in asked(made, 5, page) if f.extension is not None and not f.scene.members[0].quarter]
    assert repeats
    for formulation in repeats:
        boxes = [e.box for e in formulation.scene.reference.elements]
        top, bottom = min(b[1] for b in boxes), max(b[3] for b in boxes)
        assert page.safe[1] <= top and bottom <= page.safe[3]
        assert abs(top + bottom - page.trim[1]) <= 2 * 635
    sizes = [(2000, 900), (1500, 1000), (3250, 1000), (1500, 1000), (3250, 1000)]
    layout = best(made, photos(*sizes), page=page, effort=8.0, allow=("assign", "shift", "repeat-cluster"))
    assert layout.transform.repeat is not None
    report = check_layout(layout, template=made)
    assert report.ok, report.lines()


def test_copies_stay_within_the_drawing_where_they_can() -> None:
    """On a longer page the place below the pair is taken, not that above, which sticks out of the drawing."""
    pair = [of("pair", slot("b", 4.25, 0.5, 1.5, 1)), of("pair", slot("c", 4.25, 1.75, 1.5, 1))]
    made = template((6.25, 6.25), slot("a", 0.5, 0.5, 3.5, 5.25), *pair)
    page = Page("tall", (*made.size[:1], 9 * IN))
    unturned = 0
    for formulation in asked(made, 5, page):
        extension = formulation.extension
        if extension is None or (extension.repeat.copies[0].turn, extension.repeat.copies[0].mirror) != (0, False):
            continue
        if formulation.scene.members[0].quarter:
            continue
        unturned += 1
        boxes = {e.id: e.box for e in formulation.scene.reference.elements}
        assert boxes["b~2"][1] >= boxes["c"][3] + INCH // 4
        assert boxes["c~2"][3] <= boxes["a"][3]
        assert extension.slide == 0
    assert unturned


def test_a_page_says_what_it_repeats() -> None:
    """The sentence, the record, and the comparison with the template."""
    made = pair_page()
    layout = best(made, photos((2000, 3200), *PAIR, *PAIR), allow=("assign", "repeat-cluster"))
    assert changes(layout)[0] == "Repeated the cluster pair once: to the right."
    assert layout.costs.terms["repeat-cluster"] == 150_000
    assert check_layout(layout, template=made).ok
    names = {e.source for e in layout.elements}
    assert {"b~2", "c~2"} <= names
    moved = replace(
        layout, reference=tuple(replace(e, size=e.size[::-1]) if e.id == "c" else e for e in layout.reference)
    )
    assert check_layout(moved, template=made).differences


def test_a_copy_turned_by_a_quarter() -> None:
    """A tall pair has room beside it only lying down."""
    pair = [of("pair", slot("b", 0.5, 0.5, 1, 1.5)), of("pair", slot("c", 0.5, 2.1, 1, 1.9))]
    made = template((4.5, 6), *pair, slot("sheet", 1.75, 0.5, 2.25, 3.5, "paper"))
    layout = best(
        made, photos((1000, 1500), (1000, 1900), (1500, 1000), (1900, 1000)), allow=("assign", "repeat-cluster")
    )
    repeat = layout.transform.repeat
    assert repeat is not None and repeat.copies[0].turn in (90, 270)
    assert "turned by" in changes(layout)[0] and "below" in changes(layout)[0]


def test_a_second_text_takes_the_copy_of_a_card() -> None:
    """Two texts and one card: the card is repeated."""
    made = template((8, 6), slot("a", 0.5, 0.5, 7, 2.5), of("note", slot("card", 0.5, 3.25, 3, 2, "journaling")))
    texts = [
        GivenText("The ferry was late and nobody minded, for the pier was warm and the gulls kept us company.", 17)
    ] * 2
    result = fit(made, photos((2800, 1000)), texts=texts, allow=("repeat-cluster", "shift", "widen"), effort=4.0)
    layout = result.layouts[0]
    sound(layout)
    assert layout.transform.repeat is not None
    assert {e.source for e in layout.elements if e.text} == {"card", "card~2"}


def test_alternatives_with_and_without_copies_are_apart() -> None:
    """A page with a copy and one without differ by the slots of the copy."""
    made = pair_page()
    result = fit(
        made, photos((2000, 3200), *PAIR, *PAIR), top=2, allow=("assign", "add-slot", "repeat-cluster"), effort=6.0
    )
    for layout in result.layouts:
        sound(layout)
    assert len(result.layouts) == 2


def test_only_and_without() -> None:
    """Switched off there is no copy, and with nothing else allowed no page."""
    made, taken = pair_page(), photos((2000, 3200), *PAIR, *PAIR)
    assert not fit(made, taken, allow=("assign",)).layouts
    assert "repeat-cluster" not in only("repeat-cluster")
