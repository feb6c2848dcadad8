"""Step 1 for photos: picture files become :class:`Photo`, and later their pixels as seen.

Enters: JPEG, PNG, TIFF, WebP and HEIC files or folders of them, opened read-only.  Leaves: size and orientation,
capture time, content hash, weight, regions to keep, and what looks alike; places and serial numbers are never read.

``files`` opens them · ``heif`` ``exif`` ``xmp`` what they say · ``regions`` frames · ``pixels`` sRGB as seen ·
``alike`` bursts · ``order`` time · ``read`` one photo · ``folder`` many.
*As seen* means after the orientation (CIPA DC-008, tag 0x0112; in HEIC irot and imir) has been applied, exactly once.
"""

from __future__ import annotations

from fitter.photos.alike import Alike, alike
from fitter.photos.folder import MOST_PHOTOS, Survey, read_photos, survey_photos
from fitter.photos.photo import Mark, Photo, given
from fitter.photos.pixels import open_seen
from fitter.photos.read import preview, read_photo

__all__ = [
    "MOST_PHOTOS",
    "Alike",
    "Mark",
    "Photo",
    "Survey",
    "alike",
    "given",
    "open_seen",
    "preview",
    "read_photo",
    "read_photos",
    "survey_photos",
]
