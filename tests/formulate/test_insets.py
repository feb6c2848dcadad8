"""A card's free rectangle is the same when formulating and when checking, and truly the largest; words stand in it."""

from __future__ import annotations

import random
from collections.abc import Sequence
from dataclasses import replace
from itertools import product

import pytest

from fitter.check.text_area import free_rectangle, reference_insets
from fitter.check.view import View
from fitter.formulate import Settings, formulate
from fitter.formulate.clearings import clearing_rules, clearings, largest_free
from fitter.formulate.content import Clearing, TextItem
from fitter.formulate.relations import are_loose
from fitter.formulate.scene import Atom, Scene
from fitter.layout import Given, Layout, TemplateRef
from fitter.pages import Page
from fitter.reference import MEMBERS, Member, reference_layout
from fitter.starters import starter_names
from fitter.template import Element, Role, Template
from fitter.template_reader import read_template
from fitter.words import filler
from tests import builders as b
from tests.proofs.fitting import INCH, best, fit, photos, slot, sound
from tests.proofs.fitting import template as tiny

SIDES = ("left", "top", "right", "bottom")
Box = tuple[int, int, int, int]


def as_reference(template: Template, member: Member) -> Layout:
    """Return a page left as its reference."""
    page = Page("page", template.size)
    made = reference_layout(template, page, member)
    return replace(
        b.tiny(),
        page=page,
        given=Given(photos=()),
        reference=made.elements,
        elements=tuple(b.place(e) for e in made.elements),
        transform=made.transform,
        template=TemplateRef(template.name, template.sha256, template.size),
    )


def scene_of(template: Template, *, turned: bool = False) -> Scene:
    """Return the frame of a template's upright pages, or of those on their side."""
    return formulate(template, Page("page", template.size), Settings(()))[int(turned)].scene


def found_by_check(layout: Layout, scene: Scene, card: Atom, clearing: Clearing) -> list[int]:
    """Return the insets the checker finds where some blocks are gone, and those apart that a page keeps apart."""
    apart = {a.block for a in scene.atoms if a.block != card.block and are_loose(scene, *_in_order(scene, card, a))}
    away = {*(scene.element_of(thing).id for thing in clearing.gone), *(scene.blocks[n].element.id for n in apart)}
    hosts = {a.element.id: scene.blocks[a.block].element.id for a in scene.atoms}
    there = tuple(e for e in layout.elements if not {e.id, hosts.get(e.id)} & away)
    view = View(replace(layout, elements=there))
    insets = reference_insets(view, next(e for e in there if e.id == card.element.id))
    return [insets[side] for side in SIDES]


def _in_order(scene: Scene, one: Atom, other: Atom) -> Sequence[Atom]:
    return sorted((one, other), key=scene.atoms.index)


@pytest.mark.parametrize("index", [0, 1], ids=["upright", "on its side"])
@pytest.mark.parametrize("name", starter_names())
def test_both_sides_find_the_same_rectangles(name: str, index: int) -> None:
    """Every block of every starter that can hold journaling, with what lies on it there and gone."""
    template = read_template(name)
    scene = scene_of(template, turned=bool(index))
    layout = as_reference(template, Member(90 if index else 0, False))
    for atom in scene.blocks:
        if atom.added or atom.element.role not in ("photo", "paper", "journaling"):
            continue
        for clearing in clearings(scene, atom):
            # Round shapes are polygons to the checker: a micrometre either way.
            found = found_by_check(layout, scene, atom, clearing)
            assert list(clearing.insets) == pytest.approx(found, abs=2), atom.element.id


def some_card(chance: random.Random) -> Template:
    """Return a card, now and then round or tilted, with up to five things on or beside it."""

    def eighths(low: int, high: int) -> float:
        return chance.randint(low, high) / 8

    card = slot("card", 3, 3, eighths(16, 40), eighths(16, 40), chance.choice(("journaling", "paper")))
    if chance.random() < 0.3:
        card = replace(card, tilt=float(chance.randint(-8, 8)))
    elif chance.random() < 0.2:
        card = replace(card, shape="ellipse")
    things: list[Element] = []
    roles: tuple[Role, ...] = ("photo", "paper", "embellishment", "title")
    for number in range(chance.randint(1, 5)):
        made = slot(
            f"t{number}", eighths(16, 60), eighths(16, 60), eighths(4, 28), eighths(4, 28), chance.choice(roles)
        )
        if made.role == "embellishment":
            shape = chance.choice(("ellipse", "rect"))
            side = min(made.size)
            made = replace(made, shape=shape, size=(side, side), tilt=float(chance.choice((0, 0, 45))))  # type: ignore[arg-type]
            if all(abs(a - c) <= s // 2 for a, c, s in zip(made.center, card.center, card.size, strict=True)):
                made = replace(made, on="card", tie="carried")
        elif chance.random() < 0.2:
            made = replace(made, tilt=float(chance.randint(-6, 6)))
        things.append(made)
    return tiny((12, 12), card, *things)


@pytest.mark.parametrize("seed", range(60))
def test_both_sides_find_the_same_rectangle_of_any_card(seed: int) -> None:
    """Photos, papers, words and ornaments strewn over a card, upright and on its side."""
    template = some_card(random.Random(seed))
    for turned in (False, True):
        scene = scene_of(template, turned=turned)
        layout = as_reference(template, Member(90 if turned else 0, False))
        card = next(a for a in scene.blocks if a.element.id == "card")
        for clearing in clearings(scene, card):
            found = found_by_check(layout, scene, card, clearing)
            assert list(clearing.insets) == pytest.approx(found, abs=4), clearing


def the_free_one(side: int, taken: Sequence[Box]) -> Box | None:
    """Return the free rectangle of a square, looking at every rectangle of its grid."""
    edges = range(side + 1)
    free = [
        (x0, y0, x1, y1)
        for x0, y0, x1, y1 in product(edges, edges, edges, edges)
        if x0 < x1 and y0 < y1 and not any(t[0] < x1 and x0 < t[2] and t[1] < y1 and y0 < t[3] for t in taken)
    ]
    area = {r: (r[2] - r[0]) * (r[3] - r[1]) for r in free}
    large = [r for r in free if area[r] * 1000 >= 899 * max(area.values())]
    return min(large, key=lambda r: (r[0] - r[2], -area[r], r[1], r[0]), default=None)


@pytest.mark.parametrize("seed", range(80))
def test_the_rectangle_is_the_largest_or_nearly_as_large_and_wider(seed: int) -> None:
    """Boxes strewn over a square and beyond its edges, judged by trying everything."""
    chance = random.Random(seed)
    side, unit = 9, INCH // 2
    taken = []
    for _ in range(chance.randint(0, 6)):
        x, y = chance.randint(-2, side), chance.randint(-2, side)
        taken.append((x, y, x + chance.randint(1, 5), y + chance.randint(1, 5)))
    wanted = the_free_one(side, taken)
    room = (0, 0, side * unit, side * unit)
    boxes = [(a * unit, c * unit, d * unit, e * unit) for a, c, d, e in taken]
    scaled = None if wanted is None else tuple(edge * unit for edge in wanted)
    assert largest_free(room, boxes) == scaled
    assert free_rectangle(room, boxes) == (scaled or (0, 0, 0, 0))


def test_words_that_look_for_a_place_take_nothing_from_a_card() -> None:
    """On its side the title would lie on the first photo slot; a card made of that slot loses nothing to it."""
    template = read_template("three-across-strip")
    bare = replace(template, elements=tuple(e for e in template.elements if e.role != "embellishment"))
    scene = scene_of(bare, turned=True)
    slot = next(a for a in scene.blocks if a.element.id == "photo-1")
    title = next(a for a in scene.blocks if a.element.id == "title")
    assert min(title.element.box[2], slot.element.box[2]) > max(title.element.box[0], slot.element.box[0])
    assert clearings(scene, slot) == (Clearing(),)


def test_a_corner_leaves_the_wider_of_two_equal_rectangles() -> None:
    """An ornament at a corner of a square: the words have its whole width, on every flip."""
    bloom = slot("bloom", 1.25, 1.25, 0.5, 0.5, "embellishment", on="card", tie="carried")
    made = tiny((6, 6), slot("card", 1, 1, 3, 3, "journaling"), bloom)
    for member in MEMBERS:
        layout = as_reference(made, member)
        found = reference_insets(View(layout), next(e for e in layout.elements if e.id == "card"))
        assert found["top"] + found["bottom"] == round(0.75 * INCH)
        assert found["left"] == found["right"] == 0


def card_under() -> Template:
    """Return a card with a photo over its lower right part and an ornament on its lower left corner."""
    bloom = slot("bloom", 0.6, 5.8, 1.6, 1.6, "embellishment", on="card", tie="carried")
    return tiny(
        (12, 12),
        slot("card", 1, 1, 6, 6, "journaling"),
        slot("photo", 3, 3, 6, 5),
        replace(bloom, shape="ellipse"),
    )


def test_several_things_leave_the_largest_rectangle_not_what_each_leaves_of_the_others() -> None:
    """Strips off the right and the left would leave less than an inch; the whole width at the top is free."""
    page = best(card_under(), photos((3000, 2500)), allow=("crop",), words=30)
    (card,) = (e for e in page.elements if e.text)
    assert card.text is not None
    assert card.text.ink.size[0] > 4 * INCH
    assert card.text.ink.center[1] < 3 * INCH


def test_words_have_the_whole_card_where_what_covered_it_is_gone() -> None:
    """The only photo suits another slot; the other photo slot goes, and its card is the words' alone."""
    made = tiny(
        (12, 12),
        slot("card", 1, 1, 6, 6, "journaling"),
        slot("cover", 3, 3, 3, 5),
        slot("photo", 7.5, 1, 4, 3),
    )
    page = best(made, photos((4000, 3000)), allow=("crop", "drop"), words=150)
    assert "cover" in page.dropped
    (card,) = (e for e in page.elements if e.text)
    assert card.text is not None
    assert card.text.ink.size[0] > 5 * INCH


@pytest.mark.parametrize(("words", "gone"), [(20, False), (110, True)])
def test_words_have_the_room_of_an_ornament_that_is_given_up(words: int, *, gone: bool) -> None:
    """A card of 3 by 3 in with a large ornament: few words stand beside it, many cost more there than it does."""
    bloom = slot("bloom", 1.25, 1.25, 1.5, 1.5, "embellishment", on="card", tie="carried")
    made = tiny((6, 6), slot("card", 1, 1, 3, 3, "journaling"), bloom, slot("photo", 4.25, 1, 1.5, 3))
    page = best(made, photos((2000, 4000)), allow=("crop", "drop"), words=words)
    assert page.dropped == (("bloom",) if gone else ())
    (card,) = (e for e in page.elements if e.text)
    assert card.text is not None
    insets = reference_insets(View(page), card)
    assert any(insets.values()) is not gone
    # In the middle of what is free, a little above.
    left, top, right, bottom = card.box
    free = top + insets["top"], bottom - insets["bottom"]
    assert abs(card.text.ink.center[0] - (left + insets["left"] + right - insets["right"]) / 2) < INCH / 100
    assert free[0] < card.text.ink.center[1] < sum(free) / 2 + INCH / 100


def test_words_on_a_page_on_its_side_lose_nothing_to_what_they_end_up_apart_from() -> None:
    """The card keeps its place in reading and is kept clear of the photo: all of it takes words."""
    scene = scene_of(card_under(), turned=True)
    card = next(a for a in scene.blocks if a.element.id == "card")
    photo = next(a for a in scene.blocks if a.element.id == "photo")
    assert are_loose(scene, card, photo)
    assert all(photo.lit not in (*c.there, *c.gone) for c in clearings(scene, card))
    result = fit(card_under(), photos((3000, 2500)), words=60, effort=2)
    for layout in result.layouts:
        sound(layout)


def test_a_ribbon_across_a_card_stays_beside_its_words() -> None:
    """What lies over one edge can come no deeper anyway; what may slide along the card is held by rows."""
    ribbon = slot("ribbon", 0.5, 5, 8, 0.5, "ribbon")
    made = tiny((12, 12), slot("card", 1, 1, 6, 6, "paper"), ribbon, slot("photo", 6, 1.5, 4, 3))
    settings = Settings((), items=(TextItem(0, filler(40), "text-1"),), needs=((0,),))
    formulation = formulate(made, Page("page", made.size), settings)[0]
    scene = formulation.scene
    card = next(a for a in scene.blocks if a.element.id == "card")
    rules = list(clearing_rules(scene, formulation.configs))
    held = {scene.blocks[n].element.id for rule in rules for kind, n, _ in rule.when if kind == "block"}
    assert held == {"ribbon"}
    assert {n for rule in rules for kind, n, _ in rule.when if kind == "column"} == {card.block}
