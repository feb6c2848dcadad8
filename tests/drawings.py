"""Tiny SVG drawings for tests: a page of 12 x 12 in drawn in inches."""

from __future__ import annotations

from pathlib import Path

from fitter.template import Element, Template
from fitter.template_reader import read_template

INCH = 25_400
ROOT = 'width="12in" height="12in" viewBox="0 0 12 12"'


def write_drawing(folder: Path, body: str, root: str = ROOT, name: str = "drawing.svg") -> Path:
    """Write an SVG file with the given content and root attributes."""
    path = folder / name
    path.write_text(f'<svg xmlns="http://www.w3.org/2000/svg" {root}>{body}</svg>', encoding="utf-8")
    return path


def read_drawing(folder: Path, body: str, root: str = ROOT) -> Template:
    """Read a drawing with the given content."""
    return read_template(write_drawing(folder, body, root))


def element_of(template: Template, element_id: str) -> Element:
    """Return a template's element by its id."""
    return next(element for element in template.elements if element.id == element_id)


def inches(box: tuple[int, int, int, int]) -> tuple[float, ...]:
    """Return a box of micrometres in inches."""
    return tuple(side / INCH for side in box)
