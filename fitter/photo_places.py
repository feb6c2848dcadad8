"""Where the photos of a layout lie, beside it or in a folder named instead, and whether they are still the same files.

Enters: what a layout says of a photo.  Leaves: the file and its state.  Opens files to hash them, never as pictures.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from typing import Literal

from fitter.errors import InputError
from fitter.layout import GivenPhoto, PlacedPhoto
from fitter.layout_file import resolve_photo

LARGEST_PHOTO = 1 << 30
"""Bytes of the largest file that is hashed."""


@dataclass(frozen=True)
class Found:
    """A file where a photo of a layout should be; ``path`` of a missing one is where it was looked for."""

    path: Path
    state: Literal["same", "changed", "empty", "too large", "missing"]


def find_photo(photo: GivenPhoto | PlacedPhoto, base: Path, folder: Path | None = None) -> Found:
    """Look for a photo of a layout.

    Parameters
    ----------
    photo
        Its name relative to the layout, and its hash.
    base
        Folder of the layout file.
    folder
        Where photos lie now: looked through by the photo's name, first with the folders it is in, and before ``base``.

    Returns
    -------
    Found
        The first file with the photo's hash; else the first of its name.

    Raises
    ------
    InputError
        When the name is none that this program writes, or the file cannot be read.
    """
    stated = resolve_photo(base / "layout.json", photo.file)
    places = [*([] if folder is None else _inside(folder, photo.file)), stated]
    found = [Found(path, _state(path, photo)) for path in places if os.path.isfile(path)]  # also of names too long
    return next((one for one in found if one.state == "same"), found[0] if found else Found(stated, "missing"))


def _inside(folder: Path, name: str) -> Iterator[Path]:
    parts = [part for part in PurePosixPath(name).parts if part not in (".", "..")]
    return (folder.joinpath(*parts[start:]) for start in range(len(parts)))


def _state(path: Path, photo: GivenPhoto | PlacedPhoto) -> Literal["same", "changed", "empty", "too large"]:
    try:
        size = path.stat().st_size
        if size == 0:
            return "empty"  # files of the system that state no size may also wait for ever, or never end
        if size > LARGEST_PHOTO:
            return "too large"
        with path.open("rb") as file:
            digest = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise InputError(f"photo {photo.file}: cannot be read ({error.strerror})") from None
    return "same" if digest == photo.sha256 else "changed"
