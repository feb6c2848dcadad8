"""Decode one HEIC photo in a process of its own: a small program, run by :mod:`fitter.photos.files`.

The decoder is native code, and damaged files were seen to end the whole process it runs in (pi-heif 1.4.0).  Here
that costs one photo.  Enters: the file on standard input, the largest number of pixels as an argument.  Leaves on
standard output: one line of JSON, then the pixels.
"""

from __future__ import annotations

import base64
import json
import sys
from contextlib import suppress
from io import BytesIO

import pi_heif
from PIL import Image

_MEMORY = 6 * 2**30
"""Bytes the process may take; a picture of the largest size needs a tenth of it."""


def main() -> None:
    """Read, decode, write."""
    with suppress(ImportError, OSError, ValueError):
        import resource

        resource.setrlimit(resource.RLIMIT_AS, (_MEMORY, _MEMORY))
    head: dict[str, object] = {}
    pixels = b""
    try:
        pi_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
        image = Image.open(BytesIO(sys.stdin.buffer.read()), formats=["HEIF"])
        head["size"] = image.size
        if image.width * image.height <= int(sys.argv[1]):
            image.load()
            pixels = image.tobytes()
            kept = {name: image.info.get(name) for name in ("exif", "xmp", "icc_profile")}
            head |= {
                "mode": image.mode,
                "size": image.size,
                "info": {name: base64.b64encode(data).decode() for name, data in kept.items() if data},
            }
    except Exception as failure:  # decoders raise anything on hostile data
        head = {"error": " ".join(str(failure).split())[:80] or type(failure).__name__}
    sys.stdout.buffer.write(json.dumps(head).encode() + b"\n" + pixels)


if __name__ == "__main__":
    main()
