"""Photos and sidecars that are damaged, absurd or made to harm: one clear line each."""

import os
import random
import struct
import threading
import time
import warnings
import zlib
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress

import pytest
from PIL import Image

from fitter.errors import InputError
from fitter.photos import files, folder, open_seen, pixels, read_photo, read_photos
from fitter.sidecar import parse_sidecar, read_sidecar
from tests.photos.hostile import noise, refused


def png_header(width, height, depth=8, kind=2):
    """Return a PNG that claims a size and holds next to nothing."""

    def chunk(name, data):
        return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))

    start = chunk(b"IHDR", struct.pack(">IIBBBBB", width, height, depth, kind, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + start + chunk(b"IDAT", zlib.compress(bytes(1000))) + chunk(b"IEND", b"")


def jpeg_header(width, height, tmp_path):
    """Return a small JPEG whose frame header claims another size."""
    path = tmp_path / "small.jpg"
    noise((16, 16)).save(path)
    data = bytearray(path.read_bytes())
    place = data.index(b"\xff\xc0")
    data[place + 5 : place + 9] = struct.pack(">HH", height, width)
    return bytes(data)


def test_a_missing_photo(tmp_path):
    """The path is named."""
    assert "does not exist" in refused(read_photo, tmp_path / "gone.jpg")


def test_a_folder_where_a_photo_is_wanted(tmp_path):
    """``read_photo`` and ``open_seen`` take files only."""
    assert "folder" in refused(read_photo, tmp_path)
    assert "folder" in refused(open_seen, tmp_path)


def test_an_impossible_path():
    """A path with a zero byte, or with a name longer than the system allows."""
    for path in ("a\0b.jpg", "x" * 300 + ".jpg"):
        assert refused(read_photo, path).startswith("photo")


def test_an_empty_photo(tmp_path):
    """0 bytes."""
    path = tmp_path / "empty.jpg"
    path.touch()
    assert "empty" in refused(read_photo, path)


def test_a_pipe_is_not_waited_for(tmp_path):
    """A named pipe would block for ever when opened."""
    path = tmp_path / "pipe.jpg"
    os.mkfifo(path)
    assert "no plain file" in refused(read_photo, path)


def test_an_unreadable_photo(tmp_path, monkeypatch):
    """The system's reason is given; permission is feigned because tests may run as root."""
    path = tmp_path / "locked.jpg"
    noise().save(path)

    def deny(*_arguments, **_options):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(type(path), "open", deny)
    assert "Permission denied" in refused(read_photo, path)


@pytest.mark.parametrize(
    "content",
    [
        b"not a picture at all",
        b"\xff\xd8\xff",
        b"\x89PNG\r\n\x1a\n",
        b"II*\0",
        b"RIFF\0\0\0\0WEBP",
        b"GIF89a",
        b"%PDF",
    ],
)
def test_a_file_that_is_no_picture(tmp_path, content):
    """Text, other formats and bare signatures under a picture's name."""
    path = tmp_path / "fake.jpg"
    path.write_bytes(content)
    assert "fake.jpg" in refused(read_photo, path)


def test_a_format_that_is_not_read(tmp_path):
    """A GIF is a picture, but not of the kinds promised."""
    path = tmp_path / "lake.gif"
    noise().save(path)
    assert "JPEG, PNG, TIFF, WebP or HEIC" in refused(read_photo, path)


@pytest.mark.parametrize("ending", ["jpg", "png", "tif", "webp"])
@pytest.mark.parametrize("part", [0.02, 0.3, 0.6, 0.97])
def test_a_photo_cut_short(tmp_path, ending, part):
    """Cut anywhere, in every format; both the reader and the drawing door refuse."""
    path = tmp_path / f"cut.{ending}"
    noise().save(path)
    data = path.read_bytes()
    path.write_bytes(data[: int(len(data) * part)])
    assert "damaged" in refused(read_photo, path)
    assert "damaged" in refused(open_seen, path)


@pytest.mark.parametrize("lost", [1, 4, 5, 8, 12, 13, 16])
def test_a_png_without_its_end_is_refused(tmp_path, lost):
    """All of its pixels may be there; a copy that stopped is told all the same."""
    path = tmp_path / "cut.png"
    noise().save(path)
    path.write_bytes(path.read_bytes()[:-lost])
    for call in (read_photo, open_seen):
        assert refused(call, path) == (
            f"photo {str(path)!r} is damaged or cut short (its end, the chunk IEND, is missing); copy it again"
        )


def test_bytes_after_a_png_are_no_damage(tmp_path):
    """Its end is where it says so."""
    path = tmp_path / "lake.png"
    noise().save(path)
    path.write_bytes(path.read_bytes() + bytes(7))
    assert read_photo(path).notes == ()


@pytest.mark.parametrize("kind", ["zTXt", "iTXt", "iCCP"])
def test_a_png_with_more_text_than_is_read(tmp_path, kind):
    """It is sound: what it is, and what to do."""
    path = tmp_path / "told.png"
    noise().save(path)
    long = zlib.compress(b"a walk " * 200_000)
    data = {"zTXt": b"Comment\0\0", "iTXt": b"XML:com.adobe.xmp\0\1\0\0\0", "iCCP": b"wide\0\0"}[kind] + long
    body = kind.encode() + data
    chunk = struct.pack(">I", len(data)) + body + struct.pack(">I", zlib.crc32(body))
    whole = path.read_bytes()
    path.write_bytes(whole[:33] + chunk + whole[33:])
    for call in (read_photo, open_seen):
        message = refused(call, path)
        assert "more compressed text, XMP or colour profile than is read" in message and "save it without" in message
        assert "damaged" not in message and "MAX" not in message


def test_a_progressive_photo_cut_short(tmp_path):
    """Its first scans would decode to a blurred picture."""
    path = tmp_path / "cut.jpg"
    noise().save(path, progressive=True)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) - 60])
    assert "damaged" in refused(read_photo, path)


@pytest.mark.parametrize("ending", ["png", "tif", "webp"])
def test_scrambled_bytes_end_in_one_line_or_a_picture(tmp_path, ending):
    """Whatever the decoder makes of flipped bytes, nothing but an InputError comes out."""
    path = tmp_path / f"bad.{ending}"
    noise((64, 48)).save(path)
    data = path.read_bytes()
    for step in range(7, len(data), max(len(data) // 60, 1)):
        hurt = bytearray(data)
        hurt[step] ^= 0xFF
        path.write_bytes(hurt)
        try:
            assert min(read_photo(path).pixels) > 0
        except InputError as caught:
            assert "\n" not in caught.message


@pytest.mark.parametrize("size", [(50_000, 50_000), (2**31 - 1, 2**31 - 1), (250_001, 1_000)])
def test_a_png_bomb_is_refused_from_its_header(tmp_path, size, monkeypatch):
    """50,000 x 50,000 px: nothing is decoded and the size is named."""
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", lambda self: pytest.fail("was decoded"))
    path = tmp_path / "bomb.png"
    path.write_bytes(png_header(*size))
    for call in (read_photo, open_seen):
        assert f"{size[0]:,} × {size[1]:,} pixels" in refused(call, path)


def test_a_jpeg_bomb_is_refused_from_its_header(tmp_path, monkeypatch):
    """The same for a JPEG, up to whose limit the picture would be read."""
    monkeypatch.setattr("PIL.ImageFile.ImageFile.load", lambda self: pytest.fail("was decoded"))
    path = tmp_path / "bomb.jpg"
    path.write_bytes(jpeg_header(50_000, 50_000, tmp_path))
    assert "50,000 × 50,000 pixels" in refused(read_photo, path)


@pytest.mark.parametrize(
    ("mode", "ending", "most"),
    [("RGB", "png", 50), ("RGBA", "webp", 30), ("RGB", "tif", 50), ("L", "png", 100), ("RGB", "jpg", 250)],
)
def test_pictures_decoded_whole_have_a_limit_of_their_own(tmp_path, monkeypatch, mode, ending, most):
    """By what they take in memory: 50 million pixels in colour; JPEGs are shrunk while they are decoded."""
    seen = []
    monkeypatch.setattr(files, "_refuse_large", lambda size, most, kind, name: seen.append((most, kind)))
    path = tmp_path / f"lake.{ending}"
    Image.new(mode, (30, 20), 128).save(path)
    read_photo(path)
    assert [pixels for pixels, _ in seen] == [most * 10**6]
    monkeypatch.undo()
    monkeypatch.setattr(
        files, {30: "MOST_PIXELS_WEBP", 50: "MOST_PIXELS_WHOLE", 100: "MOST_PIXELS_GREY", 250: "MOST_PIXELS"}[most], 599
    )
    message = refused(read_photo, path)
    assert "30 × 20 pixels" in message and f"of a {seen[0][1]} at most" in message and "save it smaller" in message


def test_a_progressive_jpeg_has_a_limit_of_its_own(tmp_path, monkeypatch):
    """All its coefficients are held at once, whatever size is wanted."""
    monkeypatch.setattr(files, "MOST_PIXELS_PROGRESSIVE", 599)
    for progressive in (False, True):
        path = tmp_path / f"lake-{progressive}.jpg"
        noise((30, 20)).save(path, progressive=progressive)
    assert read_photo(tmp_path / "lake-False.jpg").pixels == (30, 20)
    assert "of a progressive JPEG at most" in refused(read_photo, path)


@pytest.mark.parametrize("large", [True, False])
def test_large_pictures_are_decoded_one_at_a_time(tmp_path, monkeypatch, large):
    """Threads that draw photos wait for each other where a picture takes much memory, and only there."""
    monkeypatch.setattr(files, "LARGE", 100 if large else 10_000)
    path = tmp_path / "lake.png"
    noise((30, 20)).save(path)
    inside, most, lock, met = 0, 0, threading.Lock(), threading.Barrier(2)
    flat = pixels._flat

    def counted(image):
        nonlocal inside, most
        with lock:
            inside += 1
            most = max(most, inside)
        with suppress(threading.BrokenBarrierError):
            met.wait(0.3)
        with lock:
            inside -= 1
        return flat(image)

    monkeypatch.setattr(pixels, "_flat", counted)
    with ThreadPoolExecutor(2) as pool:
        list(pool.map(open_seen, [path] * 2))
    assert most == (1 if large else 2)


def test_a_picture_that_is_see_through_is_not_copied_more_than_needed(tmp_path):
    """Parts that are see-through are white, whatever the kind."""
    for mode, color in (("RGBA", (10, 20, 30, 0)), ("LA", (10, 0))):
        path = tmp_path / f"{mode}.png"
        Image.new(mode, (4, 4), color).save(path)
        assert open_seen(path).getpixel((1, 1)) == (255, 255, 255)


@pytest.mark.parametrize("name", ["creek.jpg.xmp", "creek.xmp"])
def test_a_pipe_beside_a_photo_is_not_waited_for(tmp_path, name):
    """Named as what another program wrote about the photo, it is passed over with a note."""
    path = tmp_path / "creek.jpg"
    noise((30, 20)).save(path)
    os.mkfifo(tmp_path / name)
    assert read_photo(path).notes == (f"{name} is no plain file and was not read",)


def test_a_name_that_leaves_no_room_for_endings(tmp_path):
    """A photo whose name is as long as can be has nothing beside it, and is read."""
    path = tmp_path / ("x" * 251 + ".jpg")
    noise((30, 20)).save(path)
    assert read_photo(path).notes == ()


def test_pillows_own_limit_is_left_as_it_was(tmp_path):
    """Reading changes no global setting of Pillow, even when it fails."""
    before = Image.MAX_IMAGE_PIXELS
    path = tmp_path / "bomb.png"
    path.write_bytes(png_header(50_000, 50_000))
    refused(read_photo, path)
    assert before == Image.MAX_IMAGE_PIXELS


def test_a_file_over_the_size_limit(tmp_path, monkeypatch):
    """A file of more bytes than accepted is refused before it is opened as a picture."""
    path = tmp_path / "huge.jpg"
    with path.open("wb") as stream:
        stream.truncate(files.LARGEST_FILE + 1)
    assert "MB" in refused(read_photo, path)


def test_measurements_are_no_photo(tmp_path):
    """32-bit float pixels have no agreed white."""
    path = tmp_path / "float.tif"
    Image.new("F", (8, 8), 0.5).save(path)
    assert "8 or 16 bits" in refused(read_photo, path)


def test_no_warning_leaks_from_odd_metadata(tmp_path):
    """A TIFF with a cut-short tag and a JPEG with broken Exif raise no warning."""
    path = tmp_path / "odd.jpg"
    noise().save(path, exif=b"Exif\x00\x00II*\x00\x08\x00\x00\x00\xff\xff" + bytes(40))
    with warnings.catch_warnings(record=True) as seen:
        warnings.simplefilter("always")
        read_photo(path)
        open_seen(path)
    assert seen == []


def test_a_folder_without_photos(tmp_path):
    """Empty, or with other files only."""
    assert "holds no" in refused(read_photos, [tmp_path])
    (tmp_path / "a.txt").touch()
    assert "holds no" in refused(read_photos, [tmp_path])


def test_no_photo_at_all():
    """An empty list."""
    assert "no photo" in refused(read_photos, [])


def test_more_photos_than_ever_fit(tmp_path):
    """The count is refused before one of them is opened."""
    for number in range(folder.MOST_PHOTOS + 1):
        (tmp_path / f"{number}.jpg").touch()
    assert "201 photos" in refused(read_photos, [tmp_path])


def test_a_damaged_compressed_tiff_is_one_line_of_ours(tmp_path, capfd):
    """The TIFF library writes to the error stream by itself; what others write there before and after is kept."""
    path = tmp_path / "lake.tif"
    noise = Image.frombytes("L", (256, 256), random.Random(1).randbytes(256 * 256))
    noise.save(path, compression="tiff_lzw")
    data = bytearray(path.read_bytes())
    data[2000:12000] = b"\xff" * 10000
    path.write_bytes(data)
    os.write(2, b"before ")
    assert "damaged" in refused(read_photo, path)
    os.write(2, b"after")
    assert capfd.readouterr().err == "before after"


def test_a_damaged_photo_in_a_folder_is_named_and_the_others_go_on(tmp_path):
    """One that is named itself is not left out; a folder of nothing else is of no use."""
    (tmp_path / "bad.jpg").write_bytes(b"rubbish")
    assert "bad.jpg" in refused(read_photos, [tmp_path])
    noise().save(tmp_path / "good.jpg")
    notes = []
    assert [photo.path.name for photo in read_photos([tmp_path], note=notes.append)] == ["good.jpg"]
    assert len(notes) == 1 and "bad.jpg" in notes[0] and notes[0].endswith("it was left out")
    assert "bad.jpg" in refused(read_photos, [tmp_path / "good.jpg", tmp_path / "bad.jpg"])


@pytest.mark.parametrize("name", ["a\nb.jpg", "a\x85b.jpg", "a\u2029b.jpg", "a\x1bb.jpg", "a\udce9b.jpg"])
def test_a_name_that_no_line_and_no_layout_can_state(tmp_path, name):
    """Line breaks, control characters, bytes that are no UTF-8: of the photo or of its folder."""
    path = tmp_path / name
    noise().save(path, "JPEG")
    assert "rename it" in refused(read_photo, path)
    folder = tmp_path / name[:3]
    folder.mkdir()
    noise().save(folder / "sound.jpg")
    assert "rename it" in refused(read_photo, folder / "sound.jpg")


@pytest.mark.parametrize(
    ("data", "problem"),
    [
        (b"", "not JSON"),
        (b"{", "line 1"),
        (b"\xff\xfe{", "UTF-8"),
        (b'{"keep": [[NaN, 0, 1, 1]]}', "NaN"),
        (b'{"keep": [[Infinity, 0, 1, 1]]}', "Infinity"),
        (b'{"keep": [[0, 0, 1e999, 1]]}', "from 0 to 1"),
        (b'{"weight": 1' + b"0" * 5000 + b"}", "number too long"),
        (b'{"weight": 1, "weight": 2}', "twice"),
        (b"[" * 90_000, "nested"),
        (b'{"keep": [[0.9, 0, 0.2, 1]]}', "inside the picture"),
    ],
)
def test_a_hostile_sidecar(data, problem):
    """NaN, endless numbers, deep nesting and boxes that leave the picture."""
    assert problem in refused(parse_sidecar, data)


def test_twins_among_many_names_of_a_sidecar_are_found_at_once():
    """Looking for each name among all others would take seconds."""
    names = ",".join(f'"{number}":1' for number in range(10_000))
    started = time.process_time()
    assert "'9999' is written twice" in refused(parse_sidecar, f'{{{names},"9999":1}}'.encode())
    assert time.process_time() - started < 0.5


def test_a_sidecar_that_is_no_small_file(tmp_path):
    """Too large, or a folder."""
    photo = tmp_path / "lake.jpg"
    sidecar = tmp_path / "lake.jpg.keep.json"
    sidecar.write_bytes(b" " * 100_001)
    assert "over 100 kB" in refused(read_sidecar, photo)
    sidecar.unlink()
    sidecar.mkdir()
    assert "plain file" in refused(read_sidecar, photo)
