"""Layout files: written whole, read back the same, and refused in one line when wrong."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fitter import resources
from fitter.errors import InputError, OutputExistsError
from fitter.formulate.lattice import lattice
from fitter.formulate.settings import Settings
from fitter.layout import Before, Layout, Placed, Rescale, Shown, Split, Start, Transform, Wishes
from fitter.layout_file import (
    SCHEMA,
    json_schema,
    layout_from_json,
    layout_text,
    layout_to_json,
    read_layout,
    resolve_photo,
    write_layout,
)
from fitter.template import Limits
from tests import builders as b

Data = dict[str, Any]


@pytest.fixture
def data(page: Layout) -> Data:
    """The tiny page as parsed JSON."""
    made: Data = json.loads(layout_text(page))
    return made


WISHES = Wishes(
    start=Start(90, True, (9, 9), (Before("photo-1", "photo", (5, 6), (8, 4), (Shown("a" * 64, (8, 4)),)),)),
    pins=(("a.jpg", "photo-1"),),
    stay=("card",),
    avoid=("paper-1",),
    bigger=("a.jpg",),
)


def rich(page: Layout) -> Layout:
    """Return a page on which every optional field is used somewhere."""
    layout = b.redraw(
        page,
        "paper-1",
        cluster="left",
        color="#aabbcc",
        limits=Limits(("paper", "photo"), True, 20_000, True),
    )
    layout = b.both(layout, "bloom", shape="path", outline=((-10, 0), (10, 10), (10, -10)))
    extra = Placed("extra", None, "paper", "ellipse", (1000, 1000), (100, 60), -2.5, room=(0, 0, 9, 9), fill=b.PALE)
    half = replace(b.element(layout, "photo-2"), split=Split("grid", 0, 4), turned=True)
    elements = (*(half if e.id == "photo-2" else e for e in layout.elements), extra)
    transform = Transform(270, True, 0.7083, (3, -4), Rescale("cluster:left", 0.95))
    first, *others = layout.given.photos
    photos = (replace(first, importance=((250, 417, 0) * 8,) * 2), *others)
    given_ = replace(layout.given, photos=photos, wishes=WISHES, without=("crop",))
    layout = replace(layout, elements=elements, transform=transform, given=given_, dropped=("x",), changes=("Größer",))
    return replace(layout, search=replace(layout.search, lattice=lattice(Settings(()))))


def test_round_trip(page: Layout, tmp_path: Path) -> None:
    """What is written is read back equal, optional fields and other alphabets too."""
    for n, layout in enumerate((page, rich(page))):
        path = tmp_path / f"{n}.json"
        write_layout(layout, path)
        assert read_layout(path) == layout


@settings(max_examples=30, deadline=None)
@given(st.floats(-45, 45), st.integers(-300_000, 300_000), st.integers(1, 10**6), st.text(max_size=20))
def test_round_trip_of_numbers_and_names(tilt: float, x: int, w: int, words: str) -> None:
    """Any tilt, place, size and sentence survives the file exactly."""
    page = b.tiny()
    item = replace(page.elements[0], tilt=tilt, center=(x, -x), size=(w, w + 1))
    layout = replace(page, elements=(item, *page.elements[1:]), notes=(words,))
    assert layout_from_json(json.loads(layout_text(layout))) == layout


def test_text_is_the_same_for_equal_layouts(page: Layout) -> None:
    """Files of equal layouts are byte-identical, whatever the order of their dictionaries."""
    terms = dict(reversed(list(page.costs.terms.items())))
    assert layout_text(replace(page, costs=replace(page.costs, terms=terms))) == layout_text(page)


def test_the_whole_lattice_is_recorded(page: Layout) -> None:
    """Steps are whole numbers and scales lists of factors, in the alphabet's order."""
    written = layout_to_json(rich(page))["search"]["lattice"]
    assert list(written) == sorted(written)
    steps = [written[name] for name in ("place_um", "apart_um", "size_um", "fine_size_um", "crop_px")]
    assert steps == [635, 3_175, 12_700, 6_350, 1]
    assert (written["even_step_percent"], written["even_from_to"]) == (15, [0.7, 1.15])
    many = rich(page).given.photos * 5
    assert lattice(Settings(many[:4])).keys() == written.keys()
    assert lattice(Settings(many[:5]))["even_steps"] == (-2, 1)
    assert written["template_factors"] == written["photos_factors"] == [0.9, 1.1]
    assert (written["others_factors"], written["cluster_factors"]) == ([0.9], [0.85, 1.15])


def test_text_is_readable(page: Layout) -> None:
    """Format and unit come first, short lists stand on one line, ``source`` is written ``from``."""
    lines = layout_text(page).splitlines()
    assert lines[1:3] == [' "format": "page-layout/1",', ' "unit": "um",']
    assert '   "center": [111125, 38100],' in lines
    assert '   "from": "photo-1",' in lines
    assert "source" not in layout_text(page)
    assert max(map(len, lines)) < 300
    assert f"{json.dumps([250, 417, 0] * 8)}," in map(str.strip, layout_text(rich(page)).splitlines())


@pytest.mark.parametrize(
    "grid",
    [
        pytest.param([[]], id="no columns"),
        pytest.param([[1, 2], [3]], id="uneven"),
        pytest.param([[0, 0]], id="nothing"),
        pytest.param([[1, -1]], id="negative"),
        pytest.param([[2_000_000]], id="too much"),
        pytest.param([[1]] * 65, id="too many rows"),
        pytest.param([[1] * 65], id="too many columns"),
        pytest.param([[0.5]], id="fraction"),
        pytest.param([[True]], id="truth"),
        pytest.param("1234", id="text"),
    ],
)
def test_an_importance_that_is_no_grid_is_refused(data: Data, grid: object) -> None:
    """A photo's importance is a small grid of whole numbers, or none at all."""
    data["given"]["photos"][0]["importance"] = grid
    with pytest.raises(InputError, match="importance"):
        layout_from_json(data)


def test_schema_is_in_step() -> None:
    """The published schema is the one made from the code."""
    assert json.loads(resources.read_text(SCHEMA)) == json_schema()


def test_schema_accepts_what_is_written(page: Layout) -> None:
    """Written layouts obey the published JSON Schema, itself a valid one (draft 2020-12)."""
    schema = json.loads(resources.read_text(SCHEMA))
    jsonschema.Draft202012Validator.check_schema(schema)
    for layout in (page, rich(page)):
        jsonschema.validate(json.loads(layout_text(layout)), schema, cls=jsonschema.Draft202012Validator)


@pytest.mark.parametrize("key", ["unit", "elements", "costs"])
def test_schema_refuses_missing_parts(data: Data, key: str) -> None:
    """A file without a core field is invalid by the schema and refused by the reader."""
    del data[key]
    schema = json.loads(resources.read_text(SCHEMA))
    assert not jsonschema.Draft202012Validator(schema).is_valid(data)
    with pytest.raises(InputError, match=key):
        layout_from_json(data)


def set_in(data: Data, *keys: str | int, value: Any) -> Data:
    """Return the data with the value at a path replaced."""
    at: Any = data
    for key in keys[:-1]:
        at = at[key]
    at[keys[-1]] = value
    return data


BAD: dict[str, tuple[Callable[[Data], Data], str]] = {
    "format": (lambda d: set_in(d, "format", value="page-layout/2"), "page-layout/1"),
    "unit": (lambda d: set_in(d, "unit", value="mm"), "expected 'um'"),
    "role": (lambda d: set_in(d, "elements", 2, "role", value="poster"), r"elements\.2\.role"),
    "size-text": (lambda d: set_in(d, "elements", 2, "size", value=["1", 2]), r"elements\.2\.size\.0"),
    "size-fraction": (lambda d: set_in(d, "elements", 2, "size", 0, value=1.5), r"elements\.2\.size\.0"),
    "size-zero": (lambda d: set_in(d, "elements", 2, "size", value=[0, 5]), "larger than zero"),
    "far-away": (lambda d: set_in(d, "elements", 2, "center", 0, value=10**9), "10 m"),
    "huge": (lambda d: set_in(d, "costs", "total", value=10**30), "too large"),
    "unknown-key": (lambda d: set_in(d, "elements", 2, "sizes", value=[1, 2]), r"elements\.2\.sizes"),
    "source": (lambda d: set_in(d, "elements", 2, "source", value="x"), "written 'from'"),
    "no-from": (lambda d: [d, d["elements"][2].pop("from")][0], r"elements\.2\.from"),
    "twin-id": (lambda d: set_in(d, "elements", 2, "id", value="bg"), "used twice"),
    "stranger": (lambda d: set_in(d, "elements", 2, "from", value="nobody"), "not in the reference"),
    "rides-on-nothing": (lambda d: set_in(d, "elements", 2, "on", value="nobody"), "not there"),
    "color": (lambda d: set_in(d, "elements", 0, "fill", "color", value="red"), "#rrggbb"),
    "split": (
        lambda d: set_in(d, "elements", 2, "split", value={"kind": "row", "index": 2, "count": 2}),
        "does not exist",
    ),
    "path": (lambda d: set_in(d, "elements", 2, "shape", value="path"), "three points"),
    "tilt": (lambda d: set_in(d, "elements", 2, "tilt", value=1e6), "tilt"),
    "type-size": (lambda d: set_in(d, "elements", 6, "text", "size_pt", value=0), "type size"),
    "page-size": (lambda d: set_in(d, "page", "trim", value=[10, 10]), "outside"),
    "not-an-object": (lambda d: [d], "not a page-layout/1"),  # type: ignore[dict-item,return-value]
    "elements-text": (lambda d: set_in(d, "elements", value="none"), "elements"),
    "ink": (lambda d: set_in(d, "elements", 6, "text", "ink", "size", value=[0, 5]), "ink has no size"),
    "rescale": (
        lambda d: set_in(d, "transform", "rescale", value={"group": "photos", "factor": 0}),
        "rescale by 0",
    ),
    "flat-outline": (
        lambda d: [
            set_in(d, "elements", 2, "shape", value="path"),
            set_in(d, "elements", 2, "outline", value=[[0, 0], [1, 1], [2, 2]]),
        ][0],
        "encloses nothing",
    ),
    "weight": (lambda d: set_in(d, "given", "photos", 0, "weight", value=-1), "weight"),
    "target": (lambda d: set_in(d, "given", "target_ppi", value=0), "target_ppi"),
    "leave-out": (lambda d: set_in(d, "given", "leave_out", value=-1), "leave_out is -1; expected 0"),
    "template-size": (lambda d: set_in(d, "template", "size", value=[0, 304_800]), "template: its width"),
    "template-vast": (lambda d: set_in(d, "template", "size", value=[10**8, 304_800]), "template: its width"),
    "empty-line": (lambda d: set_in(d, "elements", 6, "text", "lines", value=["a", ""]), "line 2 has 0 characters"),
    "long-line": (lambda d: set_in(d, "elements", 6, "text", "lines", value=["w" * 1_001]), "line 1 has 1,001"),
    "many-lines": (
        lambda d: [
            set_in(d, "elements", 6, "text", "lines", value=["w"] * 1_000),
            *(d["elements"].append({**d["elements"][6], "id": f"more-{n}"}) for n in range(5)),
        ][0],
        "more than 5,000 lines",
    ),
    "many-boxes": (
        lambda d: set_in(d, "given", "photos", 0, "keep", value=[[0.1, 0.1, 0.2, 0.2]] * 201),
        "more than 200 boxes",
    ),
    "many-points": (
        lambda d: [
            set_in(d, "elements", 2, "shape", value="path"),
            set_in(d, "elements", 2, "outline", value=[[n, n * n] for n in range(501)]),
        ][0],
        "more than 500 points",
    ),
}


@pytest.mark.parametrize("name", BAD)
def test_bad_files_are_refused_in_one_line(data: Data, name: str, tmp_path: Path) -> None:
    """Each fault is told with its place, in one line that starts with the file's name."""
    spoil, wanted = BAD[name]
    path = tmp_path / "page.json"
    path.write_text(json.dumps(spoil(data)), encoding="utf-8")
    with pytest.raises(InputError, match=wanted) as caught:
        read_layout(path)
    assert caught.value.message.startswith(f"layout {path}: ")
    assert "\n" not in caught.value.message


def test_more_problems_are_counted(data: Data) -> None:
    """The first problem is named, the others counted."""
    set_in(data, "elements", 2, "role", value="poster")
    set_in(data, "elements", 3, "role", value="poster")
    with pytest.raises(InputError, match="and 1 more problem"):
        layout_from_json(data)


@pytest.mark.parametrize(
    ("content", "wanted"),
    [
        (b"", "not valid JSON"),
        (b"{", "not valid JSON"),
        (b"\xff\xfe", "not UTF-8"),
        (b'{"format": NaN}', "NaN"),
        (b'{"format": -Infinity}', "Infinity"),
        (b'{"format": "page-layout/1", "unit": "um", "x": 1e999}', "not finite"),
        (b'{"a": 1, "a": 2}', "twice"),
        (b"[" * 100_000 + b"]" * 100_000, "deep"),
        (b'{"format":' + b"[" * 40 + b"]" * 40 + b"}", "deep"),
        (b"1" * 5_000, "5,000 digits has no place"),
        (b'{"format":"page-layout/1","unit":"um","x":[' + b"[]," * 900 + b"[]]}", "the key 'x' is unknown"),
        (b"[" + b"0," * 1_000 + b"0]", "a list of 1,001 is too long"),
        (b"[" + b",".join([b"[" + b"0," * 999 + b"0]"] * 401) + b"]", "more than 400,000 values"),
        (b"[" + b",".join([b"[" + b"[]," * 499 + b"[]]"] * 101) + b"]", "or 50,000 lists"),
        (b'"' + b"x" * (4 * 1024 * 1024) + b'"', "larger than 4 MB"),
        (b"null", "page-layout/1"),
    ],
    ids=[
        "empty",
        "cut",
        "not-utf8",
        "nan",
        "infinity",
        "overflow",
        "twins",
        "deep",
        "deeper",
        "digits",
        "stranger",
        "long-list",
        "many-values",
        "many-lists",
        "large",
        "null",
    ],
)
def test_hostile_files_are_refused(content: bytes, wanted: str, tmp_path: Path) -> None:
    """Whatever the bytes are, one clear line comes back."""
    path = tmp_path / "page.json"
    path.write_bytes(content)
    with pytest.raises(InputError, match=wanted):
        read_layout(path)


def test_names_that_stand_twice_are_found_at_once(tmp_path: Path) -> None:
    """Among many names too: looking for each among all others would take minutes."""
    path = tmp_path / "page.json"
    path.write_text("{" + ",".join(f'"{n}":1' for n in range(100_000)) + ',"99999":1}', encoding="utf-8")
    started = time.process_time()
    with pytest.raises(InputError, match="'99999' stands twice"):
        read_layout(path)
    assert time.process_time() - started < 5


def test_a_byte_order_mark_is_passed_over(page: Layout, tmp_path: Path) -> None:
    """Editors on Windows write one."""
    path = tmp_path / "page.json"
    path.write_text(layout_text(page), encoding="utf-8-sig")
    assert read_layout(path) == page


def test_a_page_of_many_photos_fits_the_bounds(page: Layout, tmp_path: Path) -> None:
    """Two hundred photos, each with the finest grid of importance that is written and a hundred boxes of each kind."""
    first = page.given.photos[0]
    box = (0.123456, 0.234567, 0.345678, 0.456789)
    photos = tuple(
        replace(first, file=f"{n}.jpg", importance=((17,) * 24,) * 24, keep=(box,) * 100, detected=(box,) * 100)
        for n in range(200)
    )
    many = replace(page, given=replace(page.given, photos=photos))
    path = tmp_path / "page.json"
    write_layout(many, path)
    assert read_layout(path) == many


def test_missing_file(tmp_path: Path) -> None:
    """A file that is not there, or a folder, is told."""
    with pytest.raises(InputError, match="cannot be read"):
        read_layout(tmp_path / "none.json")
    with pytest.raises(InputError, match="cannot be read"):
        read_layout(tmp_path)


def test_existing_files_are_kept(page: Layout, tmp_path: Path) -> None:
    """Without leave to overwrite an existing file stays as it is; nothing else is left behind."""
    path = tmp_path / "page.json"
    path.write_text("mine")
    with pytest.raises(OutputExistsError, match="--overwrite"):
        write_layout(page, path)
    assert path.read_text() == "mine"
    write_layout(page, path, overwrite=True)
    assert read_layout(path) == page
    assert [p.name for p in tmp_path.iterdir()] == ["page.json"]


def test_a_file_that_appears_meanwhile_is_kept(page: Layout, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Even when it appears between looking and writing, another's file is not replaced."""
    path = tmp_path / "page.json"
    path.write_text("mine")
    monkeypatch.setattr(Path, "exists", lambda self: False)
    with pytest.raises(OutputExistsError):
        write_layout(page, path)
    assert path.read_text() == "mine"
    assert len(list(tmp_path.iterdir())) == 1


def test_unwritable_folder(page: Layout, tmp_path: Path) -> None:
    """A folder that is not there is told in one line."""
    with pytest.raises(InputError, match="cannot be written"):
        write_layout(page, tmp_path / "none" / "page.json")


def test_a_name_too_long_for_the_system(page: Layout, tmp_path: Path) -> None:
    """Is told as what cannot be written, not met by chance."""
    with pytest.raises(InputError, match="cannot be written"):
        write_layout(page, tmp_path / ("x" * 300))


def test_photo_names_are_relative(tmp_path: Path) -> None:
    """Photos are found beside the layout or above it; anything absolute or odd is refused."""
    layout = tmp_path / "out" / "layout-1.json"
    assert resolve_photo(layout, "a b.jpg") == tmp_path / "out" / "a b.jpg"
    assert resolve_photo(layout, "../photos/ä.jpg") == tmp_path / "photos" / "ä.jpg"
    for name in (
        "",
        "/etc/passwd",
        "~/x.jpg",
        "https://example.org/a.jpg",
        "a\0.jpg",
        "C:\\a.jpg",
        "\\\\host\\a.jpg",
        "a\n.jpg",
    ):
        with pytest.raises(InputError, match="photo name"):
            resolve_photo(layout, name)


def test_empty_options_are_left_out(page: Layout) -> None:
    """Elements list what they have; an added element says where it came from: nowhere."""
    written = layout_to_json(rich(page))
    first = next(e for e in written["elements"] if e["id"] == "photo-1")
    assert set(first) == {"id", "from", "role", "shape", "center", "size", "tilt", "photo"}
    assert next(e for e in written["elements"] if e["id"] == "extra")["from"] is None
