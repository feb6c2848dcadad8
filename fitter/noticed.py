"""Step 1 for photos nobody marked: faces the program finds become regions kept where possible.

Enters: photos as read.  Leaves: the same with what was found.  What somebody marked is never overridden: a photo whose
own file says what to keep, or whose faces another program marked, stays as it is; of others only faces that no mark
covers are added.  Found faces replace what the camera aimed at.  Of a group the heads are regions too, behind its box:
they count where the whole group cannot be kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from fitter.photos import Mark, Photo
from fitter.photos.regions import covered

if TYPE_CHECKING:
    from fitter.seeing.look import Looker, Seen

_COVERED = 0.5
"""Share of a found region that a marked one may cover before the two are the same thing."""


def notice(
    photos: Sequence[Photo],
    looker: Looker,
    *,
    maps: bool = True,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Photo, ...]:
    """Return the photos with what was found in those that are not left out.

    Parameters
    ----------
    photos
        As read.
    looker
        Looks at photos; what it cannot do stands in its ``problem``.
    maps
        Whether the photos are to say what matters where; it takes longer than all else where a cache knows them.
    progress
        Called with how many photos were looked at, and of how many.

    Raises
    ------
    InputError
        When a photo cannot be read any more.
    """
    noticed = []
    for number, photo in enumerate(photos, 1):
        if not photo.rejected:
            seen = looker.look(photo)
            grid = seen.grid(photo.keep) if maps else ()
            photo = replace(with_found(photo, seen), importance=grid)
        noticed.append(photo)
        if progress:
            progress(number, len(photos))
    return tuple(noticed)


def with_found(photo: Photo, seen: Seen) -> Photo:
    """Return a photo with what was seen in it."""
    notes = photo.notes
    if seen.turn:
        way = {1: "a quarter turn clockwise", 2: "half a turn", 3: "a quarter turn counter-clockwise"}[seen.turn]
        notes = (*notes, f"it seems to need {way}; it is used as its file says")
    if photo.settled or any(mark.kind == "face" and mark.source == "file" for mark in photo.marks):
        return replace(photo, notes=notes)
    marked = tuple(mark for mark in photo.marks if mark.source != "camera")
    found = tuple(
        Mark(box, "face", "found", count)
        for box, count in seen.groups
        if all(covered(box, mark.box) <= _COVERED for mark in marked)
    )
    marks = (*marked, *found) if found else photo.marks
    detected = tuple(mark.box for mark in marks if mark.source in ("camera", "found"))
    if found:
        detected += tuple(part for part in seen.parts if any(_holds(mark.box, part) for mark in found))
    return replace(photo, marks=marks, detected=detected, notes=notes)


def _holds(box: tuple[float, float, float, float], face: tuple[float, float, float, float]) -> bool:
    x, y = face[0] + face[2] / 2, face[1] + face[3] / 2
    return box[0] <= x <= box[0] + box[2] and box[1] <= y <= box[1] + box[3]
