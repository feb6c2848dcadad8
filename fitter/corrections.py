"""What the user corrects about a photo, written into the file beside it (see :mod:`fitter.sidecar`).

Enters: ``PHOTO=x,y,w,h`` and ``PHOTO=N`` as typed.  Leaves: ``NAME.EXT.keep.json`` beside each photo, readable, written
whole or not at all.  What a file says already is replaced only if that was asked for; what else it says stays.
"""

from __future__ import annotations

import json
import os
import tempfile
from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fitter.errors import InputError, OutputExistsError, UseError
from fitter.layout import Box
from fitter.sidecar import MOST_BOXES, check_box, check_rating, parse_sidecar, read_sidecar_bytes, sidecar_path

NOTHING = "none"
"""Written instead of a box: nothing in the photo needs keeping."""


@dataclass(frozen=True)
class Correction:
    """What is to be written beside one photo; ``None`` leaves that as it is."""

    photo: Path
    keep: tuple[Box, ...] | None = None
    rating: float | None = None


def parse_corrections(
    keep: Iterable[str], ratings: Iterable[str], paths: Sequence[str | Path]
) -> tuple[Correction, ...]:
    """Read what was typed, one correction for each photo named.

    Parameters
    ----------
    keep
        ``PHOTO=x,y,w,h`` in 0…1 of the picture as seen, several for one photo if need be, or ``PHOTO=none``.
    ratings
        ``PHOTO=N``, 0 to 5 stars or -1.
    paths
        The files and folders PHOTO may be in, if it is not a path of its own.

    Raises
    ------
    UseError
        When something typed has no meaning, or a photo is named that is not there.
    """
    boxes: dict[Path, list[Box]] = {}
    emptied: set[Path] = set()
    for typed in keep:
        photo, value = _parts("--keep", typed, "x,y,w,h", paths)
        kept = boxes.setdefault(photo, [])
        if value.lower() == NOTHING:
            emptied.add(photo)
        else:
            kept.append(_box(value, f"--keep {photo.name}"))
        if kept and photo in emptied:
            raise UseError(f"--keep {photo.name}: {NOTHING!r} and a box exclude each other; write one of them")
        if len(kept) > MOST_BOXES:
            raise UseError(f"--keep {photo.name}: at most {MOST_BOXES} boxes are taken")
    stars: dict[Path, float] = {}
    for typed in ratings:
        photo, value = _parts("--rating", typed, "N", paths)
        if photo in stars:
            raise UseError(f"--rating {photo.name} is given twice")
        try:
            stars[photo] = check_rating(_number(value), what=f"--rating {photo.name}")
        except InputError as failure:
            raise UseError(failure.message) from None
    return tuple(
        Correction(photo, tuple(boxes[photo]) if photo in boxes else None, stars.get(photo))
        for photo in dict.fromkeys((*boxes, *stars))
    )


def write_corrections(corrections: Iterable[Correction], *, overwrite: bool) -> tuple[Path, ...]:
    """Write what is corrected beside each photo; return the files written.

    Nothing is written unless everything can be: what a file states otherwise is found first.

    Raises
    ------
    OutputExistsError
        When a file states something else already and may not be changed.
    InputError
        When a file that is there cannot be used, or one cannot be written.
    """
    texts: dict[Path, str] = {}
    for correction in corrections:
        file = sidecar_path(correction.photo)
        data = read_sidecar_bytes(correction.photo)
        content: dict[str, Any] = {}
        if data is not None:
            parse_sidecar(data, what=f"keep boxes {str(file)!r}")
            content = json.loads(data.decode("utf-8-sig"))
        for name, value in (("keep", correction.keep), ("rating", correction.rating)):
            if value is None:
                continue
            new = [list(box) for box in value] if isinstance(value, tuple) else value
            if not overwrite and content.get(name, new) != new:
                raise OutputExistsError(
                    f"{file} states {name} {json.dumps(content[name])} already; use --overwrite to replace it"
                )
            content[name] = new
        texts[file] = sidecar_text(content)
    for file, text in texts.items():
        _write_whole(file, text)
    return tuple(texts)


def sidecar_text(content: dict[str, Any]) -> str:
    """Return the content of a sidecar as people like to edit it: a box a line."""

    def value(name: str) -> str:
        if name in ("keep", "detected") and content[name]:
            rows = ",\n".join(f"    {json.dumps(box)}" for box in content[name])
            return f"[\n{rows}\n  ]"
        return json.dumps(content[name])

    return "{\n" + ",\n".join(f"  {json.dumps(name)}: {value(name)}" for name in content) + "\n}\n"


def _parts(option: str, typed: str, form: str, paths: Sequence[str | Path]) -> tuple[Path, str]:
    name, equals, value = typed.rpartition("=")
    if not equals or not name or not value.strip():
        raise UseError(f"{option} {typed[:60]!r}: write PHOTO={form}")
    return _find(option, name, paths), value.strip()


def _find(option: str, name: str, paths: Sequence[str | Path]) -> Path:
    """Return the photo meant: a path, or a name in one of the folders or among the files given."""
    places = [Path(path) / name if os.path.isdir(path) else Path(path) for path in paths]
    there = [place for place in places if place.name == Path(name).name and os.path.isfile(place)]
    there = list({place.resolve(): place for place in there}.values())
    if not there and os.path.isfile(name):
        there = [Path(name)]
    if not there:
        raise UseError(f"{option} {name[:80]!r} is no photo that was given; write its file name or its path")
    if len(there) > 1:
        raise UseError(f"{option} {name[:80]!r} names {len(there)} photos; write the path of the one meant")
    return there[0]


def _box(value: str, what: str) -> Box:
    try:
        return check_box([_number(part) for part in value.split(",")], what=what)
    except InputError as failure:
        raise UseError(failure.message) from None


def _number(text: str) -> float | None:
    try:
        return float(text)
    except ValueError:
        return None


def _write_whole(file: Path, text: str) -> None:
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(dir=file.parent, prefix=f".{file.name}.", suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as stream:
            stream.write(text)
        os.chmod(temporary, 0o644)
        os.replace(temporary, file)
    except OSError as failure:
        raise InputError(
            f"{file} cannot be written ({failure.strerror}); the photo's folder must be writable"
        ) from None
    finally:
        if temporary is not None:
            with suppress(FileNotFoundError):
                os.unlink(temporary)
