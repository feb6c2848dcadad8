"""What lies on a card takes the same strips of it when formulating and when checking, upright and on its side."""

from __future__ import annotations

from dataclasses import replace

import pytest

from fitter.check.rules_text import reference_insets
from fitter.check.view import View
from fitter.formulate import Settings, formulate
from fitter.formulate.cards import clear_area
from fitter.layout import Given, Layout, TemplateRef
from fitter.pages import Page
from fitter.reference import MEMBERS, Member, reference_layout
from fitter.starters import starter_names
from fitter.template import Template
from fitter.template_reader import read_template
from tests import builders as b
from tests.proofs.fitting import INCH, slot
from tests.proofs.fitting import template as tiny

SIDES = ("left", "top", "right", "bottom")


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


@pytest.mark.parametrize("index", [0, 1], ids=["upright", "on its side"])
@pytest.mark.parametrize("name", starter_names())
def test_both_sides_take_the_same_strips(name: str, index: int) -> None:
    """Every block of every starter that can hold journaling."""
    template = read_template(name)
    scene = formulate(template, Page("page", template.size), Settings(()))[index].scene
    view = View(as_reference(template, Member(90 if index else 0, False)))
    for atom in scene.blocks:
        insets = clear_area(scene, atom)
        if atom.added or insets is None or atom.element.role not in ("photo", "paper", "journaling"):
            continue
        found = reference_insets(view, view.reference[atom.element.id])
        # Round shapes are polygons to the checker: a micrometre either way.
        assert insets == pytest.approx([float(found[side]) for side in SIDES], abs=2), atom.element.id


def test_words_that_look_for_a_place_take_nothing_from_a_card() -> None:
    """On its side the title would lie on the first photo slot; a card made of that slot loses nothing to it."""
    template = read_template("three-across-strip")
    bare = replace(template, elements=tuple(e for e in template.elements if e.role != "embellishment"))
    scene = formulate(bare, Page("page", bare.size), Settings(()))[1].scene
    slot = next(a for a in scene.blocks if a.element.id == "photo-1")
    title = next(a for a in scene.blocks if a.element.id == "title")
    assert min(title.element.box[2], slot.element.box[2]) > max(title.element.box[0], slot.element.box[0])
    assert clear_area(scene, slot) == (0, 0, 0, 0)


@pytest.mark.parametrize("member", MEMBERS, ids=str)
def test_equal_shares_are_taken_from_a_side_on_every_flip(member: Member) -> None:
    """An ornament at a corner takes as much of a square's width as of its height: left or right is chosen, always."""
    bloom = slot("bloom", 1.25, 1.25, 0.5, 0.5, "embellishment", on="card", tie="carried")
    made = tiny((6, 6), slot("card", 1, 1, 3, 3, "journaling"), bloom)
    view = View(as_reference(made, member))
    found = reference_insets(view, view.reference["card"])
    assert found["left"] + found["right"] == round(0.75 * INCH)
    assert found["top"] == found["bottom"] == 0
