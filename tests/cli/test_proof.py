"""``fitter proof``: a page drawn from its layout, with no picture but the one it was fitted for."""

from __future__ import annotations

import json

import pytest
from PIL import Image

from fitter.cli import run
from fitter.layout_file import write_layout
from fitter.photos import Photo
from tests.cli.desk import Desk, page_of


def test_proof_is_drawn_from_the_layout_alone(desk: Desk) -> None:
    """``fitter proof`` needs the file and the photos it names, and never replaces a picture unasked."""
    assert desk("--top", "1") == 0
    layout = str(desk.out / "layout-1.json")
    assert run(["proof", layout, "--plain", "--ppi", "50"]) == 0
    with Image.open(desk.out / "layout-1.png") as picture:
        assert picture.size[0] >= 200
    assert run(["proof", layout, "--plain", "--ppi", "50"]) == 4
    assert run(["proof", layout, "--plain", "--ppi", "50", "--overwrite"]) == 0
    assert run(["proof", layout, "--out", "else/where.png", "--ppi", "50"]) == 0
    assert (desk.folder / "else" / "where.png").is_file()


def test_proof_shows_no_other_picture(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """A photo that is gone or another file is refused; where it lies now can be said."""
    assert desk("--top", "1") == 0
    layout = str(desk.out / "layout-1.json")
    photo, moved = desk.folder / "photo.jpg", desk.folder / "moved"
    moved.mkdir()
    photo.rename(moved / "photo.jpg")
    capsys.readouterr()
    assert run(["proof", layout]) == 2
    assert "photos not there: ../photo.jpg" in capsys.readouterr().err
    Image.new("RGB", (800, 400), "#a53a3a").save(photo)
    assert run(["proof", layout]) == 2
    assert "not the file the page was fitted for: ../photo.jpg" in capsys.readouterr().err
    assert not (desk.out / "layout-1.png").exists()
    assert run(["proof", layout, "--plain", "--ppi", "20", "--photos", "moved"]) == 0
    with Image.open(desk.out / "layout-1.png") as picture:
        red, _, blue = picture.convert("RGB").getpixel((picture.width // 2, picture.height // 2))  # type: ignore[misc]
    assert blue > red
    assert run(["proof", layout, "--photos", "nowhere", "--overwrite"]) == 2


def test_a_proof_never_replaces_its_photo(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Whatever may be overwritten."""
    Image.new("RGB", (800, 400), "#a53a3a").save(desk.folder / "photo.png")
    assert run(["fit", "little.svg", "photo.png", "--out", "out", "--top", "1", "--proof-ppi", "20"]) == 0
    before = (desk.folder / "photo.png").read_bytes()
    capsys.readouterr()
    assert run(["proof", "out/layout-1.json", "--out", "photo.png", "--overwrite"]) == 2
    assert "never changed" in capsys.readouterr().err
    assert (desk.folder / "photo.png").read_bytes() == before


@pytest.mark.parametrize("command", [["proof", "out/layout-1.json"], ["templates", "show", "little.svg"]])
@pytest.mark.parametrize("name", ["page.jpg", "page"])
def test_pictures_are_called_what_they_are(
    desk: Desk, command: list[str], name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """A PNG under another name misleads whatever opens it; small and large letters are the same."""
    assert desk("--top", "1") == 0
    capsys.readouterr()
    assert run([*command, "--out", name]) == 2
    error = capsys.readouterr().err
    assert f"--out {name}" in error and "page.png" in error and error.count("\n") == 1
    assert not (desk.folder / name).exists()
    assert run([*command, "--out", "page.PNG"]) == 0


def test_proof_opens_no_photo_by_its_whole_path(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """As checking and starting from a layout: a stranger's layout cannot point anywhere."""
    whole = desk.folder / "photo.jpg"
    write_layout(page_of(Photo(whole, "0" * 64, (800, 400))), desk.folder / "page.json")
    said = (desk.folder / "page.json").read_text().replace('"photo.jpg"', json.dumps(whole.as_posix()))
    (desk.folder / "page.json").write_text(said)
    assert run(["proof", "page.json"]) == 2
    assert "is not a path relative to the layout" in capsys.readouterr().err
    assert not (desk.folder / "page.png").exists()


def test_a_proof_with_a_name_too_long_for_the_system(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """One line, and nothing is left behind."""
    assert desk("--top", "1") == 0
    capsys.readouterr()
    assert run(["proof", str(desk.out / "layout-1.json"), "--ppi", "20", "--out", "x" * 300 + ".png"]) == 2
    assert "File name too long" in capsys.readouterr().err
