"""Tiny pages to draw, and a comparison that keeps both pictures when it fails."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from fitter.layout import (
    Costs,
    Fill,
    Given,
    Layout,
    Placed,
    PlacedPhoto,
    Search,
    TemplateRef,
    Transform,
)
from fitter.pages import Page

SHA = "0" * 64


def make_layout(elements: tuple[Placed, ...], page: Page | None = None) -> Layout:
    page = page or Page("2x2in", (50_800, 50_800), bleed=0)
    return Layout(
        page,
        Given(()),
        TemplateRef("tiny", SHA, page.trim),
        Transform(),
        (),
        elements,
        (),
        (),
        (),
        ("paper-1 became a photo.",),
        (),
        Costs(123_456, {"crop-loss": 100_000, "shift": 23_456}),
        Search("proved", 123_456, 0.0, 0, {}, {}),
    )


def make_flat(box: tuple[int, int, int, int], color: str, **more: object) -> Placed:
    """An element without a shadow: a background, flat."""
    left, top, right, bottom = box
    center, size = ((left + right) // 2, (top + bottom) // 2), (right - left, bottom - top)
    fields: dict[str, object] = {"id": "ground", "source": "ground", "role": "background", "shape": "rect"}
    return Placed(**(fields | {"center": center, "size": size, "fill": Fill("flat", color)} | more))  # type: ignore[arg-type]


def make_photo(
    box: tuple[int, int, int, int],
    pixels: tuple[int, int],
    crop: tuple[int, int, int, int],
    file: str = "photo.png",
    **more: object,
) -> Placed:
    """A background photo: no shadow falls on the pixels beside it."""
    return make_flat(box, "#000000", fill=None, photo=PlacedPhoto(file, SHA, pixels, crop, 300), **more)


@pytest.fixture
def layout_of() -> Callable[..., Layout]:
    return make_layout


@pytest.fixture
def flat() -> Callable[..., Placed]:
    return make_flat


@pytest.fixture
def photo_at() -> Callable[..., Placed]:
    return make_photo


@pytest.fixture
def ramp(tmp_path: Path) -> Path:
    """A 200×150 picture whose red grows by one a column and whose green grows by one a row."""
    y, x = np.mgrid[0:150, 0:200]
    Image.fromarray(np.dstack([x, y, np.full_like(x, 90)]).astype(np.uint8)).save(tmp_path / "photo.png")
    return tmp_path


@pytest.fixture
def same_picture(tmp_path: Path) -> Callable[..., None]:
    """Assert that two pictures agree within a tolerance a channel; both are kept when they do not."""

    def compare(actual: Image.Image, wanted: Image.Image, tolerance: int = 0) -> None:
        assert actual.size == wanted.size
        difference = np.abs(np.asarray(actual, dtype=int) - np.asarray(wanted, dtype=int))
        if difference.max(initial=0) > tolerance:
            actual.save(tmp_path / "actual.png")
            wanted.save(tmp_path / "wanted.png")
            where = np.argwhere(difference.max(axis=-1) > tolerance)[0]
            pytest.fail(f"pictures differ by {difference.max()} first at row, column {where}; see {tmp_path}")

    return compare
