"""Photos: orientation, time, order, keep boxes and pixels as seen."""

import hashlib
import json

import jsonschema
import pytest
from PIL import Image, ImageChops, ImageOps

from fitter import resources
from fitter.cache import Cache
from fitter.errors import InputError
from fitter.photos import given, open_seen, read_photo, read_photos, survey_photos
from fitter.sidecar import Sidecar, check_weight, parse_sidecar, read_sidecar

FORMATS = {
    "jpg": {"format": "JPEG", "quality": 95, "subsampling": 0},
    "png": {"format": "PNG"},
    "tif": {"format": "TIFF"},
    "lzw.tif": {"format": "TIFF", "compression": "tiff_lzw"},
    "webp": {"format": "WEBP", "lossless": True},
}


def scene():
    """Return a small picture that looks different in all eight orientations."""
    image = Image.new("RGB", (96, 64), "white")
    image.paste((200, 30, 30), (0, 0, 32, 32))
    image.paste((30, 30, 200), (64, 32, 96, 64))
    image.paste((20, 150, 20), (0, 48, 16, 64))
    return image


def save(path, *, taken=None, fraction=None, orientation=None, **options):
    """Write the scene with the Exif tags given; two files never have the same content."""
    exif = Image.Exif()
    exif[0x010E] = path.name
    if orientation is not None:
        exif[0x0112] = orientation
    if taken:
        exif.get_ifd(0x8769)[0x9003] = taken
    if fraction:
        exif.get_ifd(0x8769)[0x9291] = fraction
    scene().save(path, exif=exif, **options)
    return path


@pytest.mark.parametrize("ending", FORMATS)
@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_is_applied_exactly_once(tmp_path, ending, orientation):
    """Exif orientations 1 to 8 (CIPA DC-008) against Pillow's own ``ImageOps.exif_transpose``."""
    path = save(tmp_path / f"lake.{ending}", orientation=orientation, **FORMATS[ending])
    with Image.open(path) as image:
        expected = ImageOps.exif_transpose(image).convert("RGB")
    seen = open_seen(path)
    photo = read_photo(path)
    assert photo.orientation == orientation
    assert photo.pixels == seen.size == expected.size
    assert max(high for _, high in ImageChops.difference(seen, expected).getextrema()) <= 3


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_moves_the_centre_as_published(tmp_path, orientation):
    """Stored to shown centre of a mark, by the table of CIPA DC-008."""
    image = Image.new("L", (80, 40), 0)
    image.paste(255, (8, 4, 12, 8))
    x, y = 0.125, 0.15
    shown = {
        1: (x, y), 2: (1 - x, y), 3: (1 - x, 1 - y), 4: (x, 1 - y),
        5: (y, x), 6: (1 - y, x), 7: (1 - y, 1 - x), 8: (y, 1 - x),
    }  # fmt: skip
    exif = Image.Exif()
    exif[0x0112] = orientation
    path = tmp_path / "mark.png"
    image.save(path, exif=exif)
    seen = open_seen(path).convert("L")
    left, top, right, bottom = seen.getbbox()
    centre = (left + right) / 2 / seen.width, (top + bottom) / 2 / seen.height
    assert centre == pytest.approx(shown[orientation])


@pytest.mark.parametrize("value", [0, 9, 65535])
def test_an_unknown_orientation_counts_as_none(tmp_path, value):
    """0 and values beyond 8 mean the picture is stored as seen."""
    photo = read_photo(save(tmp_path / "lake.jpg", orientation=value))
    assert (photo.orientation, photo.pixels) == (1, (96, 64))


def test_capture_time_is_read_with_its_fraction(tmp_path):
    """DateTimeOriginal and SubSecTimeOriginal become ISO 8601."""
    path = save(tmp_path / "lake.jpg", taken="2026:07:04 10:11:12", fraction="25")
    assert read_photo(path).taken == "2026-07-04T10:11:12.25"


@pytest.mark.parametrize("taken", [None, "0000:00:00 00:00:00", "yesterday", "2026:13:40 10:11:12"])
def test_an_impossible_capture_time_is_no_time(tmp_path, taken):
    """A camera without a set clock does not stop the page."""
    assert read_photo(save(tmp_path / "lake.jpg", taken=taken)).taken is None


def test_broken_exif_is_no_reason_to_refuse(tmp_path):
    """A photo whose Exif block is rubbish is read without time and orientation."""
    path = tmp_path / "lake.jpg"
    scene().save(path, exif=b"Exif\x00\x00MM\x00*\x00\x00\x00\x08\xff\xff\x01\x12")
    photo = read_photo(path)
    assert (photo.orientation, photo.taken, photo.pixels) == (1, None, (96, 64))


def test_no_place_and_no_serial_number_is_kept(tmp_path):
    """What is kept of a photo with GPS and serial number holds neither."""
    exif = Image.Exif()
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (61.0, 12.0, 34.5)
    exif.get_ifd(0x8769)[0xA431] = "SERIAL-7741"
    path = tmp_path / "lake.jpg"
    scene().save(path, exif=exif)
    photo = read_photo(path)
    kept = repr(photo) + repr(given([photo]))
    assert "SERIAL" not in kept and "61.0" not in kept and "34.5" not in kept
    assert not open_seen(path).getexif()


def test_the_hash_is_that_of_the_file(tmp_path):
    """SHA-256 of the bytes as stored, and the file is left as it was."""
    path = save(tmp_path / "lake.jpg")
    before = path.read_bytes()
    assert read_photo(path).sha256 == hashlib.sha256(before).hexdigest()
    assert path.read_bytes() == before


def test_a_folder_is_read_by_time_then_name(tmp_path):
    """Times first, then names with their numbers counted; photos without a time come last."""
    save(tmp_path / "b10.jpg", taken="2026:07:04 10:00:00")
    save(tmp_path / "b9.jpg", taken="2026:07:04 10:00:00")
    save(tmp_path / "b.jpg", taken="2026:07:04 10:00:00")
    save(tmp_path / "a.jpg", taken="2026:07:05 08:00:00")
    save(tmp_path / "0.png")
    save(tmp_path / "z.jpg", taken="2026:07:04 10:00:00", fraction="1")
    names = [photo.path.name for photo in read_photos([tmp_path])]
    assert names == ["b.jpg", "b9.jpg", "b10.jpg", "z.jpg", "a.jpg", "0.png"]


def test_files_keep_the_order_of_the_command_line(tmp_path):
    """Capture time orders folders only."""
    late = save(tmp_path / "late.jpg", taken="2026:07:09 10:00:00")
    early = save(tmp_path / "early.jpg", taken="2026:07:01 10:00:00")
    photos = given(read_photos([late, early]))
    assert [(photo.file, photo.order) for photo in photos] == [(str(late), 0), (str(early), 1)]


def test_what_a_folder_holds_besides_photos_is_noted(tmp_path):
    """Hidden files, other files and folders are skipped with a sentence; sidecars silently."""
    save(tmp_path / "lake.jpg")
    (tmp_path / "lake.jpg.keep.json").write_text('{"weight": 2}', encoding="utf-8")
    (tmp_path / ".hidden.jpg").write_bytes(b"x")
    (tmp_path / "notes.txt").write_text("x", encoding="utf-8")
    (tmp_path / "more").mkdir()
    notes = []
    photos = read_photos([tmp_path], note=notes.append)
    assert [photo.weight for photo in photos] == [2.0]
    assert len(notes) == 3
    assert all(any(name in note for note in notes) for name in (".hidden.jpg", "notes.txt", "more"))


def test_the_same_picture_is_taken_once(tmp_path):
    """Given again, by itself or as a copy, it is left out with a sentence."""
    path = save(tmp_path / "lake.jpg")
    copy = tmp_path / "copy.jpg"
    copy.write_bytes(path.read_bytes())
    notes = []
    assert len(read_photos([path, tmp_path, copy], note=notes.append)) == 1
    assert len(notes) == 3 and all("same picture" in note for note in notes)


def twins(tmp_path, first, second):
    """Read two copies of a picture with what is written beside each; return the photos and the notes."""
    for name, beside in (("a.jpg", first), ("b.jpg", second)):
        (tmp_path / name).write_bytes(save(tmp_path / "lake.jpg").read_bytes())
        if beside:
            (tmp_path / f"{name}.keep.json").write_text(json.dumps(beside))
    (tmp_path / "lake.jpg").unlink()
    notes = []
    with Cache(None) as cache:
        survey = survey_photos([tmp_path], cache=cache)
    if not all(photo.rejected for photo in survey.photos):
        assert read_photos([tmp_path], note=notes.append) == survey.photos
        assert notes == list(survey.notes)
    return survey.photos, survey.notes


ONE, OTHER = [0.1, 0.1, 0.2, 0.2], [0.5, 0.5, 0.25, 0.25]


@pytest.mark.parametrize(
    ("first", "second", "keep", "weight", "rating"),
    [
        ({}, {"keep": [OTHER]}, [OTHER], 1.0, None),
        ({"keep": [ONE]}, {"keep": [OTHER, ONE], "rating": 4}, [ONE, OTHER], 1.5, 4),
        ({"keep": []}, {"rating": -1}, [], 1.0, -1),
        ({"rating": -1}, {"rating": 2}, [], 0.75, 2),
        ({"rating": 5}, {"weight": 3}, [], 3.0, 5),
        ({"detected": [ONE]}, {"keep": [OTHER]}, [OTHER], 1.0, None),
    ],
)
def test_what_is_written_beside_either_of_two_copies_counts(tmp_path, first, second, keep, weight, rating):
    """Boxes of both, the higher rating, and the note says which is taken."""
    (photo,), (note,) = twins(tmp_path, first, second)
    assert photo.path.name == "a.jpg" and list(map(list, photo.keep)) == keep
    assert (photo.weight, photo.rating) == (weight, rating)
    assert photo.settled == bool({"keep", "detected"} & {*first, *second})
    assert "'b.jpg' is the same picture as 'a.jpg', which is taken; what is written beside either counts" in note


def test_what_another_program_wrote_beside_a_copy_counts(tmp_path):
    """An ``.xmp`` beside the second alone."""
    (tmp_path / "b.xmp").write_text(
        '<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">'
        '<rdf:Description xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmp:Rating="3"/></rdf:RDF></x:xmpmeta>'
    )
    (photo,), notes = twins(tmp_path, {}, {})
    assert photo.rating == 3 and "beside either" in notes[-1]


def test_a_smaller_size_is_decoded_where_it_is_enough(tmp_path):
    """At least the size asked for, seen upright, and never more than twice it for a JPEG of that shape."""
    path = tmp_path / "lake.jpg"
    exif = Image.Exif()
    exif[0x0112] = 6
    scene().resize((960, 640)).save(path, exif=exif)
    small = open_seen(path, at_least=(200, 300))
    assert 200 <= small.width < 400 and 300 <= small.height < 600
    assert small.width * 3 == small.height * 2
    whole = open_seen(path, at_least=(640, 960))
    assert whole.size == (640, 960)
    difference = ImageChops.difference(small, whole.resize(small.size, Image.Resampling.BOX))
    assert sum(difference.convert("L").histogram()[30:]) < 0.02 * small.width * small.height


@pytest.mark.parametrize("ending", ["png", "webp", "tif"])
def test_other_formats_shrink_as_well(tmp_path, ending):
    """A whole factor that leaves at least the size asked for."""
    path = tmp_path / f"lake.{ending}"
    scene().resize((960, 640)).save(path)
    assert open_seen(path, at_least=(300, 200)).size == (320, 214)


@pytest.mark.parametrize(
    ("mode", "color", "seen"),
    [
        ("1", 1, (255, 255, 255)),
        ("L", 77, (77, 77, 77)),
        ("LA", (10, 0), (255, 255, 255)),
        ("RGBA", (255, 0, 0, 0), (255, 255, 255)),
        ("RGBA", (255, 0, 0, 255), (255, 0, 0)),
        ("I;16", 0x8000, (128, 128, 128)),
        ("CMYK", (0, 255, 255, 0), (255, 0, 0)),
    ],
)
def test_every_kind_of_pixels_becomes_rgb(tmp_path, mode, color, seen):
    """Grey, 16 bit, CMYK, and transparency on white."""
    path = tmp_path / "picture.tif"
    Image.new(mode, (8, 8), color).save(path)
    picture = open_seen(path)
    assert picture.mode == "RGB" and picture.getpixel((4, 4)) == seen


def test_a_palette_with_transparency_is_put_on_white(tmp_path):
    """No warning leaks and the transparent entry shows white."""
    image = Image.new("P", (8, 8), 1)
    image.putpalette([0, 0, 0, 10, 20, 30])
    path = tmp_path / "palette.png"
    image.save(path, transparency=b"\xff\x00")
    assert open_seen(path).getpixel((4, 4)) == (255, 255, 255)


def test_a_sidecar_gives_boxes_and_weight(tmp_path):
    """NAME.EXT.keep.json beside the photo."""
    path = save(tmp_path / "lake.jpg")
    content = {"keep": [[0.25, 0.5, 0.5, 0.5]], "detected": [[0, 0, 1, 1]], "weight": 1.5}
    (tmp_path / "lake.jpg.keep.json").write_text(json.dumps(content), encoding="utf-8")
    photo = read_photo(path)
    assert photo.keep == ((0.25, 0.5, 0.5, 0.5),)
    assert photo.detected == ((0, 0, 1, 1),)
    assert photo.weight == 1.5


def test_without_a_sidecar_nothing_is_marked(tmp_path):
    """The defaults."""
    assert read_sidecar(tmp_path / "lake.jpg") == Sidecar()


GOOD_SIDECARS = ["{}", '{"keep": []}', '{"keep": [[0, 0, 1, 1], [0.1, 0.2, 0.3, 0.4]], "weight": 10}']
BAD_SIDECARS = {
    "[]": "object",
    "null": "object",
    '{"keeps": []}': "'keeps' is not known",
    '{"keep": {}}': "list of boxes",
    '{"keep": [[0, 0, 1]]}': "box 1: four numbers",
    '{"keep": [[0, 0, 1, 1], [0, 0, 0, 1]]}': "box 2",
    '{"keep": [[-0.1, 0, 1, 1]]}': "from 0 to 1",
    '{"keep": [[0, 0, "1", 1]]}': "from 0 to 1",
    '{"keep": [[0, 0, true, 1]]}': "from 0 to 1",
    '{"keep": [[0, 0, 40, 30]]}': "from 0 to 1",
    '{"weight": 0}': "weight",
    '{"weight": -1}': "weight",
    '{"weight": 1e9}': "weight",
    '{"weight": "high"}': "weight",
    '{"weight": null}': "weight",
    json.dumps({"keep": [[0, 0, 1, 1]] * 101}): "101 boxes",
}


@pytest.fixture(scope="module")
def schema():
    """Return the published schema, ready to judge."""
    content = json.loads(resources.read_text("schemas/sidecar.schema.json"))
    jsonschema.Draft202012Validator.check_schema(content)
    return jsonschema.Draft202012Validator(content)


@pytest.mark.parametrize("text", GOOD_SIDECARS)
def test_good_sidecars_are_read_and_fit_the_schema(schema, text):
    """Reader and published schema agree."""
    assert schema.is_valid(json.loads(text))
    parse_sidecar(text.encode())


@pytest.mark.parametrize("text", BAD_SIDECARS)
def test_bad_sidecars_are_refused_by_reader_and_schema(schema, text):
    """Reader and published schema agree, and the reader names the place."""
    assert not schema.is_valid(json.loads(text))
    with pytest.raises(InputError, match=BAD_SIDECARS[text]):
        parse_sidecar(text.encode())


def test_a_box_that_ends_a_rounding_error_outside_is_taken():
    """0.7 + 0.3 may exceed 1 by a float's last digits; the box is then cut at the edge."""
    (box,) = parse_sidecar(b'{"keep": [[0.7, 0.0, 0.3000000001, 1]]}').keep
    assert box[0] + box[2] <= 1


def test_a_weight_from_the_command_line_is_checked_alike():
    """The same limits as in the file."""
    assert check_weight(2) == 2.0
    for bad in (0, -1, float("nan"), float("inf"), 11, True, None, 10**400):
        with pytest.raises(InputError, match="weight"):
            check_weight(bad)
