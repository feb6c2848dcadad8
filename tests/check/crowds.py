"""Crowds of elements of all shapes and tilts, many of which meet: for tests of pairs."""

from __future__ import annotations

from dataclasses import replace

from hypothesis import strategies as st

from fitter.layout import Placed

STRIPS = (
    Placed("long", None, "paper", "rect", (40_000, 40_000), (60_000, 2_000), 45.0),
    Placed("short", None, "ribbon", "rect", (60_000, 60_000), (10_000, 2_000)),
)
"""The second one crosses the end of the first, which level would lie far from it."""

TRIANGLE = ((0, -9_000), (3_000, 9_000), (-8_000, 4_000))
coordinate = st.integers(0, 60_000)
length = st.integers(1, 20_000).map(lambda n: 2 * n)
things = st.builds(
    lambda role, shape, center, size, tilt: Placed("", None, role, shape[0], center, size, tilt, shape[1]),
    st.sampled_from(["paper", "ribbon", "embellishment", "photo", "journaling"]),
    st.sampled_from([("rect", ()), ("ellipse", ()), ("path", TRIANGLE)]),
    st.tuples(coordinate, coordinate),
    st.tuples(length, length),
    st.sampled_from([0.0, 0.0, 3.5, -40.0]),
)
crowds = st.lists(things, min_size=2, max_size=7).map(
    lambda items: tuple(replace(item, id=f"thing-{n}") for n, item in enumerate(items))
)
