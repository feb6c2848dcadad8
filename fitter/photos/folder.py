"""Many photos: the files of folders, in the order they were taken, each picture once.

A photo named alone that cannot be used ends the reading for a page; what is wrong with one of a folder is said, and the
others go on.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from fitter.cache import Cache
from fitter.errors import InputError
from fitter.names import told_apart
from fitter.photos.alike import alike
from fitter.photos.files import ENDINGS, FORMAT_NAMES
from fitter.photos.order import by_time, natural
from fitter.photos.photo import Photo
from fitter.photos.read import read_photo
from fitter.sidecar import SUFFIX as SIDECAR_SUFFIX

MOST_PHOTOS = 200
"""Photos that may be given for one page."""
MOST_SURVEYED = 10_000
"""Photos that may be looked through at once."""

_BESIDE = ("marks", "weight", "rating", "settled")
"""What files of the same content can differ in: it stands beside them."""
_ENDINGS = frozenset().union(*ENDINGS.values())


@dataclass(frozen=True)
class Survey:
    """What was found among many files.

    Parameters
    ----------
    photos
        Those that could be read, folder by folder in the order they were taken.
    problems
        The others, each with what is wrong with it.
    notes
        A sentence for everything that was skipped.
    """

    photos: tuple[Photo, ...]
    problems: tuple[tuple[Path, str], ...]
    notes: tuple[str, ...]


def read_photos(
    paths: Sequence[str | os.PathLike[str]],
    *,
    note: Callable[[str], None] | None = None,
    most: int = MOST_PHOTOS,
    cache: Cache | None = None,
) -> tuple[Photo, ...]:
    """Read photos in the order given; a folder's photos by capture time, then by name with numbers counted.

    Photos without a capture time come after the others of their folder.  A picture given twice (same file or
    same content) is taken once, with what is written beside either; one that is rated -1 is left out.

    Parameters
    ----------
    paths
        Files and folders; folders are not searched below their first level.
    note
        Called with a sentence for everything skipped, and for photos that look alike.
    most
        Largest number of photos accepted.
    cache
        Where what was found is kept; without one, nothing is.

    Raises
    ------
    InputError
        When one that is named cannot be used, a folder holds none that can, there are too many, or all are rated -1.
    """
    say = note or (lambda sentence: None)
    photos: list[Photo] = []
    for is_folder, files in _groups(paths, say, most):
        photos += _usable(files, say, cache) if is_folder else [read_photo(file, cache=cache) for file in files]
    wanted = []
    for photo in _once(photos, say, cache):
        name = f"photo {photo.path.name!r}"
        if photo.rejected:
            say(f"{name} is rated -1 (rejected) and was left out; rate it anew to use it")
            continue
        for remark in photo.notes:
            say(f"{name}: {remark}")
        wanted.append(photo)
    if not wanted:
        raise InputError("every photo given is rated -1 (rejected); rate one anew to use it")
    for group in alike(wanted):
        names = ", ".join(wanted[i].path.name for i in group.members)
        say(f"{names} look alike{' and were taken in a burst' if group.burst else ''}; all are used")
    return tuple(wanted)


def survey_photos(
    paths: Sequence[str | os.PathLike[str]],
    *,
    cache: Cache,
    most: int = MOST_SURVEYED,
    progress: Callable[[int, int], None] | None = None,
) -> Survey:
    """Read every photo that can be read and say what is wrong with the others.

    Parameters
    ----------
    paths
        Files and folders; folders are not searched below their first level.
    cache
        Where what was found is kept.
    most
        Largest number of photos accepted.
    progress
        Called with how many files are done, and of how many.

    Raises
    ------
    InputError
        When a folder cannot be read or holds no photo, or there are too many.
    """
    notes: list[str] = []
    groups = _groups(paths, notes.append, most)
    count, done = sum(len(files) for _, files in groups), 0
    photos: list[Photo] = []
    problems: list[tuple[Path, str]] = []

    for is_folder, files in groups:
        read: list[Photo] = []
        for file in files:
            try:
                read.append(read_photo(file, cache=cache))
            except InputError as failure:
                problems.append((file, failure.message.removeprefix(f"photo {str(file)!r} ")))
            done += 1
            if progress:
                progress(done, count)
        photos += by_time(read) if is_folder else read
    return Survey(_once(photos, notes.append, cache), tuple(problems), tuple(notes))


def _groups(
    paths: Sequence[str | os.PathLike[str]], say: Callable[[str], None], most: int
) -> list[tuple[bool, list[Path]]]:
    """Return, for each path, whether it is a folder and its files; count them all first."""
    groups = []
    for path in map(Path, paths):
        is_folder = _is_folder(path)
        groups.append((is_folder, _in_folder(path, say) if is_folder else [path]))
    count = sum(len(files) for _, files in groups)
    if count == 0:
        raise InputError("no photo was given; name at least one picture file or folder")
    if count > most:
        raise InputError(f"{count:,} photos are more than the {most:,} that can be given at once; name fewer")
    return groups


def _usable(files: Sequence[Path], say: Callable[[str], None], cache: Cache | None) -> list[Photo]:
    """Return the photos of a folder in the order they were taken, and say what is wrong with the others."""
    read: list[Photo] = []
    first: InputError | None = None
    for file in files:
        try:
            read.append(read_photo(file, cache=cache))
        except InputError as failure:
            first = first or failure
            say(f"{failure.message}; it was left out")
    if first is not None and not read:
        raise InputError(f"no photo of folder {str(files[0].parent)!r} can be used: {first.message}")
    return by_time(read)


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def _in_folder(folder: Path, say: Callable[[str], None]) -> list[Path]:
    try:
        members = sorted(folder.iterdir(), key=lambda member: natural(member.name))
    except OSError as failure:
        raise InputError(f"photo folder {str(folder)!r} cannot be read: {failure.strerror}") from None
    found = []
    for member in members:
        ending = member.suffix.lower()
        if member.name.startswith("."):
            say(f"hidden file {member.name!r} was skipped")
        elif member.is_dir():
            say(f"folder {member.name!r} inside a folder was skipped; name it to use its photos")
        elif ending in _ENDINGS:
            found.append(member)
        elif ending != ".xmp" and not member.name.endswith(SIDECAR_SUFFIX):
            say(f"{member.name!r} was skipped: not named as a {FORMAT_NAMES} picture")
    if not found:
        raise InputError(f"photo folder {str(folder)!r} holds no {FORMAT_NAMES} picture")
    return found


def _once(photos: Sequence[Photo], say: Callable[[str], None], cache: Cache | None) -> tuple[Photo, ...]:
    """Return each picture once: the first of its files, with what is written beside any of them."""
    files: dict[str, list[Photo]] = {}
    for photo in photos:
        files.setdefault(photo.sha256, []).append(photo)
    return tuple(_joined(first, twins, say, cache) for first, *twins in files.values())


def _joined(first: Photo, twins: Sequence[Photo], say: Callable[[str], None], cache: Cache | None) -> Photo:
    others = []
    for twin in twins:
        name, other = told_apart(twin.path, first.path)
        differs = any(getattr(twin, what) != getattr(first, what) for what in _BESIDE)
        say(
            f"photo {name!r} is the same picture as {other!r}, which is taken"
            f"{'; what is written beside either counts' if differs else ''}"
        )
        others += [twin.path] if differs else []
    return read_photo(first.path, twins=others, cache=cache) if others else first
