"""Opening picture files that may be anything: bounded, read-only, told by their content.

Enters: a path.  Leaves: a Pillow image whose header was read and whose pixels were not.  Refuses, in one line each,
what is missing, empty, cut short, no picture, or too large, the last from the header alone.
"""

from __future__ import annotations

import base64
import json
import os
import subprocess
import sys
import threading
import warnings
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from io import BufferedReader, BytesIO
from pathlib import Path

from PIL import Image, UnidentifiedImageError
from PIL.TiffImagePlugin import (
    BITSPERSAMPLE,
    IMAGELENGTH,
    IMAGEWIDTH,
    PHOTOMETRIC_INTERPRETATION,
    STRIPOFFSETS,
    TILEOFFSETS,
    ImageFileDirectory_v2,
)

from fitter.errors import InputError
from fitter.photos.heif import HeifFacts, inspect, is_heif
from fitter.photos.intact import png_ends

ENDINGS = {
    "JPEG": frozenset({".jpg", ".jpeg", ".jpe", ".jfif"}),
    "PNG": frozenset({".png"}),
    "TIFF": frozenset({".tif", ".tiff"}),
    "WEBP": frozenset({".webp"}),
    "HEIF": frozenset({".heic", ".heif", ".hif"}),
}
"""File name endings of the formats that are read."""
FORMAT_NAMES = "JPEG, PNG, TIFF, WebP or HEIC"
LARGEST_FILE = 200_000_000
"""Bytes a photo may have."""
MOST_PIXELS = 250_000_000
"""Pixels a JPEG may have; it is decoded at a fraction of its size to be checked."""
MOST_PIXELS_PROGRESSIVE = 100_000_000
"""Pixels a progressive JPEG may have; all of its coefficients are held at once, whatever size is wanted."""
MOST_PIXELS_WHOLE = 50_000_000
"""Pixels any other picture may have; it has to be decoded whole, at four bytes a pixel and copied twice or thrice."""
MOST_PIXELS_WEBP = 30_000_000
"""The same of a WebP, whose decoder holds four copies."""
MOST_PIXELS_GREY = 100_000_000
"""The same of a picture in grey of eight bits, which takes one byte a pixel."""
LARGE = 20_000_000
"""Pixels decoded from which on it is one picture at a time."""

SIXTEEN_BIT = frozenset({"I;16", "I;16L", "I;16B", "I"})
_MODES = frozenset({"1", "L", "LA", "P", "PA", "RGB", "RGBA", "RGBX", "CMYK", "YCbCr"}) | SIXTEEN_BIT
_AS_RGB = "save it as RGB with 8 or 16 bits a channel"
_TIFF_COLOURS = {
    0: "grey",
    1: "grey",
    2: "RGB",
    3: "palette",
    4: "mask",
    5: "CMYK",
    6: "YCbCr",
    8: "Lab",
    9: "Lab",
    10: "Lab",
    32803: "raw",
    34892: "raw",
}
"""Photometric interpretations (TIFF 6.0 and its technical notes)."""
_DRAFTED = ("JPEG", "MPO")
_HEIF_SECONDS = 120
_GREY = frozenset({"1", "L"})
_QUIET = threading.RLock()
_LARGE_ONE = threading.Lock()
_ERRORS = threading.Lock()


@contextmanager
def opened(path: Path) -> Iterator[BufferedReader]:
    """Open a photo's file for reading.

    Raises
    ------
    InputError
        When it is no plain file, cannot be read, is empty or too large.
    """
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
def quiet() -> Iterator[None]:
    """Silence Pillow's warnings and lift its own pixel limit; ours is checked on the header."""
    with _QUIET, warnings.catch_warnings():
        warnings.simplefilter("ignore")
        before, Image.MAX_IMAGE_PIXELS = Image.MAX_IMAGE_PIXELS, None
        try:
            yield
        finally:
            Image.MAX_IMAGE_PIXELS = before


def open_header(stream: BufferedReader | BytesIO, path: Path) -> tuple[Image.Image, HeifFacts | None]:
    """Open without decoding and refuse from the header what cannot be used; to be called within :func:`quiet`.

    Returns
    -------
    tuple
        The picture, and for HEIC what its container says of it.
    """
    name = f"photo {str(path)!r}"
    heif: HeifFacts | None = None
    try:
        start = stream.read(12)
        stream.seek(0)
        if is_heif(start) and isinstance(stream, BufferedReader):
            heif = inspect(stream)
            image: Image.Image = _decode_heif(stream, name)
        else:
            image = Image.open(stream, formats=[name for name in ENDINGS if name != "HEIF"])
    except InputError:
        raise
    except UnidentifiedImageError:
        kind = _kind_of_tiff(stream)
        if kind:
            raise InputError(f"{name} is a TIFF of a kind that is not read ({kind}); {_AS_RGB}") from None
        raise InputError(f"{name} is no {FORMAT_NAMES} picture, or it is damaged; convert or replace it") from None
    except Exception as failure:  # decoders raise anything on hostile data
        raise damaged(path, failure) from None
    _refuse_large(image.size, *_most_pixels(image), name)
    if image.format == "PNG" and not png_ends(stream):
        raise damaged(path, ValueError("its end, the chunk IEND, is missing"))
    if image.mode not in _MODES:
        raise InputError(f"{name} has pixels of the kind {image.mode}; {_AS_RGB}")
    return image, heif


def is_drafted(image: Image.Image) -> bool:
    """Whether the picture can be shrunk while it is decoded."""
    return image.format in _DRAFTED


def damaged(path: Path, failure: Exception) -> InputError:
    """Return what to say when a decoder gave up."""
    if "MAX_TEXT_" in str(failure):
        return InputError(
            f"photo {str(path)!r} is a PNG with more compressed text, XMP or colour profile than is read "
            "(1 MB each, 64 MB together); save it without them, or as JPEG"
        )
    reason = " ".join(str(failure).split())[:80] or type(failure).__name__
    return InputError(f"photo {str(path)!r} is damaged or cut short ({reason}); copy it again")


def misnamed(path: Path, held: str) -> str | None:
    """Return a sentence if the file's ending belongs to another format than the one it holds."""
    named = next((name for name, endings in ENDINGS.items() if path.suffix.lower() in endings), None)
    if named is None or named == held:
        return None
    return f"it is named as {named} but holds a {held} picture, and was read as that"


def is_progressive(image: Image.Image) -> bool:
    """Whether it is a progressive JPEG, which takes memory for all its pixels even when shrunk while it is decoded."""
    return image.format in _DRAFTED and bool(image.info.get("progressive"))


@contextmanager
def in_turn(pixels: int) -> Iterator[None]:
    """Wait, before decoding a large picture, until no other one is being decoded."""
    with _LARGE_ONE if pixels > LARGE else nullcontext():
        yield


@contextmanager
def unheard(image: Image.Image) -> Iterator[None]:
    """Decode without what the TIFF library writes to the error stream itself; one line of ours says what is wrong."""
    if image.format != "TIFF":
        yield
        return
    with _ERRORS:
        try:
            before = os.dup(2)
        except OSError:  # there is no error stream
            yield
            return
        try:
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 2)
            os.close(nowhere)
            yield
        finally:
            os.dup2(before, 2)
            os.close(before)


def _most_pixels(image: Image.Image) -> tuple[int, str]:
    """Return how many pixels a picture of its kind may have, and what the kind is called."""
    if is_progressive(image):
        return MOST_PIXELS_PROGRESSIVE, "progressive JPEG"
    if image.format in _DRAFTED:
        return MOST_PIXELS, "JPEG"
    if image.format == "WEBP":
        return MOST_PIXELS_WEBP, "WebP"
    return MOST_PIXELS_GREY if image.mode in _GREY else MOST_PIXELS_WHOLE, str(image.format)


def _refuse_large(size: tuple[int, int], most: int, kind: str, name: str) -> None:
    if size[0] * size[1] > most:
        way = "save it smaller" if kind == "JPEG" else "save it smaller, or as a baseline JPEG"
        raise InputError(
            f"{name} has {size[0]:,} × {size[1]:,} pixels; of a {kind} at most {most // 10**6} million are read, {way}"
        )


def _kind_of_tiff(stream: BufferedReader | BytesIO) -> str | None:
    """Return what a TIFF says its pixels are, ``None`` if it is none, does not say, or holds no picture."""
    try:
        stream.seek(0)
        head = stream.read(8)
        tags = ImageFileDirectory_v2(head + stream.read(8) if head[2:3] == b"+" else head)
        stream.seek(tags.next)
        tags.load(stream)
        if min(tags[IMAGEWIDTH], tags[IMAGELENGTH]) < 1 or not (tags.get(STRIPOFFSETS) or tags.get(TILEOFFSETS)):
            return None
        colours, bits = tags[PHOTOMETRIC_INTERPRETATION], tags[BITSPERSAMPLE]
        values = "1 value" if len(bits) == 1 else f"{len(bits)} values"
        return f"{_TIFF_COLOURS.get(colours, f'colours of number {colours}')}, {values} a pixel of {max(bits)} bits"
    except Exception:  # it is hostile or cut short
        return None


def _decode_heif(stream: BufferedReader, name: str) -> Image.Image:
    """Return a HEIC photo, decoded apart from this process."""
    os.lseek(stream.fileno(), 0, os.SEEK_SET)
    done = subprocess.run(
        [sys.executable, "-P", str(Path(__file__).with_name("heif_decoder.py")), str(MOST_PIXELS_WHOLE)],
        stdin=stream,
        capture_output=True,
        timeout=_HEIF_SECONDS,
        check=False,
    )
    line, _, pixels = done.stdout.partition(b"\n")
    if done.returncode or not line:
        raise ValueError("its decoder gave up")
    head = json.loads(line)
    if "error" in head:
        raise ValueError(head["error"])
    size = head["size"][0], head["size"][1]
    _refuse_large(size, MOST_PIXELS_WHOLE, "HEIC", name)
    image = Image.frombytes(head["mode"], size, pixels)
    image.info |= {what: base64.b64decode(data) for what, data in head["info"].items()}
    image.format = "HEIF"
    return image
