"""Step 1 for photos: picture files become :class:`Photo`, and later their pixels as seen.

Enters: JPEG, PNG, TIFF and WebP files or folders of them, opened read-only.  Leaves: size and orientation,
capture time, content hash and keep boxes; places and serial numbers are never read.  Refuses, in one line
each, what is missing, empty, cut short, no picture, or too large, the last from the header alone.

*As seen* means after the Exif orientation (CIPA DC-008, tag 0x0112) has been applied, exactly once.
"""

from __future__ import annotations

import hashlib
import re
import threading
import warnings
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from io import BufferedReader, BytesIO
from pathlib import Path
from typing import Any

from PIL import Image, ImageCms, UnidentifiedImageError

from fitter.errors import InputError
from fitter.layout import Box, GivenPhoto
from fitter.sidecar import SUFFIX as SIDECAR_SUFFIX
from fitter.sidecar import read_sidecar

FORMATS = ("JPEG", "PNG", "TIFF", "WEBP")
ENDINGS = frozenset({".jpg", ".jpeg", ".jpe", ".jfif", ".png", ".tif", ".tiff", ".webp"})
LARGEST_FILE = 200_000_000
"""Bytes a photo may have."""
MOST_PIXELS = 250_000_000
"""Pixels a JPEG may have; it is decoded at an eighth of its size to be checked."""
MOST_PIXELS_WHOLE = 100_000_000
"""Pixels any other picture may have; it has to be decoded whole."""
MOST_PHOTOS = 200
"""Photos that may be given for one page."""

_ORIENTATION, _EXIF_IFD = 0x0112, 0x8769
_TAKEN, _TAKEN_FRACTION = (0x9003, 0x9004), (0x9291, 0x9292)
_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_DRAFTED = ("JPEG", "MPO")
_SIXTEEN_BIT = frozenset({"I;16", "I;16L", "I;16B", "I"})
_MODES = frozenset({"1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr"}) | _SIXTEEN_BIT
_QUIET = threading.RLock()


@dataclass(frozen=True)
class Photo:
    """A photo that was read and found whole.

    Parameters
    ----------
    path
        As given.
    sha256
        Of the file, lower-case hexadecimal.
    pixels
        Width and height as seen.
    orientation
        Exif orientation 1 to 8 that leads from the stored picture to the one seen.
    taken
        Capture time by the camera's clock, as ``YYYY-MM-DDTHH:MM:SS`` with any fraction; ``None`` if unknown.
    keep, detected
        Boxes from the sidecar, in 0…1 of the picture as seen.
    weight
        How much cutting it costs; 1 for an ordinary photo.
    """

    path: Path
    sha256: str
    pixels: tuple[int, int]
    orientation: int = 1
    taken: str | None = None
    keep: tuple[Box, ...] = ()
    detected: tuple[Box, ...] = ()
    weight: float = 1.0

    def __post_init__(self) -> None:
        if min(self.pixels) < 1:
            raise InputError(f"photo {str(self.path)!r}: a picture of {self.pixels} pixels is not possible")
        if self.orientation not in range(1, 9):
            raise InputError(f"photo {str(self.path)!r}: orientation {self.orientation} is not 1 to 8")


def read_photo(path: str | Path) -> Photo:
    """Read one photo and check that its whole stream decodes.

    Raises
    ------
    InputError
        In one line, when the file or its sidecar cannot be used.
    """
    path = Path(path)
    with _opened(path) as stream:
        digest = hashlib.file_digest(stream, "sha256").hexdigest()
        stream.seek(0)
        with _quiet():
            image = _open_header(stream, path)
            orientation, taken = _orientation(image), _taken(image)
            turn, size = _turn(image, orientation), image.size
            try:
                # A draft reads the whole stream but transforms an eighth of the samples a side.
                image.draft("L", (1, 1))
                image.load()
                size = size if image.format in _DRAFTED else image.size
            except Exception as failure:  # decoders raise anything on hostile data
                raise _damaged(path, failure) from None
            finally:
                image.close()
    marks = read_sidecar(path)
    seen = (size[1], size[0]) if turn >= 5 else size
    return Photo(path, digest, seen, orientation, taken, marks.keep, marks.detected, marks.weight)


def read_photos(
    paths: Sequence[str | Path], *, note: Callable[[str], None] | None = None, most: int = MOST_PHOTOS
) -> tuple[Photo, ...]:
    """Read photos in the order given; a folder's photos by capture time, then by name with numbers counted.

    Photos without a capture time come after the others of their folder.  A picture given twice (same file or
    same content) is taken once.

    Parameters
    ----------
    paths
        Files and folders; folders are not searched below their first level.
    note
        Called with a sentence for everything skipped.
    most
        Largest number of photos accepted.

    Raises
    ------
    InputError
        When one cannot be used, a folder holds none, or there are too many.
    """
    say = note or (lambda sentence: None)
    groups = [_in_folder(Path(path), say) if _is_folder(Path(path)) else [Path(path)] for path in paths]
    count = sum(len(group) for group in groups)
    if count == 0:
        raise InputError("no photo was given; name at least one picture file or folder")
    if count > most:
        raise InputError(f"{count:,} photos are more than the {most:,} that can be given at once; name fewer")
    photos: list[Photo] = []
    for path, group in zip(paths, groups, strict=True):
        read = [read_photo(member) for member in group]
        if _is_folder(Path(path)):
            read.sort(key=lambda photo: (photo.taken is None, photo.taken or "", _natural(photo.path.name)))
        photos.extend(read)
    return _once(photos, say)


def given(photos: Sequence[Photo]) -> tuple[GivenPhoto, ...]:
    """Return the photos as a layout records them, in their order."""
    return tuple(
        GivenPhoto(
            file=str(photo.path),
            sha256=photo.sha256,
            pixels=photo.pixels,
            keep=photo.keep,
            detected=photo.detected,
            weight=photo.weight,
            order=order,
            taken=photo.taken,
        )
        for order, photo in enumerate(photos)
    )


def open_seen(path: str | Path, *, at_least: tuple[int, int] | None = None) -> Image.Image:
    """Return a photo's pixels as seen: 8-bit sRGB, orientation applied, transparent parts on white.

    Parameters
    ----------
    path
        The picture file.
    at_least
        Width and height, as seen, that are enough.  The picture returned is then shrunk by a whole factor
        where that leaves at least this size (JPEG: 2, 4 or 8 while decoding, which is much faster).  Take the
        scale from the size returned.

    Raises
    ------
    InputError
        As :func:`read_photo`.
    """
    path = Path(path)
    with _opened(path) as stream:
        with _quiet():
            image = _open_header(stream, path)
            turn = _turn(image, _orientation(image))
        try:
            wanted = at_least and (at_least[::-1] if turn >= 5 else at_least)
            if wanted:
                image.draft(None, wanted)
            image.load()
            picture = _srgb(image)
            if wanted:
                factor = min(picture.width // max(wanted[0], 1), picture.height // max(wanted[1], 1))
                picture = picture.reduce(factor) if factor > 1 else picture
            picture = picture.transpose(_TURNS[turn]) if turn in _TURNS else picture
            picture.info.clear()  # what is drawn or saved must not carry places or serial numbers along
            return picture
        except Exception as failure:  # decoders raise anything on hostile data
            raise _damaged(path, failure) from None


@contextmanager
def _opened(path: Path) -> Iterator[BufferedReader]:
    name = f"photo {str(path)!r}"
    try:
        if path.is_dir():
            raise InputError(f"{name} is a folder; name a picture file")
        if not path.exists():
            raise InputError(f"{name} does not exist; check the path")
        if not path.is_file():
            raise InputError(f"{name} is no plain file; name a picture file")
        size = path.stat().st_size
        stream = path.open("rb")
    except (OSError, ValueError) as failure:
        reason = getattr(failure, "strerror", None) or "the path is not usable"
        raise InputError(f"{name} cannot be read: {reason}") from None
    with stream:
        if size == 0:
            raise InputError(f"{name} is empty (0 bytes); copy it again")
        if size > LARGEST_FILE:
            raise InputError(
                f"{name} has {size / 1e6:,.0f} MB; at most {LARGEST_FILE // 10**6} are read, save it smaller"
            )
        yield stream


@contextmanager
def _quiet() -> Iterator[None]:
    """Silence Pillow's warnings and lift its own pixel limit; ours is checked on the header."""
    with _QUIET, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        before, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            yield
        finally:
            Image.MAX_IMAGE_PIXELS = before


def _open_header(stream: BufferedReader, path: Path) -> Image.Image:
    """Open without decoding and refuse from the header what cannot be used."""
    name = f"photo {str(path)!r}"
    try:
        image = Image.open(stream, formats=FORMATS)
    except UnidentifiedImageError:
        raise InputError(
            f"{name} is no JPEG, PNG, TIFF or WebP picture, or it is damaged; convert or replace it"
        ) from None
    except Exception as failure:  # decoders raise anything on hostile data
        raise _damaged(path, failure) from None
    width, height = image.size
    most = MOST_PIXELS if image.format in _DRAFTED else MOST_PIXELS_WHOLE
    if width * height > most:
        raise InputError(
            f"{name} has {width:,} × {height:,} pixels; at most {most // 10**6} million are read, "
            "save it smaller"
        )
    if image.mode not in _MODES:
        raise InputError(f"{name} has pixels of the kind {image.mode}; save it with 8 or 16 bits a channel")
    return image


def _damaged(path: Path, failure: Exception) -> InputError:
    reason = " ".join(str(failure).split())[:80] or type(failure).__name__
    return InputError(f"photo {str(path)!r} is damaged or cut short ({reason}); copy it again")


def _orientation(image: Image.Image) -> int:
    try:
        value = int(image.getexif().get(_ORIENTATION, 1))
    except Exception:  # a photo with broken Exif is still a photo
        return 1
    return value if value in range(1, 9) else 1


def _turn(image: Image.Image, orientation: int) -> int:
    """Return the orientation still to be applied: Pillow turns a TIFF upright itself while loading it."""
    return 1 if image.format == "TIFF" else orientation


def _taken(image: Image.Image) -> str | None:
    """Return DateTimeOriginal (else DateTimeDigitized) with its fraction of a second, as ISO 8601."""
    try:
        tags: dict[int, Any] = image.getexif().get_ifd(_EXIF_IFD)
    except Exception:  # a photo with broken Exif is still a photo
        return None
    for when, fraction in zip(_TAKEN, _TAKEN_FRACTION, strict=True):
        try:
            moment = datetime.strptime(str(tags[when]).strip(" \0")[:19], "%Y:%m:%d %H:%M:%S")
        except (KeyError, ValueError):
            continue
        digits = re.match(r"\d{1,6}", str(tags.get(fraction, "")))
        return moment.isoformat() + (f".{digits[0]}" if digits else "")
    return None


def _srgb(image: Image.Image) -> Image.Image:
    """Return an 8-bit RGB copy; an embedded colour profile is honoured if it can be."""
    profile = image.info.get("icc_profile")
    if image.mode in _SIXTEEN_BIT:
        image = image.convert("I").point(lambda value: value / 256).convert("L")
    if image.mode == "PA" or (image.mode == "P" and "transparency" in image.info):
        image = image.convert("RGBA")
    if "A" in image.getbands() or "transparency" in image.info:
        alpha = image.convert("RGBA")
        image = Image.new("RGB", image.size, "white")
        image.paste(alpha, mask=alpha.getchannel("A"))
    if image.mode not in ("RGB", "L", "CMYK"):
        image = image.convert("RGB")
    if isinstance(profile, bytes) and profile:
        try:
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            if "srgb" not in ImageCms.getProfileDescription(source).lower():
                target = ImageCms.createProfile("sRGB")
                converted = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
                return converted or image.convert("RGB")
        except (ImageCms.PyCMSError, OSError, ValueError):
            pass  # an unusable profile leaves the plain conversion
    return image.convert("RGB")


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def _in_folder(folder: Path, say: Callable[[str], None]) -> list[Path]:
    try:
        members = sorted(folder.iterdir(), key=lambda member: _natural(member.name))
    except OSError as failure:
        raise InputError(f"photo folder {str(folder)!r} cannot be read: {failure.strerror}") from None
    found = []
    for member in members:
        if member.name.startswith("."):
            say(f"hidden file {str(member)!r} was skipped")
        elif member.is_dir():
            say(f"folder {str(member)!r} inside a folder was skipped; name it to use its photos")
        elif member.suffix.lower() in ENDINGS:
            found.append(member)
        elif not member.name.endswith(SIDECAR_SUFFIX):
            say(f"{str(member)!r} was skipped: not named as a JPEG, PNG, TIFF or WebP picture")
    if not found:
        raise InputError(f"photo folder {str(folder)!r} holds no JPEG, PNG, TIFF or WebP picture")
    return found


def _once(photos: Sequence[Photo], say: Callable[[str], None]) -> tuple[Photo, ...]:
    first: dict[str, Photo] = {}
    for photo in photos:
        if photo.sha256 in first:
            other = str(first[photo.sha256].path)
            say(f"photo {str(photo.path)!r} is the same picture as {other!r}; taken once")
        else:
            first[photo.sha256] = photo
    return tuple(first.values())


def _natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Return a key that sorts ``lake2`` before ``lake10``, letters of either case alike."""
    parts = re.split(r"(\d+)", name.casefold())
    return (*((1, int(p), "") if p.isdecimal() else (2, 0, p) for p in parts if p), (0, 0, name))
