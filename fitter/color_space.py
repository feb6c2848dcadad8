"""Colour arithmetic: sRGB, OKLCH and the contrast of two colours.  Pure, standard library only.

OKLCH is the polar form of Oklab (B. Ottosson, *A perceptual color space for image processing*, 2020):
lightness 0…1, chroma 0…about 0.3, hue in degrees.  Contrast follows WCAG 2.2 (W3C, 2023): relative
luminance and (lighter + 0.05)/(darker + 0.05).
"""

from __future__ import annotations

import math

RGB = tuple[int, int, int]
LCH = tuple[float, float, float]

TO_CONE = (
    (0.4122214708, 0.5363325363, 0.0514459929),
    (0.2119034982, 0.6806995451, 0.1073969566),
    (0.0883024619, 0.2817188376, 0.6299787005),
)
"""Oklab's first matrix: linear sRGB to cone responses."""
TO_LAB = (
    (0.2104542553, 0.7936177850, -0.0040720468),
    (1.9779984951, -2.4285922050, 0.4505937099),
    (0.0259040371, 0.7827717662, -0.8086757660),
)
"""Oklab's second matrix: cube roots of cone responses to lightness, green–red and blue–yellow."""


def rgb(color: str) -> RGB:
    """Return ``#rrggbb`` as three numbers 0…255."""
    return int(color[1:3], 16), int(color[3:5], 16), int(color[5:7], 16)


def _linear(channel: float) -> float:
    """Undo the sRGB transfer curve (IEC 61966-2-1) of a channel 0…1."""
    return channel / 12.92 if channel <= 0.04045 else ((channel + 0.055) / 1.055) ** 2.4


def _encoded(light: float) -> float:
    """Apply the sRGB transfer curve to linear light 0…1."""
    return 12.92 * light if light <= 0.0031308 else 1.055 * light ** (1 / 2.4) - 0.055


def luminance(color: str) -> float:
    """Return the relative luminance of ``#rrggbb``, 0 (black) to 1 (white), by WCAG 2.2."""
    r, g, b = (_linear(channel / 255) for channel in rgb(color))
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(first: str, second: str) -> float:
    """Return the WCAG 2.2 contrast ratio of two colours, 1 to 21.

    Examples
    --------
    >>> round(contrast("#000000", "#ffffff"), 3)
    21.0
    """
    a, b = luminance(first), luminance(second)
    return (max(a, b) + 0.05) / (min(a, b) + 0.05)


def to_oklch(color: str) -> LCH:
    """Return lightness, chroma and hue (degrees) of ``#rrggbb`` (Ottosson 2020)."""
    r, g, b = (_linear(channel / 255) for channel in rgb(color))
    cones = [math.cbrt(x * r + y * g + z * b) for x, y, z in TO_CONE]
    lightness, a, b_ = (sum(k * cone for k, cone in zip(row, cones, strict=True)) for row in TO_LAB)
    return lightness, math.hypot(a, b_), math.degrees(math.atan2(b_, a)) % 360


def from_oklch(lightness: float, chroma: float, hue: float) -> str:
    """Return the sRGB colour; chroma is lowered until the colour exists (Ottosson 2020)."""
    low, high = 0.0, chroma
    if (found := _in_gamut(lightness, high, hue)) is not None:
        return found
    for _ in range(16):
        middle = (low + high) / 2
        low, high = (middle, high) if _in_gamut(lightness, middle, hue) is not None else (low, middle)
    return _in_gamut(lightness, low, hue) or ("#ffffff" if lightness > 0.5 else "#000000")


def _in_gamut(lightness: float, chroma: float, hue: float) -> str | None:
    a, b = chroma * math.cos(math.radians(hue)), chroma * math.sin(math.radians(hue))
    long = (lightness + 0.3963377774 * a + 0.2158037573 * b) ** 3
    medium = (lightness - 0.1055613458 * a - 0.0638541728 * b) ** 3
    short = (lightness - 0.0894841775 * a - 1.2914855480 * b) ** 3
    light = (
        4.0767416621 * long - 3.3077115913 * medium + 0.2309699292 * short,
        -1.2684380046 * long + 2.6097574011 * medium - 0.3413193965 * short,
        -0.0041960863 * long - 0.7034186147 * medium + 1.7076147010 * short,
    )
    if any(channel < -1e-4 or channel > 1 + 1e-4 for channel in light):
        return None
    return "#" + "".join(f"{round(255 * _encoded(min(1.0, max(0.0, channel)))):02x}" for channel in light)
