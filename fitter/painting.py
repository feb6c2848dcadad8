"""Step 4, paint: from a page's palette to the fill of every element and the colour of every text."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from fitter.color_space import from_oklch, to_oklch
from fitter.layout import Fill, Placed
from fitter.palette import UNPRINTED, Palette, readable
from fitter.template import STRIP_RATIO

PAPER_PATTERNS: tuple[str, ...] = ("dots", "grid", "stripes", "crosses", "lines")
ROUND_MOTIFS: tuple[str, ...] = ("rosette", "rings")
OPEN_MOTIFS: tuple[str, ...] = ("star", "rays")
LONG_MOTIF = "sprig"
OUTLINE_MOTIF = "facet"
_STRONG_ACCENTS = 3
_BROAD = 25_400
"""A strip broader than an inch is a band, micrometres."""
_PATTERN_STEP = 0.028
"""How much darker than its paper a pattern is printed, in Oklab lightness."""


def paint(elements: Sequence[Placed], palette: Palette, seed: int = 0) -> tuple[Placed, ...]:
    """Give every element without a photo its fill, and every text its colour.

    Parameters
    ----------
    elements
        Bottom to top.
    palette
        The page's colours.
    seed
        Which of the equally good choices (order of tints, patterns and motifs) is taken.

    Returns
    -------
    tuple of Placed
        The same elements in the same order.  Every text has a contrast of at least 4.5:1 to its
        element's fill.
    """
    done: list[Placed] = []
    state = _Painting(palette, seed, _under_titles(elements))
    for element in elements:
        if element.photo is not None:
            done.append(element)
            continue
        fill = state.fill(element, done)
        text = element.text
        if text is not None:
            wished = [palette.accent_dark, palette.ink] if element.role == "title" else [palette.ink]
            text = replace(text, color=readable(fill.color, [*wished, palette.mat]))
        done.append(replace(element, fill=fill, text=text))
    return tuple(done)


class _Painting:
    """What has been used so far on one page."""

    def __init__(self, palette: Palette, seed: int, plain: frozenset[str]) -> None:
        self.palette = palette
        self.plain = plain
        self.seed = seed
        self.papers = 0
        self.backgrounds = 0
        self.accents = 0
        self.motifs: dict[tuple[str, ...], str] = {}
        self.mat: str | None = None

    def fill(self, element: Placed, below: Sequence[Placed]) -> Fill:
        if element.role == "background":
            return self._background()
        if element.role == "title":
            return Fill("flat", self._ground_of(element, below))
        if element.role == "journaling":
            return Fill("flat", self.palette.card)
        if element.role == "ribbon":
            return Fill("pattern", self._accent(), self.palette.mat, "stitch")
        if element.role == "embellishment":
            return self._embellishment(element)
        if element.tie == "mat":
            return Fill("flat", self._mat(element, below))
        if max(element.size) >= STRIP_RATIO * min(element.size):
            return self._strip(element)
        return self._paper(element, below)

    def _background(self) -> Fill:
        self.backgrounds += 1
        if self.backgrounds == 1:
            return Fill("flat", self.palette.ground)
        return Fill("flat", self.palette.papers[0])

    def _accent(self) -> str:
        """Use the accent about three times, then its softer tint."""
        self.accents += 1
        return self.palette.accent if self.accents <= _STRONG_ACCENTS else self.palette.accent_soft

    def _strip(self, element: Placed) -> Fill:
        """Take the accent for a narrow strip; a broad band of it would outshout the photos."""
        if min(element.size) <= _BROAD:
            return Fill("flat", self._accent())
        if element.id in self.plain:
            return Fill("flat", self.palette.accent_pale)
        lightness, chroma, hue = to_oklch(self.palette.accent_pale)
        return Fill("pattern", self.palette.accent_pale, from_oklch(lightness - 0.03, chroma, hue), "stripes")

    def _mat(self, element: Placed, below: Sequence[Placed]) -> str:
        """All mats of a page alike: near white, or a pale tint where the first lies on bare white.

        A mat on another mat takes a tint, so that both can be told apart.
        """
        ground = self._ground_of(element, below)
        if self.mat is None:
            self.mat = self.palette.ground if ground == UNPRINTED else self.palette.mat
        return self.palette.papers[1] if ground == self.mat else self.mat

    def _paper(self, element: Placed, below: Sequence[Placed]) -> Fill:
        """Take the tint least like those it touches; every second paper is patterned."""
        palette = self.palette
        touching = [
            f.fill.color for f in below if f.fill is not None and f.photo is None and _touch(f, element)
        ]
        count = len(palette.papers)
        order = [(self.papers + self.seed + i) % count for i in range(count)]
        chosen = max(
            order,
            key=lambda i: (
                min((_apart(palette.papers[i], other) for other in touching), default=0.0) >= 0.015,
                -order.index(i),
            ),
        )
        number = self.papers
        self.papers += 1
        color = palette.papers[chosen]
        if number % 2 == 0 or element.id in self.plain:
            return Fill("flat", color)
        lightness, chroma, hue = to_oklch(color)
        motif = PAPER_PATTERNS[(number // 2 + self.seed) % len(PAPER_PATTERNS)]
        return Fill("pattern", color, from_oklch(lightness - _PATTERN_STEP, chroma * 1.25, hue), motif)

    def _embellishment(self, element: Placed) -> Fill:
        """One motif per kind of shape on a page, in the accent."""
        width, height = element.size
        if element.shape == "path":
            return Fill("motif", self.palette.mat, self.palette.accent, OUTLINE_MOTIF)
        if element.shape == "ellipse":
            kinds = ROUND_MOTIFS
        elif 1.25 * width <= height < 3 * width:
            kinds = (LONG_MOTIF,)
        else:
            kinds = OPEN_MOTIFS
        motif = self.motifs.setdefault(kinds, kinds[(len(self.motifs) + self.seed) % len(kinds)])
        return Fill("motif", self.palette.mat, self.palette.accent, motif)

    def _ground_of(self, element: Placed, below: Sequence[Placed]) -> str:
        """Return the colour of the topmost element holding this one's centre, white if there is none."""
        for other in reversed(below):
            if _holds(other, element.center):
                return (
                    self.palette.card if other.photo is not None or other.fill is None else other.fill.color
                )
        return UNPRINTED


def _under_titles(elements: Sequence[Placed]) -> frozenset[str]:
    """Return the papers a title lies on: they stay plain, as its spot takes their colour and would cut a pattern."""
    found = set()
    for number, title in enumerate(elements):
        if title.role == "title":
            under = next((e for e in reversed(elements[:number]) if _holds(e, title.center)), None)
            found |= {under.id} if under is not None and under.photo is None else set()
    return frozenset(found)


def _apart(first: str, second: str) -> float:
    """Return the Oklab distance of two colours."""
    (l1, c1, h1), (l2, c2, h2) = to_oklch(first), to_oklch(second)
    a1, b1 = c1 * math.cos(math.radians(h1)), c1 * math.sin(math.radians(h1))
    a2, b2 = c2 * math.cos(math.radians(h2)), c2 * math.sin(math.radians(h2))
    return math.sqrt((l1 - l2) ** 2 + (a1 - a2) ** 2 + (b1 - b2) ** 2)


def _touch(first: Placed, second: Placed) -> bool:
    a, b = first.box, second.box
    return a[0] < b[2] and b[0] < a[2] and a[1] < b[3] and b[1] < a[3]


def _holds(element: Placed, point: tuple[int, int]) -> bool:
    """Whether the element's box, turned with it, holds a point."""
    dx, dy = point[0] - element.center[0], point[1] - element.center[1]
    angle = math.radians(-element.tilt)
    x, y = dx * math.cos(angle) - dy * math.sin(angle), dx * math.sin(angle) + dy * math.cos(angle)
    return abs(x) <= element.size[0] / 2 and abs(y) <= element.size[1] / 2
