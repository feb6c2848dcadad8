"""The checker compares a layout with the photos and the template when they are at hand."""

from __future__ import annotations

import hashlib
import struct
import warnings
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from fitter.check import check_layout
from fitter.check.inputs import compare_photos
from fitter.check.rules_text import measure_lines
from fitter.errors import InputError, UseError
from fitter.layout import GivenPhoto, Layout, TemplateRef
from fitter.pages import Page
from fitter.photos import read_photo
from fitter.reference import MEMBERS, Member, reference_layout
from fitter.template import Element, Template
from tests import builders as b

FIXTURES = Path(__file__).parent.parent / "fixtures" / "photos"


def with_photos(folder: Path) -> Layout:
    """Write two photos, the second turned by its Exif orientation, and return a page made from them."""
    folder.mkdir(exist_ok=True)
    layout, given = b.tiny(), []
    for photo, stored, orientation in ((b.A, (1500, 1200), 1), (b.B, (1200, 1350), 6)):
        exif = Image.Exif()
        exif[0x0112] = orientation
        Image.new("RGB", stored, "#88aacc").save(folder / photo.file, quality=30, exif=exif)
        digest = hashlib.sha256((folder / photo.file).read_bytes()).hexdigest()
        given.append(replace(photo, sha256=digest))
    layout = b.give(layout, photos=tuple(given))
    for name, photo in zip(("photo-1", "photo-2"), given, strict=True):
        layout = b.change(layout, name, photo=b.whole(photo, b.element(layout, name).size))
    return layout


def test_photos_at_hand_are_the_given_ones(tmp_path: Path) -> None:
    """Hash and size as seen agree, Exif orientation applied; absent photos are no fault, but named."""
    layout = with_photos(tmp_path)
    assert check_layout(layout, base=tmp_path).ok
    assert check_layout(layout, base=tmp_path).not_compared == ()
    (tmp_path / "a.jpg").unlink()
    report = check_layout(layout, base=tmp_path)
    assert report.ok
    assert report.not_compared == ("photo a.jpg: not at hand, so it was not compared",)
    assert report.not_compared[0] in report.lines()


def test_photos_are_found_where_they_lie_now(tmp_path: Path) -> None:
    """In a folder named instead, by name and hash; of two of a name the one that is the same file."""
    layout = with_photos(tmp_path / "page")
    now = tmp_path / "now"
    (now / "trip").mkdir(parents=True)
    for name in ("a.jpg", "b.jpg"):
        (tmp_path / "page" / name).rename(now / name)
    assert len(check_layout(layout, base=tmp_path / "page").not_compared) == 2
    assert check_layout(layout, base=tmp_path / "page", photos=now).not_compared == ()
    one, other = layout.given.photos
    nested = replace(one, file="../photos/trip/a.jpg")
    (now / "trip" / "a.jpg").write_bytes(b"another")
    assert compare_photos(b.give(layout, photos=(nested, other)), tmp_path / "page", now) == ((), ())
    (now / "a.jpg").unlink()
    different, absent = compare_photos(b.give(layout, photos=(nested, other)), tmp_path / "page", now)
    assert len(different) == 1
    assert absent == ()


@pytest.mark.parametrize("ending", ["jpg", "png", "tif", "webp", "heic"])
def test_a_turned_photo_of_any_format_is_the_given_one(tmp_path: Path, ending: str) -> None:
    """The reader and the checker agree on the size as seen, each by its own way; of HEIC the hash is compared."""
    source = FIXTURES / f"mwg-6.{ending}"
    (tmp_path / source.name).write_bytes(source.read_bytes())
    photo = read_photo(source)
    given = GivenPhoto(source.name, photo.sha256, photo.pixels)
    assert compare_photos(b.give(b.tiny(), photos=(given,)), tmp_path) == ((), ())
    lie = replace(given, pixels=given.pixels[::-1])
    assert len(compare_photos(b.give(b.tiny(), photos=(lie,)), tmp_path)[0]) == (ending != "heic")


def test_changed_photo_is_told(tmp_path: Path) -> None:
    """A photo edited since is named."""
    layout = with_photos(tmp_path)
    with (tmp_path / "b.jpg").open("ab") as file:
        file.write(b"more")
    report = check_layout(layout, base=tmp_path)
    assert len(report.differences) == 1
    assert "b.jpg" in report.differences[0]
    assert report.rules_hold
    assert not report.ok


def test_photo_of_another_size_is_told(tmp_path: Path) -> None:
    """A layout that lies about a photo's pixels is caught, hash or not."""
    layout = with_photos(tmp_path)
    lie = replace(layout.given.photos[1], pixels=(1200, 1350))
    report = check_layout(b.give(layout, photos=(layout.given.photos[0], lie)), base=tmp_path)
    assert any("1350×1200 px as seen" in d for d in report.differences)


def test_photo_with_a_strange_name_is_told(tmp_path: Path) -> None:
    """A stranger's layout cannot make the checker open files elsewhere."""
    odd = GivenPhoto("/etc/hostname", "c" * 64, (10, 10))
    layout = b.give(with_photos(tmp_path), leave_out=1)
    layout = replace(layout, given=replace(layout.given, photos=(*layout.given.photos, odd)))
    assert any("/etc/hostname" in d and "relative" in d for d in check_layout(layout, base=tmp_path).differences)


def differences(file: str, folder: Path, sha256: str = "c" * 64) -> list[str]:
    """Return what is said of a photo of that name."""
    return list(compare_photos(b.give(b.tiny(), photos=(GivenPhoto(file, sha256, (10, 10)),)), folder)[0])


def test_files_that_only_look_like_photos_are_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files of the system state no size and may never end or answer; others cannot be read: a sentence each."""
    (tmp_path / "system.jpg").touch()
    assert differences("system.jpg", tmp_path) == ["photo system.jpg: is empty (0 bytes), not the picture given"]
    (tmp_path / "memory.jpg").write_bytes(b"x")

    def fail(*_: object) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "open", fail)
    (said,) = differences("memory.jpg", tmp_path)
    assert "cannot be read (Input/output error)" in said


def test_a_name_too_long_for_the_system_is_passed_over(tmp_path: Path) -> None:
    """No photo of that name can be at hand."""
    assert differences("x" * 900 + ".jpg", tmp_path) == []


def test_damaged_tags_of_a_photo_are_not_warned_of(tmp_path: Path) -> None:
    """What the picture library thinks of each of a thousand broken tags is nobody's business."""
    tags = b"".join(struct.pack("<HHII", 0x9000 + n, 2, 50, 10**6) for n in range(9))
    path = tmp_path / "a.jpg"
    Image.new("RGB", (10, 10)).save(path, exif=b"Exif\0\0II*\0\x08\0\0\0\x09\0" + tags + bytes(4))
    with warnings.catch_warnings(record=True) as seen:
        warnings.simplefilter("always")
        assert differences("a.jpg", tmp_path, hashlib.sha256(path.read_bytes()).hexdigest()) == []
    assert seen == []


def template() -> Template:
    """Return the template the tiny page was drawn from, four times as large."""

    def grow(e: Element) -> Element:
        return replace(e, center=(4 * e.center[0], 4 * e.center[1]), size=(4 * e.size[0], 4 * e.size[1]))

    return Template("tiny", (609_600, 609_600), tuple(grow(e) for e in b.REFERENCE), sha256="0" * 64)


@pytest.mark.parametrize("member", MEMBERS, ids=lambda m: f"{m.rotate}{'m' * m.mirror}")
def test_reference_is_refitted_again(member: Member) -> None:
    """The reference of a layout is what its template gives, turned, mirrored and slid."""
    drawn, page = template(), Page("5x7in", (127_000, 177_800))
    slides = (0, 12_000, -7_000)
    for slide in slides:
        made = reference_layout(drawn, page, member, slide=slide)
        layout = replace(
            b.tiny(),
            page=page,
            reference=made.elements,
            elements=(),
            transform=made.transform,
            template=TemplateRef("tiny", "0" * 64, drawn.size),
        )
        assert check_layout(layout, template=drawn).differences == (), (member, slide)
        still = check_layout(b.give(layout, without=("shift",)), template=drawn).differences
        assert [d.split(" by ")[0] for d in still] == ["reference: slid along the page"] * (slide != 0)
        other = replace(layout, transform=replace(made.transform, scale=made.transform.scale * 1.1))
        assert any("scale" in d for d in check_layout(other, template=drawn).differences)
        moved = replace(made.elements[4], center=(made.elements[4].center[0] + 10, made.elements[4].center[1]))
        wrong = replace(layout, reference=(*made.elements[:4], moved, *made.elements[5:]))
        assert any("photo-2" in d for d in check_layout(wrong, template=drawn).differences)


def test_other_template_is_told() -> None:
    """Another file, another size, other elements: each has its sentence."""
    layout = replace(b.tiny(), template=TemplateRef("tiny", "1" * 64, (152_400, 152_400)))
    drawn = replace(template(), elements=template().elements[1:])
    found = check_layout(layout, template=drawn).differences
    assert any("SHA-256" in d for d in found)
    assert any("609600" in d for d in found)
    assert any("(bg)" in d for d in found)


def test_unknown_names_and_contradictions_are_refused() -> None:
    """Neither a misspelt rule nor a meaningless layout is judged."""
    with pytest.raises(UseError, match="R10"):
        check_layout(b.tiny(), without=frozenset({"R10"}))
    page = b.tiny()
    with pytest.raises(InputError, match="used twice"):
        check_layout(replace(page, elements=(*page.elements, page.elements[0])))


def test_odd_values_are_refused() -> None:
    """A layout built by a program and not read from a file is held to the same bounds; an empty line measures 0."""
    page = b.tiny()
    text = b.element(page, "card").text
    assert text is not None
    blank = replace(text, lines=("", *text.lines))
    assert measure_lines(blank)[0] == measure_lines(text)[0]
    with pytest.raises(InputError, match="line 1 has 0 characters"):
        check_layout(b.change(page, "card", text=blank))
    with pytest.raises(InputError, match="leave_out is -1"):
        check_layout(b.give(page, leave_out=-1))


def test_report_reads_well() -> None:
    """The report names each rule, each cost, and what is wrong in words."""
    layout = b.move(b.tiny(), "photo-2", dx=10_000)
    lines = check_layout(replace(layout, costs=replace(layout.costs, total=1))).lines()
    assert "R1 edge: broken" in lines
    assert "   photo-2 reaches 3.65 mm past the safe line on the right" in lines
    assert any(line.strip().startswith("total") and "states 1" in line for line in lines)
