"""What is known of a photo, as plain data; and photos as a layout records them.

Nothing here reads files.  Boxes are x, y, width and height in 0…1 of the picture *as seen*: after its orientation has
been applied.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from fitter.errors import InputError
from fitter.layout import Box, GivenPhoto, Grid

MarkKind = Literal["face", "subject"]
MarkSource = Literal["correction", "file", "camera", "found"]


@dataclass(frozen=True)
class Mark:
    """A region of a photo that should stay in view.

    Parameters
    ----------
    box
        Where.
    kind
        What it shows.
    source
        Who says so: ``correction`` the user's own file beside the photo, ``file`` a region another program wrote into
        the photo or its ``.xmp``, ``camera`` what the camera aimed at, ``found`` a program's finding.
    count
        How many faces it holds; 1 for anything else.
    """

    box: Box
    kind: MarkKind
    source: MarkSource
    count: int = 1


@dataclass(frozen=True)
class Photo:
    """A photo that was read and found whole.

    Parameters
    ----------
    path
        As given.
    sha256
        Of the file, lower-case hexadecimal.
    pixels
        Width and height as seen.
    orientation
        Exif orientation 1 to 8 that leads from the stored picture to the one seen.
    taken
        Capture time by the camera's clock, as ``YYYY-MM-DDTHH:MM:SS`` with any fraction and, where the camera knew
        it, the offset from UTC (``+02:00``); ``None`` if unknown.
    keep
        Boxes somebody marked: kept under all circumstances.
    detected
        Boxes software or the camera found: kept wherever a page exists that does, else as many as can be.  One may
        lie in another.
    weight
        How much cutting it costs; 1 for an ordinary photo.
    rating
        Stars 0 to 5, -1 for rejected; ``None`` if nobody rated it.
    marks
        The boxes of ``keep`` and ``detected`` with what they show and who says so; a group's as one.
    look
        Its difference hash (:mod:`fitter.photos.alike`); empty if too plain to be compared.
    notes
        A sentence for everything about it that was not used or is worth knowing.
    importance
        How much of what matters lies where (see :class:`~fitter.layout.GivenPhoto`); empty before it was looked at.
    settled
        Whether the user's own file says what is to be kept, so that nothing is to be looked for.
    """

    path: Path
    sha256: str
    pixels: tuple[int, int]
    orientation: int = 1
    taken: str | None = None
    keep: tuple[Box, ...] = ()
    detected: tuple[Box, ...] = ()
    weight: float = 1.0
    rating: float | None = None
    marks: tuple[Mark, ...] = ()
    look: str = ""
    notes: tuple[str, ...] = ()
    importance: Grid = ()
    settled: bool = False

    def __post_init__(self) -> None:
        if min(self.pixels) < 1:
            raise InputError(f"photo {str(self.path)!r}: a picture of {self.pixels} pixels is not possible")
        if self.orientation not in range(1, 9):
            raise InputError(f"photo {str(self.path)!r}: orientation {self.orientation} is not 1 to 8")

    @property
    def file(self) -> str:
        """Its absolute path: what a layout calls it until it is written."""
        return str(self.path.absolute())

    @property
    def rejected(self) -> bool:
        """Whether its rating says to leave it out."""
        return self.rating is not None and self.rating < 0

    def largest_print(self, ppi: int) -> tuple[float, float]:
        """Return width and height in inches of the whole picture printed at a resolution."""
        return self.pixels[0] / ppi, self.pixels[1] / ppi


def given(photos: Sequence[Photo]) -> tuple[GivenPhoto, ...]:
    """Return the photos as a layout records them, in their order."""
    return tuple(
        GivenPhoto(
            file=photo.file,
            sha256=photo.sha256,
            pixels=photo.pixels,
            keep=photo.keep,
            detected=photo.detected,
            weight=photo.weight,
            order=order,
            taken=photo.taken,
            importance=photo.importance,
        )
        for order, photo in enumerate(photos)
    )
