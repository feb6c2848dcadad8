"""The order in which a folder's photos were taken."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, timedelta, timezone
from pathlib import PurePath

from fitter.photos.photo import Photo


def by_time(photos: Iterable[Photo]) -> list[Photo]:
    """Return photos in the order they were taken; those without a time come last, by name.

    Times are compared as moments.  Where a camera did not know its offset from UTC, the one most photos of the folder
    state is taken.  Equal moments go by the camera's own clock, then by name with numbers counted, which is how
    cameras number their pictures.
    """
    listed = list(photos)
    usual = _usual_offset(listed)

    def key(photo: Photo) -> tuple[bool, datetime, datetime, tuple[tuple[int, int, str], ...]]:
        name = natural(photo.path.name)
        if photo.taken is None:
            return True, datetime.max.replace(tzinfo=UTC), datetime.max, name
        clock = datetime.fromisoformat(photo.taken)
        local = clock.replace(tzinfo=None)
        offset = clock.utcoffset()
        # A clock near the ends of the calendar has no moment in UTC.
        if not 2 <= local.year <= 9998:
            return False, local.replace(tzinfo=UTC), local, name
        moment = local.replace(tzinfo=timezone(usual if offset is None else offset)).astimezone(UTC)
        return False, moment, local, name

    return sorted(listed, key=key)


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts ``lake.jpg``, ``lake2.jpg``, ``lake10.jpg`` so, letters of either case alike."""
    parts = re.split(r"(\d+)", PurePath(name).stem.casefold())
    return (*((1, int(p), "") if p.isdecimal() else (2, 0, p) for p in parts if p), (0, 0, name))


def _usual_offset(photos: Sequence[Photo]) -> timedelta:
    stated = (datetime.fromisoformat(photo.taken).utcoffset() for photo in photos if photo.taken)
    counts = Counter(offset for offset in stated if offset is not None)
    return min(counts, key=lambda offset: (-counts[offset], offset)) if counts else timedelta(0)
