"""The starter shelf: complete, legal, well proportioned, and no two templates alike."""

from __future__ import annotations

from itertools import combinations, pairwise

import numpy as np
import pytest

from fitter.errors import UseError
from fitter.pages import DEFAULT_MARGIN
from fitter.starters import describe, starter_names, starter_path
from fitter.template import TEXT_ROLES, Element, Template
from fitter.template_reader import read_template
from fitter.ties import polygon

INCH = 25_400
SHELF = {name: read_template(name) for name in starter_names()}
NAMED = pytest.mark.parametrize("template", SHELF.values(), ids=SHELF.keys())


def photos(template: Template) -> list[Element]:
    """Return a template's photo slots."""
    return [element for element in template.elements if element.role == "photo"]


def signature(template: Template, turn: int, mirror: bool) -> list[tuple[str, tuple[float, ...]]]:
    """Return roles and boxes of a template, turned, mirrored and scaled to a long side of one."""
    rows = []
    for element in template.elements:
        corners = np.array(polygon(element).exterior.coords, dtype=float) - np.array(template.size) / 2
        if mirror:
            corners[:, 0] = -corners[:, 0]
        for _ in range(turn):
            corners = np.stack([-corners[:, 1], corners[:, 0]], axis=1)
        corners = corners / max(template.size)
        box = (*corners.min(axis=0), *corners.max(axis=0))
        rows.append((element.role, tuple(round(float(side), 3) for side in box)))
    return sorted(rows)


def distance(first: Template, second: Template) -> float:
    """Return how far apart two templates are at best: the mean move of the edges of their photo slots.

    Infinite when the counts of photo slots differ.  All four turns, with and without mirror, are tried, and
    both pages are scaled to a long side of one.
    """
    if len(photos(first)) != len(photos(second)):
        return float("inf")
    from scipy.optimize import linear_sum_assignment

    fixed = [box for role, box in signature(first, 0, False) if role == "photo"]
    best = float("inf")
    for turn in range(4):
        for mirror in (False, True):
            moved = [box for role, box in signature(second, turn, mirror) if role == "photo"]
            cost = np.array([[np.abs(np.subtract(a, b)).mean() for b in moved] for a in fixed])
            best = min(best, float(cost[linear_sum_assignment(cost)].mean()))
    return best


def test_no_two_are_alike() -> None:
    """Under no turn, mirror and scale do two starters place their photo slots within 3 % of the page."""
    alike = {
        (first, second): distance(SHELF[first], SHELF[second]) for first, second in combinations(SHELF, 2)
    }
    assert min(alike.values()) > 0.03, min(alike, key=lambda pair: alike[pair])


def test_the_measure_sees_through_turns_and_mirrors() -> None:
    """The comparison above finds a turned and mirrored copy to be the same template."""
    template = SHELF["uneven-four"]
    turned = Template(
        "copy",
        template.size,
        tuple(
            Element(e.id, e.role, e.shape, (e.center[1], e.center[0]), (e.size[1], e.size[0]))
            for e in template.elements
        ),
    )
    assert distance(template, turned) == pytest.approx(0.0, abs=1e-9)


def test_the_shelf_has_what_it_promises() -> None:
    """One to eight photos, both sizes, with and without words, and every kind of element and tie."""
    everything = [element for template in SHELF.values() for element in template.elements]
    assert len(SHELF) >= 12
    assert {len(photos(template)) for template in SHELF.values()} == set(range(1, 9))
    assert {template.size for template in SHELF.values()} == {(12 * INCH, 12 * INCH), (215_900, 11 * INCH)}
    for role in ("title", "journaling"):
        assert {any(e.role == role for e in t.elements) for t in SHELF.values()} == {True, False}
    assert any(e.role == "photo" and e.tilt for e in everything)
    assert any(e.role == "photo" and e.shape == "ellipse" for e in everything)
    assert any(e.role == "photo" and len(e.bleeds) == 4 for e in everything)
    assert any(e.role == "embellishment" and e.tie == "carried" for e in everything)
    assert any(e.is_strip for e in everything)
    assert any(e.role == "ribbon" for e in everything)
    assert any(e.cluster for e in everything)
    assert {"mat", "carried", "lapped"} <= {e.tie for e in everything}


@NAMED
def test_starters_are_drawn_exactly(template: Template) -> None:
    """No starter needs snapping or leaves anything out: it is read without a note."""
    assert template.notes == ()
    assert describe(template.name)
    assert starter_path(template.name).is_file()


@NAMED
def test_starters_have_generous_margins(template: Template) -> None:
    """All that does not bleed keeps 1/2 in from the trim, and the safe margin after scaling 12 to 8.5 in."""
    margins = []
    for element in template.elements:
        if not element.bleeds:
            left, top, right, bottom = polygon(element).bounds
            margins += [left, top, template.size[0] - right, template.size[1] - bottom]
    assert min(margins) >= INCH / 2
    assert min(margins) * 8.5 / 12 >= DEFAULT_MARGIN


@NAMED
def test_starters_have_one_focus(template: Template) -> None:
    """The lead photo is clearly the largest and lies off the page's centre (common practice, no source)."""
    areas = sorted((polygon(photo).area for photo in photos(template)), reverse=True)
    share = areas[0] / sum(areas)
    assert share >= 0.25
    if len(areas) >= 3:
        assert share <= 0.46
    if len(areas) > 1:
        assert areas[0] >= 1.15 * areas[1]
        lead = max(photos(template), key=lambda photo: polygon(photo).area)
        off = max(abs(lead.center[axis] / template.size[axis] - 0.5) for axis in (0, 1))
        assert off >= 0.1


@NAMED
def test_starters_tilt_little(template: Template) -> None:
    """Photo slots tilt by at most 6 degrees."""
    assert all(abs(photo.tilt) <= 6 for photo in photos(template))


@NAMED
def test_cards_have_room_for_words(template: Template) -> None:
    """Journaling spots are at least 3 x 2 in, titles at least 3 in wide and 3/4 in high."""
    for element in template.elements:
        if element.role == "journaling":
            assert min(element.size) >= 2 * INCH
            assert max(element.size) >= 3 * INCH
        if element.role == "title":
            assert element.size[0] >= 3 * INCH
            assert element.size[1] >= 0.75 * INCH
        if element.role in TEXT_ROLES:
            assert not element.bleeds


@NAMED
def test_mats_have_borders_alike(template: Template) -> None:
    """Every mat shows 1/8 in on all sides."""
    by_id = {element.id: element for element in template.elements}
    for mat in (element for element in template.elements if element.tie == "mat"):
        assert mat.on is not None
        slot = by_id[mat.on]
        assert mat.center == slot.center
        assert (mat.size[0] - slot.size[0], mat.size[1] - slot.size[1]) == (INCH // 4, INCH // 4)


@NAMED
def test_gaps_are_few_and_edges_clearly_apart(template: Template) -> None:
    """Edges of photos and papers without mats coincide or lie at least 1/8 in apart."""
    matted = {element.on for element in template.elements if element.tie == "mat"}
    blocks = [
        e
        for e in template.elements
        if not e.tilt
        and e.id not in matted
        and e.role not in ("background", "embellishment")
        and not e.bleeds
    ]
    for axis in (0, 1):
        for side in (axis, axis + 2):
            edges = sorted(block.box[side] for block in blocks)
            steps = [b - a for a, b in pairwise(edges)]
            assert all(step <= 2 or step >= INCH // 8 for step in steps)


def test_unknown_starters_list_the_choices() -> None:
    """Asking for a starter that is not there names those that are."""
    with pytest.raises(UseError, match="tilted-trio"):
        starter_path("no-such-page")
