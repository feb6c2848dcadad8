"""``fitter photos``: table, contact sheets, corrections and the cache, from the command line."""

from __future__ import annotations

import hashlib
import json
import os
import shutil
import sys
from pathlib import Path

import pytest
from PIL import Image

from fitter.cache import Cache
from fitter.cli import run
from fitter.commands import surveying
from fitter.errors import InputError
from fitter.photos import alike, survey_photos
from fitter.photos import read as reading

FIXTURES = Path(__file__).parent.parent / "fixtures" / "photos"


@pytest.fixture
def place(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A working folder with photos, and a cache of its own."""
    monkeypatch.setenv("FITTER_CACHE", str(tmp_path / "cache"))
    monkeypatch.chdir(tmp_path)
    photos = tmp_path / "photos"
    photos.mkdir()
    for name in ("mwg-1.jpg", "mwg-6.heic", "kinds.jpg", "rejected.jpg", "private.jpg", "area-4.jpg"):
        shutil.copy(FIXTURES / name, photos)
    return tmp_path


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> tuple[int, str, str]:
    """Run the command; return its exit code, standard output and standard error."""
    code = run(["photos", *arguments])
    out, err = capsys.readouterr()
    return code, out, err


def row(table: str, name: str) -> str:
    """Return the table's line of a photo."""
    return next(line for line in table.splitlines() if f"  {name} " in line)


def test_the_table_says_what_is_known(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Size as seen, time, weight, marks, prints, what is left out, what is wrong."""
    (place / "photos" / "cut.webp").write_bytes((FIXTURES / "mwg-6.webp").read_bytes()[:300])
    shutil.copy(FIXTURES / "mwg-6.png", place / "photos" / "misnamed.jpg")
    code, out, err = said(capsys, "photos")
    assert (code, err) == (0, "")
    heic = row(out, "mwg-6.heic")
    assert "64 × 96" in heic and "2026-07-04 21:05:09 +02:00" in heic and " 1.5 " in heic and "1 face" in heic
    assert "1 face, 1 subject" in row(out, "kinds.jpg")
    assert "1 subject aimed at" in row(out, "area-4.jpg")
    assert "left out (rated -1)" in row(out, "rejected.jpg")
    assert "named as JPEG but holds a PNG picture" in row(out, "misnamed.jpg")
    assert "cannot be used: cut.webp: is damaged" in out
    assert "7 photos, 1 left out, 1 cannot be used" in out
    with Image.open(place / "contact-sheet" / "contact-1.png") as sheet:
        assert sheet.mode == "RGB" and not sheet.info.get("exif")


def test_what_is_wrong_stands_before_what_else_is_known(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """In the table, and on the sheet apart; its heading says how many cannot be used."""
    shutil.copy(FIXTURES / "mwg-6.png", place / "photos" / "misnamed.jpg")
    (place / "photos" / "cut.webp").touch()
    _, out, _ = said(capsys, "photos", "--no-sheet")
    line = row(out, "misnamed.jpg")
    assert -1 < line.find("named as JPEG") < line.find("looks like")
    with Cache(None) as cache:
        survey = survey_photos(["photos"], cache=cache)
    cells = surveying.sheet_cells(survey, surveying.table(survey.photos, alike(survey.photos)))
    (cell,) = (cell for cell in cells if cell.name == "misnamed.jpg")
    assert "named as JPEG" in cell.warning and "looks like" in cell.lines[-1]
    assert surveying._heading(survey, 1, 1).endswith("1 cannot be used")


def test_nothing_is_drawn_of_nothing(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Where no photo can be used, not even the folder is made."""
    assert said(capsys, "nosuch.jpg", "nor.png")[0] == 2
    assert not (place / "contact-sheet").exists()


def test_prints_are_rounded_down(demo_photos: Path, place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """1371 × 2056 pixels: 4.57 × 6.85 in at 300 ppi, 6.86 × 10.28 at 200."""
    _, out, _ = said(capsys, str(demo_photos / "creek.jpg"), "--no-sheet")
    assert "4.5 × 6.8 in" in out and "6.8 × 10.2 in" in out
    assert not (place / "contact-sheet").exists()


def test_nothing_private_is_in_any_output(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Places, serial numbers and names that exiftool wrote into a photo."""
    code, out, err = said(capsys, "photos", "--json")
    outputs = [out, err, (place / "contact-sheet" / "contact-1.png").read_bytes().decode("latin-1")]
    outputs += [file.read_bytes().decode("latin-1") for file in (place / "cache").iterdir()]
    assert code == 0
    for word in ("77410263", "LN-55120", "Nobody", "61.2034", "12.3045", "61 deg", "61,12"):
        assert not any(word in output for output in outputs)


@pytest.mark.skipif(sys.platform in ("win32", "darwin"), reason="no such file names there")
def test_names_that_hold_anything_are_shown(place: Path, capsysbinary: pytest.CaptureFixture[bytes]) -> None:
    """A line break, a terminal's code and bytes that are no UTF-8, in the table, on the sheet and for programs."""
    for name in (b"two\nlines.jpg", b"red\x1b[31m.jpg", b"bytes\xff.jpg", b"bytes\xff\n.png"):
        shutil.copy(FIXTURES / "kinds.jpg", os.fsencode(place / "photos") + b"/" + name)
        with open(os.fsencode(place / "photos") + b"/" + name, "ab") as stream:
            stream.write(name)
    assert run(["photos", "photos"]) == 0
    table = capsysbinary.readouterr().out.decode()
    for name in ("two�lines.jpg", "red�[31m.jpg", "bytes�.jpg", "bytes��.png"):
        assert f"cannot be used: {name}: has a line break or what is no text in its name" in table
    assert "\x1b" not in table and (place / "contact-sheet" / "contact-1.png").exists()
    assert run(["photos", "photos", "--no-sheet", "--json"]) == 0
    names = [Path(one["file"]).name for one in json.loads(capsysbinary.readouterr().out.decode())["problems"]]
    assert {"two\nlines.jpg", "red\x1b[31m.jpg", "bytes�.jpg", "bytes�\n.png"} == set(names)
    assert run(["photos", "nosuch\x1b.jpg", "--keep", "odd\x1b\udcff.jpg"]) == 2
    said = capsysbinary.readouterr().err.decode()
    assert "\x1b" not in said and len(said.splitlines()) == 1


def test_the_document_for_programs(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Everything the table says, and where each box comes from."""
    (place / "photos" / "empty.png").touch()
    code, out, err = said(capsys, "photos", "--json", "--no-sheet")
    document = json.loads(out)
    photos = {Path(photo["file"]).name: photo for photo in document["photos"]}
    assert code == 0 and "6 photos" in err
    assert photos["rejected.jpg"]["left_out"] and photos["rejected.jpg"]["rating"] == -1
    assert photos["mwg-1.jpg"]["marks"] == [
        {"box": [0.125, 0.125, 0.25, 0.25], "kind": "face", "source": "file", "count": 1}
    ]
    assert photos["mwg-6.heic"]["largest_print_in"] == {"300": [0.213, 0.32], "200": [0.32, 0.48]}
    assert [Path(problem["file"]).name for problem in document["problems"]] == ["empty.png"]
    assert document["alike"] and document["sheets"] == []


def test_a_second_run_leaves_the_sheets_alone(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Unchanged sheets are neither drawn nor refused; changed ones need --overwrite, and the table is shown anyway."""
    said(capsys, "photos")
    sheet = place / "contact-sheet" / "contact-1.png"
    before = sheet.read_bytes()
    with monkeypatch.context() as still:
        still.setattr(surveying, "_draw", lambda *given: pytest.fail("was drawn"))
        code, out, _ = said(capsys, "photos")
    assert code == 0 and f"Unchanged: {sheet}" in out
    (place / "photos" / "kinds.jpg").unlink()
    code, out, err = said(capsys, "photos")
    assert code == 4 and "--overwrite" in err and "5 photos" in out and sheet.read_bytes() == before
    code, out, _ = said(capsys, "photos", "--overwrite")
    assert code == 0 and f"Written: {sheet}" in out and sheet.read_bytes() != before


def test_a_file_that_is_no_sheet_of_ours_is_not_replaced(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever was put under its name."""
    said(capsys, "photos")
    sheet = place / "contact-sheet" / "contact-1.png"
    sheet.write_bytes(b"mine")
    code, _, err = said(capsys, "photos")
    assert code == 4 and "exists already" in err and sheet.read_bytes() == b"mine"


def test_a_photo_given_is_never_taken_for_a_sheet(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Neither replaced nor taken away, whatever may be overwritten."""
    originals = [place / "photos" / f"contact-{number}.png" for number in (1, 5)]
    for original in originals:
        shutil.copy(FIXTURES / "mwg-6.png", original)
    before = {file.name: file.read_bytes() for file in (place / "photos").iterdir()}
    code, out, err = said(capsys, "photos", "--out", "photos", "--overwrite")
    assert (code, out) == (2, "") and "never changed" in err and "contact-1.png" in err
    assert {file.name: file.read_bytes() for file in (place / "photos").iterdir()} == before


def test_sheets_that_are_no_longer_needed_go(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three sheets of two, then one; gone only with --overwrite."""
    monkeypatch.setattr("fitter.proof.contact.PER_SHEET", 2)
    said(capsys, "photos")
    folder = place / "contact-sheet"
    assert sorted(file.name for file in folder.iterdir()) == ["contact-1.png", "contact-2.png", "contact-3.png"]
    one = str(place / "photos" / "mwg-1.jpg")
    assert said(capsys, one)[0] == 4
    assert len(list(folder.iterdir())) == 3
    assert said(capsys, one, "--overwrite")[0] == 0
    assert [file.name for file in folder.iterdir()] == ["contact-1.png"]


def test_corrections_count_at_once(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Written beside the photo, shown in the same run, replaced only if asked for."""
    corrections = ("--keep", "mwg-1.jpg=0.5,0.5,0.25,0.25", "--rating", "rejected.jpg=3", "--no-sheet")
    code, out, _ = said(capsys, "photos", *corrections)
    sidecar = place / "photos" / "mwg-1.jpg.keep.json"
    assert code == 0 and f"Corrected: {Path('photos') / 'mwg-1.jpg.keep.json'}" in out
    assert "1 subject" in row(out, "mwg-1.jpg") and "left out" not in out
    assert json.loads(sidecar.read_text(encoding="utf-8")) == {"keep": [[0.5, 0.5, 0.25, 0.25]]}
    code, _, err = said(capsys, "photos", "--keep", "mwg-1.jpg=none", "--no-sheet")
    assert code == 4 and "--overwrite" in err
    code, out, _ = said(capsys, "photos", "--keep", "mwg-1.jpg=none", "--no-sheet", "--overwrite")
    assert code == 0 and "face" not in row(out, "mwg-1.jpg")


def test_nothing_is_corrected_when_the_sheet_may_not_be_replaced(
    place: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """All or nothing."""
    said(capsys, "photos")
    code, _, _ = said(capsys, "photos", "--rating", "mwg-1.jpg=5")
    assert code == 4 and not (place / "photos" / "mwg-1.jpg.keep.json").exists()


def test_what_is_kept_is_forgotten(place: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """One command, and it stands alone."""
    said(capsys, "photos", "--no-sheet")
    sha256 = hashlib.sha256((place / "photos" / "mwg-1.jpg").read_bytes()).hexdigest()
    with Cache.of_user() as cache:
        assert cache.get(sha256, "photo", reading._VERSION) is not None
    code, out, _ = said(capsys, "--forget")
    with Cache.of_user() as cache:
        assert code == 0 and "Forgotten" in out and cache.get(sha256, "photo", reading._VERSION) is None
    assert said(capsys, "--forget", "photos")[0] == 2


def test_a_cache_that_cannot_be_used_is_a_note(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The photos are read all the same."""
    monkeypatch.setenv("FITTER_CACHE", str(place / "photos" / "mwg-1.jpg" / "c"))
    code, out, _ = said(capsys, "photos", "--no-sheet")
    assert code == 0 and "note: cache" in out and "6 photos" in out


def test_switched_off_nothing_is_kept(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """FITTER_CACHE=off."""
    monkeypatch.setenv("FITTER_CACHE", "off")
    assert said(capsys, "photos")[0] == 0
    assert not (place / "cache").exists()
    assert "Nothing is kept" in said(capsys, "--forget")[1]


@pytest.mark.parametrize(
    ("arguments", "problem"),
    [
        ([], "name at least one"),
        (["nosuch"], "none of the photos"),
        (["photos/mwg-1.jpg", "--keep", "other.jpg=0,0,1,1"], "no photo that was given"),
    ],
)
def test_bad_use_ends_in_one_line(
    place: Path, capsys: pytest.CaptureFixture[str], arguments: list[str], problem: str
) -> None:
    """Exit code 2."""
    code, _, err = said(capsys, *arguments)
    assert code == 2 and problem in err and len(err.splitlines()) == 1


def test_fitting_a_page_uses_what_is_kept(
    place: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """``fitter fit`` keeps what it found, for itself and for ``fitter photos``."""

    def stop(*given: object, **more: object) -> None:
        raise InputError("enough")

    monkeypatch.setattr("fitter.api.fit_page", stop)
    path = place / "photos" / "mwg-1.jpg"
    assert run(["fit", "three-across-strip", str(path)]) == 2
    assert "enough" in capsys.readouterr().err
    with Cache.of_user() as cache:
        assert cache.get(hashlib.sha256(path.read_bytes()).hexdigest(), "photo", reading._VERSION) is not None
