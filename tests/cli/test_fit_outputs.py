"""The files that ``fitter fit`` writes: all of a run's or none, and never over others unasked."""

from __future__ import annotations

import json
import os
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from fitter.cli import run
from fitter.commands import running
from fitter.commands.outputs import refuse_existing
from fitter.errors import OutputExistsError
from fitter.layout import Costs
from fitter.layout_file import read_layout
from tests.cli.desk import CannedResult, Desk, page_of


def test_fit_writes_layout_proof_and_run_record(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """One page gives three files and a summary in words."""
    assert desk("--top", "1") == 0
    assert desk.files() == {"layout-1.json", "proof-1.png", "run.json"}
    out = capsys.readouterr().out
    for words in (
        "Page 1 of 1: cost 0.100, proved best",
        "photo-1 was moved by nothing",
        "cut away: photo.jpg 50 % of the picture (20 % of what matters)",
        "cut away, on average: 50 % of pictures",
        "cut away or covered, on average: 10 % of what matters",
        "smallest resolution: 200 ppi (photo.jpg)",
        "one little note",
        "layout-1.json, proof-1.png, run.json",
    ):
        assert words in out
    assert json.loads((desk.out / "run.json").read_text())["status"] == "proved"


def test_layout_names_files_relative_to_itself(desk: Desk) -> None:
    """A folder with photos and layouts can be moved as a whole."""
    assert desk("--top", "1") == 0
    layout = read_layout(desk.out / "layout-1.json")
    assert layout.given.photos[0].file == "../photo.jpg"
    assert layout.elements[0].photo is not None
    assert layout.elements[0].photo.file == "../photo.jpg"
    assert str(desk.folder) not in (desk.out / "layout-1.json").read_text()


def test_several_pages_are_compared(desk: Desk) -> None:
    """With more than one page there is a comparison; fewer than asked for is no error."""
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0]), page_of(photos[0], 200_000)))
    assert desk("--top", "3") == 0
    assert desk.files() == {
        "layout-1.json", "layout-2.json", "proof-1.png", "proof-2.png", "compare.png", "run.json",
    }  # fmt: skip


def test_existing_output_stops_before_solving(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 4, nothing solved and nothing changed, unless --overwrite is given."""
    assert desk("--top", "1") == 0
    before = {path.name: path.read_bytes() for path in desk.out.iterdir()}
    desk.calls.clear()
    assert desk("--top", "1") == 4
    assert "--overwrite" in capsys.readouterr().err
    assert not desk.calls
    assert {path.name: path.read_bytes() for path in desk.out.iterdir()} == before
    assert desk("--top", "1", "--overwrite") == 0


def test_outputs_that_exist_are_counted(tmp_path: Path) -> None:
    """In a whole sentence, for one and for several."""
    files = tuple(tmp_path / f"{n}.png" for n in range(3))
    for count, said in ((1, "0.png exists already"), (3, "0.png and 2 more exist already")):
        for file in files[:count]:
            file.touch()
        with pytest.raises(OutputExistsError, match=said):
            refuse_existing(files, overwrite=False)


def test_overwriting_leaves_no_page_of_an_earlier_run(desk: Desk) -> None:
    """A run that finds fewer pages takes the older run's surplus away."""
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0]), page_of(photos[0])))
    assert desk("--top", "2") == 0
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0]),))
    (desk.out / "mine.txt").touch()
    assert desk("--top", "1", "--overwrite") == 0
    assert desk.files() == {"layout-1.json", "proof-1.png", "run.json", "mine.txt"}


@pytest.mark.parametrize("name", ["layout-2.json", "proof-12.png", "compare.png", "run.json"])
def test_any_page_of_an_earlier_run_stops_before_solving(desk: Desk, name: str) -> None:
    """One page asked for beside an older second one would be taken for its better."""
    desk.out.mkdir()
    (desk.out / name).write_text("mine")
    assert desk("--top", "1") == 4
    assert not desk.calls and desk.files() == {name}


@pytest.mark.parametrize("failing", range(9))
def test_a_run_that_cannot_put_its_files_in_place_leaves_all_as_it_was(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], failing: int
) -> None:
    """Whichever of its moves fails: three older files away, three new ones in place, three left over away."""
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0]), page_of(photos[0])))
    assert desk("--top", "2") == 0
    before = {path.name: path.read_bytes() for path in desk.out.iterdir()}
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0], 300_000),))
    moves, replace_file = iter(range(100)), os.replace

    def full(source: Path, target: Path) -> None:
        if desk.out in (Path(source).parent, Path(target).parent) and next(moves) == failing:
            raise OSError(28, "No space left on device")
        replace_file(source, target)

    monkeypatch.setattr("fitter.commands.outputs.os.replace", full)
    assert desk("--top", "1", "--overwrite") == 2
    assert "nothing of this run was kept" in capsys.readouterr().err
    assert {path.name: path.read_bytes() for path in desk.out.iterdir()} == before


def test_output_folder_that_is_a_file_is_refused(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 2 before solving, in one line."""
    desk.out.write_text("in the way")
    assert desk() == 2
    error = capsys.readouterr().err
    assert "cannot be written" in error
    assert error.count("\n") == 1
    assert not desk.calls


def test_unwritable_output_folder_is_refused(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2 before solving; permission is asked of the system, so that the superuser can test it."""

    def denied(*_: Any, **__: Any) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr("fitter.commands.outputs.tempfile.TemporaryFile", denied)
    assert desk() == 2
    assert "cannot be written (Permission denied)" in capsys.readouterr().err
    assert not desk.calls
    assert not desk.out.exists()


def test_a_page_that_breaks_a_rule_is_never_written(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A mistake of ours is said loudly, with exit code 1."""
    from fitter.check.report import Report, RuleResult, Violation

    broken = Report(
        rules=(RuleResult("R1", "edge", "broken", (Violation("R1", "photo-1", "photo-1 is over the edge"),)),),
        costs=Costs(0, {}),
        details={},
    )
    monkeypatch.setattr("fitter.check.check_layout", lambda layout, *, base, template: broken)
    assert desk() == 1
    error = capsys.readouterr().err
    assert "INTERNAL ERROR" in error
    assert "photo-1 is over the edge" in error
    assert not desk.out.exists()


def test_a_failure_while_drawing_leaves_nothing(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Half of a result is none: a full disk leaves neither layouts nor hidden folders."""

    def full(*_: Any, **__: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(running, "draw_all", full)
    assert desk() == 2
    assert not desk.out.exists()


@pytest.mark.parametrize("named", ["photos", "photos/proof-1.png", "photos/sub/../proof-1.png"])
def test_a_photo_given_is_never_replaced(desk: Desk, named: str, capsys: pytest.CaptureFixture[str]) -> None:
    """Not even where outputs may be; a folder's pictures all count."""
    photos = desk.folder / "photos"
    (photos / "sub").mkdir(parents=True)
    original = photos / "proof-1.png"
    Image.new("RGB", (800, 400), "#3a53a5").save(original)
    before = original.read_bytes()
    assert run(["fit", "little.svg", named, "--out", "photos", "--overwrite"]) == 2
    error = capsys.readouterr().err
    assert "proof-1.png" in error and "never changed" in error and error.count("\n") == 1
    assert not desk.calls and original.read_bytes() == before
    assert [path.name for path in sorted(photos.iterdir())] == ["proof-1.png", "sub"]


def test_a_photo_of_the_layout_started_from_is_never_replaced(desk: Desk) -> None:
    """Where no photo is named, those of the layout count."""
    photos = desk.folder / "photos"
    photos.mkdir()
    original = photos / "proof-1.png"
    Image.new("RGB", (800, 400), "#3a53a5").save(original)
    before = original.read_bytes()
    assert run(["fit", "little.svg", "photos", "--out", "page", "--top", "1", "--proof-ppi", "20"]) == 0
    assert run(["fit", "--from", "page/layout-1.json", "little.svg", "--out", "photos", "--overwrite"]) == 2
    assert original.read_bytes() == before
