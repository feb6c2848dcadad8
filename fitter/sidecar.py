"""Step 1 for keep boxes: the sidecar ``NAME.EXT.keep.json`` beside a photo.

Enters: a small JSON file, for example ``{"keep": [[0.4, 0.2, 0.2, 0.3]], "rating": 4}``.  Leaves: validated
boxes as x, y, width and height in 0…1 of the picture as seen.  Refuses anything else in one line; the
published form is ``shared/schemas/sidecar.schema.json``.  What it says goes before what the photo itself says.
"""

from __future__ import annotations

import json
import math
import os
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import NoReturn

from fitter.errors import InputError
from fitter.layout import Box

SUFFIX = ".keep.json"
LARGEST_FILE = 100_000
"""Bytes a sidecar may have."""
MOST_BOXES = 100
"""Boxes a list may have."""
LARGEST_WEIGHT = 10.0
REJECTED, HIGHEST_RATING = -1.0, 5.0
_KEYS = ("keep", "detected", "weight", "rating")
_ROUNDING = 1e-6


@dataclass(frozen=True)
class Sidecar:
    """What a sidecar says.

    Parameters
    ----------
    keep
        Boxes marked by the user.
    detected
        Boxes found by software.
    weight
        How much the photo matters; 1 for an ordinary one.
    rating
        Stars 0 to 5, -1 to leave the photo out; ``None`` if not stated.
    said
        Names of what the file states, even where it states what would be so anyway.
    """

    keep: tuple[Box, ...] = ()
    detected: tuple[Box, ...] = ()
    weight: float = 1.0
    rating: float | None = None
    said: frozenset[str] = frozenset()


def sidecar_path(photo: Path) -> Path:
    """Return where a photo's sidecar lies: ``lake.jpg`` has ``lake.jpg.keep.json``."""
    return photo.with_name(photo.name + SUFFIX)


def read_sidecar(photo: Path) -> Sidecar:
    """Read a photo's sidecar; without one, nothing is marked and the weight is 1.

    Raises
    ------
    InputError
        When it is there and cannot be used.
    """
    data = read_sidecar_bytes(photo)
    return Sidecar() if data is None else parse_sidecar(data, what=f"keep boxes {str(sidecar_path(photo))!r}")


def joined(sidecars: Sequence[Sidecar]) -> Sidecar:
    """Return what the sidecars of copies of one picture say together.

    All boxes (as many as one may have), the first weight, and the highest rating: of two copies one may be left out,
    not the picture.
    """
    ratings = [one.rating for one in sidecars if one.rating is not None]
    return Sidecar(
        keep=tuple(dict.fromkeys(box for one in sidecars for box in one.keep))[:MOST_BOXES],
        detected=tuple(dict.fromkeys(box for one in sidecars for box in one.detected))[:MOST_BOXES],
        weight=next((one.weight for one in sidecars if "weight" in one.said), 1.0),
        rating=max(ratings, default=None),
        said=frozenset[str]().union(*(one.said for one in sidecars)),
    )


def read_sidecar_bytes(photo: Path) -> bytes | None:
    """Return the content of a photo's sidecar, ``None`` if it has none.

    Raises
    ------
    InputError
        When it is there and cannot be read, or is too large.
    """
    path = sidecar_path(photo)
    try:
        if not os.path.exists(path):  # unlike pathlib's, also where the longer name is too long for the system
            return None
        if not path.is_file():
            raise InputError(f"keep boxes {str(path)!r} are no plain file; remove it or write JSON there")
        with path.open("rb") as stream:
            data = stream.read(LARGEST_FILE + 1)
    except OSError as failure:
        raise InputError(f"keep boxes {str(path)!r} cannot be read: {failure.strerror}") from None
    if len(data) > LARGEST_FILE:
        raise InputError(f"keep boxes {str(path)!r} are over {LARGEST_FILE // 1000} kB; keep a few boxes only")
    return data


def parse_sidecar(data: bytes, *, what: str = "keep boxes") -> Sidecar:
    """Read the content of a sidecar.

    Raises
    ------
    InputError
        Naming the place in the file and what was wanted there.
    """

    def no_number(name: str) -> NoReturn:
        raise InputError(f"{what}: {name} is no number that can be used; write a number between 0 and 1")

    def one_of_each(pairs: list[tuple[str, object]]) -> dict[str, object]:
        made: dict[str, object] = {}
        for name, value in pairs:
            if name in made:
                raise InputError(f"{what}: {name[:40]!r} is written twice; keep one")
            made[name] = value
        return made

    try:
        content = json.loads(data.decode("utf-8-sig"), parse_constant=no_number, object_pairs_hook=one_of_each)
    except UnicodeDecodeError:
        raise InputError(f"{what}: not UTF-8 text; save it as UTF-8 JSON") from None
    except json.JSONDecodeError as failure:
        raise InputError(
            f"{what}, line {failure.lineno}: not JSON ({failure.msg}); "
            'write for example {"keep": [[0.4, 0.2, 0.2, 0.3]]}'
        ) from None
    except (RecursionError, ValueError):
        raise InputError(f"{what}: nested too deeply or a number too long; write a list of boxes") from None
    if not isinstance(content, dict):
        raise InputError(f"{what}: an object with {', '.join(_KEYS)} was expected")
    for name in content:
        if name not in _KEYS:
            raise InputError(f"{what}: {name[:40]!r} is not known; the names are {', '.join(_KEYS)}")
    return Sidecar(
        keep=_boxes(content.get("keep", []), f"{what}: keep"),
        detected=_boxes(content.get("detected", []), f"{what}: detected"),
        weight=check_weight(content.get("weight", 1.0), what=f"{what}: weight"),
        rating=check_rating(content["rating"], what=f"{what}: rating") if "rating" in content else None,
        said=frozenset(content),
    )


def check_weight(value: object, *, what: str = "weight") -> float:
    """Return a photo's weight.

    Raises
    ------
    InputError
        When it is no number above 0 and up to :data:`LARGEST_WEIGHT`.
    """
    number = _number(value)
    if number is None or not 0 < number <= LARGEST_WEIGHT:
        raise InputError(f"{what}: a number above 0 and up to {LARGEST_WEIGHT:g} was expected")
    return number


def check_rating(value: object, *, what: str = "rating") -> float:
    """Return a photo's rating.

    Raises
    ------
    InputError
        When it is no number from 0 to 5 and not -1.
    """
    number = _number(value)
    if number is None or not (0 <= number <= HIGHEST_RATING or number == REJECTED):
        raise InputError(f"{what}: a number from 0 to {HIGHEST_RATING:g}, or -1 to leave the photo out, was expected")
    return number


def check_box(value: object, *, what: str = "box") -> Box:
    """Return a keep box inside the picture.

    Raises
    ------
    InputError
        When it is not four numbers x, y, width, height with the whole box within 0…1.
    """
    if not isinstance(value, (list, tuple)) or len(value) != 4:
        raise InputError(f"{what}: four numbers x, y, width, height were expected")
    numbers = [_number(part) for part in value]
    x, y, w, h = (math.nan if number is None else number for number in numbers)
    inside = x >= 0 and y >= 0 and x + w <= 1 + _ROUNDING and y + h <= 1 + _ROUNDING
    if not (inside and w > 0 and h > 0):
        raise InputError(
            f"{what}: x, y, width and height must be numbers from 0 to 1, width and height above 0, "
            "and the box inside the picture (x + width and y + height at most 1)"
        )
    return x, y, min(w, 1 - x), min(h, 1 - y)


def _boxes(value: object, what: str) -> tuple[Box, ...]:
    if not isinstance(value, list):
        raise InputError(f"{what}: a list of boxes [x, y, width, height] was expected")
    if len(value) > MOST_BOXES:
        raise InputError(f"{what}: {len(value)} boxes; at most {MOST_BOXES} are taken, join or remove some")
    return tuple(check_box(box, what=f"{what}, box {number}") for number, box in enumerate(value, 1))


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        return None
    try:
        number = float(value)
    except OverflowError:
        return None
    return number if math.isfinite(number) else None
