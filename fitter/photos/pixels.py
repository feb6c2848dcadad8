"""Pixels as seen: 8-bit sRGB, orientation applied exactly once, transparent parts on white.

An embedded colour profile (ICC.1:2022) is honoured; the file itself, which is what gets printed, keeps its own.
"""

from __future__ import annotations

from collections.abc import Callable
from contextlib import suppress
from functools import lru_cache
from io import BufferedReader, BytesIO
from pathlib import Path

from PIL import Image, ImageChops, ImageCms, ImageOps
from PIL.PngImagePlugin import PngImageFile
from PIL.TiffImagePlugin import PHOTOMETRIC_INTERPRETATION

from fitter.errors import InputError
from fitter.photos import exif, intact
from fitter.photos.files import (
    SIXTEEN_BIT,
    damaged,
    in_turn,
    is_drafted,
    is_progressive,
    open_header,
    opened,
    quiet,
    unheard,
)
from fitter.photos.heif import HeifFacts
from fitter.photos.scans import without_fine_scans

_TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
_PNG_DEPTH = 24
"""Place of the bits a channel in a PNG's file."""
_ROUNDING = 3
"""Parts of 255 that profiles of sRGB differ by, their curves being tables or formulas."""


def stored_orientation(image: Image.Image, heif: HeifFacts | None) -> int:
    """Return the orientation that leads from the stored picture to the one seen."""
    return heif.orientation if heif is not None else exif.orientation(image)


def turn_left(image: Image.Image, heif: HeifFacts | None) -> int:
    """Return the orientation still to be applied: TIFF and HEIC come upright from their decoders."""
    return 1 if heif is not None or image.format == "TIFF" else exif.orientation(image)


def open_seen(path: str | Path, *, at_least: tuple[int, int] | None = None, rough: bool = False) -> Image.Image:
    """Return a photo's pixels as seen.

    Parameters
    ----------
    path
        The picture file.
    at_least
        Width and height, as seen, that are enough.  The picture returned is then shrunk by a whole factor
        where that leaves at least this size (JPEG: 2, 4 or 8 while decoding, which is much faster).  Take the
        scale from the size returned.
    rough
        Whether values may be off by a few parts of 255, for a picture that is not to be drawn: progressive JPEGs are
        then decoded without their last scans, which are most of the work.

    Returns
    -------
    PIL.Image.Image
        Mode RGB, in sRGB.

    Raises
    ------
    InputError
        As :func:`fitter.photos.read_photo`.
    """
    path = Path(path)
    with opened(path) as stream:
        part = None
        if rough and at_least and stream.peek(2).startswith(b"\xff\xd8"):
            part = without_fine_scans(stream.read(), max(at_least))
            stream.seek(0)
        with quiet():
            image, heif = open_header(BytesIO(part) if part else stream, path)
            turn = turn_left(image, heif)
        return _seen(image, stream, turn, path, at_least, _load)


def load_checked(
    image: Image.Image, stream: BufferedReader, turn: int, path: Path, at_least: tuple[int, int]
) -> tuple[Image.Image, str | None]:
    """Decode an opened picture, as :func:`open_seen`, and say what is wrong with data that decodes all the same.

    Parameters
    ----------
    stream
        Its file.

    Returns
    -------
    tuple
        The picture, and what was found wrong with its data (JPEG and PNG alone).
    """
    said: list[str] = []

    def load(image: Image.Image) -> Image.Image:
        picture, damage = intact.decode_jpeg(stream, image) if is_drafted(image) else (None, None)
        picture = picture or _load(image)
        if image.format == "PNG":
            damage = intact.png_damage(stream)
        said.extend(filter(None, [damage]))
        return picture

    return _seen(image, stream, turn, path, at_least, load), next(iter(said), None)


def _load(image: Image.Image) -> Image.Image:
    with unheard(image):
        image.load()
    return image


def _seen(
    image: Image.Image,
    stream: BufferedReader | BytesIO,
    turn: int,
    path: Path,
    at_least: tuple[int, int] | None,
    load: Callable[[Image.Image], Image.Image],
) -> Image.Image:
    """Decode a picture and bring it into the frame and the colours it is seen in."""
    try:
        wanted = at_least and (at_least[::-1] if turn >= 5 else at_least)
        pixels = image.width * image.height
        if wanted:
            image.draft(None, wanted)
        if not is_progressive(image):
            pixels = image.width * image.height
        with in_turn(pixels):
            picture = load(image)
            if picture.mode == "I" and not _white_is_known(picture):
                raise InputError(
                    f"photo {str(path)!r} has values outside 0 to 65,535, of which none is known to be white; "
                    "save it with 8 or 16 bits a channel, unsigned"
                )
            picture = _flat(_with_alpha(picture, stream))
            if wanted:
                factor = min(picture.width // max(wanted[0], 1), picture.height // max(wanted[1], 1))
                picture = picture.reduce(factor) if factor > 1 else picture
            picture = _to_srgb(picture, image.info.get("icc_profile"))
            picture = picture.transpose(_TURNS[turn]) if turn in _TURNS else picture
        picture.info.clear()  # what is drawn or saved must not carry places or serial numbers along
        return picture
    except InputError:
        raise
    except Exception as failure:  # decoders raise anything on hostile data
        raise damaged(path, failure) from None


def _white_is_known(image: Image.Image) -> bool:
    """Whether values in 32 bits are such as 16 bits hold."""
    least, most = image.getextrema()
    return isinstance(least, int | float) and isinstance(most, int | float) and least >= 0 and most < 2**16


def _with_alpha(image: Image.Image, stream: BufferedReader | BytesIO) -> Image.Image:
    """Return a loaded PNG of 16 bits a channel that has a transparent colour in 8, with alpha; all others as they are.

    Pillow keeps the upper bytes of RGB alone.  The lower ones are decoded apart, from its file, so that colours that
    are nearly the transparent one stay.
    """
    clear = image.info.get("transparency")
    if image.format != "PNG" or not isinstance(clear, int | tuple):
        return image
    stream.seek(_PNG_DEPTH)
    if stream.read(1) != b"\x10":
        return image
    if isinstance(clear, int):
        alpha = image.convert("I").point([255 * (value != clear) for value in range(2**16)], "L")
        return Image.merge("LA", (_eight_bits(image), alpha))
    stream.seek(0)
    with quiet():
        lower = PngImageFile(stream)
    lower.tile = [tile._replace(args="RGB;16L") for tile in lower.tile]
    lower.load()
    alpha = Image.new("L", image.size)
    for picture, shift in ((image, 8), (lower, 0)):
        for band, value in zip(picture.split(), clear, strict=True):
            other = band.point([255 * (part != value >> shift & 255) for part in range(256)])
            alpha = ImageChops.lighter(alpha, other)
    return Image.merge("RGBA", (*image.split(), alpha))


def _eight_bits(image: Image.Image) -> Image.Image:
    """Return a picture in grey of 16 bits in 8; a TIFF may have white as zero."""
    grey = image.convert("I").point(lambda value: value / 256).convert("L")
    inverted = getattr(image, "tag_v2", {}).get(PHOTOMETRIC_INTERPRETATION) == 0
    return ImageOps.invert(grey) if inverted else grey


def _flat(image: Image.Image) -> Image.Image:
    """Return an opaque 8-bit picture in grey, RGB or CMYK, still in the colours of its profile."""
    if image.mode in SIXTEEN_BIT:
        image = _eight_bits(image)
    see_through = "transparency" in image.info or image.mode in ("LA", "PA", "RGBA")
    if see_through:
        alpha = (image if image.mode in ("LA", "RGBA") else image.convert("RGBA")).getchannel("A")
        plain = image.convert("L" if image.mode in ("L", "LA") else "RGB")
        white = Image.new(plain.mode, plain.size, "white")
        white.paste(plain, mask=alpha)
        return white
    if image.mode == "1":
        return image.convert("L")
    return image if image.mode in ("L", "RGB", "CMYK") else image.convert("RGB")


def _to_srgb(image: Image.Image, profile: object) -> Image.Image:
    """Return the picture as RGB; a profile that cannot be used leaves the plain conversion."""
    if isinstance(profile, bytes) and profile:
        with suppress(ImageCms.PyCMSError, OSError, ValueError):
            if image.mode != "RGB" or not _is_srgb(profile):
                source, target = ImageCms.ImageCmsProfile(BytesIO(profile)), ImageCms.createProfile("sRGB")
                converted = ImageCms.profileToProfile(image, source, target, outputMode="RGB")
                return converted or image.convert("RGB")
    return image.convert("RGB")


@lru_cache(maxsize=8)
def _is_srgb(profile: bytes) -> bool:
    """Whether a profile of RGB pixels leaves their numbers as they are, but for rounding, whatever it is called."""
    samples = _samples()
    source, target = ImageCms.ImageCmsProfile(BytesIO(profile)), ImageCms.createProfile("sRGB")
    intent = ImageCms.Intent.RELATIVE_COLORIMETRIC
    seen = ImageCms.profileToProfile(samples, source, target, renderingIntent=intent)
    furthest = ImageChops.difference(samples, seen or samples).getextrema()
    return all(int(most) <= _ROUNDING for _, most in furthest)  # type: ignore[misc]


def _samples() -> Image.Image:
    """Return a picture of colours by which profiles are told apart: greys, each channel alone, and mixtures."""
    steps = range(0, 256, 15)
    colours = [(v, v, v) for v in steps] + [(v, 0, 0) for v in steps] + [(0, v, 0) for v in steps]
    colours += [(0, 0, v) for v in steps] + [(v, 255 - v, 128) for v in steps]
    samples = Image.new("RGB", (len(colours), 1))
    samples.putdata(colours)
    return samples
