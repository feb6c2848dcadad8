"""What a camera wrote: orientation, capture time and what it aimed at (CIPA DC-008, Exif 2.32).

Enters: a Pillow image whose header was read.  Leaves: plain values, or ``None`` where a tag is missing or makes no
sense: a photo with broken Exif is still a photo.  Places and serial numbers are never read.
"""

from __future__ import annotations

import re
from datetime import datetime
from typing import Any

from PIL import Image

_ORIENTATION, _EXIF_IFD = 0x0112, 0x8769
_TAKEN, _FRACTION, _OFFSET = (0x9003, 0x9004), (0x9291, 0x9292), (0x9011, 0x9012)
_SUBJECT_AREA = 0x9214
_OFFSET_FORM = re.compile(r"[+-](0\d|1[0-5]):[0-5]\d")


def orientation(image: Image.Image) -> int:
    """Return the Exif orientation 1 to 8; 1 if there is none or it is unknown."""
    try:
        value = int(image.getexif().get(_ORIENTATION, 1))
    except Exception:  # Pillow raises anything on broken Exif
        return 1
    return value if value in range(1, 9) else 1


def taken(image: Image.Image) -> str | None:
    """Return DateTimeOriginal (else DateTimeDigitized) as ISO 8601, with its fraction and its offset from UTC."""
    tags = _tags(image)
    for when, fraction, offset in zip(_TAKEN, _FRACTION, _OFFSET, strict=True):
        try:
            moment = datetime.strptime(_text(tags[when])[:19], "%Y:%m:%d %H:%M:%S")
        except (KeyError, ValueError):
            continue
        digits = re.match(r"\d{1,6}", _text(tags.get(fraction, "")))
        zone = _OFFSET_FORM.fullmatch(_text(tags.get(offset, "")))
        return moment.isoformat() + (f".{digits[0]}" if digits else "") + (zone[0] if zone else "")
    return None


def subject_area(image: Image.Image) -> tuple[float, ...]:
    """Return the numbers of SubjectArea (two to four, pixels of the stored picture); empty if there is none."""
    value = _tags(image).get(_SUBJECT_AREA)
    if not isinstance(value, tuple) or len(value) not in (2, 3, 4):
        return ()
    try:
        return tuple(float(number) for number in value)
    except (TypeError, ValueError, OverflowError, ZeroDivisionError):
        return ()


def _tags(image: Image.Image) -> dict[int, Any]:
    try:
        return dict(image.getexif().get_ifd(_EXIF_IFD))
    except Exception:  # Pillow raises anything on broken Exif
        return {}


def _text(value: object) -> str:
    if isinstance(value, bytes):
        value = value.decode("ascii", "replace")
    return str(value).strip(" \0")
