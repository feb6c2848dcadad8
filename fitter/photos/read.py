"""From a picture file to a :class:`Photo`: what the file says, what lies beside it, what the cache remembers.

What is found in the file itself depends on its content alone and is kept in the cache under its SHA-256; corrections
and ``.xmp`` files beside it are read every time.
"""

from __future__ import annotations

import hashlib
import os
import unicodedata
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from io import BufferedReader, BytesIO
from pathlib import Path
from typing import Any

from PIL import Image

from fitter.cache import Cache
from fitter.errors import InputError
from fitter.photos import exif
from fitter.photos.alike import look
from fitter.photos.files import is_drafted, misnamed, open_header, opened, quiet
from fitter.photos.photo import Mark, Photo
from fitter.photos.pixels import load_checked, open_seen, stored_orientation, turn_left
from fitter.photos.regions import MOST_REGIONS, Region, as_seen, distinct, subject_region
from fitter.photos.xmp import LARGEST_PACKET, Xmp, extended_packet, read_xmp
from fitter.sidecar import Sidecar, joined, read_sidecar

_KIND, _PREVIEW_KIND = "photo", "preview"
_VERSION = "3"
"""To be raised when the same file would be read differently."""
PREVIEW = 400
"""Longer side, at most, of the preview that is kept of a photo."""
_NO_LETTERS = frozenset({"Cc", "Cs", "Zl", "Zp"})
"""Unicode categories of what names may not hold: control characters, halves of pairs, line and paragraph breaks."""
LARGEST_AIM = 0.2
"""Share of the picture above which what the camera aimed at says nothing about what must stay."""
WEIGHTS = (0.5, 0.75, 1.0, 1.5, 2.0)
"""Weights of one to five stars; unrated photos, and those with no star, count as three (our choice)."""


@dataclass(frozen=True)
class _Facts:
    """What a file's content says; ``size`` is that of the stored picture, ``damage`` what its decoder said of it."""

    size: tuple[int, int]
    orientation: int
    format: str
    taken: str | None
    look: str
    xmp: Xmp
    aim: Region | None
    damage: str | None

    @property
    def pixels(self) -> tuple[int, int]:
        """Width and height as seen."""
        return (self.size[1], self.size[0]) if self.orientation >= 5 else self.size


def read_photo(
    path: str | os.PathLike[str], *, twins: Sequence[Path] = (), cache: Cache | None = None
) -> Photo:
    """Read one photo and check that its whole stream decodes.

    Parameters
    ----------
    path
        The picture file.
    twins
        Files of the same content: what lies beside them counts as well.
    cache
        Where what was found is kept; without one, nothing is.

    Raises
    ------
    InputError
        In one line, when the file or its corrections cannot be used.
    """
    path = Path(path)
    _check_name(path)
    digest, facts = _read_file(path, cache)
    corrections = joined([read_sidecar(one) for one in (path, *twins)])
    beside = _together([_xmp_beside(one, facts.size) for one in (path, *twins)])
    tagged = beside if beside is not None and beside.lists_regions else facts.xmp
    ratings = (corrections.rating, beside.rating if beside else None, facts.xmp.rating)
    rating = next((stars for stars in ratings if stars is not None), None)
    marks = _marks(corrections, tagged, facts)
    wrong = (misnamed(path, facts.format), _damage(facts.damage))
    return Photo(
        path=path,
        sha256=digest,
        pixels=facts.pixels,
        orientation=facts.orientation,
        taken=facts.taken,
        keep=tuple(mark.box for mark in marks if mark.source in ("correction", "file")),
        detected=tuple(mark.box for mark in marks if mark.source in ("camera", "found")),
        weight=corrections.weight if "weight" in corrections.said else weight_of(rating),
        rating=rating,
        marks=marks,
        look=facts.look,
        notes=(*filter(None, wrong), *facts.xmp.notes, *(beside.notes if beside else ())),
        settled=bool(corrections.said & {"keep", "detected"}),
    )


def _check_name(path: Path) -> None:
    """Refuse a name that no layout file can state and no line show."""
    name = os.path.abspath(path)
    if any(unicodedata.category(letter) in _NO_LETTERS for letter in name):
        raise InputError(
            f"photo {str(path)!r} has a line break or what is no text in its name or in that of its folder; rename it"
        )


def preview(photo: Photo, cache: Cache) -> Image.Image:
    """Return a small picture of a photo as seen, at most :data:`PREVIEW` pixels a side, RGB.

    Raises
    ------
    InputError
        When it has to be made and the file cannot be used any more.
    """
    kept = cache.get(photo.sha256, _PREVIEW_KIND, _VERSION)
    if kept is not None:
        try:
            picture = Image.open(BytesIO(kept), formats=["JPEG"])
            if max(picture.size) <= PREVIEW:
                return picture.convert("RGB")
        except (OSError, ValueError, SyntaxError):
            pass
    small = _small(open_seen(photo.path, at_least=_enough(photo.pixels)))
    cache.put(photo.sha256, _PREVIEW_KIND, _VERSION, _jpeg(small))
    return small


def weight_of(rating: float | None) -> float:
    """Return the weight a rating gives a photo: :data:`WEIGHTS`, halfway stars in between.

    Examples
    --------
    >>> weight_of(None), weight_of(1), weight_of(4.5)
    (1.0, 0.5, 1.75)
    """
    if rating is None or rating <= 0:
        return 1.0
    stars = min(max(rating, 1.0), float(len(WEIGHTS))) - 1
    below = min(int(stars), len(WEIGHTS) - 2)
    return WEIGHTS[below] + (stars - below) * (WEIGHTS[below + 1] - WEIGHTS[below])


def _read_file(path: Path, cache: Cache | None) -> tuple[str, _Facts]:
    """Return the hash of a file and what its content says."""
    with opened(path) as stream:
        stat = os.fstat(stream.fileno())
        digest = cache.known_hash(stat) if cache else None
        if digest is None:
            digest = hashlib.file_digest(stream, "sha256").hexdigest()
            stream.seek(0)
            if cache:
                cache.remember_hash(stat, digest)
        facts = _from_json(cache.get_json(digest, _KIND, _VERSION)) if cache else None
        if facts is None:
            facts, picture = _examine(stream, path)
            if cache:
                cache.put_json(digest, _KIND, _VERSION, asdict(facts))
                cache.put(digest, _PREVIEW_KIND, _VERSION, _jpeg(_small(picture)))
    return digest, facts


def _examine(stream: BufferedReader, path: Path) -> tuple[_Facts, Image.Image]:
    """Read and decode a file; return what it says and a picture of at least the preview's size."""
    with quiet():
        image, heif = open_header(stream, path)
        orientation, turn = stored_orientation(image, heif), turn_left(image, heif)
        taken, area = exif.taken(image), exif.subject_area(image)
    size, held = image.size, str(image.format)
    try:
        # A draft reads the whole stream but transforms a fraction of the samples.
        picture, damage = load_checked(image, stream, turn, path, _enough(size))
        size = size if is_drafted(image) else image.size
        packets = _packets(image)
    finally:
        image.close()
    # Decoders that turn the picture themselves report its size as seen.
    stored = size[::-1] if orientation >= 5 and turn == 1 else size
    return (
        _Facts(
            size=stored,
            orientation=orientation,
            format="JPEG" if held == "MPO" else held,
            taken=taken,
            look=look(picture),
            xmp=_xmp_inside(packets, stored),
            aim=subject_region(area, stored),
            damage=damage,
        ),
        picture,
    )


def _packets(image: Image.Image) -> tuple[bytes, ...]:
    """Return the XMP of a loaded picture: its packet, and what a JPEG holds beyond 64 kB."""
    found = image.info.get("xmp") or image.info.get("XML:com.adobe.xmp") or b""
    if not found and image.format == "TIFF":
        found = getattr(image, "tag_v2", {}).get(700, b"")
    if isinstance(found, str):
        found = found.encode("utf-8", "replace")
    main = found if isinstance(found, bytes) else b""
    return tuple(filter(None, (main, extended_packet(main, getattr(image, "applist", [])))))


def _xmp_inside(packets: tuple[bytes, ...], size: tuple[int, int]) -> Xmp:
    """Read what a file's packets say together."""
    found = [read_xmp(packet, size) for packet in packets]
    return Xmp(
        rating=next((one.rating for one in found if one.rating is not None), None),
        regions=distinct([region for one in found for region in one.regions])[:MOST_REGIONS],
        lists_regions=any(one.lists_regions for one in found),
        notes=tuple(note for one in found for note in one.notes),
    )


def _damage(said: str | None) -> str | None:
    """Return a sentence for a picture whose data is damaged and can be decoded all the same."""
    return f"is damaged ({said}): part of it may be grey, shifted or miscoloured, look at it" if said else None


def _xmp_beside(path: Path, size: tuple[int, int]) -> Xmp | None:
    """Read ``lake.jpg.xmp`` or ``lake.xmp`` beside ``lake.jpg``; ``None`` if there is neither."""
    for beside in (path.with_name(path.name + ".xmp"), path.with_suffix(".xmp"), path.with_suffix(".XMP")):
        if not os.path.exists(beside):
            continue
        if not os.path.isfile(beside):
            return Xmp(notes=(f"{beside.name} is no plain file and was not read",))
        try:
            with beside.open("rb") as stream:
                packet = stream.read(LARGEST_PACKET + 1)
        except OSError as failure:
            return Xmp(notes=(f"{beside.name} cannot be read ({failure.strerror})",))
        found = read_xmp(packet, size)
        notes = tuple(note.replace("its XMP", beside.name, 1) for note in found.notes)
        return Xmp(found.rating, found.regions, found.lists_regions, notes)
    return None


def _together(found: Sequence[Xmp | None]) -> Xmp | None:
    """Return what the ``.xmp`` files beside copies of one picture say together."""
    there = [one for one in found if one is not None]
    if len(there) < 2:
        return next(iter(there), None)
    return Xmp(
        rating=max((one.rating for one in there if one.rating is not None), default=None),
        regions=distinct([region for one in there for region in one.regions])[:MOST_REGIONS],
        lists_regions=any(one.lists_regions for one in there),
        notes=tuple(dict.fromkeys(note for one in there for note in one.notes)),
    )


def _marks(corrections: Sidecar, tagged: Xmp, facts: _Facts) -> tuple[Mark, ...]:
    """Return what marks a photo: corrections before regions, and what the camera aimed at only without either."""
    found = tuple(Mark(box, "subject", "found") for box in corrections.detected)
    if "keep" in corrections.said:
        return (*(Mark(box, "subject", "correction") for box in corrections.keep), *found)

    def seen(region: Region) -> Mark:
        return Mark(as_seen(region.box, facts.orientation), region.kind, "camera" if region.aimed else "file")

    marked = tuple(seen(region) for region in tagged.regions if not region.aimed)
    if marked or "detected" in corrections.said:
        return (*marked, *found)
    aims = [*(region for region in tagged.regions if region.aimed), *filter(None, [facts.aim])][:1]
    return tuple(seen(region) for region in aims if region.box[2] * region.box[3] <= LARGEST_AIM)


def _enough(size: tuple[int, int]) -> tuple[int, int]:
    """Return a size with a longer side of a preview."""
    scale = PREVIEW / max(size)
    return max(1, round(size[0] * scale)), max(1, round(size[1] * scale))


def _small(picture: Image.Image) -> Image.Image:
    if max(picture.size) <= PREVIEW:
        return picture
    return picture.resize(_enough(picture.size), Image.Resampling.LANCZOS, reducing_gap=3.0)


def _jpeg(picture: Image.Image) -> bytes:
    stream = BytesIO()
    picture.save(stream, "JPEG", quality=85)
    return stream.getvalue()


def _from_json(value: Any) -> _Facts | None:
    """Return facts from the cache, ``None`` if they are not what was put there."""

    def region(kept: Any) -> Region:
        left, top, width, height = kept["box"]
        return Region((left, top, width, height), kept["kind"], kept["aimed"])

    try:
        xmp = value["xmp"]
        return _Facts(
            size=(value["size"][0], value["size"][1]),
            orientation=value["orientation"],
            format=value["format"],
            taken=value["taken"],
            look=value["look"],
            xmp=Xmp(
                xmp["rating"],
                tuple(region(kept) for kept in xmp["regions"]),
                xmp["lists_regions"],
                tuple(xmp["notes"]),
            ),
            aim=None if value["aim"] is None else region(value["aim"]),
            damage=None if value["damage"] is None else str(value["damage"]),
        )
    except (KeyError, TypeError, ValueError, IndexError):
        return None
