"""Kinds of pixels the reading tests do not have: deep colour, profiles in grey and CMYK, alpha with a profile."""

import struct
import zlib

import pytest
from PIL import Image, ImageCms

from fitter.errors import InputError
from fitter.photos import open_seen, read_photo


def deep_png(path, kind, values, clear=()):
    """Write an 8 x 8 PNG of 16 bits a channel by hand (W3C PNG, 2023).

    ``kind`` is 0 grey, 2 RGB, 4 grey+A, 6 RGBA; ``clear`` the transparent colour.
    """

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    row = b"\0" + struct.pack(f">{len(values)}H", *values) * 8
    head = struct.pack(">IIBBBBB", 8, 8, 16, kind, 0, 0, 0)
    told = chunk(b"tRNS", struct.pack(f">{len(clear)}H", *clear)) if clear else b""
    data = chunk(b"IHDR", head) + told + chunk(b"IDAT", zlib.compress(row * 8)) + chunk(b"IEND", b"")
    path.write_bytes(b"\x89PNG\r\n\x1a\n" + data)
    return path


@pytest.mark.parametrize(
    ("kind", "values", "seen"),
    [
        (0, (0x8000,), (128, 128, 128)),
        (2, (0xFF00, 0x8000, 0x0000), (255, 128, 0)),
        (4, (0x0000, 0x0000), (255, 255, 255)),
        (4, (0x4000, 0xFFFF), (64, 64, 64)),
        (6, (0xFF00, 0x0000, 0x0000, 0x0000), (255, 255, 255)),
        (6, (0xFF00, 0x8000, 0x4000, 0xFFFF), (255, 128, 64)),
    ],
)
def test_sixteen_bits_a_channel(tmp_path, kind, values, seen):
    """The upper eight bits, transparency on white."""
    path = deep_png(tmp_path / "deep.png", kind, values)
    found = open_seen(path).getpixel((4, 4))
    assert all(abs(a - b) <= 1 for a, b in zip(found, seen, strict=True)), found
    assert read_photo(path).pixels == (8, 8)


@pytest.mark.parametrize(
    ("kind", "values", "clear", "seen"),
    [
        (0, (0x1234,), (0x1234,), (255, 255, 255)),
        (0, (0x1235,), (0x1234,), (18, 18, 18)),
        (0, (0x1234,), (0x0012,), (18, 18, 18)),
        (2, (0x1234, 0xFF00, 0x0000), (0x1234, 0xFF00, 0x0000), (255, 255, 255)),
        (2, (0x1234, 0xFF00, 0x0001), (0x1234, 0xFF00, 0x0000), (18, 255, 0)),
        (2, (0x1234, 0xFE00, 0x0000), (0x1234, 0xFF00, 0x0000), (18, 254, 0)),
    ],
)
def test_the_transparent_colour_of_a_deep_png_is_white(tmp_path, kind, values, clear, seen):
    """All 16 bits have to be the same."""
    path = deep_png(tmp_path / "deep.png", kind, values, clear)
    for at_least in (None, (4, 4)):
        assert set(open_seen(path, at_least=at_least).get_flattened_data()) == {seen}
    assert read_photo(path).notes == ()


def tiff(path, values, *, bits, kind=2, alpha=1):
    """Write an 8 x 8 TIFF 6.0 by hand.

    ``kind`` is its photometric interpretation, as a rule RGB; ``alpha`` what a value beyond it is, as a rule associated
    (premultiplied).
    """
    count, plain = len(values), {0: 1, 1: 1, 2: 3, 5: 4, 8: 3}[kind]
    strip = struct.pack(f"<{count}{'BHBI'[bits // 8 - 1]}", *values) * 64
    tags = [(256, 3, 1, 8), (257, 3, 1, 8), (258, 3, count, 8 if count > 2 else bits * 0x10001), (259, 3, 1, 1)]
    tags += [(262, 3, 1, kind), (273, 4, 1, 24), (277, 3, 1, count), (278, 3, 1, 8), (279, 4, 1, len(strip))]
    tags += [(338, 3, 1, alpha)] * (count - plain)
    entries = b"".join(struct.pack("<HHII", *tag) for tag in tags)
    head = b"II*\0" + struct.pack("<I", 24 + len(strip)) + struct.pack(f"<{count}H", *[bits] * count)
    path.write_bytes(head.ljust(24, b"\0") + strip + struct.pack("<H", len(tags)) + entries + bytes(4))
    return path


def test_a_deep_tiff(tmp_path):
    """As cameras' own converters write them."""
    path = tiff(tmp_path / "deep.tif", (0xC000, 0x8000, 0x4000), bits=16)
    found = open_seen(path).getpixel((4, 4))
    assert all(abs(a - b) <= 1 for a, b in zip(found, (192, 128, 64), strict=True)), found


def test_premultiplied_alpha(tmp_path):
    """TIFF's associated alpha: half covered red on white is pink, not grey."""
    red, green, blue = open_seen(tiff(tmp_path / "soft.tif", (128, 0, 0, 128), bits=8)).getpixel((4, 4))
    assert red >= 253 and abs(green - 127) <= 2 and abs(blue - 127) <= 2


@pytest.mark.parametrize(("kind", "bits", "value"), [(0, 8, 0x20), (1, 8, 0xDF), (0, 16, 0x2000), (1, 16, 0xDFFF)])
def test_white_may_be_zero(tmp_path, kind, bits, value):
    """In 8 bits as in 16."""
    path = tiff(tmp_path / "scan.tif", (value,), bits=bits, kind=kind)
    assert open_seen(path).getpixel((4, 4)) == (223, 223, 223)


@pytest.mark.parametrize(("value", "seen"), [(0x8000, 128), (0xFFFF, 255), (0x10000, None), (0xFFFFFFFF, None)])
def test_32_bits_are_read_where_they_hold_16(tmp_path, value, seen):
    """Of other values none is known to be white."""
    path = tiff(tmp_path / "deep.tif", (value,), bits=32, kind=1)
    if seen:
        assert open_seen(path).getpixel((4, 4)) == (seen, seen, seen)
        return
    for call in (open_seen, read_photo):
        with pytest.raises(InputError, match=r"values outside 0 to 65,535.*save it with 8 or 16 bits a channel"):
            call(path)


@pytest.mark.parametrize(
    ("values", "bits", "kind", "said"),
    [
        ((1, 2), 16, 1, "is a TIFF of a kind that is not read (grey, 2 values a pixel of 16 bits)"),
        ((1, 2, 3, 4, 5), 8, 5, "is a TIFF of a kind that is not read (CMYK, 5 values a pixel of 8 bits)"),
        ((1, 2, 3), 16, 8, "is a TIFF of a kind that is not read (Lab, 3 values a pixel of 16 bits)"),
        ((1, 2, 3), 8, 8, "has pixels of the kind LAB"),
        ((1, 2), 8, 1, "has pixels of the kind La"),
    ],
)
def test_a_tiff_of_another_kind_is_not_called_damaged(tmp_path, values, bits, kind, said):
    """What it is, and what is read instead."""
    path = tiff(tmp_path / "odd.tif", values, bits=bits, kind=kind)
    for call in (open_seen, read_photo):
        with pytest.raises(InputError) as caught:
            call(path)
        assert caught.value.message == f"photo {str(path)!r} {said}; save it as RGB with 8 or 16 bits a channel"


def test_a_tiff_cut_in_its_tags_says_nothing_of_its_kind(tmp_path):
    """It may be any."""
    path = tiff(tmp_path / "odd.tif", (1, 2), bits=16, kind=1)
    data = path.read_bytes()
    path.write_bytes(data[:-80])
    with pytest.raises(InputError, match="damaged"):
        read_photo(path)


def profile(name):
    """Return one of the profiles littleCMS makes itself."""
    return ImageCms.ImageCmsProfile(ImageCms.createProfile(name)).tobytes()


def test_a_lab_profile_on_rgb_pixels_is_not_believed(tmp_path):
    """A profile of another kind than the pixels leaves them as they are."""
    path = tmp_path / "odd.png"
    Image.new("RGB", (8, 8), (55, 128, 200)).save(path, icc_profile=profile("LAB"))
    assert open_seen(path).getpixel((4, 4)) == (55, 128, 200)


def test_an_srgb_profile_changes_nothing(tmp_path):
    """The numbers are already what is wanted."""
    path = tmp_path / "srgb.jpg"
    Image.new("RGB", (8, 8), (55, 128, 200)).save(path, icc_profile=profile("sRGB"), quality=100, subsampling=0)
    with Image.open(path) as image:
        assert open_seen(path).getpixel((4, 4)) == image.getpixel((4, 4))


def test_alpha_with_a_profile(tmp_path):
    """White stays white under a profile, and colours are converted like opaque ones."""
    opaque, veiled = tmp_path / "opaque.png", tmp_path / "veiled.png"
    wide = linear()
    Image.new("RGB", (8, 8), (55, 128, 200)).save(opaque, icc_profile=wide)
    Image.new("RGBA", (8, 8), (55, 128, 200, 255)).save(veiled, icc_profile=wide)
    assert open_seen(veiled).getpixel((4, 4)) == open_seen(opaque).getpixel((4, 4)) != (55, 128, 200)
    Image.new("RGBA", (8, 8), (55, 128, 200, 0)).save(veiled, icc_profile=wide)
    assert min(open_seen(veiled).getpixel((4, 4))) >= 254


@pytest.mark.parametrize("name", [b"sRGB linear\0", b"sRGB-elle-V2-g10.icc\0", b"sRGB IEC61966-2.1\0"])
def test_a_linear_profile_called_srgb_is_converted(tmp_path, name):
    """A name is no proof."""
    path = tmp_path / "linear.png"
    Image.new("RGB", (8, 8), (55, 55, 55)).save(path, icc_profile=linear(name))
    assert open_seen(path).getpixel((4, 4))[0] == pytest.approx(128, abs=2)


def test_wide_primaries_called_srgb_are_converted(tmp_path):
    """Rec. 2020 with sRGB's tone curve: greys stay, and a green is too green to be shown."""
    path = tmp_path / "wide.png"
    wide = matrix(b"Rec2020-elle-V4-srgbtrc.icc\0", WIDE, table(4096))
    for color, seen in (((90, 90, 90), (90, 90, 90)), ((80, 200, 80), (0, 210, 49))):
        Image.new("RGB", (8, 8), color).save(path, icc_profile=wide)
        assert open_seen(path).getpixel((4, 4)) == pytest.approx(seen, abs=2)


@pytest.mark.parametrize("steps", [26, 256, 1024, 4096])
@pytest.mark.parametrize("name", [b"sRGB IEC61966-2.1\0", b"c2\0"])
def test_pixels_under_a_cameras_srgb_profile_are_left_alone(tmp_path, steps, name):
    """By what it says, not by its name: tables of any length round a little differently, which changes nothing."""
    path = tmp_path / "camera.png"
    rounded = tuple(tuple(round(value, 4) for value in xyz) for xyz in SRGB)
    picture = Image.frombytes("RGB", (64, 64), bytes((7 * i + i // 256) % 256 for i in range(64 * 64 * 3)))
    picture.save(path, icc_profile=matrix(name, rounded, table(steps)))
    assert open_seen(path).tobytes() == picture.tobytes()


SRGB = ((0.4360747, 0.2225045, 0.0139322), (0.3850649, 0.7168786, 0.0971045), (0.1430804, 0.0606169, 0.7141733))
WIDE = ((0.6734241, 0.2790331, -0.0019288), (0.1656411, 0.6753332, 0.0299780), (0.1251286, 0.0456300, 0.7969208))
"""Red, green and blue of sRGB and of Rec. 2020, adapted to D50."""


def decoded(value):
    """Return the light of a value of sRGB (IEC 61966-2-1), both in 0…1."""
    return value / 12.92 if value <= 0.04045 else ((value + 0.055) / 1.055) ** 2.4


def table(steps):
    """Return sRGB's tone curve as a table, which is how cameras' profiles hold it."""
    light = [round(65535 * decoded(step / (steps - 1))) for step in range(steps)]
    return b"curv\0\0\0\0" + struct.pack(f">I{steps}H", steps, *light)


def linear(name=b"Linear\0"):
    """Return an ICC profile with sRGB's primaries and a straight tone curve."""
    return matrix(name, SRGB, b"curv\0\0\0\0" + struct.pack(">IHH", 1, 0x0100, 0))


def matrix(name, primaries, curve):
    """Return an ICC profile of three primaries and one tone curve (ICC.1:2001-04)."""

    def fixed(*values):
        return struct.pack(f">{len(values)}i", *(round(value * 65536) for value in values))

    told = b"desc\0\0\0\0" + struct.pack(">I", len(name)) + name + bytes(79)
    tags = {b"desc": told + bytes(-len(told) % 4), b"wtpt": b"XYZ \0\0\0\0" + fixed(0.9642, 1.0, 0.8249)}
    columns = zip((b"rXYZ", b"gXYZ", b"bXYZ"), primaries, strict=True)
    tags |= {tag: b"XYZ \0\0\0\0" + fixed(*xyz) for tag, xyz in columns}
    tags |= dict.fromkeys((b"rTRC", b"gTRC", b"bTRC"), curve + bytes(-len(curve) % 4))
    place, entries, body = 132 + 12 * len(tags), struct.pack(">I", len(tags)), b""
    for tag, data in tags.items():
        entries += tag + struct.pack(">II", place + len(body), len(data))
        body += data
    head = struct.pack(">I4sI4s4s4s", place + len(body), bytes(4), 0x02100000, b"mntr", b"RGB ", b"XYZ ")
    head += bytes(12) + b"acsp" + bytes(28) + fixed(0.9642, 1.0, 0.8249)
    return head.ljust(128, b"\0") + entries + body


def test_an_embedded_profile_is_converted_to_srgb(tmp_path):
    """Linear light 0.2140 (55 of 255: 0.2157) shows as sRGB by IEC 61966-2-1: 1.055 v^(1/2.4) - 0.055."""
    path = tmp_path / "linear.png"
    Image.new("RGB", (8, 8), (55, 128, 200)).save(path, icc_profile=linear())
    expected = [round(255 * (1.055 * (value / 255) ** (1 / 2.4) - 0.055)) for value in (55, 128, 200)]
    found = open_seen(path).getpixel((4, 4))
    assert all(abs(a - b) <= 2 for a, b in zip(found, expected, strict=True)), (found, expected)


def test_an_unusable_profile_is_ignored(tmp_path):
    """The numbers are then taken as sRGB."""
    path = tmp_path / "odd.png"
    Image.new("RGB", (8, 8), (55, 128, 200)).save(path, icc_profile=b"rubbish" * 40)
    assert open_seen(path).getpixel((4, 4)) == (55, 128, 200)


def test_the_shrunk_picture_has_the_same_colours(tmp_path):
    """Profiles are applied after shrinking, which changes flat colours not at all."""
    path = tmp_path / "wide.png"
    Image.new("RGB", (800, 600), (55, 128, 200)).save(path, icc_profile=linear())
    small = open_seen(path, at_least=(100, 75))
    assert small.size == (100, 75) and small.getpixel((50, 30)) == open_seen(path).getpixel((400, 300))
