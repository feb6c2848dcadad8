"""Corrections: what is typed, and the file beside the photo."""

import json

import pytest

from fitter.corrections import Correction, parse_corrections, sidecar_text, write_corrections
from fitter.errors import InputError, OutputExistsError, UseError
from fitter.sidecar import parse_sidecar, read_sidecar


@pytest.fixture
def folder(tmp_path):
    """A folder with two files named as photos."""
    for name in ("lake.jpg", "a=b.jpg"):
        (tmp_path / name).touch()
    return tmp_path


def test_several_boxes_and_a_rating_for_one_photo(folder):
    """One correction for each photo, in the order they were typed; a name may hold an equals sign."""
    found = parse_corrections(
        ["lake.jpg=0,0,0.5,0.5", "a=b.jpg=none", "lake.jpg=0.5,0.5,.25,.25"], ["lake.jpg=4"], [folder]
    )
    assert found == (
        Correction(folder / "lake.jpg", ((0, 0, 0.5, 0.5), (0.5, 0.5, 0.25, 0.25)), 4.0),
        Correction(folder / "a=b.jpg", (), None),
    )


def test_a_photo_is_named_by_its_path_or_its_name(folder):
    """A file given itself, a path beside those given."""
    path = folder / "lake.jpg"
    for name, given in (("lake.jpg", [path]), (str(path), [folder]), (str(path), []), ("lake.jpg", [folder, path])):
        (found,) = parse_corrections([], [f"{name}=-1"], given)
        assert found.photo == path and found.rating == -1


@pytest.mark.parametrize(
    ("keep", "ratings", "problem"),
    [
        (["lake.jpg"], [], "write PHOTO=x,y,w,h"),
        (["=0,0,1,1"], [], "write PHOTO=x,y,w,h"),
        (["lake.jpg="], [], "write PHOTO=x,y,w,h"),
        (["lake.jpg=0,0,1"], [], "four numbers"),
        (["lake.jpg=0,0,1,x"], [], "from 0 to 1"),
        (["lake.jpg=0,0,1,nan"], [], "from 0 to 1"),
        (["lake.jpg=0.5,0,0.6,1"], [], "inside the picture"),
        (["lake.jpg=none", "lake.jpg=0,0,1,1"], [], "exclude each other"),
        (["pond.jpg=0,0,1,1"], [], "no photo that was given"),
        ([], ["lake.jpg=6"], "from 0 to 5"),
        ([], ["lake.jpg=-2"], "or -1"),
        ([], ["lake.jpg=nan"], "from 0 to 5"),
        ([], ["lake.jpg=high"], "from 0 to 5"),
        ([], ["lake.jpg=1", "lake.jpg=2"], "twice"),
    ],
)
def test_what_makes_no_sense_is_refused(folder, keep, ratings, problem):
    """One line that names the photo and what was wanted."""
    with pytest.raises(UseError, match=problem) as caught:
        parse_corrections(keep, ratings, [folder])
    assert "\n" not in caught.value.message


def test_a_name_in_two_folders_is_not_guessed(folder, tmp_path):
    """The path is asked for."""
    other = tmp_path / "other"
    other.mkdir()
    (other / "lake.jpg").write_bytes(b"x")
    with pytest.raises(UseError, match="2 photos"):
        parse_corrections([], ["lake.jpg=1"], [folder, other])


def test_a_correction_is_written_readably_and_read_back(folder):
    """A box a line; what the file says besides stays."""
    path = folder / "lake.jpg"
    sidecar = folder / "lake.jpg.keep.json"
    sidecar.write_text('{"weight": 3, "detected": [[0,0,1,1]]}', encoding="utf-8")
    written = write_corrections([Correction(path, ((0.25, 0.5, 0.5, 0.25),), 5.0)], overwrite=False)
    assert written == (sidecar,)
    assert sidecar.read_text(encoding="utf-8") == (
        '{\n  "weight": 3,\n  "detected": [\n    [0, 0, 1, 1]\n  ],\n'
        '  "keep": [\n    [0.25, 0.5, 0.5, 0.25]\n  ],\n  "rating": 5.0\n}\n'
    )
    found = read_sidecar(path)
    assert (found.keep, found.rating, found.weight) == (((0.25, 0.5, 0.5, 0.25),), 5.0, 3.0)


def test_another_correction_is_not_replaced_silently(folder):
    """Refused before anything is written; the same again is no conflict; asked for, it is replaced."""
    lake, other = folder / "lake.jpg", folder / "a=b.jpg"
    write_corrections([Correction(lake, rating=2.0)], overwrite=False)
    before = (folder / "lake.jpg.keep.json").read_bytes()
    with pytest.raises(OutputExistsError, match=r"states rating 2\.0 already"):
        write_corrections([Correction(other, rating=1.0), Correction(lake, rating=3.0)], overwrite=False)
    assert not (folder / "a=b.jpg.keep.json").exists()
    write_corrections([Correction(lake, rating=2.0)], overwrite=False)
    assert (folder / "lake.jpg.keep.json").read_bytes() == before
    write_corrections([Correction(lake, rating=3.0)], overwrite=True)
    assert read_sidecar(lake).rating == 3.0


def test_a_broken_file_is_not_overwritten(folder):
    """It may hold what somebody wrote; it is named instead."""
    (folder / "lake.jpg.keep.json").write_text("{", encoding="utf-8")
    with pytest.raises(InputError, match="not JSON"):
        write_corrections([Correction(folder / "lake.jpg", rating=3.0)], overwrite=True)
    assert (folder / "lake.jpg.keep.json").read_text(encoding="utf-8") == "{"


def test_a_folder_that_cannot_be_written_is_named(folder, monkeypatch):
    """One line, and no half file stays."""

    def refuse(*given):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("os.replace", refuse)
    with pytest.raises(InputError, match="Permission denied"):
        write_corrections([Correction(folder / "lake.jpg", rating=3.0)], overwrite=False)
    assert sorted(file.name for file in folder.iterdir()) == ["a=b.jpg", "lake.jpg"]


def test_what_is_written_can_always_be_read():
    """Also an empty list, and numbers in short."""
    text = sidecar_text({"keep": [], "rating": -1.0})
    assert json.loads(text) == {"keep": [], "rating": -1.0}
    assert parse_sidecar(text.encode()).said == {"keep", "rating"}
