"""Crops judged by the hand-made marks alone: faces and subject kept, and nearness to the hand-made crops."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from fitter.crops import PixelBox, window_size
from fitter.layout import Box
from fitter.starters import starter_names
from fitter.template_reader import read_template
from tests.bench.photos.fetch import HERE

Crop = Callable[[tuple[int, int]], PixelBox]
"""From a slot's width and height to a window in the picture."""
_SAME = 0.02


@dataclass(frozen=True)
class Marks:
    """What was marked by hand in one picture, in 0…1."""

    people: bool
    faces: tuple[Box, ...]
    subject: Box
    crops: dict[tuple[int, int], Box]


@dataclass
class Tally:
    """Sums over pictures and slots."""

    slots: int = 0
    with_faces: int = 0
    all_keepable: int = 0
    all_kept: int = 0
    faces_keepable: int = 0
    faces_kept: int = 0
    subject_kept: float = 0.0
    subject_keepable: float = 0.0
    crops: int = 0
    overlap: float = 0.0
    displacement: float = 0.0

    def __add__(self, other: Tally) -> Tally:
        return Tally(*(a + b for a, b in zip(vars(self).values(), vars(other).values(), strict=True)))


@cache
def marks() -> Mapping[str, Marks]:
    read = json.loads((HERE / "marks.json").read_text(encoding="utf-8"))
    return {
        name: Marks(
            bool(entry["people"]),
            tuple(_box(face) for face in entry["faces"]),
            _box(entry["subject"]),
            {_ratio(shape): _box(crop) for shape, crop in entry["crops"].items()},
        )
        for name, entry in read.items()
    }


@cache
def slots() -> tuple[tuple[int, int], ...]:
    """Return the proportions of the starter templates' photo slots, each once."""
    sizes = {
        Fraction(element.size[0], element.size[1]): element.size
        for name in starter_names()
        for element in read_template(name).elements
        if element.role == "photo"
    }
    return tuple(sizes[shape] for shape in sorted(sizes))


def tally(marked: Marks, pixels: tuple[int, int], crop: Crop) -> Tally:
    """Judge one way of cropping one picture to every slot that cuts something off, and to the hand-made shapes."""
    total = Tally()
    for slot in slots():
        size = window_size(pixels, slot)
        if size[0] * size[1] > (1 - _SAME) * pixels[0] * pixels[1]:
            continue
        total += judged(marked, pixels, crop(slot))
    for shape, hand in marked.crops.items():
        made = crop(shape)
        ours = (made[0] / pixels[0], made[1] / pixels[1], made[2] / pixels[0], made[3] / pixels[1])
        theirs = (hand[0], hand[1], hand[0] + hand[2], hand[1] + hand[3])
        total.crops += 1
        total.overlap += intersection_over_union(ours, theirs)
        total.displacement += boundary_displacement(ours, theirs)
    return total


def judged(marked: Marks, pixels: tuple[int, int], window: PixelBox) -> Tally:
    """Judge one window against what the best window of its size could keep."""
    size = window[2] - window[0], window[3] - window[1]
    kept = sum(_is_inside(face, window, pixels) for face in marked.faces)
    keepable = most_kept(marked.faces, pixels, size)
    some, all_of_them = bool(marked.faces), len(marked.faces)
    return Tally(
        slots=1,
        with_faces=int(some),
        all_keepable=int(some and keepable == all_of_them),
        all_kept=int(some and kept == all_of_them),
        faces_keepable=keepable,
        faces_kept=kept,
        subject_kept=part_kept(marked.subject, window, pixels),
        subject_keepable=_most_of(marked.subject, pixels, size),
    )


def intersection_over_union(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the Jaccard index of two boxes given by left, top, right, bottom.

    Everingham et al., The PASCAL visual object classes challenge, IJCV 88 (2010), §4.2.
    """
    common = max(0.0, min(a[2], b[2]) - max(a[0], b[0])) * max(0.0, min(a[3], b[3]) - max(a[1], b[1]))
    areas = [(box[2] - box[0]) * (box[3] - box[1]) for box in (a, b)]
    return common / (sum(areas) - common)


def boundary_displacement(a: Sequence[float], b: Sequence[float]) -> float:
    """Return the mean distance of corresponding edges, in parts of the picture's side.

    Yan, Lin, Kang and Tang, Learning the change for automatic image cropping, CVPR 2013 (from memory).
    """
    return sum(abs(p - q) for p, q in zip(a, b, strict=True)) / 4


def part_kept(box: Box, window: PixelBox, pixels: tuple[int, int]) -> float:
    """Return the share of a box's area inside a window."""
    part = 1.0
    for axis in (0, 1):
        low, high = box[axis] * pixels[axis], (box[axis] + box[axis + 2]) * pixels[axis]
        part *= max(0.0, min(high, window[axis + 2]) - max(low, window[axis])) / (high - low)
    return part


def most_kept(boxes: Sequence[Box], pixels: tuple[int, int], size: tuple[int, int]) -> int:
    """Return how many boxes one window of a size can hold whole; the best window starts with one or at 0."""
    axis = 0 if size[0] < pixels[0] else 1
    starts = [0, *(min(int(box[axis] * pixels[axis]), pixels[axis] - size[axis]) for box in boxes)]
    held = []
    for start in starts:
        corner = (start, 0) if axis == 0 else (0, start)
        window = (*corner, corner[0] + size[0], corner[1] + size[1])
        held.append(sum(_is_inside(box, window, pixels) for box in boxes))
    return max(held)


def kept_words(now: Tally, before: Tally) -> str:
    """Return four cells of a table: all faces, faces, subject kept, and how much avoidable loss was removed."""
    lost = now.subject_keepable - now.subject_kept
    removed = 1 - lost / max(before.subject_keepable - before.subject_kept, 1e-9)
    whole = f"{now.all_kept} of {now.all_keepable}" if now.with_faces else "–"
    faces = f"{now.faces_kept / now.faces_keepable:.1%}" if now.faces_keepable else "–"
    return f"{whole} | {faces} | {now.subject_kept / now.slots:.1%} | {removed:.0%}"


def _most_of(box: Box, pixels: tuple[int, int], size: tuple[int, int]) -> float:
    axis = 0 if size[0] < pixels[0] else 1
    return min(1.0, size[axis] / (box[axis + 2] * pixels[axis]))


def _is_inside(box: Box, window: PixelBox, pixels: tuple[int, int]) -> bool:
    return all(
        window[axis] <= box[axis] * pixels[axis] + 0.5
        and (box[axis] + box[axis + 2]) * pixels[axis] - 0.5 <= window[axis + 2]
        for axis in (0, 1)
    )


def _box(values: Sequence[float]) -> Box:
    x, y, w, h = values
    return x, y, w, h


def _ratio(text: str) -> tuple[int, int]:
    across, down = text.split(":")
    return int(across), int(down)
