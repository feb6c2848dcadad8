"""Small templates and photos for tests of steps 2 to 4, and a page fitted from them.

A photo's file is a tiny picture (only its colour is looked at); its size in pixels is whatever the test says.
"""

from __future__ import annotations

import atexit
import shutil
import tempfile
from collections.abc import Collection, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from PIL import Image

from fitter.api import FitResult, Options, fit_page
from fitter.check import check_layout
from fitter.freedoms import FREEDOMS
from fitter.layout import GivenText, Layout
from fitter.pages import Page
from fitter.photos import Photo
from fitter.template import Element, Point, Template
from fitter.words import given_count

INCH = 25_400
IN = INCH
_MOST = 16


@cache
def pictures() -> tuple[Path, ...]:
    """Return tiny picture files of different grounds, there until the tests end."""
    folder = Path(tempfile.mkdtemp(prefix="fitting-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    made = []
    for number in range(_MOST):
        path = folder / f"p{number}.png"
        Image.new("RGB", (8, 6), (40 + 12 * number, 90, 200 - 10 * number)).save(path)
        made.append(path)
    return tuple(made)


def photo(number: int, width: int, height: int, **fields: Any) -> Photo:
    """Return a photo said to have a size in pixels."""
    return Photo(pictures()[number], f"{number:064x}", (width, height), **fields)


def photos(*sizes: tuple[int, int], **fields: Any) -> list[Photo]:
    """Return photos of some sizes, in order."""
    return [photo(number, *size, **fields) for number, size in enumerate(sizes)]


def rect(name: str, role: str, center: Point, size: Point, **fields: Any) -> Element:
    """Return a rectangle; lengths in micrometres."""
    return Element(name, role, "rect", center, size, **fields)  # type: ignore[arg-type]


def inches(*values: float) -> tuple[int, ...]:
    """Return inches as even micrometres."""
    return tuple(2 * round(value * INCH / 2) for value in values)


def slot(name: str, x: float, y: float, w: float, h: float, role: str = "photo", **fields: Any) -> Element:
    """Return a rectangle by left, top, width and height in inches."""
    left, top = round(x * INCH), round(y * INCH)
    width, height = inches(w, h)
    return rect(name, role, (left + width // 2, top + height // 2), (width, height), **fields)


def template(size: tuple[float, float], *elements: Element) -> Template:
    """Return a template of a size in inches."""
    width, height = inches(*size)
    return Template("tiny", (width, height), elements)


def only(*freedoms: str) -> frozenset[str]:
    """Return the freedoms to switch off so that only these are left."""
    assert set(freedoms) <= set(FREEDOMS)
    return frozenset(FREEDOMS) - set(freedoms)


def fit(
    made: Template,
    given: Sequence[Photo],
    *,
    allow: Collection[str] | None = None,
    words: int = 0,
    title: str | None = None,
    texts: Sequence[GivenText] = (),
    page: Page | None = None,
    **options: Any,
) -> FitResult:
    """Fit a page; ``allow`` names the only freedoms (all, if not given)."""
    chosen = {"top": 1, "effort": 3.0, "time_limit": None, **options}
    if allow is not None:
        chosen["without"] = only(*allow)
    text = (given_count(words),) if words else tuple(texts)
    return fit_page(made, given, texts=text, title=title, options=Options(page=page, **chosen))


def best(made: Template, given: Sequence[Photo], **wishes: Any) -> Layout:
    """Return the best page, which must be proved, obey every rule and state its costs truly."""
    result = fit(made, given, **wishes)
    assert result.layouts, result.reasons
    layout = result.layouts[0]
    sound(layout)
    assert layout.search.status == "proved"
    return layout


def sound(layout: Layout) -> None:
    """Assert that a layout obeys every rule and that its costs are those the checker finds."""
    report = check_layout(layout)
    broken = [v for r in report.rules if r.status == "broken" for v in r.violations]
    assert not broken, broken
    assert not report.cost_differences, report.cost_differences
