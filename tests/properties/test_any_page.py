"""Whatever small template and photos are given, a page that comes out obeys every rule and states its true costs."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitter.check import check_layout
from fitter.freedoms import FREEDOMS
from fitter.pages import SIDES, Page, Side
from fitter.photos import Photo
from fitter.template import Element, Limits, Template
from tests.proofs.distance import distance
from tests.proofs.fitting import INCH, fit, photo, slot, template

ROLES = ("photo", "photo", "photo", "paper", "journaling", "title", "ribbon", "embellishment")


@st.composite
def templates(draw: st.DrawFn) -> Template:
    """Return a page of 2 × 2 cells, each empty or with one thing in it.

    Some are tilted, some have a mat or a rider, some sheets a note that laps them, some titles may run vertically.
    """
    size = draw(st.sampled_from([(6.0, 6.0), (8.0, 6.0), (8.0, 8.0)]))
    cells = [(x, y) for x in (0, 1) for y in (0, 1)]
    elements: list[Element] = []
    for number, (column, row) in enumerate(cells):
        role = draw(st.sampled_from(ROLES if number else ("photo",)))
        if number and draw(st.booleans()) and draw(st.booleans()):
            continue
        room = (size[0] / 2 - 0.75, size[1] / 2 - 0.75)
        width = draw(st.integers(12, int(room[0] * 8))) / 8
        height = draw(st.integers(12, int(room[1] * 8))) / 8
        left = 0.5 + column * size[0] / 2
        top = 0.5 + row * size[1] / 2
        element = slot(f"{role}-{number}", left, top, width, height, role)
        if role in ("photo", "paper", "journaling") and draw(st.integers(0, 3)) == 0:
            element = replace(element, tilt=float(draw(st.sampled_from([-4, 3, 12]))), size=_smaller(element.size))
        elif role == "photo" and draw(st.integers(0, 4)) == 0:
            side = min(element.size)
            element = replace(element, shape="ellipse", size=(side, side))
        if role == "title" and draw(st.booleans()):
            element = replace(element, limits=Limits(vertical=True))
        if role == "photo" and element.shape == "rect" and draw(st.integers(0, 2)) == 0:
            mat = (element.size[0] + INCH // 4, element.size[1] + INCH // 4)
            elements.append(replace(element, id=f"mat-{number}", role="paper", size=mat, on=element.id, tie="mat"))
        elements.append(element)
        if role == "paper" and not element.tilt and draw(st.booleans()):
            elements.append(_note(element, draw(st.sampled_from([0.25, 0.5, 1.0]))))
        if role == "photo" and draw(st.integers(0, 3)) == 0:
            corner = (element.center[0] - element.size[0] // 4, element.center[1] - element.size[1] // 4)
            elements.append(
                Element(f"bloom-{number}", "embellishment", "rect", corner, (8000, 8000), on=element.id, tie="carried")
            )
    return template(size, *elements)


@st.composite
def clustered(draw: st.DrawFn) -> Template:
    """Return a template the first thing of which, with its mat or rider, is a cluster; a thing or two at its side."""
    made = draw(templates())
    group = [e for e in made.elements if e.id.rpartition("-")[2] == "0"]
    cell = draw(st.sampled_from("123"))
    others = [e for e in made.elements if e.id.rpartition("-")[2] == cell]
    return replace(made, elements=(*(replace(e, cluster="first") for e in group), *others))


def _note(sheet: Element, lap: float) -> Element:
    """Return a small paper that laps the right end of a sheet, by a part of an inch, and stays in its cell."""
    right, y = sheet.box[2], sheet.center[1]
    left, over = right - round(lap * INCH), round(0.2 * INCH)
    width = 2 * ((right + over - left) // 2)
    center = (left + width // 2, y)
    return Element(f"note-{sheet.id}", "paper", "rect", center, (width, INCH), on=sheet.id, tie="lapped")


def _smaller(size: tuple[int, int]) -> tuple[int, int]:
    return 2 * (int(0.8 * size[0]) // 2), 2 * (int(0.8 * size[1]) // 2)


@st.composite
def taken(draw: st.DrawFn) -> list[Photo]:
    """Return one to three photos, some with a region to keep."""
    found = []
    for number in range(draw(st.integers(1, 3))):
        pixels = draw(st.sampled_from([(1800, 1200), (1200, 1800), (1500, 1500), (2400, 1000)]))
        keep = draw(st.sampled_from([(), (), ((0.4, 0.3, 0.2, 0.3),), ((0.1, 0.1, 0.25, 0.25),)]))
        detected = draw(st.sampled_from([(), (), ((0.7, 0.5, 0.2, 0.2),)]))
        weight = draw(st.sampled_from([1.0, 1.0, 2.0]))
        grid = draw(st.sampled_from([(), ((1, 1, 7), (1, 2, 1)), ((9,), (1,), (1,), (1,))]))
        found.append(photo(number, *pixels, keep=keep, detected=detected, weight=weight, importance=grid))
    return found


@given(
    templates(),
    taken(),
    st.sampled_from([0, 0, 20, 60]),
    st.sampled_from([None, None, "Marrow Lake"]),
    st.sampled_from([None, (7.0, 5.0), (5.0, 7.0)]),
    st.sets(st.sampled_from(FREEDOMS), max_size=3),
    st.sampled_from([1, 1, 1, 3]),
    st.sampled_from([None, None, *SIDES]),
)
@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_page_obeys_the_rules_and_states_its_costs(
    made: Template,
    photos: list[Photo],
    words: int,
    title: str | None,
    size: tuple[float, float] | None,
    without: set[str],
    top: int,
    bound: Side | None,
) -> None:
    """No rule is broken without a waiver, no cost differs from what the checker finds, alternatives are apart."""
    trim = made.size if size is None else (int(size[0] * INCH), int(size[1] * INCH))
    page = Page("other", trim, gutter={} if bound is None else {bound: 3 * INCH // 4})
    result = fit(
        made,
        photos,
        words=words,
        title=title,
        page=page,
        top=top,
        effort=0.3,
        min_ppi=72,
        without=frozenset(without),
        leave_out=1,
    )
    assert result.layouts or result.reasons
    for layout in result.layouts:
        report = check_layout(layout)
        broken = [v for r in report.rules if r.status == "broken" for v in r.violations]
        assert not broken
        assert not report.cost_differences
        assert not without & {"rotate-page"} or layout.transform.rotate == 0
    for one, other in combinations(result.layouts, 2):
        assert distance(other, one) >= 0.3


@given(
    clustered(),
    taken(),
    st.sampled_from([0, 0, 30]),
    st.sampled_from([None, None, (7.0, 5.0), (5.0, 7.0)]),
    st.sampled_from([0, 0.5, 1]),
    st.sampled_from([None, None, *SIDES]),
)
@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck))
def test_any_page_with_a_cluster_may_repeat_it(
    made: Template,
    photos: list[Photo],
    words: int,
    size: tuple[float, float] | None,
    price: float,
    bound: Side | None,
) -> None:
    """No rule is broken without a waiver, costs agree, and the reference is what the template gives on the page."""
    trim = made.size if size is None else (int(size[0] * INCH), int(size[1] * INCH))
    page = Page("other", trim, gutter={} if bound is None else {bound: INCH // 2})
    weights = {"repeat-cluster": price}
    result = fit(made, photos, words=words, page=page, effort=0.3, min_ppi=72, weights=weights)
    assert result.layouts or result.reasons
    for layout in result.layouts:
        report = check_layout(layout, template=made)
        assert report.ok, report.lines()
