"""The container of HEIC photos: turns, cut files, and sizes that are not to be believed."""

import struct
from io import BytesIO
from pathlib import Path

import pytest

from fitter.errors import InputError
from fitter.photos import open_seen, read_photo
from fitter.photos.heif import inspect, is_heif

FIXTURES = Path(__file__).parent.parent / "fixtures" / "photos"


@pytest.fixture
def heic():
    """The bytes of a photo of 96 x 64 pixels, turned by a quarter."""
    return (FIXTURES / "mwg-6.heic").read_bytes()


def box(kind, content):
    """Return an ISO base media box."""
    return struct.pack(">I4s", 8 + len(content), kind) + content


def refused(path):
    """Return the one line with which both doors refuse a file."""
    lines = []
    for call in (read_photo, open_seen):
        with pytest.raises(InputError) as caught:
            call(path)
        lines.append(caught.value.message)
    assert lines[0] == lines[1] and "\n" not in lines[0]
    return lines[0]


@pytest.mark.parametrize("part", [0.01, 0.1, 0.3, 0.6, 0.9, 0.999])
def test_a_heic_photo_cut_short(tmp_path, heic, part):
    """The decoder shows such files with grey parts; their boxes say that they end too soon."""
    path = tmp_path / "cut.heic"
    path.write_bytes(heic[: int(len(heic) * part)])
    assert "damaged" in refused(path) or "no JPEG" in refused(path)


def test_scrambled_bytes_end_in_one_line_or_a_picture(tmp_path, heic):
    """Whatever the decoder makes of flipped bytes, nothing but an InputError comes out."""
    path = tmp_path / "bad.heic"
    for step in range(5, len(heic), 37):
        hurt = bytearray(heic)
        hurt[step] ^= 0xFF
        path.write_bytes(hurt)
        try:
            assert min(read_photo(path).pixels) > 0
        except InputError as caught:
            assert "\n" not in caught.message


def test_a_heic_bomb_is_not_decoded(tmp_path, heic, monkeypatch):
    """A picture that says it has 60,000 x 60,000 pixels."""
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", lambda self: pytest.fail("was decoded"))
    size = heic.index(b"ispe") + 8
    path = tmp_path / "bomb.heic"
    path.write_bytes(heic[:size] + struct.pack(">II", 60_000, 60_000) + heic[size + 8 :])
    assert "pixels" in refused(path) or "damaged" in refused(path)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        box(b"free", b""),
        box(b"meta", b""),
        box(b"meta", bytes(4) + box(b"pitm", b"")),
        box(b"meta", bytes(4) + box(b"pitm", bytes(6)) + box(b"iprp", box(b"ipma", b"\0\0"))),
        struct.pack(">I4sQ", 1, b"meta", 2**63),
        struct.pack(">I4s", 4, b"meta"),
        box(b"free", b"") * 10_001,
    ],
)
def test_a_container_that_makes_no_sense(content):
    """Missing, empty, endless or contradicting boxes."""
    with pytest.raises(ValueError, match=r"\w"):
        inspect(BytesIO(box(b"ftyp", b"heic") + content))


def test_other_brands_are_not_taken_for_heic():
    """A film, a picture of another kind, a photo."""
    assert is_heif(b"\0\0\0\x18ftypheic") and is_heif(b"\0\0\0\x18ftypmif1")
    assert not any(map(is_heif, (b"\0\0\0\x18ftypqt  ", b"\0\0\0\x18ftypavif", b"\xff\xd8\xff\xe0\0\x10JFIF", b"")))
