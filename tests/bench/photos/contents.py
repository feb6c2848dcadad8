"""From photographs to what the page benchmark's photos show: their maps and faces, cut to its proportions."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np

from fitter.crops import window_size
from fitter.photos import Photo
from fitter.seeing.importance import GRID_SIDE, GRID_TOTAL, whole
from fitter.seeing.look import Seen
from fitter.seeing.saliency import resampled
from tests.bench.photos.pages import on_a_page

EACH = 2
"""Photographs with faces, and as many without, for each of the proportions."""
_LEAST = 0.45
"""Share of a photograph that must be left by cutting it."""


def write(
    path: Path, photos: Mapping[str, Photo], seen: Mapping[str, Seen], shapes: tuple[tuple[int, int], ...]
) -> None:
    """Write what photographs show, cut to shapes where each keeps most; which, is drawn by the hash of their names."""
    made = []
    for shape in shapes:
        ranked = sorted(photos, key=lambda name: hashlib.sha256(f"{shape} {name}".encode()).digest())
        cut = [_cut(photos[name], seen[name], shape) for name in ranked]
        for there in (True, False):
            made += [entry for entry in cut if entry is not None and bool(entry["faces"]) == there][:EACH]
    lines = ",\n".join(json.dumps(entry, separators=(",", ":")) for entry in made)
    path.write_text(f"[\n{lines}\n]\n", encoding="utf-8")


def _cut(photo: Photo, seen: Seen, shape: tuple[int, int]) -> dict[str, Any] | None:
    """Return what the best window of a shape shows; ``None`` if it is too small a part of the photograph."""
    size = window_size(photo.pixels, shape)
    if size[0] * size[1] < _LEAST * photo.pixels[0] * photo.pixels[1]:
        return None
    window = on_a_page(photo, seen.grid(), shape, (*seen.detected, *seen.parts))
    x0, y0, x1, y1 = (place / photo.pixels[n % 2] for n, place in enumerate(window))
    rows, columns = seen.scene.shape
    part = seen.scene[round(y0 * rows) : round(y1 * rows), round(x0 * columns) : round(x1 * columns)]
    scale = GRID_SIDE / max(shape)
    cells = max(1, round(shape[1] * scale)), max(1, round(shape[0] * scale))
    scene = whole(resampled(part.astype(np.float64), cells), GRID_TOTAL)
    faces = []
    for face in seen.faces:
        x, y, w, h = face.box
        if x >= x0 and y >= y0 and x + w <= x1 and y + h <= y1:
            box = ((x - x0) / (x1 - x0), (y - y0) / (y1 - y0), w / (x1 - x0), h / (y1 - y0))
            faces.append([*(round(value, 4) for value in box), face.score])
    return {"shape": list(shape), "scene": scene.tolist(), "faces": faces}
