"""The door to what a photo shows: opens the file read-only, small, once; remembers what was found.

Enters: a :class:`~fitter.photos.Photo`.  Leaves: :class:`Seen`.  What was found is kept in the cache under the
file's hash and the versions of everything that decides it.
"""

from __future__ import annotations

import json
import zlib
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
from PIL import Image

from fitter.cache import Cache
from fitter.layout import Box, Grid
from fitter.photos import open_seen
from fitter.seeing.faces import FINE_LONG_SIDE, FaceFinder, missing
from fitter.seeing.faces import version as faces_version
from fitter.seeing.heads import SURE, Face, counted_groups, head
from fitter.seeing.importance import LONG_SIDE, TOTAL, IntMap, coarse, importance_map, scene_map

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from fitter.photos import Photo

KIND, VERSION = "seen", "4"
_DETAIL = 5


@dataclass(frozen=True)
class Seen:
    """What was found in a photo.

    Parameters
    ----------
    pixels
        Width and height of the picture as seen.
    faces
        Surest first.
    turn
        Quarter turns clockwise that would put the picture upright; 0 for almost every photo.
    scene
        The scene map (see :func:`~fitter.seeing.importance.scene_map`).
    """

    pixels: tuple[int, int]
    faces: tuple[Face, ...]
    turn: int
    scene: IntMap

    @cached_property
    def groups(self) -> tuple[tuple[Box, int], ...]:
        """Keep boxes of the faces found, those of a group in one, with how many faces each is for."""
        return counted_groups(self.faces, self.pixels)

    @property
    def detected(self) -> tuple[Box, ...]:
        """The keep boxes alone."""
        return tuple(box for box, _ in self.groups)

    @cached_property
    def parts(self) -> tuple[Box, ...]:
        """The heads of groups of several, one by one: what is looked after where a group cannot be kept."""
        return tuple(box for face in self.faces if face.score >= SURE and (box := head(face)) not in self.detected)

    def importance(self, marked: tuple[Box, ...] = ()) -> IntMap:
        """Return the importance map, given the regions someone marked."""
        return importance_map(self.scene, self.faces, marked)

    def grid(self, marked: tuple[Box, ...] = ()) -> Grid:
        """Return the importance map as a layout carries it."""
        return coarse(self.importance(marked))


class Looker:
    """Looks at photos.

    Parameters
    ----------
    cache
        Where findings are kept; ``None`` looks anew each time.

    Attributes
    ----------
    problem
        What cannot be done, as a sentence to be said once; ``None`` if nothing is missing.
    """

    def __init__(self, cache: Cache | None = None) -> None:
        self._cache = cache
        self.problem = missing()
        self._version = f"{VERSION}/{faces_version()}"
        self._finder: FaceFinder | None = None

    def look(self, photo: Photo) -> Seen:
        """Return what a photo shows.

        Raises
        ------
        InputError
            As :func:`~fitter.photos.read_photo`.
        """
        kept = self._cache.get(photo.sha256, KIND, self._version) if self._cache else None
        if kept is not None:
            try:
                return _unpacked(kept, photo.pixels)
            except (KeyError, TypeError, ValueError, zlib.error):
                pass  # a cache never stands in the way: what it holds wrongly is found again
        width, height = photo.pixels
        scale = min(1.0, FINE_LONG_SIDE / max(width, height))
        enough = max(1, round(width * scale)), max(1, round(height * scale))
        with open_seen(photo.path, at_least=enough, rough=True) as picture:
            if max(picture.size) > 2 * FINE_LONG_SIDE:
                picture = picture.resize(enough, Image.Resampling.BILINEAR, reducing_gap=2.0)
            seen = self._seen(picture, photo.pixels)
        if self._cache:
            self._cache.put(photo.sha256, KIND, self._version, _packed(seen))
        return seen

    def _seen(self, picture: Image.Image, pixels: tuple[int, int]) -> Seen:
        faces, turn = self._faces(np.asarray(picture))
        columns, rows = _within(picture.size, LONG_SIDE)
        times = max(1, min(_DETAIL, picture.width // columns, picture.height // rows))
        grey = picture.convert("L").resize((times * columns, times * rows), Image.Resampling.BOX)
        small = picture.resize((columns, rows), Image.Resampling.BOX, reducing_gap=3.0)
        scene = scene_map(np.asarray(grey, np.float64), np.asarray(small.convert("YCbCr")))
        return Seen(pixels, faces, turn, scene)

    def _faces(self, pixels: NDArray[np.uint8]) -> tuple[tuple[Face, ...], int]:
        if self.problem:
            return (), 0
        self._finder = self._finder or FaceFinder()
        return self._finder.find(pixels)


def _within(size: tuple[int, int], side: int) -> tuple[int, int]:
    scale = min(1.0, side / max(size))
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def _packed(seen: Seen) -> bytes:
    faces = [[*face.box, face.score] for face in seen.faces]
    facts = json.dumps({"faces": faces, "turn": seen.turn, "shape": seen.scene.shape}).encode()
    return facts + b"\n" + zlib.compress(seen.scene.astype("<u4").tobytes(), 1)


def _unpacked(data: bytes, pixels: tuple[int, int]) -> Seen:
    facts, _, body = data.partition(b"\n")
    found: dict[str, Any] = json.loads(facts)
    turn = int(found["turn"]) % 4
    faces = tuple(Face((x, y, w, h), score, turn) for x, y, w, h, score in found["faces"])
    rows, columns = found["shape"]
    scene = np.frombuffer(zlib.decompress(body), "<u4").astype(np.int64).reshape(rows, columns)
    if int(scene.sum()) != TOTAL:
        raise ValueError("a scene map that does not sum to the total")
    return Seen(pixels, faces, turn, scene)
