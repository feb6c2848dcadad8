"""What a run takes over from the layout it starts from (``--from``): everything it does not say itself.

Enters: the path of a layout file.  Leaves: its page, its template and its photos, found again beside it.
"""

from __future__ import annotations

import os
from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from fitter.commands.check import at_hand
from fitter.errors import InputError, UseError

if TYPE_CHECKING:
    from fitter.layout import Layout
    from fitter.photos import Photo
    from fitter.template import Template

SHOWN = 3
"""So many missing photos are named."""


@dataclass(frozen=True)
class Beginning:
    """A layout and where it lies."""

    path: Path
    layout: Layout

    def template(self) -> Template:
        """Return the template it was made from.

        Raises
        ------
        InputError
            When that is not at hand, or was changed since.
        """
        record = self.layout.template
        found = at_hand(self.layout, self.path.absolute().parent)
        if found is None or found.sha256 != record.sha256:
            state = "is not at hand" if found is None else "was changed since"
            raise InputError(
                f"--from {self.path}: its template {record.name!r} {state}; "
                "name the unchanged drawing before the photos"
            )
        return found

    def photo_paths(self) -> list[Path]:
        """Return where its photos are.

        Raises
        ------
        InputError
            Naming those that are not there.
        """
        from fitter.layout_file import resolve_photo

        paths = [resolve_photo(self.path.absolute(), photo.file) for photo in self.layout.given.photos]
        missing = [path for path in paths if not os.path.isfile(path)]
        if missing:
            names = ", ".join(str(path) for path in missing[:SHOWN])
            more = f" and {len(missing) - SHOWN} more" if len(missing) > SHOWN else ""
            raise InputError(
                f"--from {self.path}: photos are missing: {names}{more}; put them back, "
                "or name TEMPLATE and the PHOTOs to use"
            )
        return paths

    def weighed(self, photos: Sequence[Photo]) -> list[Photo]:
        """Return photos with the weights they have in the layout, where they are in it."""
        weights = {photo.sha256: photo.weight for photo in self.layout.given.photos}
        return [replace(photo, weight=weights.get(photo.sha256, photo.weight)) for photo in photos]


def begin(path: Path) -> Beginning:
    """Read the layout to start from."""
    from fitter.layout_file import read_layout

    return Beginning(path, read_layout(path))


def parse_pins(options: Sequence[str]) -> tuple[list[tuple[str, str]], list[str]]:
    """Read ``PHOTO=SLOT`` and ``SLOT`` into pinned photos and slots that stay as they are."""
    pins, stay = [], []
    for option in options:
        photo, equals, slot = option.rpartition("=")
        if not slot or (equals and not photo):
            raise UseError(f"--pin {option[:60]!r}: write PHOTO=SLOT, or SLOT for one that stays as it is")
        if equals:
            pins.append((photo, slot))
        else:
            stay.append(slot)
    return pins, stay
