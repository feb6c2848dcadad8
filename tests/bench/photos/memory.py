"""Memory over many different photos: a thousand JPEGs, each cut, mirrored and scaled anew out of the photographs."""

from __future__ import annotations

import random
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path

from PIL import Image, ImageOps

from fitter.cache import Cache
from fitter.noticed import notice
from fitter.photos import Photo, read_photo
from fitter.seeing.look import Looker

COUNT, EVERY = 1000, 100
SIDE = 2000
"""Pixels of the longer side."""


def measure(pictures: Sequence[Path]) -> Iterator[tuple[int, float]]:
    """Read and look at many photos as the program does, keeping what it keeps; yield the count and resident MB.

    The cache is on, and new; every file is deleted once it was looked at.
    """
    dice, kept = random.Random(1000), list[Photo]()
    with tempfile.TemporaryDirectory() as folder, Cache(Path(folder) / "cache") as cache:
        looker = Looker(cache)
        for number in range(1, COUNT + 1):
            path = Path(folder) / f"{number}.jpg"
            _another(dice, pictures[number % len(pictures)]).save(path, quality=90)
            kept += notice([read_photo(path, cache=cache)], looker)
            path.unlink()
            if number % EVERY == 0:
                yield number, _resident()
    assert len({photo.sha256 for photo in kept}) == COUNT


def _another(dice: random.Random, path: Path) -> Image.Image:
    """Return a part of a picture, at least four fifths of each side, as large as all of them."""
    with Image.open(path) as whole:
        picture = whole.convert("RGB")
    width, height = (round(side * dice.uniform(0.8, 1.0)) for side in picture.size)
    left, top = dice.randint(0, picture.width - width), dice.randint(0, picture.height - height)
    part = picture.crop((left, top, left + width, top + height))
    scale = SIDE / max(part.size)
    part = part.resize((max(1, round(part.width * scale)), max(1, round(part.height * scale))))
    return ImageOps.mirror(part) if dice.random() < 0.5 else part


def _resident() -> float:
    """Return the resident memory of this process in MB (10⁶ bytes); Linux only."""
    pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
    return pages * 4096 / 1e6
