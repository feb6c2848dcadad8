"""Which photos are read before which: slots by where they stand, photos by when they were taken."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from fitter.check.rules_text import reading_key
from fitter.check.view import View
from fitter.layout import Placed


def out_of_order(view: View) -> Iterator[tuple[Placed, Placed]]:
    """Return the pairs of photos read in the wrong order of time, pieces of one slot apart."""
    for a, b in combinations(view.photos, 2):
        if a.source is not None and a.source == b.source:
            continue
        time = _order(view, a) - _order(view, b)
        one, other = reading_key(view, a), reading_key(view, b)
        if (time < 0 and one > other) or (time > 0 and one < other):
            yield a, b


def _order(view: View, item: Placed) -> int:
    photo = view.given_photos.get(item.photo.file) if item.photo else None
    return photo.order if photo else 0
