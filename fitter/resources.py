"""Where the files of ``shared/`` are: beside the packages in a checkout, inside the wheel once installed."""

from __future__ import annotations

from functools import cache
from pathlib import Path


@cache
def root() -> Path:
    """Return the folder that holds page sizes, schemas, starter templates and fonts."""
    installed = Path(__file__).parent / "shared"
    return installed if installed.is_dir() else Path(__file__).parent.parent / "shared"


def read_text(name: str) -> str:
    """Return a shared text file by its path below :func:`root`."""
    return (root() / name).read_text(encoding="utf-8")
