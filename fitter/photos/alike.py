"""Photos that look alike: bursts and near-duplicates.

The measure is the *difference hash*: the picture is shrunk to a few grey pixels and each bit says whether a pixel is
brighter than the next (N. Krawetz, "Kind of Like That", The Hacker Factor Blog, 21 January 2013), here taken along
the rows and along the columns.  Hashes are compared by the number of bits that differ.  Such photos are reported,
never dropped.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from itertools import pairwise

import numpy as np
from PIL import Image

from fitter.photos.photo import Photo

SIDE = 8
BITS = 2 * SIDE * SIDE
MOST_DIFFERENT = 20
"""Bits of 128 in which two pictures may differ and still look alike (Krawetz: 10 of 64 is a variation)."""
PLAIN = 4.0
"""Standard deviation of the shrunk picture, of 255, below which there is nothing to compare."""
BURST_SECONDS = 10.0
"""Photos this close in time that look alike are a burst (common practice, no source)."""


@dataclass(frozen=True)
class Alike:
    """Photos that look alike.

    Parameters
    ----------
    members
        Their places in the list they came from, in order.
    burst
        Whether each was taken shortly after another of them.
    """

    members: tuple[int, ...]
    burst: bool


def look(picture: Image.Image) -> str:
    """Return the difference hash of a picture as seen, 32 hexadecimal digits; empty if it is too plain."""
    grey = picture.convert("L")
    small = np.asarray(grey.resize((SIDE + 1, SIDE + 1), Image.Resampling.BOX), dtype=np.int16)
    if float(small.std()) < PLAIN:
        return ""
    rows = small[:SIDE, 1:] > small[:SIDE, :-1]
    columns = small[1:, :SIDE] > small[:-1, :SIDE]
    return np.packbits(np.concatenate([rows.ravel(), columns.ravel()])).tobytes().hex()


def difference(one: str, other: str) -> int:
    """Return in how many of their bits two hashes differ."""
    return (int(one, 16) ^ int(other, 16)).bit_count()


def alike(photos: Sequence[Photo]) -> tuple[Alike, ...]:
    """Return the groups of photos that look alike, in the order of their first members.

    Photos belong together when a chain of pairs that look alike joins them.
    """
    places = [i for i, photo in enumerate(photos) if len(photo.look) == BITS // 4]
    if len(places) < 2:
        return ()
    hashes = np.array([list(bytes.fromhex(photos[i].look)) for i in places], dtype=np.uint8)
    bits = np.unpackbits(hashes, axis=1).astype(np.float32)
    leader = list(range(len(places)))

    def lead(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    counts = bits.sum(axis=1)
    for i in range(len(places) - 1):
        # |a xor b| = |a| + |b| - 2 a·b
        apart = counts[i] + counts[i + 1 :] - 2 * (bits[i + 1 :] @ bits[i])
        for step in np.flatnonzero(apart <= MOST_DIFFERENT):
            one, other = sorted((lead(i), lead(i + 1 + int(step))))
            leader[other] = one
    groups: dict[int, list[int]] = {}
    for i, place in enumerate(places):
        groups.setdefault(lead(i), []).append(place)
    found = [tuple(group) for group in groups.values() if len(group) > 1]
    return tuple(Alike(group, _is_burst([photos[i].taken for i in group])) for group in found)


def _is_burst(times: Sequence[str | None]) -> bool:
    moments = sorted(datetime.fromisoformat(time).replace(tzinfo=None) for time in times if time)
    gaps = [(later - earlier).total_seconds() for earlier, later in pairwise(moments)]
    return len(moments) == len(times) and all(gap <= BURST_SECONDS for gap in gaps)
