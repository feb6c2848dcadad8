"""What is measured: starters, drawings from seeds and tiny pages, with photos from a seeded generator.

* ``starter`` – every starter template × photo counts × words, on its own size;
* ``tiers`` … ``rich`` – drawings of :mod:`tests.bench.generator`, on their own size and refitted to four others;
* ``tiny`` – pages small enough to be enumerated, with few freedoms on.

On request every page but the tiny ones has a twin whose photos show something (:mod:`tests.bench.contents`).
"""

from __future__ import annotations

import math
import random
from dataclasses import dataclass, replace
from pathlib import Path

from fitter.layout import Box, Given, GivenPhoto
from fitter.pages import Page, parse_page_size
from fitter.photos import given
from fitter.starters import starter_names
from fitter.template import Template
from fitter.template_reader import read_template
from fitter.words import given_count
from tests.bench.contents import with_content
from tests.bench.generator import drawing, kind_of
from tests.proofs import fitting
from tests.proofs.tiny import FAMILIES, drawn, taken

SEED = 2026
MEGAPIXELS = 12_000_000
ASPECTS = ((4, 3), (3, 2), (2, 3), (1, 1), (3, 4), (16, 9), (5, 4), (2, 1), (4, 5), (9, 16))
MORE_ASPECTS = (*ASPECTS, (7, 5), (5, 7))
CAMERA = ((3, 2), (3, 2), (2, 3), (4, 3), (4, 3), (3, 4), (1, 1))
"""What one camera and one phone bring home: few aspects, often repeated."""
WORDS = (0, 60, 150)
FEWEST, MOST = 1, 8
TITLE = "A summer at Marrow Lake"
DRAWINGS = 60
FEWEST_DRAWN, MOST_DRAWN = 2, 12
MORE_PHOTOS = {"clusters": (1, 2, 3, 4), "rich": (0, 1, 2, 3)}
"""Photos beyond the slots of a drawing, by its kind; others have from one less to one more."""
REFITS = (None, "12x12in", "8.5x11in", "a4-landscape", "20x20cm")
"""Pages that drawings go to; ``None`` is the drawing's own size."""
DRAWN_WORDS = (0, 40, 80, 150, 250, 400)
WORDS_PER_INCH = 12
"""Words that go onto a square inch of a card without crowding it."""
TINY = tuple(name for name, family in FAMILIES.items() if not family.options)
QUICK_STEPS = {"starter": 13, "drawn": 5, "tiny": 6}

SEEN = "-seen"
"""What the name of a twin ends with."""

IMPOSSIBLE = {
    "tiny-importance-divided": "three photos of 2.2:1, 1:2.4 and 1:1 in one slot; no division shows 30 % of each",
}
"""Instances for which no page can exist, by name, with the reason.  Finding none elsewhere is a failure."""


@dataclass(frozen=True)
class Instance:
    """One page to fit.

    Parameters
    ----------
    name
        The photos follow from it and :data:`SEED`.
    group
        ``starter``, a kind of drawing, or ``tiny``.
    natural
        Photo slots of the template.
    distinct
        Whether no two photos have the same aspect.
    without
        Freedoms switched off.
    impossible
        Why no page can exist; empty when one should.
    """

    name: str
    group: str
    template: Template
    page: Page
    natural: int
    photos: tuple[GivenPhoto, ...]
    words: int
    title: str | None
    distinct: bool
    without: frozenset[str] = frozenset()
    impossible: str = ""

    @property
    def given(self) -> Given:
        """What the page is asked for."""
        texts = (given_count(self.words),) if self.words else ()
        return Given(photos=self.photos, texts=texts, title=self.title, without=tuple(sorted(self.without)))

    @property
    def refitted(self) -> bool:
        """Whether the page has another size than the drawing."""
        return self.page.trim != self.template.size

    @property
    def seen(self) -> bool:
        """Whether its photos show something."""
        return self.name.endswith(SEEN)


def instances(folder: Path, *, quick: bool = False, twins: bool = False) -> list[Instance]:
    """Return all instances in a fixed order, or a selection with few and many photos.

    Parameters
    ----------
    folder
        Where the drawings are written, to be read from there like anybody's.
    twins
        Whether each but the tiny ones is followed by its twin, whose photos show something.
    """
    folder.mkdir(parents=True, exist_ok=True)
    parts = {"starter": _starters(), "drawn": _drawings(folder), "tiny": _tiny()}
    chosen = [i for kind, part in parts.items() for i in (_every(part, QUICK_STEPS[kind]) if quick else part)]
    if not twins:
        return chosen
    return [one for i in chosen for one in ((i,) if i.group == "tiny" else (i, _twin(i)))]


def _twin(instance: Instance) -> Instance:
    """Return the same page with photos that show something."""
    dice = random.Random(f"{SEED}:{instance.name}{SEEN}")
    return replace(instance, name=instance.name + SEEN, photos=with_content(instance.photos, dice))


def _every(part: list[Instance], step: int) -> list[Instance]:
    """Return every so manieth instance by photo count, in the order given."""
    ranked = sorted(range(len(part)), key=lambda n: (len(part[n].photos), n))
    return [part[n] for n in sorted(ranked[step // 2 :: step])]


def _starters() -> list[Instance]:
    made: list[Instance] = []
    for name in starter_names():
        template = read_template(name)
        natural = _natural(template)
        for count in range(max(FEWEST, natural - 1), min(MOST, natural + 1) + 1):
            for words in WORDS:
                label = f"{template.name}-{count}p-{words}w"
                made.append(_instance(label, "starter", template, None, count, words, len(made)))
    return made


def _drawings(folder: Path) -> list[Instance]:
    made = []
    for number in range(DRAWINGS):
        path = folder / f"drawing-{number:02}.svg"
        path.write_text(drawing(number), encoding="utf-8")
        template, kind = read_template(path), kind_of(number)
        dice = random.Random(f"{SEED}: drawing {number}")
        more = dice.choice(MORE_PHOTOS.get(kind, (-1, 0, 0, 1)))
        count = min(MOST_DRAWN, max(FEWEST_DRAWN, _natural(template) + more))
        # Five kinds and five sizes in step would always meet in the same pairs.
        page = REFITS[(number + number // len(REFITS)) % len(REFITS)]
        words = _words(template, dice)
        name = f"{kind}-{number:02}-{page or 'own'}-{count}p-{words}w"
        made.append(_instance(name, kind, template, page, count, words, number))
    return made


def _words(template: Template, dice: random.Random) -> int:
    """Return how many words: none, or what one of the cards takes, most often the most."""
    cards = [e.size[0] * e.size[1] for e in template.elements if e.role == "journaling"]
    if not cards or dice.random() < 0.2:
        return dice.choice(DRAWN_WORDS[:2])
    room = WORDS_PER_INCH * max(cards) / fitting.INCH**2
    could = [words for words in DRAWN_WORDS if 0 < words <= room] or [DRAWN_WORDS[1]]
    return dice.choice(could[-2:])


def _tiny() -> list[Instance]:
    made = []
    for name in TINY:
        dice = random.Random(f"{SEED}: {name}")
        family = FAMILIES[name]
        template, photos = drawn(dice, family), given(tuple(taken(dice, family)))
        label = f"tiny-{name.replace(', ', '-').replace(' ', '-')}"
        made.append(
            Instance(
                name=label,
                group="tiny",
                template=template,
                page=Page("template", template.size),
                natural=_natural(template),
                photos=photos,
                words=0,
                title=None,
                distinct=len({photo.pixels[0] / photo.pixels[1] for photo in photos}) == len(photos),
                without=fitting.only(*family.allow),
                impossible=IMPOSSIBLE.get(label, ""),
            )
        )
    return made


def _natural(template: Template) -> int:
    return sum(e.role == "photo" for e in template.elements)


def _instance(
    name: str, group: str, template: Template, page: str | None, count: int, words: int, number: int
) -> Instance:
    dice = random.Random(f"{SEED}:{name}")
    # Two of three with all aspects different: the harder kind, as no two photos are interchangeable.
    aspects = (
        dice.sample(ASPECTS if count <= len(ASPECTS) else MORE_ASPECTS, count)
        if number % 3
        else dice.choices(CAMERA, k=count)
    )
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
        group=group,
        template=template,
        page=Page("template", template.size) if page is None else Page(*parse_page_size(page)),
        natural=_natural(template),
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
