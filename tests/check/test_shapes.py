"""Areas and containment against shapely, published contrasts, and a squared square."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import box
from shapely.ops import unary_union

from fitter.check import check_layout, shapes
from fitter.check.rules_text import contrast
from fitter.layout import Given, GivenPhoto, Layout, Placed
from fitter.pages import Page
from fitter.template import Element
from tests import builders as b
from tests.check.crowds import STRIPS, crowds

length = st.integers(1, 500).map(lambda n: 2 * n)
place = st.integers(-1000, 1000)
elements = st.builds(lambda x, y, w, h: Element("e", "paper", "rect", (x, y), (w, h)), place, place, length, length)


@settings(max_examples=100, deadline=None)
@given(elements, elements)
@example(Element("e", "paper", "rect", (0, 0), (10, 10)), Element("e", "paper", "rect", (10, 0), (10, 10)))
@example(Element("e", "paper", "rect", (0, 0), (10, 10)), Element("e", "paper", "rect", (0, 0), (4, 4)))
def test_plain_areas_equal_shapely(one: Element, other: Element) -> None:
    """Integer overlaps of plain boxes are shapely's, touching and nested ones too."""
    assert shapes.shared_area(one, other) == box(*one.box).intersection(box(*other.box)).area


@settings(max_examples=50, deadline=None)
@given(elements, elements, st.floats(-45, 45))
def test_tilted_areas_equal_shapely(one: Element, other: Element, tilt: float) -> None:
    """Overlaps of tilted boxes are shapely's with the box turned clockwise (y runs down)."""
    turned = affinity.rotate(box(*one.box), tilt, origin=one.center)
    area = float(shapes.shared_area(replace(one, tilt=tilt), other))
    assert area == pytest.approx(turned.intersection(box(*other.box)).area, abs=1e-6)


def test_tilt_is_clockwise() -> None:
    """At 90° clockwise the top edge's middle goes to the right."""
    found = shapes.shape_of(Element("e", "paper", "path", (0, 0), (20, 20), 90.0, ((0, -10), (2, 10), (-2, 10))))
    assert max(found.exterior.coords)[0] == pytest.approx(10)
    assert min(found.exterior.coords)[0] == pytest.approx(-10)
    tip = max(found.exterior.coords, key=lambda p: p[0])
    assert tip == pytest.approx((10, 0), abs=1e-9)


def test_ellipse_has_its_area() -> None:
    """The polygon of an ellipse has exactly π·a·b, and stays within 0.2 µm of it on a large page."""
    found = shapes.shape_of(Element("e", "photo", "ellipse", (0, 0), (200_000, 100_000)))
    assert found.area == pytest.approx(math.pi * 100_000 * 50_000, rel=1e-12)
    assert found.bounds[2] == pytest.approx(100_000, abs=0.2)


@settings(max_examples=60)
@given(crowds)
@example(STRIPS)
def test_meeting_leaves_out_no_pair_that_shares_area(items: tuple[Placed, ...]) -> None:
    """Of all pairs it yields, once each and in their order, those that share area, and none whose bounds are apart."""
    found = list(shapes.meeting(items))
    pairs = list(combinations(items, 2))
    assert found == [pair for pair in pairs if pair in found]
    for one, other in pairs:
        a, c = shapes.shape_of(one), shapes.shape_of(other)
        assert (one, other) in found or a.intersection(c).area == 0
        assert (one, other) not in found or box(*a.bounds).intersects(box(*c.bounds))


def test_meeting_of_few() -> None:
    """Nothing and one thing make no pair."""
    assert not list(shapes.meeting(()))
    assert not list(shapes.meeting(STRIPS[:1]))


def test_sticking_out_and_depth() -> None:
    """By hand: a box 3 beyond another, and 2 deep in a third."""
    assert shapes.stick_out(box(0, 0, 10, 10), box(5, 5, 13, 8)) == 3
    assert shapes.stick_out(box(0, 0, 10, 10), box(0, 0, 10, 10)) == 0
    assert shapes.depth(box(0, 0, 10, 10), box(8, 0, 20, 10)) == 2
    assert shapes.depth(box(0, 0, 10, 10), box(10, 0, 20, 10)) == 0


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        ("#000000", "#ffffff", "21.00"),
        ("#777777", "#ffffff", "4.48"),
        ("#767676", "#ffffff", "4.54"),
        ("#ffffff", "#ffffff", "1.00"),
        ("#ff0000", "#ffffff", "4.00"),
        ("#0000ff", "#ffffff", "8.59"),
    ],
)
def test_contrast_examples(one: str, other: str, ratio: str) -> None:
    """WCAG 2 contrast ratios as commonly published: #777 just fails on white, #767676 just passes."""
    assert f"{contrast(one, other):.2f}" == ratio
    assert contrast(other, one) == contrast(one, other)


ORDER_21 = (
    (50, 35, 27),
    (8, 19),
    (15, 17, 11),
    (6, 24),
    (29, 25, 9, 2),
    (7, 18),
    (16,),
    (42,),
    (4, 37),
    (33,),
)
UNIT = 8_000


def squared_square() -> list[tuple[int, int, int]]:
    """Return Duijvestijn's simple perfect squared square of order 21, side 112, as x, y, side.

    Each row of the code fills the highest free stretch from the left (Bouwkamp's notation).
    """
    skyline = [0] * 112
    placed = []
    for row in ORDER_21:
        y = min(skyline)
        x = skyline.index(y)
        for side in row:
            placed.append((x, y, side))
            skyline[x : x + side] = [y + side] * side
            x += side
    return placed


def squared_page() -> Layout:
    """Return a page tiled without gap by 21 square photos; their template is the same."""
    reference, photos = [], []
    for n, (x, y, side) in enumerate(squared_square()):
        center = (50_000 + x * UNIT + side * UNIT // 2, 50_000 + y * UNIT + side * UNIT // 2)
        reference.append(Element(f"photo-{side}", "photo", "rect", center, (side * UNIT, side * UNIT)))
        photos.append(GivenPhoto(f"{side}.jpg", f"{n:064}", (side * 60, side * 60), order=n))
    elements = tuple(b.place(e, photo=b.whole(p, e.size)) for e, p in zip(reference, photos, strict=True))
    size = 100_000 + 112 * UNIT
    layout = replace(
        b.tiny(),
        page=Page("large", (size, size), margin=50_000),
        given=Given(photos=tuple(photos)),
        reference=tuple(reference),
        elements=elements,
    )
    return b.priced(layout)


def test_squared_square_is_one() -> None:
    """21 different squares tile 112 × 112: shapely's union is the square, and no two share area."""
    tiles = [box(x, y, x + s, y + s) for x, y, s in squared_square()]
    assert len({s for _, _, s in squared_square()}) == 21
    assert unary_union(tiles).equals(box(0, 0, 112, 112))
    assert sum(t.area for t in tiles) == 112**2


def test_squared_square_fills_the_safe_box() -> None:
    """The tiles reach the safe line on all sides and no farther: R1 names just those that a step takes over it."""
    layout = squared_page()
    for dx, dy in ((UNIT // 10, 0), (-UNIT // 10, 0), (0, UNIT // 10), (0, -UNIT // 10)):
        for x, y, side in squared_square():
            room = (112 - x - side if dx > 0 else x) if dx else (112 - y - side if dy > 0 else y)
            over = room == 0
            name = f"photo-{side}"
            (edge,) = (r for r in check_layout(b.move(layout, name, dx=dx, dy=dy)).rules if r.rule == "R1")
            assert [v.element for v in edge.violations] == [name] * over, (name, dx, dy)


def test_squared_square_passes_and_its_overlap_is_caught() -> None:
    """Squares that touch on all sides are no overlap; a tenth of a unit over the neighbour is one."""
    layout = squared_page()
    assert check_layout(layout).ok, check_layout(layout).lines()
    assert check_layout(layout).costs.terms["crop-loss"] == 0
    shifted = b.move(layout, "photo-33", dx=UNIT // 10)
    # Its neighbour on the right is 37² large: 33 · 0.1 of it are covered.
    assert check_layout(shifted).costs.terms["crop-loss"] == round(1_000_000 * 33 * 0.1 / 37**2)
