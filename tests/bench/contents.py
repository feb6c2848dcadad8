"""What photos show: importance and faces as they were found in real photographs.

``contents.json`` holds what looking at openly licensed photographs gave, cut to the proportions of the benchmark's
photos (``python -m tests.bench.photos --contents`` wrote it): maps of at most 24 cells a side and faces, no picture.
"""

from __future__ import annotations

import json
import random
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from itertools import islice
from pathlib import Path

import numpy as np

from fitter.layout import GivenPhoto
from fitter.seeing.heads import Face
from fitter.seeing.importance import IntMap, whole
from fitter.seeing.look import Seen

FILE = Path(__file__).with_suffix(".json")


@dataclass(frozen=True)
class Content:
    """What one photograph shows: its proportions, scene map and faces."""

    shape: tuple[int, int]
    scene: IntMap
    faces: tuple[Face, ...]

    def mirrored(self) -> Content:
        """Return it with left and right exchanged."""
        faces = (replace(f, box=(round(1 - f.box[0] - f.box[2], 4), *f.box[1:])) for f in self.faces)
        return replace(self, scene=self.scene[:, ::-1].copy(), faces=tuple(faces))

    def seen(self, pixels: tuple[int, int]) -> Seen:
        """Return it as looking at a photo of so many pixels would give it."""
        return Seen(pixels, self.faces, 0, self.scene)


@cache
def contents() -> tuple[Content, ...]:
    """Return all that is kept, in the file's order."""
    read = json.loads(FILE.read_text(encoding="utf-8"))
    return tuple(
        Content(
            (entry["shape"][0], entry["shape"][1]),
            whole(np.array(entry["scene"], np.float64)),
            tuple(Face((x, y, w, h), score) for x, y, w, h, score in entry["faces"]),
        )
        for entry in read
    )


def with_content(photos: Sequence[GivenPhoto], dice: random.Random) -> tuple[GivenPhoto, ...]:
    """Return photos that show something, different ones as long as there are any.

    Faces are kept where nothing is marked, as with a photo whose own file says what to keep.
    """
    by_shape: dict[tuple[int, int], list[int]] = defaultdict(list)
    for number, photo in enumerate(photos):
        by_shape[_nearest(photo.pixels)].append(number)
    made = dict(enumerate(photos))
    for shape, numbers in by_shape.items():
        plain = [content for content in contents() if content.shape == shape]
        choice = [*plain, *(content.mirrored() for content in plain)]
        dice.shuffle(choice)
        while len(choice) < len(numbers):
            choice += choice
        for number, content in zip(numbers, islice(choice, len(numbers)), strict=True):
            photo = photos[number]
            seen = content.seen(photo.pixels)
            made[number] = replace(
                photo, detected=() if photo.keep else (*seen.detected, *seen.parts), importance=seen.grid(photo.keep)
            )
    return tuple(made.values())


def _nearest(pixels: tuple[int, int]) -> tuple[int, int]:
    """Return the proportions that are kept and come nearest to a picture's."""
    shapes = dict.fromkeys(content.shape for content in contents())
    return min(shapes, key=lambda shape: abs(shape[0] / shape[1] - pixels[0] / pixels[1]))
