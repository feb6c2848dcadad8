"""Whatever consistent layout is handed in, the checker judges it and does not fall over."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from fitter.check import RULES, check_layout
from fitter.check.measures import measure
from fitter.layout import Layout, Split, Transform
from fitter.layout import Rescale as Scaling
from fitter.layout_bounds import contradictions
from fitter.template import ROLES, Element
from tests import builders as b

coordinate = st.integers(-400_000, 400_000)
length = st.integers(1, 400_000)
outlines = st.lists(st.tuples(coordinate, coordinate), min_size=3, max_size=6).map(tuple)
sides = st.lists(st.sampled_from(["left", "top", "right", "bottom"]), unique=True).map(tuple)

common: dict[str, Any] = {
    "center": st.tuples(coordinate, coordinate),
    "size": st.tuples(length, length),
    "tilt": st.floats(-360, 360),
    "role": st.sampled_from(ROLES),
    "bleeds": sides,
}
own: dict[str, Any] = {
    **common,
    "photo": st.none(),
    "text": st.none(),
    "fill": st.none(),
    "turned": st.just(True),
    "source": st.sampled_from([None, "photo-1", "paper-1", "title"]),
    "on": st.sampled_from([None, "card", "photo-1"]),
    "split": st.builds(Split, st.sampled_from(["row", "column", "grid"]), st.just(0), st.integers(1, 3)),
}


def fields(strategies: dict[str, Any]) -> st.SearchStrategy[dict[str, Any]]:
    shapes = st.one_of(
        st.just({}),
        st.just({"shape": "ellipse"}),
        outlines.map(lambda points: {"shape": "path", "outline": points}),
    )
    some = st.fixed_dictionaries({}, optional=strategies)
    return st.builds(lambda a, c: {**a, **c}, some, shapes)


@st.composite
def layouts(draw: st.DrawFn) -> Layout:
    """Return the tiny page with up to four elements and two reference elements changed at will."""
    layout = b.tiny()
    elements, reference = list(layout.elements), list(layout.reference)
    for at in draw(st.lists(st.integers(0, len(elements) - 1), max_size=4)):
        elements[at] = replace(elements[at], **draw(fields(own)))
    for at in draw(st.lists(st.integers(0, len(reference) - 1), max_size=2, unique=True)):
        reference[at] = redrawn(reference[at], draw(fields(common)))
    for at in sorted(
        draw(st.lists(st.integers(0, len(elements) - 1), max_size=3, unique=True)), reverse=True
    ):
        del elements[at]
    scaling = draw(
        st.none() | st.builds(Scaling, st.sampled_from(["template", "photos", "others"]), st.floats(0.1, 3))
    )
    transform = Transform(draw(st.sampled_from([0, 90, 180, 270])), draw(st.booleans()), rescale=scaling)
    return replace(layout, elements=tuple(elements), reference=tuple(reference), transform=transform)


def redrawn(element: Element, changes: dict[str, Any]) -> Element:
    return replace(element, **changes)


@settings(max_examples=60, deadline=None)
@given(layouts().filter(lambda layout: not any(contradictions(layout))))
def test_any_consistent_layout_is_judged(layout: Layout) -> None:
    """Every rule gets a verdict, every cost a whole number of at least 0, every figure a value."""
    report = check_layout(layout)
    assert [result.rule for result in report.rules] == list(RULES)
    assert all(isinstance(amount, int) and amount >= 0 for amount in report.costs.terms.values())
    assert all(
        v.message and (v.amount_um is None or v.amount_um > 0) for r in report.rules for v in r.violations
    )
    assert report.lines()
    assert 0 <= measure(layout).white_space <= 1
