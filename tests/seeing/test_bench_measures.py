"""The benchmark's own arithmetic: a measure that is wrong proves nothing."""

from __future__ import annotations

import hashlib
import struct
import zlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fitter.crops import window_size
from tests.bench.photos.archives import resources
from tests.bench.photos.fetch import SCENES, sources
from tests.bench.photos.measure import (
    boundary_displacement,
    intersection_over_union,
    judged,
    marks,
    most_kept,
    part_kept,
    slots,
)

UNIT = (0.0, 0.0, 1.0, 1.0)


@pytest.mark.parametrize(
    ("other", "overlap", "displacement"),
    [
        (UNIT, 1.0, 0.0),
        ((0.5, 0.0, 1.0, 1.0), 0.5, 0.125),
        ((0.25, 0.25, 0.75, 0.75), 0.25, 0.25),
        ((1.0, 0.0, 2.0, 1.0), 0.0, 0.5),
    ],
)
def test_published_measures_of_crops(other: tuple[float, ...], overlap: float, displacement: float) -> None:
    """Intersection over union and mean boundary displacement, worked out by hand from their definitions."""
    assert intersection_over_union(UNIT, other) == pytest.approx(overlap)
    assert intersection_over_union(other, UNIT) == pytest.approx(overlap)
    assert boundary_displacement(UNIT, other) == pytest.approx(displacement)


@given(
    st.lists(st.tuples(st.integers(0, 15), st.integers(0, 15), st.integers(1, 8), st.integers(1, 8)), max_size=4),
    st.sampled_from([(1, 1), (2, 3), (3, 1)]),
)
def test_the_most_that_can_be_kept_is_found(boxes: list[tuple[int, ...]], slot: tuple[int, int]) -> None:
    """No window in whole pixels holds more boxes than said, and some holds that many."""
    pixels = (24, 16)
    w, h = window_size(pixels, slot)
    faces = [(x / 24, y / 16, min(u, 24 - x) / 24, min(v, 16 - y) / 16) for x, y, u, v in boxes]
    held = [
        sum(
            all(
                start[a] <= f[a] * pixels[a] + 0.5 and (f[a] + f[a + 2]) * pixels[a] - 0.5 <= start[a] + (w, h)[a]
                for a in (0, 1)
            )
            for f in faces
        )
        for start in ((x, y) for x in range(24 - w + 1) for y in range(16 - h + 1))
    ]
    assert most_kept(faces, pixels, (w, h)) == max(held)


def test_a_window_is_judged_by_what_it_could_have_kept() -> None:
    """The left half of the picture keeps the left face of two and half of the subject."""
    name = "scene_desert.png"
    marked = marks()[name]
    right, left = judged(marked, (480, 360), (120, 0, 480, 360)), judged(marked, (480, 360), (0, 0, 360, 360))
    assert (right.all_kept, right.subject_kept) == (1, pytest.approx(1.0))
    assert (left.all_kept, left.all_keepable) == (0, 1)
    assert part_kept((0.5, 0.0, 0.5, 1.0), (0, 0, 75, 10), (100, 10)) == pytest.approx(0.5)


def test_every_picture_is_marked_and_has_a_licence_and_a_credit() -> None:
    """At least forty pictures, twelve with people; crops have the shape they claim."""
    parts = {part for scene, people in SCENES.values() for part in (scene, *(p[0] for p in people))}
    rows = sources()
    assert {row.name for row in rows} - parts | set(SCENES) == set(marks())
    assert all(row.licence and row.credit and len(row.sha256) == 64 for row in rows)
    assert len(marks()) >= 40
    assert sum(entry.people for entry in marks().values()) >= 12
    assert len(slots()) > 5
    for entry in marks().values():
        for box in (*entry.faces, entry.subject, *entry.crops.values()):
            assert min(box) >= 0
            assert max(box[0] + box[2], box[1] + box[3]) <= 1 + 1e-4


def test_compiled_resources_are_read() -> None:
    """A resource file made by hand from the format's description: one folder, one plain and one packed file."""
    names = b"".join(struct.pack(">HI", len(n), 0) + n.encode("utf-16-be") for n in ("pier", "a.txt", "b.txt"))
    at = [0, 6 + 8, 6 + 8 + 6 + 10]
    packed = struct.pack(">I", 5) + zlib.compress(b"ropes")
    data = struct.pack(">I", 4) + b"lake" + struct.pack(">I", len(packed)) + packed
    tree = struct.pack(">IHII", 0, 2, 1, 1) + struct.pack(">IHII", at[0], 2, 2, 2)
    tree += struct.pack(">IHHHI", at[1], 0, 0, 0, 0) + struct.pack(">IHHHI", at[2], 1, 0, 0, 8)
    head = struct.pack(">4sIIII", b"qres", 1, 20, 20 + len(tree), 20 + len(tree) + len(data))
    assert dict(resources(head + tree + data + names)) == {"/pier/a.txt": b"lake", "/pier/b.txt": b"ropes"}
    with pytest.raises(ValueError, match="not a compiled"):
        dict(resources(hashlib.sha256(b"").digest()))
