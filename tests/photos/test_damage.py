"""Damage inside photos that decode all the same: told, and only where there is any."""

import random
import zlib

import pytest
from PIL import Image

from fitter.cache import Cache
from fitter.photos import intact, read_photo, read_photos
from tests.photos.hostile import noise, refused


def jpeg(tmp_path, name="lake.jpg", **how):
    """Write a JPEG whose data is some 40 kB; return its path, bytes and where the coded data begins."""
    path = tmp_path / name
    picture = Image.frombytes("RGB", (200, 150), random.Random(5).randbytes(200 * 150 * 3))
    (picture if "mode" not in how else picture.convert(how.pop("mode"))).save(path, "JPEG", **how)
    data = path.read_bytes()
    return path, data, data.index(b"\xff\xda") + 20


@pytest.mark.parametrize("how", [{}, {"progressive": True}, {"mode": "L"}])
@pytest.mark.parametrize("lost", ["zeros", "noise", "moved"])
def test_a_lost_sector_inside_a_jpeg_is_told(tmp_path, how, lost):
    """4,096 bytes in the middle are not what they were: a picture comes out, which Pillow alone says nothing of."""
    path, data, start = jpeg(tmp_path, **how)
    at = start + (len(data) - start) // 3
    there = data[at : at + 4096]
    noise = bytes((value * 7 + 13) & 0x7F for value in there)
    gone = {"zeros": bytes(4096), "noise": noise, "moved": there[1000:] + there[:1000]}[lost]
    path.write_bytes(data[:at] + gone + data[at + 4096 :])
    notes = read_photo(path).notes
    assert len(notes) == 1 and "is damaged (" in notes[0] and "\n" not in notes[0]
    said = []
    assert len(read_photos([path], note=said.append)) == 1
    assert said == [f"photo 'lake.jpg': {notes[0]}"]


@pytest.mark.parametrize("how", [{}, {"progressive": True}, {"mode": "L"}, {"mode": "CMYK"}, {"optimize": True}])
def test_a_whole_jpeg_is_not_called_damaged(tmp_path, how):
    """Nor does it look otherwise than decoded by Pillow."""
    path, _, _ = jpeg(tmp_path, **how)
    assert read_photo(path).notes == ()
    with Image.open(path) as image, path.open("rb") as stream:
        image.draft(None, (50, 38))
        checked, _ = intact.decode_jpeg(stream, image)
        assert (checked is None) == (how.get("mode") == "CMYK")
        assert checked is None or (checked.mode, checked.tobytes()) == (image.mode, image.tobytes())


def test_bytes_after_a_jpeg_are_no_damage(tmp_path):
    """Phones append other pictures, films and padding."""
    path, data, _ = jpeg(tmp_path)
    path.write_bytes(data + bytes(5000) + data)
    assert read_photo(path).notes == ()


@pytest.mark.parametrize("kind", ["IHDR", "PLTE", "IDAT", "tEXt", None])
def test_a_png_with_a_wrong_checksum_is_told(tmp_path, kind):
    """What a picture can do without is none of its damage."""
    path = tmp_path / "lake.png"
    noise().quantize(64).save(path)
    data = bytearray(path.read_bytes())
    end = data.rindex(b"IEND") - 4
    data[end:end] = b"\0\0\0\6tEXta walk" + zlib.crc32(b"tEXta walk").to_bytes(4, "big")
    if kind:
        at = data.index(kind.encode())
        length = int.from_bytes(data[at - 4 : at], "big")
        data[at + 4 + length] ^= 1
    path.write_bytes(data)
    if kind in ("IHDR", "PLTE"):
        refused(read_photo, path)
    else:
        said = [f"wrong checksum in {kind}" in note for note in read_photo(path).notes]
        assert said == ([True] if kind == "IDAT" else [])


def test_damage_is_remembered(tmp_path):
    """The second run does not decode, and says it again."""
    path, data, start = jpeg(tmp_path)
    path.write_bytes(data[: start + 9000] + bytes(4096) + data[start + 13096 :])
    with Cache(tmp_path / "cache") as cache:
        first = read_photo(path, cache=cache)
        assert first.notes and read_photo(path, cache=cache).notes == first.notes
