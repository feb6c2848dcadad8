"""Regions and ratings of other programs, against files written by exiftool (see ``tests/fixtures/make_photos.py``).

In every fixture the marked region is the red patch, so the boxes are compared with where Pillow shows red.
"""

import shutil
import struct
from io import BytesIO
from pathlib import Path

import pytest
from PIL import Image, ImageOps

from fitter.errors import InputError
from fitter.photos import open_seen, read_photo, read_photos
from fitter.photos.read import weight_of
from fitter.photos.regions import Region, as_seen, distinct, number, overlap, subject_region
from fitter.photos.xmp import LARGEST_PACKET, read_xmp

FIXTURES = Path(__file__).parent.parent / "fixtures" / "photos"
SIZE = (96, 64)
PATCH = (0.125, 0.125, 0.25, 0.25)
"""The red patch of the stored picture."""


def red(picture):
    """Return the box of the red pixels, in 0…1."""
    wanted = picture.convert("RGB").point([0] * 120 + [255] * 136 + [255] * 90 + [0] * 166 + [255] * 90 + [0] * 166)
    mask = Image.eval(wanted.convert("L"), lambda value: 255 if value > 250 else 0)
    left, top, right, bottom = mask.getbbox()
    w, h = picture.size
    return left / w, top / h, (right - left) / w, (bottom - top) / h


@pytest.mark.parametrize("orientation", range(1, 9))
@pytest.mark.parametrize(("name", "kind"), [("mwg", "face"), ("iptc", "subject"), ("area", "subject")])
def test_regions_follow_the_orientation(name, kind, orientation):
    """MWG 2.0 5.9, IPTC image regions and Exif SubjectArea against ``ImageOps.exif_transpose``."""
    path = FIXTURES / f"{name}-{orientation}.jpg"
    with Image.open(path) as image:
        expected = red(ImageOps.exif_transpose(image))
    photo = read_photo(path)
    boxes = photo.detected if name == "area" else photo.keep
    assert len(boxes) == 1 and len(photo.marks) == 1
    assert boxes[0] == pytest.approx(expected, abs=0.02)
    assert boxes[0] == pytest.approx(red(open_seen(path)), abs=0.02)
    assert photo.marks[0].kind == kind
    assert photo.marks[0].source == ("camera" if name == "area" else "file")


@pytest.mark.parametrize("orientation", range(1, 9))
def test_a_heic_photo_is_turned_once_and_its_regions_with_it(orientation):
    """The turns of ISO/IEC 23008-12 as libheif applies them; the Exif orientation in the file says the same."""
    path = FIXTURES / f"mwg-{orientation}.heic"
    with Image.open(FIXTURES / f"mwg-{orientation}.jpg") as image:
        expected = ImageOps.exif_transpose(image)
    seen, photo = open_seen(path), read_photo(path)
    assert seen.size == expected.size == photo.pixels
    assert red(seen) == pytest.approx(red(expected), abs=0.04)
    assert photo.keep[0] == pytest.approx(red(expected), abs=0.02)
    assert photo.orientation == orientation
    assert (photo.taken, photo.rating, photo.weight) == ("2026-07-04T21:05:09+02:00", 4.0, 1.5)


@pytest.mark.parametrize("ending", ["png", "tif", "webp"])
def test_xmp_is_found_in_every_format(ending):
    """The region is where the red is, after the orientation each format carries."""
    path = FIXTURES / f"mwg-6.{ending}"
    photo = read_photo(path)
    assert photo.pixels == (64, 96)
    assert photo.keep[0] == pytest.approx(red(open_seen(path)), abs=0.001)
    assert photo.rating == 4.0


def test_the_attribute_form_reads_the_same():
    """RDF written in its short form, attributes instead of elements."""
    assert read_photo(FIXTURES / "short.jpg").marks == read_photo(FIXTURES / "mwg-1.jpg").marks


def test_stale_dimensions_do_no_harm():
    """AppliedToDimensions of another size and shape: the region is relative, and still right."""
    path = FIXTURES / "stale.jpg"
    assert read_photo(path).keep[0] == pytest.approx(red(open_seen(path)), abs=0.02)


def test_kinds_of_regions():
    """Faces and pets are kept; a focus point gives way to them; codes and regions outside are left, with a note."""
    photo = read_photo(FIXTURES / "kinds.jpg")
    assert [mark.kind for mark in photo.marks] == ["face", "subject"]
    assert photo.keep[1] == pytest.approx((0.65, 0.3, 0.2, 0.4))
    assert photo.detected == ()
    assert photo.notes == ("1 marked region lies outside the picture or is no region, and was not used",)


def test_what_two_standards_mark_is_kept_once():
    """MWG and IPTC mark the same face, and the one that does not say so changes nothing."""
    assert [mark.kind for mark in read_photo(FIXTURES / "both.jpg").marks] == ["face"]


@pytest.mark.parametrize("turned", [False, True])
def test_of_equal_regions_the_one_that_says_most_stays(turned):
    """A face before a subject, a subject before what the camera aimed at, in whatever order they are told."""
    box, other = (0.1, 0.1, 0.2, 0.2), (0.6, 0.6, 0.2, 0.2)
    told = [Region(box, "subject", True), Region(box, "subject"), Region(box, "face"), Region(other, "subject", True)]
    told.append(Region(other, "subject"))
    found = distinct(told[::-1] if turned else told)
    assert set(found) == {Region(box, "face"), Region(other, "subject")}
    assert [region.box for region in found] == ([other, box] if turned else [box, other])


@pytest.mark.parametrize(
    ("name", "box"),
    [
        ("pixels", PATCH),
        ("circle", (16 / 96, 8 / 64, 16 / 96, 16 / 64)),
        ("polygon", PATCH),
    ],
)
def test_shapes_of_iptc_regions(name, box):
    """Rectangles in pixels, circles by their radius, polygons by their bounds."""
    assert read_photo(FIXTURES / f"{name}.jpg").keep[0] == pytest.approx(box, abs=1e-6)


def test_an_iptc_type_tells_a_face():
    """By the identifier of the IPTC vocabulary."""
    assert read_photo(FIXTURES / "polygon.jpg").marks[0].kind == "face"


def test_a_cropping_hint_is_no_subject():
    """IPTC regions that propose crops are not what must stay."""
    assert read_photo(FIXTURES / "cropping.jpg").marks == ()


@pytest.mark.parametrize(
    ("name", "box"),
    [
        ("point", ((24 - 3.2) / 96, (16 - 3.2) / 64, 6.4 / 96, 6.4 / 64)),
        ("disc", (16 / 96, 8 / 64, 16 / 96, 16 / 64)),
    ],
)
def test_subject_area_as_point_and_disc(name, box):
    """Exif 2.32, SubjectArea: two numbers are a point, three a circle."""
    assert read_photo(FIXTURES / f"{name}.jpg").detected[0] == pytest.approx(box, abs=1e-6)


def test_a_wide_subject_area_says_nothing():
    """Phones write a quarter of the picture when they aimed at nothing."""
    assert read_photo(FIXTURES / "wide-area.jpg").marks == ()


def test_a_rating_sets_the_weight():
    """Our own table, half stars in between."""
    assert read_photo(FIXTURES / "four-stars.jpg").weight == 1.5
    weights = [weight_of(stars) for stars in (None, -1, 0, 0.5, 1, 1.5, 2, 3, 4, 5, 9)]
    assert weights == [1, 1, 1, 0.5, 0.5, 0.625, 0.75, 1, 1.5, 2, 2]


def test_a_rejected_photo_is_left_out_with_a_note(tmp_path):
    """xmp:Rating -1; if nothing else was given, that is said too."""
    for name in ("rejected.jpg", "four-stars.jpg"):
        shutil.copy(FIXTURES / name, tmp_path)
    notes = []
    photos = read_photos([tmp_path], note=notes.append)
    assert [photo.path.name for photo in photos] == ["four-stars.jpg"]
    assert sum("rejected.jpg" in note and "left out" in note for note in notes) == 1
    with pytest.raises(InputError, match="rejected"):
        read_photos([tmp_path / "rejected.jpg"])


def test_an_xmp_file_beside_goes_before_the_photo():
    """Rating and regions of ``beside.xmp`` replace those inside ``beside.jpg``, turned as the photo is."""
    photo = read_photo(FIXTURES / "beside.jpg")
    assert photo.rating == 5.0
    assert photo.keep[0] == pytest.approx(as_seen(PATCH, 8))


def test_an_xmp_file_named_after_the_whole_name(tmp_path):
    """``lake.jpg.xmp`` is found too, and goes first."""
    shutil.copy(FIXTURES / "four-stars.jpg", tmp_path / "lake.jpg")
    shutil.copy(FIXTURES / "beside.xmp", tmp_path / "lake.jpg.xmp")
    (tmp_path / "lake.xmp").write_text("rubbish", encoding="utf-8")
    photo = read_photo(tmp_path / "lake.jpg")
    assert (photo.rating, len(photo.keep), photo.notes) == (5.0, 1, ())


def test_corrections_go_before_everything(tmp_path):
    """The JSON beside a photo replaces regions and rating, each only if it says something about it."""
    path = tmp_path / "lake.jpg"
    shutil.copy(FIXTURES / "beside.jpg", path)
    shutil.copy(FIXTURES / "beside.xmp", tmp_path / "lake.xmp")
    sidecar = tmp_path / "lake.jpg.keep.json"
    sidecar.write_text('{"keep": [[0, 0, 0.5, 0.5]]}', encoding="utf-8")
    photo = read_photo(path)
    assert (photo.keep, photo.rating, photo.marks[0].source) == (((0, 0, 0.5, 0.5),), 5.0, "correction")
    sidecar.write_text('{"rating": -1, "keep": []}', encoding="utf-8")
    photo = read_photo(path)
    assert photo.keep == () and photo.rejected
    sidecar.write_text('{"rating": 1, "weight": 3}', encoding="utf-8")
    photo = read_photo(path)
    assert (len(photo.keep), photo.weight, photo.rating) == (1, 3.0, 1.0)


PACKET = """<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:xmp="http://ns.adobe.com/xap/1.0/"
 xmlns:m="http://www.metadataworkinggroup.com/schemas/regions/" xmlns:a="http://ns.adobe.com/xmp/sType/Area#">
<m:Regions rdf:parseType="Resource"><m:RegionList><rdf:Bag>{items}</rdf:Bag></m:RegionList></m:Regions>{more}
</rdf:Description></rdf:RDF></x:xmpmeta>"""
ITEM = (
    '<rdf:li rdf:parseType="Resource"><m:Type>Face</m:Type>'
    '<m:Area a:x="{0}" a:y="{1}" a:w="{2}" a:h="{3}" a:unit="{4}"/></rdf:li>'
)


def packet(*areas, more=""):
    """Return a packet with the areas given as x, y, w, h and unit."""
    items = "".join(ITEM.format(*(*area, "normalized")[:5]) for area in areas)
    return PACKET.format(items=items, more=more).encode()


@pytest.mark.parametrize(
    "area",
    [
        ("NaN", 0.5, 0.1, 0.1),
        (0.5, "inf", 0.1, 0.1),
        (0.5, 0.5, "1e999", 0.1),
        (0.5, 0.5, 0, 0.1),
        (0.5, 0.5, -0.2, 0.1),
        (0.5, 0.5, "wide", 0.1),
        (5, 5, 0.1, 0.1),
        (-1e300, 0.5, 0.1, 0.1),
        ("", "", "", ""),
    ],
)
def test_a_region_that_is_none_is_left_out(area):
    """NaN, infinity, no size, far outside: one note, and the others stay."""
    found = read_xmp(packet(area, (0.5, 0.5, 0.2, 0.2)), SIZE)
    assert [region.box for region in found.regions] == [pytest.approx((0.4, 0.4, 0.2, 0.2))]
    assert len(found.notes) == 1 and "not used" in found.notes[0]


def test_a_region_over_the_edge_is_cut_there():
    """What is inside the picture is kept."""
    (region,) = read_xmp(packet((0.0, 1.0, 0.5, 0.5)), SIZE).regions
    assert region.box == pytest.approx((0, 0.75, 0.25, 0.25))


@pytest.mark.parametrize("order", ["utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("mark", ["\ufeff", ""])
@pytest.mark.parametrize("padding", [("", ""), ("", "  \n"), ("\n", "\0\0")])
@pytest.mark.parametrize("declared", ["", "<?xml version='1.0' encoding='UTF-16'?>"])
def test_a_packet_in_utf_16(order, mark, padding, declared):
    """Either order, with or without a byte order mark: the zero bytes of its letters are no padding."""
    text = packet((0.5, 0.5, 0.2, 0.2)).decode()
    found = read_xmp((mark + padding[0] + declared + text + padding[1]).encode(order), SIZE)
    assert (len(found.regions), found.notes) == (1, ())


def test_an_xmp_file_in_utf_16_beside_a_photo(tmp_path):
    """As an editor may save it."""
    Image.new("RGB", SIZE).save(tmp_path / "lake.jpg")
    (tmp_path / "lake.xmp").write_text(packet((0.5, 0.5, 0.2, 0.2)).decode(), encoding="utf-16")
    photo = read_photo(tmp_path / "lake.jpg")
    assert (len(photo.keep), photo.notes) == (1, ())


def test_ten_thousand_regions():
    """The first hundred are used; reading stays quick, and a note says so."""
    areas = [((i % 100) / 100, (i // 100) / 100, 0.005, 0.005) for i in range(10_000)]
    found = read_xmp(packet(*areas), SIZE)
    assert 0 < len(found.regions) <= 100
    assert found.notes == ("it marks 10,000 regions; the first 100 were used",)


def extended(*parts, digest=b"0123456789ABCDEF" * 2):
    """Return a JPEG whose XMP goes on in extension segments (XMP Specification Part 3, 1.1.3.1)."""
    note = b'<rdf:Description xmlns:n="http://ns.adobe.com/xmp/note/" n:HasExtendedXMP="' + b"0123456789ABCDEF" * 2
    main = packet(more="<xmp:Rating>4</xmp:Rating>").replace(b"</rdf:RDF>", note + b'"/></rdf:RDF>')
    stream = BytesIO()
    Image.new("RGB", SIZE).save(stream, "JPEG", xmp=main)
    total = sum(len(part) for _, part in parts)
    segments = b""
    for offset, part in parts:
        data = b"http://ns.adobe.com/xmp/extension/\0" + digest + struct.pack(">II", total, offset) + part
        segments += struct.pack(">BBH", 0xFF, 0xE1, len(data) + 2) + data
    jpeg = stream.getvalue()
    at = jpeg.index(b"\xff\xdb")
    return jpeg[:at] + segments + jpeg[at:]


def test_a_packet_that_goes_on_in_other_segments(tmp_path):
    """In whatever order they stand; one that belongs to another packet, or leaves a hole, is passed over."""
    whole = packet((0.5, 0.5, 0.2, 0.2))
    path = tmp_path / "lake.jpg"
    path.write_bytes(extended((300, whole[300:]), (0, whole[:300])))
    photo = read_photo(path)
    assert (photo.rating, photo.keep[0]) == (4.0, pytest.approx((0.4, 0.4, 0.2, 0.2)))
    for broken in (extended((0, whole), digest=b"F" * 32), extended((0, whole[:300]), (301, whole[301:]))):
        path.write_bytes(broken)
        assert read_photo(path).keep == () and read_photo(path).rating == 4.0


TRICKS = {
    "entities": b'<!DOCTYPE r [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]><r>&b;</r>',
    "external": b'<!DOCTYPE r [<!ENTITY a SYSTEM "file:///etc/passwd">]><r>&a;</r>',
    "doctype": b'<!DOCTYPE r SYSTEM "http://example.invalid/a.dtd"><r/>',
    "undeclared": b"<r>&lake;</r>",
    "rubbish": b"\xff\xd8 no XML",
    "cut": packet((0.5, 0.5, 0.2, 0.2))[:-30],
    "deep": b"<r>" * 100_000,
    "encoding": b'<?xml version="1.0" encoding="no-such"?><r/>',
    "empty": b"",
    "entities in UTF-16": '<!DOCTYPE r [<!ENTITY a "aaaa">]><r>&a;</r>'.encode("utf-16-le"),
    "half a letter": "<r>\ud800</r>".encode("utf-16-le", "surrogatepass"),
    "cut in UTF-16": "<r></r>".encode("utf-16-le")[:-1],
    "large": b" " * (LARGEST_PACKET + 1),
}


@pytest.mark.parametrize("trick", TRICKS)
def test_a_hostile_packet_is_not_read(trick):
    """Entities, document types, cut short, nested without end: one line, no region, no exception."""
    found = read_xmp(TRICKS[trick], SIZE)
    assert (found.rating, found.regions) == (None, ())
    assert len(found.notes) == 1 and "not read" in found.notes[0] and "\n" not in found.notes[0]


@pytest.mark.parametrize("trick", TRICKS)
def test_a_hostile_xmp_file_does_not_stop_the_photo(tmp_path, trick):
    """The photo is read without it; the note names the file."""
    Image.new("RGB", SIZE).save(tmp_path / "lake.jpg")
    (tmp_path / "lake.xmp").write_bytes(TRICKS[trick])
    photo = read_photo(tmp_path / "lake.jpg")
    assert photo.keep == () and len(photo.notes) == 1 and "lake.xmp" in photo.notes[0]


def test_an_xmp_file_that_is_a_folder(tmp_path):
    """It is passed over with a note."""
    Image.new("RGB", SIZE).save(tmp_path / "lake.jpg")
    (tmp_path / "lake.xmp").mkdir()
    assert "is no plain file" in read_photo(tmp_path / "lake.jpg").notes[0]


@pytest.mark.parametrize(
    ("stars", "rating"), [("3", 3), ("-1", -1), ("-7", -1), ("99", 5), ("2.5", 2.5), ("NaN", None), ("many", None)]
)
def test_ratings_are_clamped(stars, rating):
    """MWG 2.0, 5.5: below 0 is rejected, above 5 is 5; what is no number is no rating."""
    found = read_xmp(packet(more=f"<xmp:Rating>{stars}</xmp:Rating>"), SIZE)
    assert found.rating == rating
    assert len(found.notes) == (rating is None)


@pytest.mark.parametrize("area", [(1,), (float("nan"), 2), (1e300, 5, 5), (5, 5, 0, 5), (5, 5, -3), (1, 2, 3, 4, 5)])
def test_an_impossible_subject_area_is_none(area):
    """Wrong counts, NaN, outside, no size."""
    assert subject_region(area, SIZE) is None


def test_numbers_of_any_kind():
    """Only finite numbers count."""
    assert number(" 0.5 ") == 0.5
    assert all(number(value) != number(value) for value in (None, "x", "inf", "nan", [], "0x1"))


def test_overlap_is_intersection_over_union():
    """By its definition: half of one inside the other gives 1/3."""
    assert overlap((0, 0, 1, 1), (0.5, 0, 1, 1)) == pytest.approx(1 / 3)
    assert overlap((0, 0, 0.2, 0.2), (0.5, 0.5, 0.2, 0.2)) == 0


def test_no_name_place_or_serial_number_is_kept():
    """What exiftool wrote of places, serial numbers and people is in nothing we keep; time and region are."""
    path = FIXTURES / "private.jpg"
    photo = read_photo(path)
    assert (photo.taken, len(photo.keep)) == ("2026-07-04T21:05:09.375+02:00", 1)
    data = path.read_bytes()
    assert b"SN-77410263" in data and b"Nobody" in data
    kept = repr(photo) + repr(open_seen(path).info)
    assert not [word for word in ("77410263", "55120", "Nobody", "61.2", "12.3", "61,12") if word in kept]
