"""Written pictures: whole or not at all, and nothing of the photos' metadata in them."""

from __future__ import annotations

import struct
from collections.abc import Callable
from pathlib import Path

import pytest
from PIL import Image

from fitter.errors import OutputExistsError, UseError
from fitter.layout import Layout, Placed
from fitter.proof import draw_proof, save_png

INCH = 25_400


def chunks(path: Path) -> list[tuple[bytes, bytes]]:
    """Read a PNG's chunks without the library that wrote it (layout: W3C PNG specification)."""
    data, found, at = path.read_bytes(), [], 8
    while at < len(data):
        (length,) = struct.unpack(">I", data[at : at + 4])
        found.append((data[at + 4 : at + 8], data[at + 8 : at + 8 + length]))
        at += 12 + length
    return found


def test_resolution_is_recorded(tmp_path: Path) -> None:
    """300 ppi is 11,811 pixels per metre (300 / 0.0254, rounded) in pHYs."""
    save_png(Image.new("RGB", (9, 9)), tmp_path / "a.png", overwrite=False, ppi=300)
    assert dict(chunks(tmp_path / "a.png"))[b"pHYs"] == struct.pack(">IIB", 11811, 11811, 1)


def test_no_metadata_of_a_photo_reaches_the_proof(
    tmp_path: Path, layout_of: Callable[..., Layout], photo_at: Callable[..., Placed]
) -> None:
    """Camera serial, place and comments stay out: the file has picture, resolution and colour space only."""
    exif = Image.Exif()
    exif[0x010F] = "MarrowCam"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8769)[0xA431] = "SERIAL-12345"
    Image.new("RGB", (64, 64), "#808080").save(tmp_path / "photo.jpg", exif=exif, comment=b"SECRET-NOTE")
    layout = layout_of((photo_at((0, 0, INCH, INCH), (64, 64), (0, 0, 64, 64), "photo.jpg"),))
    save_png(draw_proof(layout, base=tmp_path, ppi=40), tmp_path / "a.png", overwrite=False, ppi=40)
    assert {name for name, _ in chunks(tmp_path / "a.png")} <= {b"IHDR", b"sRGB", b"pHYs", b"IDAT", b"IEND"}
    data = (tmp_path / "a.png").read_bytes()
    assert not any(secret in data for secret in (b"MarrowCam", b"SERIAL", b"SECRET"))


def test_what_a_picture_carries_is_left_behind(tmp_path: Path) -> None:
    """Even a picture with Exif, text and a profile in its info is written bare."""
    image = Image.new("RGB", (9, 9))
    image.info |= {"exif": b"Exif\0\0MM", "comment": "SECRET", "icc_profile": b"profile", "xmp": b"<x/>"}
    save_png(image, tmp_path / "a.png", overwrite=False, ppi=72)
    assert [name for name, _ in chunks(tmp_path / "a.png")] == [b"IHDR", b"sRGB", b"pHYs", b"IDAT", b"IEND"]


def test_an_existing_file_is_kept_unless_overwriting(tmp_path: Path) -> None:
    """Exit code 4 and an untouched file; with overwrite the new picture."""
    path = tmp_path / "a.png"
    path.write_bytes(b"mine")
    with pytest.raises(OutputExistsError, match=r"a\.png exists already"):
        save_png(Image.new("RGB", (9, 9)), path, overwrite=False, ppi=72)
    assert path.read_bytes() == b"mine"
    save_png(Image.new("RGB", (9, 9)), path, overwrite=True, ppi=72)
    with Image.open(path) as image:
        assert image.size == (9, 9)


def test_a_failed_write_leaves_nothing_and_harms_nothing(tmp_path: Path) -> None:
    """When writing breaks off, the old file is whole and no part file remains."""
    path = tmp_path / "a.png"
    path.write_bytes(b"mine")

    class Breaking(Image.Image):
        def save(self, *_args: object, **_more: object) -> None:
            raise OSError(28, "No space left on device")

    with pytest.raises(UseError, match="No space left"):
        save_png(Breaking(), path, overwrite=True, ppi=72)
    assert path.read_bytes() == b"mine"
    assert [p.name for p in tmp_path.iterdir()] == ["a.png"]


def test_a_missing_folder_is_one_clear_line(tmp_path: Path) -> None:
    """The folder must exist."""
    with pytest.raises(UseError, match="choose a folder that exists"):
        save_png(Image.new("RGB", (9, 9)), tmp_path / "no" / "a.png", overwrite=False, ppi=72)
