"""What is measured: starter templates × photo counts × words, with photos from a seeded generator."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

from fitter.layout import Box, GivenPhoto
from fitter.starters import starter_names
from fitter.template import Template
from fitter.template_reader import read_template

SEED = 2026
MEGAPIXELS = 12_000_000
ASPECTS = ((4, 3), (3, 2), (2, 3), (1, 1), (3, 4), (16, 9), (5, 4), (2, 1), (4, 5), (9, 16))
CAMERA = ((3, 2), (3, 2), (2, 3), (4, 3), (4, 3), (3, 4), (1, 1))
"""What one camera and one phone bring home: few aspects, often repeated."""
WORDS = (0, 60, 150)
FEWEST, MOST = 1, 8
TITLE = "A summer at Marrow Lake"
QUICK_STEP = 5

IMPOSSIBLE: dict[str, str] = {}
"""Instances for which no page can exist, by name, with the reason.  Finding none elsewhere is a failure."""


@dataclass(frozen=True)
class Instance:
    """One page to fit.

    Parameters
    ----------
    name
        ``TEMPLATE-Np-Nw``; the photos follow from it and :data:`SEED`.
    natural
        Photo slots of the template.
    distinct
        Whether no two photos have the same aspect.
    impossible
        Why no page can exist; empty when one should.
    """

    name: str
    template: Template
    natural: int
    photos: tuple[GivenPhoto, ...]
    words: int
    title: str | None
    distinct: bool
    impossible: str = ""


def instances(*, quick: bool = False) -> list[Instance]:
    """Return all instances in a fixed order, or about a fifth of them."""
    made: list[Instance] = []
    for name in starter_names():
        template = read_template(name)
        natural = sum(e.role == "photo" for e in template.elements)
        for count in range(max(FEWEST, natural - 1), min(MOST, natural + 1) + 1):
            for words in WORDS:
                made.append(_instance(template, natural, count, words, len(made)))
    return made[::QUICK_STEP] if quick else made


def _instance(template: Template, natural: int, count: int, words: int, number: int) -> Instance:
    name = f"{template.name}-{count}p-{words}w"
    dice = random.Random(f"{SEED}:{name}")
    # Two of three with all aspects different: the harder kind, as no two photos are interchangeable.
    aspects = dice.sample(ASPECTS, count) if number % 3 else dice.choices(CAMERA, k=count)
    marked = count // 2 if number % 2 else 0
    photos = tuple(
        GivenPhoto(
            file=f"photo-{n + 1}.jpg",
            sha256=f"{n + 1:064x}",
            pixels=pixels(aspect),
            keep=(keep_box(dice),) if n < marked else (),
            order=n,
        )
        for n, aspect in enumerate(aspects)
    )
    return Instance(
        name=name,
        template=template,
        natural=natural,
        photos=photos,
        words=words,
        title=TITLE if any(e.role == "title" for e in template.elements) else None,
        distinct=len(set(aspects)) == count,
        impossible=IMPOSSIBLE.get(name, ""),
    )


def pixels(aspect: tuple[int, int]) -> tuple[int, int]:
    """Return width and height of a 12-megapixel picture.

    Examples
    --------
    >>> pixels((4, 3))
    (4000, 3000)
    """
    side = math.sqrt(MEGAPIXELS / (aspect[0] * aspect[1]))
    return round(aspect[0] * side), round(aspect[1] * side)


def keep_box(dice: random.Random) -> Box:
    """Return a region of 15 to 30 % of each side, at least 10 % away from the picture's edges."""
    width, height = (round(dice.uniform(0.15, 0.30), 3) for _ in range(2))
    return (
        round(dice.uniform(0.1, 0.9 - width), 3),
        round(dice.uniform(0.1, 0.9 - height), 3),
        width,
        height,
    )
