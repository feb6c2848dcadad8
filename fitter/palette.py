"""Colours for a page, taken from the photos' own hues.

Enters: the photos, small.  Leaves: a :class:`Palette`, which :mod:`fitter.painting` lays on the page.  Pure and the
same every time.

Colours are chosen in OKLCH and judged by WCAG contrast, see :mod:`fitter.color_space`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from fitter.color_space import TO_CONE, TO_LAB, contrast, from_oklch

if TYPE_CHECKING:
    from PIL import Image

READABLE = 4.5
"""Least contrast of text to its ground (rule R2; WCAG 2.2, success criterion 1.4.3)."""
COMFORTABLE = 7.0
"""Contrast aimed at for journaling (WCAG 2.2, success criterion 1.4.6)."""
UNPRINTED = "#ffffff"
"""The page where nothing lies on it."""

_BINS = 36
_GREY = 0.025
"""Below this chroma a pixel has no hue worth counting."""
_NEUTRAL_SHARE = 0.02
"""Below this mean chroma the photos count as grey."""
_SAMPLE = 48
_APART = 55.0
"""Degrees from which two hues read as two colours."""
_MUDDY = (64.0, 118.0)
"""Hues from ochre to yellow, which darken to mud; ochre stands for them in the accent."""
_WARM = 75.0
"""Hue of paper and linen, for photos without a colour of their own."""


@dataclass(frozen=True)
class PhotoColour:
    """A hue that occurs in the photos.

    ``hue`` in degrees, ``lightness`` and ``chroma`` in Oklab units (means over the pixels of that hue),
    ``share`` its part of all coloured pixels, weighted by chroma, 0…1.
    """

    hue: float
    lightness: float
    chroma: float
    share: float


@dataclass(frozen=True)
class Palette:
    """The colours of one page as ``#rrggbb``.

    Parameters
    ----------
    ground
        Backgrounds: the palest tint.
    papers
        Pale tints in harmony, palest first.
    mat
        Near white.
    accent, accent_dark
        The one strong colour, and its darker form for titles.
    accent_soft
        A middle tint of the accent, where the full one would be too much.
    accent_pale
        A pale one, for broad bands.
    ink
        Text, at least 7:1 on every paper, ground, mat and card.
    card
        Journaling cards.
    """

    ground: str
    papers: tuple[str, ...]
    mat: str
    accent: str
    accent_dark: str
    accent_soft: str
    accent_pale: str
    ink: str
    card: str


# --- from photos to a palette -------------------------------------------------------------------------------


def photo_hues(images: Iterable[Image.Image]) -> tuple[PhotoColour, ...]:
    """Return the hues of some pictures, strongest first; empty when they are grey.

    Every picture counts the same, whatever its size; pixels weigh by their chroma.

    Parameters
    ----------
    images
        RGB pictures; small ones do.
    """
    import numpy as np

    bins = np.zeros((_BINS, 3))
    mass = 0.0
    for image in images:
        pixels = (
            np.asarray(image.convert("RGB").resize((_SAMPLE, _SAMPLE)), dtype=np.float64).reshape(-1, 3) / 255
        )
        light = np.where(pixels <= 0.04045, pixels / 12.92, ((pixels + 0.055) / 1.055) ** 2.4)
        cone = np.cbrt(light @ np.array(TO_CONE).T) @ np.array(TO_LAB).T
        chroma = np.hypot(cone[:, 1], cone[:, 2])
        # Near black and near white a hue is mostly noise.
        weight = np.where((chroma > _GREY) & (cone[:, 0] > 0.2) & (cone[:, 0] < 0.97), chroma, 0.0)
        index = (np.degrees(np.arctan2(cone[:, 2], cone[:, 1])) % 360 / (360 / _BINS)).astype(int) % _BINS
        for column, values in enumerate((weight, weight * cone[:, 0], weight * chroma)):
            bins[:, column] += np.bincount(index, values, _BINS) / len(pixels)
        mass += 1
    if mass == 0 or bins[:, 0].sum() / mass < _NEUTRAL_SHARE:
        return ()
    return _peaks([(float(w), float(wl), float(wc)) for w, wl, wc in bins])


def _peaks(bins: Sequence[tuple[float, float, float]]) -> tuple[PhotoColour, ...]:
    """Gather a hue histogram's bins around its local maxima."""
    total = sum(weight for weight, _, _ in bins)
    smooth = [bins[i][0] + 0.5 * (bins[i - 1][0] + bins[(i + 1) % _BINS][0]) for i in range(_BINS)]
    found: list[PhotoColour] = []
    for i in sorted(range(_BINS), key=lambda i: (-smooth[i], i)):
        hue = (i + 0.5) * 360 / _BINS
        if smooth[i] <= 0.02 * total or any(_between(hue, other.hue) < 35 for other in found):
            continue
        near = [bins[(i + step) % _BINS] for step in (-1, 0, 1)]
        weight = sum(w for w, _, _ in near)
        found.append(
            PhotoColour(
                hue, sum(x for _, x, _ in near) / weight, sum(x for _, _, x in near) / weight, weight / total
            )
        )
    return tuple(found)


def _between(first: float, second: float) -> float:
    """Return the angle between two hues, 0…180 degrees."""
    return abs((first - second + 180) % 360 - 180)


def choose_palette(photo_colours: Sequence[PhotoColour]) -> Palette:
    """Choose a page's colours.

    Papers take the leading hue and its neighbours, pale and low in chroma; the accent is the strongest hue
    of the photos that reads as another colour, else the leading hue's complement leaning to warm.  Grey
    photos get linen papers and a slate accent.

    Parameters
    ----------
    photo_colours
        From :func:`photo_hues`; may be empty.
    """
    if not photo_colours:
        return _palette(_WARM, 0.35, 250.0, 0.045)
    lead = photo_colours[0]
    others = [c for c in photo_colours[1:] if _between(c.hue, lead.hue) >= _APART and c.share >= 0.04]
    if others:
        best = max(others, key=lambda c: (c.chroma * math.sqrt(c.share), -c.hue))
        accent, strength = best.hue, best.chroma
    else:
        accent, strength = _complement(lead.hue), lead.chroma
    return _palette(
        lead.hue, min(1.0, 0.45 + lead.chroma * 4), accent, min(0.115, max(0.075, strength * 0.9))
    )


def _complement(hue: float) -> float:
    """Return the hue across the circle, leaning up to 30 degrees to terracotta unless it is cool."""
    opposite = (hue + 180) % 360
    away = (45.0 - opposite + 180) % 360 - 180
    if abs(away) > 100:
        return opposite
    return (opposite + max(-30.0, min(30.0, away))) % 360


def _palette(hue: float, colour: float, accent: float, strength: float) -> Palette:
    """Build the palette from the papers' hue and amount of colour, and the accent's hue and chroma."""
    papers = (
        from_oklch(0.945, 0.016 * colour, hue),
        from_oklch(0.925, 0.022 * colour, accent),
        from_oklch(0.905, 0.030 * colour, hue),
        from_oklch(0.880, 0.034 * colour, (hue + 24) % 360),
    )
    ground = from_oklch(0.968, 0.009 * colour, hue)
    mat = from_oklch(0.988, 0.004, _WARM)
    card = from_oklch(0.976, 0.011, _WARM)
    pale = (ground, *papers, mat, card)
    full = _darken(0.58, strength, accent, (mat,), 3.0)
    dark = _darken(0.44, strength, accent, pale, READABLE)
    soft = from_oklch(0.76, strength * 0.55, accent)
    band = from_oklch(0.87, strength * 0.32, accent)
    ink = _darken(0.33, 0.025 * min(1.0, colour + 0.2), hue, pale, COMFORTABLE)
    return Palette(ground, papers, mat, full, dark, soft, band, ink, card)


def _darken(lightness: float, chroma: float, hue: float, grounds: Sequence[str], least: float) -> str:
    """Return the colour, darkened by steps until its contrast to every ground is at least ``least``."""
    while lightness > 0:
        color = from_oklch(lightness, chroma, hue)
        if min(contrast(color, ground) for ground in grounds) >= least:
            return color
        lightness -= 0.01
    return "#000000"


def readable(ground: str, wished: Sequence[str], least: float = READABLE) -> str:
    """Return the first wished colour that reads well on a ground, else the better of black and white."""
    for color in wished:
        if contrast(color, ground) >= least:
            return color
    return max(("#000000", "#ffffff"), key=lambda color: contrast(color, ground))
