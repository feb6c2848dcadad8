"""From faces to what must stay in view: heads with room for hair and chin, and groups of them.

Pure geometry.  The room around a face is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from fitter.layout import Box

SIDE_ROOM, HAIR_ROOM, CHIN_ROOM = 0.25, 0.45, 0.15
"""Room around a face: on each side in face widths, above and below in face heights."""
SURE = 0.75
"""Score from which a face becomes a keep box; below, it only adds to the importance of its place."""
_NEAR = 1.0
_ALIKE = 2.5


@dataclass(frozen=True)
class Face:
    """A face found in a picture.

    Parameters
    ----------
    box
        From forehead to chin, in the picture as seen.
    score
        The detector's confidence, 0…1.
    turn
        Quarter turns clockwise that put this face upright.
    """

    box: Box
    score: float
    turn: int = 0


def turned(box: Box, turn: int) -> Box:
    """Return where a box lies once the picture is turned clockwise by so many quarter turns.

    Examples
    --------
    >>> turned((0.0, 0.0, 0.5, 0.25), 1)
    (0.75, 0.0, 0.25, 0.5)
    """
    for _ in range(turn % 4):
        x, y, w, h = box
        box = (1.0 - y - h, x, h, w)
    return box


def head(face: Face) -> Box:
    """Return a face with room for hair and chin, inside the picture."""
    x, y, w, h = turned(face.box, face.turn)
    x0, x1 = max(0.0, x - SIDE_ROOM * w), min(1.0, x + (1 + SIDE_ROOM) * w)
    y0, y1 = max(0.0, y - HAIR_ROOM * h), min(1.0, y + (1 + CHIN_ROOM) * h)
    x, y, w, h = turned((x0, y0, max(0.0, x1 - x0), max(0.0, y1 - y0)), -face.turn)
    x, y = max(0.0, x), max(0.0, y)  # turning may be off by a rounding
    return x, y, min(w, 1.0 - x), min(h, 1.0 - y)


def about(face: Face) -> Box:
    """Return a place as large as a head with the face in its middle; may leave the picture."""
    x, y, w, h = turned(face.box, face.turn)
    rim = (HAIR_ROOM + CHIN_ROOM) / 2
    return turned((x - SIDE_ROOM * w, y - rim * h, (1 + 2 * SIDE_ROOM) * w, (1 + 2 * rim) * h), -face.turn)


def body(face: Face) -> Box:
    """Return where shoulders and chest are: three face widths wide, five face heights down; may leave the picture."""
    x, y, w, h = turned(face.box, face.turn)
    return turned((x - w, y + 0.2 * h, 3.0 * w, 4.8 * h), -face.turn)


def keep_groups(faces: Sequence[Face], pixels: tuple[int, int]) -> tuple[Box, ...]:
    """Return the keep boxes of the faces that are sure, those of a group in one box.

    Two groups become one while they are at most a head's width apart, their heads are alike in size (2.5 times at
    most) and the common box still fits a square window of the picture, so that cropping it to any shape between
    square and its own does not have to part them.

    Parameters
    ----------
    pixels
        Width and height of the picture as seen.

    Returns
    -------
    tuple
        Largest group of heads first.
    """
    return tuple(box for box, _ in counted_groups(faces, pixels))


def counted_groups(faces: Sequence[Face], pixels: tuple[int, int]) -> tuple[tuple[Box, int], ...]:
    """Return :func:`keep_groups` with how many faces each box was made for; every sure face counts in one of them."""
    sure = sorted((face for face in faces if face.score >= SURE), key=lambda face: (face.box, face.score))
    groups: list[tuple[Box, tuple[Box, ...]]] = [(head(face), (head(face),)) for face in sure]
    while True:
        pairs = [
            (_distance(a, b, pixels), i, j)
            for i, (a, heads) in enumerate(groups)
            for j, (b, others) in enumerate(groups[:i])
            if _belong(heads, others, pixels) and _fits(_around(a, b), pixels)
        ]
        if not pairs:
            break
        _, i, j = min(pairs)
        joined = (_around(groups[i][0], groups[j][0]), groups[j][1] + groups[i][1])
        groups = [group for n, group in enumerate(groups) if n not in (i, j)] + [joined]
    groups.sort(key=lambda group: (-sum(w * h for _, _, w, h in group[1]), group[0]))
    return tuple((box, len(heads)) for box, heads in groups)


def _around(a: Box, b: Box) -> Box:
    x, y = min(a[0], b[0]), min(a[1], b[1])
    return x, y, max(a[0] + a[2], b[0] + b[2]) - x, max(a[1] + a[3], b[1] + b[3]) - y


def _distance(a: Box, b: Box, pixels: tuple[int, int]) -> float:
    """Return the larger of the gaps between two boxes across and down, in pixels; 0 where they meet."""
    across = max(a[0], b[0]) - min(a[0] + a[2], b[0] + b[2])
    down = max(a[1], b[1]) - min(a[1] + a[3], b[1] + b[3])
    return max(0.0, across * pixels[0], down * pixels[1])


def _belong(heads: Sequence[Box], others: Sequence[Box], pixels: tuple[int, int]) -> bool:
    """Whether some head of one group is near some head of the other and alike in size."""
    for a in heads:
        for b in others:
            small, large = sorted((a[3] * pixels[1], b[3] * pixels[1]))
            width = max(a[2], b[2]) * pixels[0]
            if large <= _ALIKE * small and _distance(a, b, pixels) <= _NEAR * width:
                return True
    return False


def _fits(box: Box, pixels: tuple[int, int]) -> bool:
    return max(box[2] * pixels[0], box[3] * pixels[1]) <= min(pixels)
