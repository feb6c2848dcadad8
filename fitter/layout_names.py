"""How a layout names photos and its template: relative to its file, so that a folder can be moved as a whole.

Enters: a layout, and the folder its file is to be in.  Leaves: the same layout with relative names.  Opens nothing.
"""

from __future__ import annotations

import os
from dataclasses import replace
from pathlib import Path

from fitter import resources
from fitter.errors import InputError
from fitter.layout import Layout, Placed


def relative_to(
    layout: Layout, folder: str | os.PathLike[str], *, base: str | os.PathLike[str] | None = None
) -> Layout:
    """Return a layout with photos and template named relative to the folder its file is to be in.

    Parameters
    ----------
    layout
        A layout as :func:`fitter.fit_page` returns it, with absolute names, or one that was read from a file.
    folder
        The folder of the file to be.
    base
        Folder that relative names count from; without one they stay as they are.

    Raises
    ------
    InputError
        When a file is on another drive than the folder.
    """

    def short(file: str) -> str:
        if base is None and not os.path.isabs(file):
            return file
        try:
            return Path(os.path.relpath(Path(base or folder, file), folder)).as_posix()
        except ValueError:
            raise InputError(
                f"{file} is on another drive than the folder {folder}, and layouts name files relative to themselves; "
                "write the layout to the same drive"
            ) from None

    def placed(element: Placed) -> Placed:
        if element.photo is None:
            return element
        return replace(element, photo=replace(element.photo, file=short(element.photo.file)))

    given, file = layout.given, layout.template.file
    wishes = replace(
        given.wishes,
        pins=tuple((short(photo), slot) for photo, slot in given.wishes.pins),
        bigger=tuple(map(short, given.wishes.bigger)),
        smaller=tuple(map(short, given.wishes.smaller)),
    )
    photos = tuple(replace(photo, file=short(photo.file)) for photo in given.photos)
    # A starter is known by its name; where it is installed is nobody's business.
    drawing = None if file is None or Path(file).is_relative_to(resources.root()) else short(file)
    return replace(
        layout,
        given=replace(given, photos=photos, wishes=wishes),
        template=replace(layout.template, file=drawing),
        elements=tuple(placed(element) for element in layout.elements),
        left_out=tuple(short(photo) for photo in layout.left_out),
    )
