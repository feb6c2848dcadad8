"""Pictures drawn for tests; no photograph of anybody is needed."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFilter


def person(size: tuple[int, int] = (640, 480), middle: tuple[int, int] = (200, 200), radius: int = 50) -> Image.Image:
    """Return a head with shoulders on a plain ground, plain enough to draw and good enough to be found."""
    picture = Image.new("RGB", size, (120, 150, 180))
    draw = ImageDraw.Draw(picture)
    (x, y), r = middle, radius

    def oval(dx: float, top: float, bottom: float, half: float, fill: tuple[int, int, int]) -> None:
        draw.ellipse((x + (dx - half) * r, y + top * r, x + (dx + half) * r, y + bottom * r), fill=fill)

    draw.rectangle((x - 1.3 * r, y + 1.25 * r, x + 1.3 * r, y + 3.5 * r), fill=(60, 70, 110))
    draw.rectangle((x - 0.35 * r, y + 0.8 * r, x + 0.35 * r, y + 1.6 * r), fill=(200, 150, 125))
    oval(0, -1.35, 0.9, 0.95, (60, 40, 30))
    oval(0, -1.05, 1.15, 0.78, (224, 178, 150))
    for side in (-0.33, 0.33):
        oval(side, -0.2, 0.0, 0.2, (250, 250, 250))
        oval(side, -0.19, -0.01, 0.09, (40, 30, 30))
        brow = (x + (side - 0.27) * r, y - 0.45 * r, x + (side + 0.27) * r, y)
        draw.arc(brow, 200, 340, fill=(60, 40, 30), width=max(2, int(0.07 * r)))
    draw.polygon([(x, y), (x - 0.13 * r, y + 0.4 * r), (x + 0.13 * r, y + 0.4 * r)], fill=(205, 155, 128))
    oval(0, 0.56, 0.76, 0.32, (175, 80, 80))
    return picture.filter(ImageFilter.GaussianBlur(r / 30))


def speckled(shape: tuple[int, int], seed: int = 7) -> NDArray[np.uint8]:
    """Return RGB noise, detail that is sharp everywhere."""
    return np.random.default_rng(seed).integers(0, 256, (*shape, 3), np.uint8)
