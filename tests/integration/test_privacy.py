"""Where photos lie is nobody's business: nothing that is written or told says more than the layout's own names."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from PIL import Image

from fitter.cli import run
from fitter.photos import read_photos

pytestmark = pytest.mark.slow


def job(folder: Path, photos: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Fit two small photos, one of them twice and one in another folder of the same name, in a folder."""
    (folder / "photos").mkdir(parents=True)
    for name in ("creek", "figs"):
        with Image.open(photos / f"{name}.jpg") as picture:
            picture.resize((picture.width // 2, picture.height // 2)).save(folder / "photos" / f"{name}.jpg")
    shutil.copy(folder / "photos" / "creek.jpg", folder / "creek.jpg")
    (folder / "photos" / ".hidden").touch()
    (folder / "photos" / "notes.txt").touch()
    monkeypatch.chdir(folder)
    arguments = ["fit", "three-across-strip", "photos", "creek.jpg", "--effort", "0.5", "--top", "1", "--min-ppi", "60"]
    assert run([*arguments, "--out", "out", "--proof-ppi", "30"]) == 0
    return folder / "out" / "layout-1.json"


def test_layouts_do_not_tell_where_they_were_made(
    demo_photos: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Two folders, the same bytes and the same summary; the notes name photos without their folders."""
    one = job(tmp_path / "one", demo_photos, monkeypatch)
    told = capsys.readouterr()
    other = job(tmp_path / "far" / "away", demo_photos, monkeypatch)
    assert one.read_bytes() == other.read_bytes()
    assert "creek.jpg in " in one.read_text(encoding="utf-8") and "below the target" in told.out
    assert str(tmp_path) not in one.read_text(encoding="utf-8")
    assert str(tmp_path) not in told.out and str(tmp_path) not in told.err
    assert "Written to out: layout-1.json" in told.out


def test_a_waiver_names_the_photo_alone(
    demo_photos: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """So do the reasons why a photo fits no slot."""
    with Image.open(demo_photos / "creek.jpg") as picture:
        picture.resize((60, 40)).save(tmp_path / "tiny.jpg")
    monkeypatch.chdir(tmp_path)
    arguments = ["fit", "three-across-strip", "tiny.jpg", "--effort", "0.5", "--top", "1", "--proof-ppi", "30"]
    assert run([*arguments, "--out", "out"]) == 0
    told = capsys.readouterr().out
    assert "no page shows tiny.jpg at 150 ppi or more" in told and str(tmp_path) not in told


def test_notes_tell_two_photos_of_one_name_apart(demo_photos: Path, tmp_path: Path) -> None:
    """By as many folders as that takes."""
    for folder in ("lake/best", "hill/best"):
        (tmp_path / folder).mkdir(parents=True)
        shutil.copy(demo_photos / "creek.jpg", tmp_path / folder / "1.jpg")
    notes: list[str] = []
    read_photos([tmp_path / "lake/best/1.jpg", tmp_path / "hill/best/1.jpg"], note=notes.append)
    assert notes == ["photo 'hill/best/1.jpg' is the same picture as 'lake/best/1.jpg', which is taken"]
