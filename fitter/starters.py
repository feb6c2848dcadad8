"""The shelf of starter templates that come with the program: their names, files and one-line descriptions."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

from fitter import resources
from fitter.errors import UseError

_TITLE = re.compile(r"<title>\s*([^<]{1,200}?)\s*</title>")


@cache
def starter_names() -> tuple[str, ...]:
    """Return the names of all starter templates, in alphabetical order."""
    return tuple(sorted(path.stem for path in (resources.root() / "templates").glob("*.svg")))


def starter_path(name: str) -> Path:
    """Return the SVG file of a starter template.

    Raises
    ------
    UseError
        When there is no starter of that name.
    """
    if name not in starter_names():
        raise UseError(
            f"there is no starter template {name[:60]!r}; choose one of {', '.join(starter_names())}"
        )
    return resources.root() / "templates" / f"{name}.svg"


def describe(name: str) -> str:
    """Return the one line a starter says about itself (its SVG ``title``)."""
    match = _TITLE.search(starter_path(name).read_text(encoding="utf-8"))
    return match[1] if match else ""
