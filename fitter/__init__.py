"""Fit photos and words to album page templates.

The public functions are loaded on first use, so that ``import fitter`` and ``fitter --help`` stay
fast: the solver and the geometry and picture libraries take a second and more to import.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fitter.api import FitResult, Options, fit_page
    from fitter.check import check_layout
    from fitter.explain import Explained, explain_layout
    from fitter.layout_file import read_layout, write_layout
    from fitter.photos import read_photo, read_photos
    from fitter.presets import PRESETS
    from fitter.proof import draw_proof
    from fitter.template_reader import read_template
    from fitter.wishes import make_wishes

__version__ = "0.1.0"

_HOMES = {
    "PRESETS": "fitter.presets",
    "FitResult": "fitter.api",
    "Options": "fitter.api",
    "Explained": "fitter.explain",
    "check_layout": "fitter.check",
    "draw_proof": "fitter.proof",
    "explain_layout": "fitter.explain",
    "fit_page": "fitter.api",
    "make_wishes": "fitter.wishes",
    "read_layout": "fitter.layout_file",
    "read_photo": "fitter.photos",
    "read_photos": "fitter.photos",
    "read_template": "fitter.template_reader",
    "write_layout": "fitter.layout_file",
}

__all__ = [
    "PRESETS",
    "Explained",
    "FitResult",
    "Options",
    "__version__",
    "check_layout",
    "draw_proof",
    "explain_layout",
    "fit_page",
    "make_wishes",
    "read_layout",
    "read_photo",
    "read_photos",
    "read_template",
    "write_layout",
]


def __getattr__(name: str) -> object:
    """Load a public name from the module that defines it."""
    if name not in _HOMES:
        raise AttributeError(f"module 'fitter' has no attribute {name!r}")
    value = getattr(import_module(_HOMES[name]), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """Name what can be imported, loaded or not."""
    return sorted({*globals(), *__all__})
