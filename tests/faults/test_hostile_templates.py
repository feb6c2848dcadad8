"""Hostile and broken SVG files: each ends in one sentence that names the file, nothing is loaded."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from fitter.errors import InputError
from fitter.starters import starter_names, starter_path
from fitter.template_reader import read_template
from tests.drawings import ROOT, write_drawing

PHOTO = '<rect id="photo-1" x="1" y="1" width="4" height="3"/>'
NS = 'xmlns="http://www.w3.org/2000/svg"'
XLINK = 'xmlns:xlink="http://www.w3.org/1999/xlink"'

BILLION_LAUGHS = (
    '<!DOCTYPE svg [<!ENTITY a "ha">'
    + "".join(f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True))
    + f"]><svg {NS} {ROOT}><title>&i;</title>{PHOTO}</svg>"
)

WHOLE_FILES = {
    "billion laughs": (BILLION_LAUGHS, "entities"),
    "external entity": (
        '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
        f"<svg {NS} {ROOT}><title>&x;</title>{PHOTO}</svg>",
        "entities",
    ),
    "parameter entity": (
        '<!DOCTYPE svg [<!ENTITY % p SYSTEM "http://example.invalid/x.dtd">%p;]>'
        f"<svg {NS} {ROOT}>{PHOTO}</svg>",
        "entities",
    ),
    "style sheet from outside": (
        f'<?xml-stylesheet href="http://example.invalid/a.css"?><svg {NS} {ROOT}>{PHOTO}</svg>',
        "style sheet from outside",
    ),
    "empty": ("", "empty"),
    "blank": (" \n ", "empty"),
    "truncated": (f"<svg {NS} {ROOT}>{PHOTO}", "not well-formed"),
    "not xml": ("JFIF not a drawing", "not well-formed"),
    "another format": ("<html><body/></html>", "<html>, not <svg>"),
    "unknown encoding": (
        f'<?xml version="1.0" encoding="klingon"?><svg {NS} {ROOT}>{PHOTO}</svg>',
        "ncoding",
    ),
    "a million elements": (f"<svg {NS} {ROOT}>" + "<g/>" * 1_000_000 + "</svg>", "5,000 elements"),
    "a deep nest": (f"<svg {NS} {ROOT}>" + "<g>" * 500_000, "50 levels"),
    "too large": (f"<svg {NS} {ROOT}><!--" + "x" * 5_000_000 + f"-->{PHOTO}</svg>", "larger than 5 MB"),
}


@pytest.mark.parametrize(("content", "expected"), WHOLE_FILES.values(), ids=WHOLE_FILES.keys())
def test_a_hostile_file_is_one_clear_error(tmp_path: Path, content: str, expected: str) -> None:
    """Bombs, entities, other formats and oversized files are refused with the file's name."""
    path = tmp_path / "hostile.svg"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(InputError) as caught:
        read_template(path)
    assert "hostile.svg" in caught.value.message
    assert expected in caught.value.message
    assert "\n" not in caught.value.message
    assert len(caught.value.message) < 500


ELEMENTS = {
    "script": ("<script>alert(1)</script>", "script"),
    "foreign content": ("<foreignObject/>", "foreign content"),
    "event handler": ('<rect id="photo-9" onclick="x()" width="2" height="2"/>', "onclick"),
    "outside image": (f'<image {XLINK} xlink:href="http://example.invalid/a.png"/>', "outside the file"),
    "outside use": ('<use href="other.svg#a"/>', "outside the file"),
    "outside paint": ('<rect id="photo-9" fill="url(http://example.invalid/#g)"/>', "outside the file"),
    "outside style": ("<style>@import 'http://example.invalid/a.css';</style>", "outside the file"),
    "not a number": ('<rect id="photo-9" x="NaN" y="1" width="2" height="2"/>', "'photo-9': x 'NaN'"),
    "infinite": ('<rect id="photo-9" x="1" y="1" width="1e999" height="2"/>', "beyond any page; expected at most 2 m"),
    "infinite in a transform": (
        '<rect id="photo-9" transform="scale(1e400)" width="2" height="2"/>',
        "not a finite number; expected one such as 4.5",
    ),
    "zero width": ('<rect id="photo-9" x="1" y="1" width="0" height="2"/>', "its width is 0"),
    "negative height": ('<rect id="photo-9" x="1" y="1" width="2" height="-2"/>', "its height is -2"),
    "missing width": ('<rect id="photo-9" x="1" y="1" height="2"/>', "width is missing; write a length"),
    "zero radius": ('<circle id="photo-9" cx="3" cy="3" r="0"/>', "larger than zero"),
    "flattened": ('<rect id="photo-9" transform="scale(0 1)" width="2" height="2"/>', "scales it to nothing"),
    "skewed": ('<rect id="photo-9" transform="skewX(10)" width="2" height="2"/>', "skewX"),
    "skewed by nesting": (
        '<g transform="scale(2 1)"><rect id="photo-9" transform="rotate(20)" width="2" height="2"/></g>',
        "skew it",
    ),
    "unknown transform": ('<rect id="photo-9" transform="spin(3)" width="2" height="2"/>', "spin() with 1"),
    "broken transform": ('<rect id="photo-9" transform="rotate(3" width="2" height="2"/>', "not understood"),
    "unknown unit": ('<rect id="photo-9" x="1" y="1" width="2furlong" height="2"/>', "unknown unit"),
    "odd points": ('<polygon id="photo-9" points="1,1 2"/>', "odd count"),
    "two points": ('<polygon id="photo-9" points="1,1 2,2"/>', "no area"),
    "a bow tie": ('<polygon id="photo-9" points="1,1 5,5 5,1 1,4"/>', "crosses"),
    "a bow tie whose halves cancel out": ('<polygon id="photo-9" points="1,1 5,5 5,1 1,5"/>', "crosses"),
    "three points on a line": ('<polygon id="photo-9" points="1,1 2,2 3,3"/>', "no area"),
    "too many points": ('<polygon id="photo-9" points="' + "1,1 " * 5000 + '"/>', "2,000 points"),
    "damaged path": ('<path id="photo-9" d="M 1 1 L two 2"/>', "damaged"),
    "short path": ('<path id="photo-9" d="M 1 1 L 2"/>', "damaged"),
    "infinite path": ('<path id="photo-9" d="M 1 1 L 1e999 2 3 3 z"/>', "finite"),
    "endless path": ('<path id="photo-9" d="M 1 1' + " 2 2" * 60_000 + ' z"/>', "2,000 points"),
    "open line": ('<path id="photo-9" d="M 1 1 L 3 3"/>', "encloses no area"),
    "no path": ('<path id="photo-9"/>', "damaged"),
    "far away": ('<circle id="photo-9" cx="1e6" cy="3" r="1e6"/>', "far beyond any page; move it"),
    "unknown role": ('<rect data-role="picture" x="1" y="1" width="2" height="2"/>', "'picture' is no role"),
    "unknown limit": (
        '<rect id="photo-9" data-may-be="photo poem" x="1" y="1" width="2" height="2"/>',
        "'poem'",
    ),
    "damaged minimum": ('<rect id="photo-9" data-min="-2in" x="1" y="1" width="2" height="2"/>', "data-min"),
    "riding on nothing": ('<rect id="photo-9" data-on="ghost" x="1" y="1" width="2" height="2"/>', "'ghost'"),
    "riding on itself": (
        '<rect id="photo-9" data-on="photo-9" x="1" y="1" width="2" height="2"/>',
        "photo-9",
    ),
    "one id twice": (PHOTO, "used twice"),
    "thin as a hair": ('<rect id="photo-9" x="1" y="1" width="2" height="0.001"/>', "0.2 mm"),
}


@pytest.mark.parametrize(("body", "expected"), ELEMENTS.values(), ids=ELEMENTS.keys())
def test_a_broken_element_is_one_clear_error(tmp_path: Path, body: str, expected: str) -> None:
    """Whatever is wrong with one element is said in one sentence that names the file."""
    path = write_drawing(tmp_path, PHOTO + body, name="broken.svg")
    with pytest.raises(InputError) as caught:
        read_template(path)
    assert "broken.svg" in caught.value.message
    assert expected in caught.value.message
    assert "\n" not in caught.value.message
    assert len(caught.value.message) < 500


ROOTS = {
    "no size": ("", "width is missing"),
    "tiny": ('width="1in" height="12in"', "width is 1 in"),
    "vast": ('width="12in" height="1e6in"', "height is 1e+06 in"),
    "zero": ('width="0" height="12in"', "width is 0 in"),
    "negative": ('width="-12in" height="12in"', "width is -12 in"),
    "not a number": ('width="NaN" height="12in"', "'NaN' is not a length"),
    "damaged viewBox": ('width="12in" height="12in" viewBox="0 0 12"', "four numbers"),
    "flat viewBox": ('width="12in" height="12in" viewBox="0 0 0 12"', "four numbers"),
    "unknown alignment": (f'{ROOT} preserveAspectRatio="left"', "preserveAspectRatio"),
}


@pytest.mark.parametrize(("root", "expected"), ROOTS.values(), ids=ROOTS.keys())
def test_an_impossible_page_is_one_clear_error(tmp_path: Path, root: str, expected: str) -> None:
    """Pages without a size or of an absurd one are refused."""
    with pytest.raises(InputError, match=r"drawing\.svg") as caught:
        read_template(write_drawing(tmp_path, PHOTO, root))
    assert expected in caught.value.message


def test_a_drawing_without_slots_is_an_error(tmp_path: Path) -> None:
    """Ribbons and backgrounds alone make no template."""
    body = '<rect id="background" width="12" height="12"/><rect width="3" height="3" x="1" y="1"/>'
    with pytest.raises(InputError, match="it has no slots"):
        read_template(write_drawing(tmp_path, body))


def test_a_missing_file_lists_the_starters(tmp_path: Path) -> None:
    """A name that is neither a file nor a starter is answered with the choices."""
    with pytest.raises(InputError, match="quiet-single"):
        read_template(tmp_path / "nowhere.svg")


def test_a_folder_is_no_template(tmp_path: Path) -> None:
    """A folder is refused as such."""
    with pytest.raises(InputError, match="not a file"):
        read_template(tmp_path)


def test_a_document_type_without_entities_is_harmless(tmp_path: Path) -> None:
    """Many editors write a DOCTYPE line; it is read past and nothing is fetched."""
    path = tmp_path / "typed.svg"
    doctype = '<!DOCTYPE svg PUBLIC "-//W3C//DTD SVG 1.1//EN" "http://example.invalid/svg11.dtd">'
    path.write_text(f"{doctype}<svg {NS} {ROOT}>{PHOTO}</svg>", encoding="utf-8")
    assert [element.id for element in read_template(path).elements] == ["photo-1"]


ENDLESS = {
    "digits": '<rect id="photo-9" x="' + "1" * 900_000 + 'x" y="1" width="2" height="2"/>',
    "spaces in a transform": '<rect id="photo-9" transform="' + " " * 900_000 + 'x" width="2" height="2"/>',
    "spaces in a paint": '<rect id="photo-9" fill="url(' + " " * 900_000 + '" width="-1" height="2"/>',
    "spaces in a minimum": '<rect id="photo-9" data-min="1' + " " * 900_000 + 'x" width="2" height="2"/>',
    "spaces in points": '<polygon id="photo-9" points="' + " " * 900_000 + '1"/>',
    "digits in a path": '<path id="photo-9" d="M' + "1" * 200_000 + '"/>',
    "wild curves": '<path id="photo-9" d="M1 1' + " C 900 1 1 900 2 2" * 1_900 + 'z"/>',
    "wild arcs": '<path id="photo-9" d="M1 1' + " A 900 900 0 1 0 2 2 A 900 900 0 1 0 1 1" * 900 + 'z"/>',
    "an endless name": '<rect id="photo-' + "9" * 900_000 + '" x="1" y="1" width="2" height="2"/>',
    "too many slots": '<rect data-role="photo" x="1" y="1" width="2" height="2"/>' * 300,
}


@pytest.mark.parametrize("body", ENDLESS.values(), ids=ENDLESS.keys())
def test_endless_values_are_refused(tmp_path: Path, body: str) -> None:
    """Values long enough to stall a careless pattern end in one short error."""
    with pytest.raises(InputError, match=r"endless\.svg") as caught:
        read_template(write_drawing(tmp_path, PHOTO + body, name="endless.svg"))
    assert len(caught.value.message) < 500


def test_many_shapes_without_a_role_make_one_note(tmp_path: Path) -> None:
    """Four thousand stray shapes do not flood the notes."""
    template = read_template(write_drawing(tmp_path, PHOTO + '<rect width="1" height="1"/>' * 4_000))
    assert len(template.notes) == 1
    assert "and 3,995 more" in template.notes[0]


@pytest.mark.parametrize("name", ["photo-&#10;x", "photo-&#7;", "photo-&#x202e;x"])
def test_unprintable_names_are_refused(tmp_path: Path, name: str) -> None:
    """Line breaks, control characters and direction marks in ids never reach a report."""
    with pytest.raises(InputError) as caught:
        read_template(write_drawing(tmp_path, f'<rect id="{name}" x="1" y="1" width="2" height="2"/>'))
    assert caught.value.message.isprintable()


STARTER_BYTES = [starter_path(name).read_bytes() for name in starter_names()]


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    content=st.sampled_from(STARTER_BYTES),
    edits=st.lists(
        st.tuples(st.floats(0, 1), st.integers(0, 12), st.binary(max_size=6) | st.sampled_from(
            [b"-", b"0", b"e9", b"NaN", b"<", b">", b'"', b"&#0;", b"\xff", b"%", b"data-on", b"skewX(2)"]
        )), min_size=1, max_size=4,
    ),
)  # fmt: skip
def test_damaged_starters_read_or_fail_cleanly(
    tmp_path: Path, content: bytes, edits: list[tuple[float, int, bytes]]
) -> None:
    """Whatever bytes change in a starter, it is read or refused in one sentence, never a crash."""
    for place, cut, insert in edits:
        start = int(place * len(content))
        content = content[:start] + insert + content[start + cut :]
    path = tmp_path / "damaged.svg"
    path.write_bytes(content)
    try:
        template = read_template(path)
    except InputError as error:
        assert "damaged.svg" in error.message
        assert "\n" not in error.message
    else:
        assert template.elements
