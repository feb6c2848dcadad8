"""A desk to run commands at: a template, a photo, and a canned page in place of fitting.

``tests/integration`` runs the real thing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from fitter.cli import run
from fitter.layout import (
    Costs,
    Given,
    GivenPhoto,
    Layout,
    Placed,
    PlacedPhoto,
    Search,
    TemplateRef,
    Transform,
)
from fitter.pages import Page
from fitter.photos import Photo
from fitter.template import Element
from fitter.units import INCH

PAGE = Page(name="4x4in", trim=(4 * INCH, 4 * INCH))
TEMPLATE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="4in" viewBox="0 0 4 4">'
    '<rect id="photo-1" x="1" y="1" width="2" height="2"/></svg>'
)


@dataclass(frozen=True)
class CannedResult:
    layouts: tuple[Layout, ...] = ()
    reasons: tuple[str, ...] = ()
    interrupted: bool = False
    stats: dict[str, Any] = field(default_factory=dict)
    notices: tuple[str, ...] = ()


def page_of(photo: Photo, cost: int = 100_000, status: Any = "proved") -> Layout:
    """A page of one photo, 2 in square, its picture twice as wide as its slot."""
    width, height = photo.pixels
    spot = Element("photo-1", "photo", "rect", (2 * INCH, 2 * INCH), (2 * INCH, 2 * INCH))
    crop = (width // 4, 0, width // 4 + height, height)
    placed = PlacedPhoto(photo.file, photo.sha256, photo.pixels, crop, height // 2)
    return Layout(
        page=PAGE,
        given=Given(photos=(GivenPhoto(photo.file, photo.sha256, photo.pixels, importance=((1, 4, 4, 1),)),)),
        template=TemplateRef("little", "0" * 64, PAGE.trim, None),
        transform=Transform(),
        reference=(spot,),
        elements=(Placed("photo-1", "photo-1", "photo", "rect", spot.center, spot.size, photo=placed),),
        dropped=(),
        waived=(),
        left_out=(),
        changes=("photo-1 was moved by nothing",),
        notes=("one little note",),
        costs=Costs(cost, {"crop-loss": cost}),
        search=Search(status, cost if status == "proved" else cost // 2, 0.0 if status == "proved" else 0.5, 0, {}, {}),
    )


Fit = Callable[..., CannedResult]


@dataclass
class Desk:
    """A folder with a template and a photo, and a fit that can be told what to return."""

    folder: Path
    calls: list[dict[str, Any]] = field(default_factory=list)
    fit: Fit = lambda template, photos, **_: CannedResult((page_of(photos[0]),))

    def __call__(self, *more: str) -> int:
        return run(["fit", "little.svg", "photo.jpg", "--out", "out", *more])

    @property
    def out(self) -> Path:
        return self.folder / "out"

    def files(self) -> set[str]:
        return {path.name for path in self.out.iterdir()} if self.out.exists() else set()
