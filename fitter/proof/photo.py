"""Photos: decoded no larger than needed, cropped as the layout says, laid into their slots.

Enters: a placed element with a photo, and the folder its file name counts from.  Leaves: pixels for a region
of the page with the mask of the slot's shape.  Decides nothing: crop and place come from the layout.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from PIL import Image

from fitter.errors import InputError
from fitter.layout import Placed, PlacedPhoto
from fitter.proof.shapes import Canvas, Region, bounds, clip, coverage, is_level_rect, ring, tilted

Opener = Callable[[Path, tuple[int, int]], Image.Image]
RIM = 2


@dataclass(frozen=True)
class Patch:
    """Pixels for a region of the page; ``mask`` is ``None`` where the region is covered whole."""

    region: Region
    pixels: Image.Image
    mask: Image.Image | None


def open_photo(path: Path, at_least: tuple[int, int]) -> Image.Image:
    """Open a photo as seen, RGB, at least so large if the file is."""
    from fitter.photos import open_seen

    return open_seen(path, at_least=at_least)


def photo_patch(element: Placed, canvas: Canvas, base: Path, opener: Opener = open_photo) -> Patch | None:
    """Return the photo of a slot as page pixels; ``None`` if the slot lies off the page.

    Raises
    ------
    InputError
        When the file is missing, unreadable, or is no longer the picture the layout speaks of.
    """
    photo = element.photo
    if photo is None:
        raise ValueError(f"element {element.id!r} has no photo")
    points = ring(element, canvas)
    level = element.tilt == 0
    whole = canvas.box(element.box) if is_level_rect(element) else bounds(points)
    region = clip(whole, canvas.region)
    if region is None:
        return None
    picture, crop = _decode(element, photo, canvas, base, opener)
    mask = None if is_level_rect(element) else coverage([points], region)
    if level:
        return Patch(region, _level(picture, crop, element, canvas, region), mask)
    return Patch(region, _turned(picture, crop, element, canvas, region), mask)


def _decode(
    element: Placed, photo: PlacedPhoto, canvas: Canvas, base: Path, opener: Opener
) -> tuple[Image.Image, tuple[float, float, float, float]]:
    """Open the photo and return it with its crop in the opened picture's pixels."""
    left, top, right, bottom = photo.crop
    width, height = photo.pixels
    if not (0 <= left < right <= width and 0 <= top < bottom <= height):
        raise InputError(
            f"element {element.id!r}: crop {list(photo.crop)} is not inside the picture's "
            f"{width}×{height} pixels"
        )
    need = (
        min(width, math.ceil(element.size[0] * canvas.scale * width / (right - left))),
        min(height, math.ceil(element.size[1] * canvas.scale * height / (bottom - top))),
    )
    picture = opener(base / photo.file, need)
    if abs(picture.width * height - picture.height * width) > 2 * max(width, height):
        raise InputError(
            f"photo {photo.file!r} is not the picture the layout was made with: its proportions are "
            f"{picture.width}:{picture.height}, wanted {width}:{height}; put the original back or fit "
            "the page again"
        )
    sx, sy = picture.width / width, picture.height / height
    return picture, (left * sx, top * sy, right * sx, bottom * sy)


def _level(
    picture: Image.Image,
    crop: tuple[float, float, float, float],
    element: Placed,
    canvas: Canvas,
    region: Region,
) -> Image.Image:
    """Resample the part of the crop that falls on the region."""
    x0, y0 = canvas.xy(element.box[:2])
    x1, y1 = canvas.xy(element.box[2:])
    kx, ky = (crop[2] - crop[0]) / (x1 - x0), (crop[3] - crop[1]) / (y1 - y0)
    source = (
        crop[0] + (region[0] - x0) * kx,
        crop[1] + (region[1] - y0) * ky,
        crop[0] + (region[2] - x0) * kx,
        crop[1] + (region[3] - y0) * ky,
    )
    return _resample(picture, source, (region[2] - region[0], region[3] - region[1]))


def _turned(
    picture: Image.Image,
    crop: tuple[float, float, float, float],
    element: Placed,
    canvas: Canvas,
    region: Region,
) -> Image.Image:
    """Resample the crop upright, then turn it into place."""
    width, height = element.size[0] * canvas.scale, element.size[1] * canvas.scale
    size = max(1, math.ceil(width)), max(1, math.ceil(height))
    kx, ky = (crop[2] - crop[0]) / width, (crop[3] - crop[1]) / height
    spare_x, spare_y = (size[0] - width) / 2 * kx, (size[1] - height) / 2 * ky
    source = crop[0] - spare_x, crop[1] - spare_y, crop[2] + spare_x, crop[3] + spare_y
    upright = _resample(picture, source, size)
    # A rim of repeated edge pixels keeps the bicubic filter from mixing black into the photo's edge.
    padded = upright.resize((size[0] + 2 * RIM, size[1] + 2 * RIM), Image.Resampling.NEAREST)
    padded.paste(upright, (RIM, RIM))
    return tilted(padded, canvas.xy(element.center), element.tilt, region)


def _resample(
    picture: Image.Image, source: tuple[float, float, float, float], size: tuple[int, int]
) -> Image.Image:
    """Resample a box of the picture, clamped to its edges."""
    left, top = max(0.0, source[0]), max(0.0, source[1])
    right, bottom = min(float(picture.width), source[2]), min(float(picture.height), source[3])
    return picture.resize(size, Image.Resampling.LANCZOS, (left, top, right, bottom), reducing_gap=3.0)
