"""``fitter fit --from`` for real: a page is fitted, then again with a wish, from its layout file alone."""

from __future__ import annotations

import shutil
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from fitter.cli import run
from fitter.earlier import slot_of
from fitter.layout import Layout
from fitter.layout_file import read_layout, write_layout

DRAWING = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="8in" height="8in" viewBox="0 0 8 8">'
    '<rect id="photo-1" x="0.5" y="0.5" width="3" height="2"/><rect id="photo-2" x="4" y="0.5" width="3.5" height="2"/>'
    '<rect id="sheet" data-role="paper" x="0.5" y="3" width="3" height="4"/>'
    '<rect id="journaling" x="4" y="3" width="3.5" height="3"/></svg>'
)


@pytest.fixture(scope="module")
def fitted(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a drawing, two photos and a page fitted from them, to be copied."""
    folder = tmp_path_factory.mktemp("fitted")
    for name, width in (("a.png", 1800), ("b.png", 2100)):
        Image.new("RGB", (width, 1200), (width % 256, 120, 90)).save(folder / name)
    (folder / "little.svg").write_text(DRAWING, encoding="utf-8")
    first = ("fit", "little.svg", "a.png", "b.png", "--words", "60", "--top", "1", "--proof-ppi", "20")
    with pytest.MonkeyPatch.context() as patch:
        patch.chdir(folder)
        assert run([*first, "--favourite", "b.png", "--weight", "gap=2", "--min-ppi", "120", "--out", "one"]) == 0
    return folder


@pytest.fixture
def desk(fitted: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder to work in: a copy of the fitted page and of all it was made from."""
    shutil.copytree(fitted, tmp_path, dirs_exist_ok=True)
    monkeypatch.chdir(tmp_path)
    return tmp_path


def again(*wishes: str) -> int:
    """Fit from the page's layout, with wishes."""
    return run(["fit", "--from", "one/layout-1.json", "--top", "1", "--proof-ppi", "20", "--out", "two", *wishes])


def pages(desk: Path) -> tuple[Layout, Layout]:
    """Return both pages."""
    return read_layout(desk / "one" / "layout-1.json"), read_layout(desk / "two" / "layout-1.json")


def test_words_of_a_layout_are_held_to_what_a_text_file_may_be(
    desk: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """An endless word is refused before any work, wherever it comes from."""
    file = desk / "one" / "layout-1.json"
    layout = read_layout(file)
    text = replace(layout.given.texts[0], text="w" * 3_000)
    write_layout(replace(layout, given=replace(layout.given, texts=(text,))), file, overwrite=True)
    assert again() == 2
    assert "is wider than any card" in capsys.readouterr().err
    assert not (desk / "two").exists()


def test_everything_not_said_is_taken_over(desk: Path) -> None:
    """Photos, their weights, words, factors and resolutions; without a wish the page is the same."""
    assert again() == 0
    one, two = pages(desk)
    assert two.elements == one.elements
    assert two.given.photos == one.given.photos
    assert two.given.texts == one.given.texts
    assert two.costs.weights == {"gap": 2}
    assert two.given.min_ppi == 120


def test_what_is_said_counts(desk: Path) -> None:
    """A preset replaces the factors, a title is added, another least resolution holds."""
    assert again("--preset", "telling", "--weight", "order=3", "--min-ppi", "150", "--leave-out", "1") == 0
    two = pages(desk)[1]
    assert two.costs.weights == {"order": 3, "emphasis": 5, "left-out": 2}
    assert two.given.min_ppi == 150
    assert two.given.leave_out == 1


def test_a_wish_is_kept_checked_and_told(desk: Path) -> None:
    """Photos change places while the sheet stays; the written file names them beside itself and passes the check."""
    assert again("--pin", "a.png=photo-2", "--pin", "sheet") == 0
    one, two = pages(desk)
    assert two.given.wishes.pins == (("../a.png", "photo-2"),)
    assert slot_of(two, "sheet") == slot_of(one, "sheet")
    assert run(["check", "two/layout-1.json"]) == 0


def test_what_cannot_be_ends_in_reasons(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With three slots avoided only the sheet is left for two photos, so that it stays is no part of the clash."""
    wishes = [part for slot in ("photo-1", "photo-2", "journaling") for part in ("--avoid", slot)]
    assert again("--pin", "sheet", *wishes, "--without", "add-slot") == 3
    told = capsys.readouterr().out
    assert not (desk / "two").exists()
    assert "No page exists" in told
    assert "had together: all 2 photos; --avoid photo-1; --avoid photo-2; --avoid journaling\n" in told


@pytest.mark.parametrize(
    ("wishes", "says"),
    [
        (("--pin", "a.png="), "write PHOTO=SLOT"),
        (("--pin", "a.png=photo-7"), "did you mean photo-"),
        (("--bigger", "c.png"), "--bigger 'c.png' is not known (did you mean b.png?)"),
        (("--page", "7x7in", "--pin", "sheet"), "only on a page of the same size"),
        (("little.svg", "a.png", "--pin", "photo-2"), "not among those given"),
    ],
)
def test_mistakes_are_told_in_one_line(
    desk: Path, wishes: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Nothing is solved and nothing written."""
    capsys.readouterr()
    assert again(*wishes) == 2
    assert says in capsys.readouterr().err
    assert not (desk / "two").exists()


def test_a_photo_that_is_gone_is_named(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """With what to do about it."""
    (desk / "b.png").unlink()
    assert again() == 2
    said = capsys.readouterr().err
    assert "b.png" in said
    assert "put them back" in said


def test_a_drawing_that_was_changed_is_no_start(desk: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Slots might mean something else."""
    (desk / "little.svg").write_text(DRAWING.replace('height="4"', 'height="4.5"'), encoding="utf-8")
    assert again() == 2
    assert "was changed since" in capsys.readouterr().err
