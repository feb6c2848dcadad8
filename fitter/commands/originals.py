"""The photos a finished page is drawn from: the very files it was fitted for, wherever they lie now."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitter.errors import InputError

if TYPE_CHECKING:
    from fitter.layout import Layout

SHOWN = 3
"""Photos named in a message."""
OTHERS = frozenset({"changed", "empty", "too large"})
"""What files are that cannot be drawn for the photos given."""

photos_option = click.option(
    "--photos",
    "folder",
    type=click.Path(path_type=Path, exists=True, file_okay=False),
    metavar="DIR",
    help="Folder the photos lie in now; they are told by name and content.",
)
"""The option of commands that look for the photos of a layout."""


def originals(layout: Layout, base: Path, folder: Path | None) -> dict[Path, Path]:
    """Return where the photos on a page lie, by where the layout says they are.

    Parameters
    ----------
    layout
        The page.
    base
        Folder of the layout file.
    folder
        Where photos lie now, if the user said so.

    Raises
    ------
    InputError
        When one is missing or is not the file the page was fitted for.
    """
    from fitter.photo_places import find_photo

    shown = [element.photo for element in layout.elements if element.photo is not None]
    found = {photo.file: find_photo(photo, base, folder) for photo in shown}
    for told, wrong in (("not there", {"missing"}), ("not the file the page was fitted for", OTHERS)):
        names = [file for file, one in found.items() if one.state in wrong]
        if names:
            more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
            raise InputError(
                f"photos {told}: {', '.join(names[:SHOWN])}{more}; put the originals back, name the folder they lie "
                "in with --photos DIR, or fit the page again"
            )
    return {base / file: one.path for file, one in found.items()}
