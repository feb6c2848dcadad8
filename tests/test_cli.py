"""The command line's own work: use, outputs, exit codes, interruption.

Fitting is replaced by a canned page here; ``tests/integration`` runs the real thing.
"""

from __future__ import annotations

import importlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from fitter.cli import run
from fitter.commands import running
from fitter.commands.check import at_hand
from fitter.commands.outputs import refuse_existing
from fitter.cost_names import COSTS
from fitter.errors import OutputExistsError
from fitter.freedoms import FREEDOMS
from fitter.layout import (
    Costs,
    Given,
    GivenPhoto,
    Layout,
    Placed,
    PlacedPhoto,
    Search,
    TemplateRef,
    Transform,
)
from fitter.layout_file import read_layout, write_layout
from fitter.pages import Page
from fitter.photos import Photo
from fitter.progress_line import describe
from fitter.template import Element
from fitter.units import INCH
from solver.progress import Event
from tests.builders import move, tiny

ROOT = Path(__file__).parent.parent
PAGE = Page(name="4x4in", trim=(4 * INCH, 4 * INCH))
TEMPLATE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="4in" height="4in" viewBox="0 0 4 4">'
    '<rect id="photo-1" x="1" y="1" width="2" height="2"/></svg>'
)


@dataclass(frozen=True)
class CannedResult:
    layouts: tuple[Layout, ...] = ()
    reasons: tuple[str, ...] = ()
    interrupted: bool = False
    stats: dict[str, Any] = field(default_factory=dict)
    notices: tuple[str, ...] = ()


EVENT = Event("3 solve", "searching", cost=250_000, bound=200_000, gap=0.2, elapsed=1.25, kind="better")


def page_of(photo: Photo, cost: int = 100_000, status: Any = "proved") -> Layout:
    """A page of one photo, 2 in square, its picture twice as wide as its slot."""
    width, height = photo.pixels
    spot = Element("photo-1", "photo", "rect", (2 * INCH, 2 * INCH), (2 * INCH, 2 * INCH))
    crop = (width // 4, 0, width // 4 + height, height)
    placed = PlacedPhoto(photo.file, photo.sha256, photo.pixels, crop, height // 2)
    return Layout(
        page=PAGE,
        given=Given(photos=(GivenPhoto(photo.file, photo.sha256, photo.pixels, importance=((1, 4, 4, 1),)),)),
        template=TemplateRef("little", "0" * 64, PAGE.trim, None),
        transform=Transform(),
        reference=(spot,),
        elements=(Placed("photo-1", "photo-1", "photo", "rect", spot.center, spot.size, photo=placed),),
        dropped=(),
        waived=(),
        left_out=(),
        changes=("photo-1 was moved by nothing",),
        notes=("one little note",),
        costs=Costs(cost, {"crop-loss": cost}),
        search=Search(
            status, cost if status == "proved" else cost // 2, 0.0 if status == "proved" else 0.5, 0, {}, {}
        ),
    )


Fit = Callable[..., CannedResult]


@dataclass
class Desk:
    """A folder with a template and a photo, and a fit that can be told what to return."""

    folder: Path
    calls: list[dict[str, Any]] = field(default_factory=list)
    fit: Fit = lambda template, photos, **_: CannedResult((page_of(photos[0]),))

    def __call__(self, *more: str) -> int:
        return run(["fit", "little.svg", "photo.jpg", "--out", "out", *more])

    @property
    def out(self) -> Path:
        return self.folder / "out"

    def files(self) -> set[str]:
        return {path.name for path in self.out.iterdir()} if self.out.exists() else set()


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    """A desk in a folder of its own, the checker answering that all is well."""
    Image.new("RGB", (800, 400), "#3a6ea5").save(tmp_path / "photo.jpg")
    (tmp_path / "little.svg").write_text(TEMPLATE, encoding="utf-8")
    monkeypatch.chdir(tmp_path)
    made = Desk(tmp_path)

    def fit_page(template: Any, photos: Sequence[Photo], **options: Any) -> CannedResult:
        made.calls.append({"template": template, "photos": photos, **options})
        return made.fit(template, photos, **options)

    monkeypatch.setattr("fitter.api.fit_page", fit_page)
    monkeypatch.setattr(
        "fitter.check.check_layout", lambda layout, *, base, template: type("Fine", (), {"ok": True})()
    )
    yield made


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


def test_checking_and_drawing_are_told(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both can take seconds, so the progress line says which page is worked on."""
    shown: list[str] = []
    monkeypatch.setattr("fitter.progress_line.ProgressLine.__call__", lambda self, event: shown.append(describe(event)))
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0]), page_of(photos[0], 200_000)))
    assert desk("--top", "2") == 0
    assert [line.partition(" · ")[0] for line in shown] == [
        "[5 check] page 1 of 2", "[5 check] page 2 of 2",
        "[6 draw] proof 1 of 2", "[6 draw] proof 2 of 2", "[6 draw] comparison",
    ]  # fmt: skip


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


def test_no_page_exists(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 3 with the reasons; the folder made for the outputs is gone again."""
    desk.fit = lambda template, photos, **_: CannedResult(reasons=("900 words need 31 sq in",))
    assert desk() == 3
    assert "900 words need 31 sq in" in capsys.readouterr().out
    assert not desk.out.exists()
    assert desk("--json") == 3
    document = json.loads(capsys.readouterr().out)
    assert (document["status"], document["exit_code"]) == ("impossible", 3)
    assert document["reasons"] == ["900 words need 31 sq in"]


def test_json_is_the_only_thing_on_standard_output(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Programs read standard output, people standard error."""
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0], status="feasible"),))
    assert desk("--json", "--top", "1") == 0
    captured = capsys.readouterr()
    document = json.loads(captured.out)
    assert document["status"] == "feasible"
    (page,) = document["layouts"]
    assert (page["cost"], page["bound"], page["gap"]) == (100_000, 50_000, 0.5)
    assert page["cut_away"] == {"../photo.jpg": {"picture": 0.5, "importance": 0.2}}
    assert page["smallest_ppi"] == 200
    assert Path(page["layout"]) == desk.out / "layout-1.json"
    assert set(document["files"]) == {str(path) for path in desk.out.iterdir()}
    assert document["seconds"].keys() == {"read_to_place", "check", "draw"}
    assert "may cost up to 50.0 % less" in captured.err


def test_what_went_otherwise_is_told(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """A notice of the search stands among the notes, for people and for programs; without a page too."""
    notice = "The search's second process fell silent."
    desk.fit = lambda template, photos, **_: CannedResult((page_of(photos[0]),), notices=(notice,))
    assert desk("--top", "1", "--json") == 0
    captured = capsys.readouterr()
    assert notice in json.loads(captured.out)["notes"]
    assert captured.err.count(notice) == 1
    desk.fit = lambda template, photos, **_: CannedResult(reasons=("no room",), notices=(notice,))
    assert desk("--overwrite") == 3
    assert capsys.readouterr().out.count(notice) == 1


def test_interrupted_keeps_the_best_page(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """The first Ctrl-C asks the search to stop; what was found is written and exit code 130 tells."""

    def patient(
        template: Any, photos: Sequence[Photo], *, stop: Callable[[], bool], **_: Any
    ) -> CannedResult:
        os.kill(os.getpid(), signal.SIGINT)
        while not stop():
            time.sleep(0.01)
        return CannedResult((page_of(photos[0], status="feasible"),), interrupted=True)

    desk.fit = patient
    assert desk("--top", "1", "--json") == 130
    captured = capsys.readouterr()
    assert json.loads(captured.out)["status"] == "interrupted"
    assert "the best found by then was kept" in captured.err
    assert desk.files() == {"layout-1.json", "proof-1.png", "run.json"}


def test_interrupted_before_a_page_writes_nothing(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 130 and no folder left behind."""
    desk.fit = lambda template, photos, **_: CannedResult(interrupted=True)
    assert desk() == 130
    assert "nothing was written" in capsys.readouterr().out
    assert not desk.out.exists()


@pytest.mark.parametrize("where", ["check", "draw"])
def test_an_interrupt_after_the_search_leaves_the_rest_away(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], where: str
) -> None:
    """The best page is still finished; what is not begun of the others is not waited for, and exit code 130 tells."""
    patched = {"check": "fitter.check.check_layout", "draw": "fitter.proof.draw_proof"}[where]
    package, name = patched.rsplit(".", 1)
    work = getattr(importlib.import_module(package), name)

    def interrupted(*arguments: Any, **options: Any) -> Any:
        os.kill(os.getpid(), signal.SIGINT)
        return work(*arguments, **options)

    monkeypatch.setattr(patched, interrupted)
    desk.fit = lambda template, photos, **_: CannedResult(tuple(page_of(photos[0], cost) for cost in (1, 2, 3)))
    desk.out.mkdir()
    (desk.out / "proof-2.png").write_bytes(b"of an earlier run")
    assert desk("--json", "--overwrite") == 130
    captured = capsys.readouterr()
    pages = {"check": {"layout-1.json"}, "draw": {"layout-1.json", "layout-2.json", "layout-3.json"}}[where]
    assert desk.files() == {*pages, "proof-1.png", "run.json"}
    document = json.loads(captured.out)
    assert document["status"] == "interrupted"
    assert [page["proof"] for page in document["layouts"]] == [
        str(desk.out / "proof-1.png"), *[None] * (len(pages) - 1)
    ]  # fmt: skip
    assert "the best found by then was kept" in captured.err


def test_second_interrupt_gives_up(desk: Desk) -> None:
    """A search that does not listen is left alone with its work; nothing is written."""
    released = False
    before = signal.getsignal(signal.SIGINT)

    def deaf(template: Any, photos: Sequence[Photo], *, stop: Callable[[], bool], **_: Any) -> CannedResult:
        os.kill(os.getpid(), signal.SIGINT)
        while not stop():
            time.sleep(0.01)
        os.kill(os.getpid(), signal.SIGINT)
        while not released:
            time.sleep(0.01)
        return CannedResult((page_of(photos[0]),))

    desk.fit = deaf
    assert desk() == 130
    released = True
    assert not desk.out.exists()
    assert signal.getsignal(signal.SIGINT) is before


def test_a_page_that_breaks_a_rule_is_never_written(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A mistake of ours is said loudly, with exit code 1."""
    from fitter.check.report import Report, RuleResult, Violation

    broken = Report(
        rules=(
            RuleResult("R1", "edge", "broken", (Violation("R1", "photo-1", "photo-1 is over the edge"),)),
        ),
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


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--words", "100000"], "0<=x<=5000"),
        (["--words", "-3"], "-3"),
        (["--words", "10", "--text", "story.txt"], "exclude each other"),
        (["--text", "missing.txt"], "missing.txt"),
        (["--page", "0x0in"], "page"),
        (["--page", "9999x9999in"], "2 m"),
        (["--page", "enormous"], "enormous"),
        (["--bleed", "nan"], "bleed"),
        (["--margin", "5in"], "no room"),
        (["--gutter", "inner=1in"], "left, top, right, bottom"),
        (["--only", "crop", "--without", "crop"], "exclude each other"),
        (["--without", "rotatepage"], "did you mean rotate-page?"),
        (["--weight", "cost=1"], "crop-loss"),
        (["--weight", "crop-loss=101"], "from 0 to 100"),
        (["--weight", "crop-loss=1.234"], "two decimals"),
        (["--weight", "crop-loss=nan"], "factor"),
        (["--favourite", "nobody.jpg"], "photo.jpg"),
        (["--min-ppi", "400"], "--target-ppi"),
        (["--top", "0"], "--top"),
        (["--effort", "-1"], "--effort"),
        (["--effort", "nan"], "--effort"),
        (["--time-limit", "inf"], "--time-limit"),
        (["--leave-out", "-1"], "--leave-out"),
        (["--seed", "x"], "--seed"),
        (["--out", "x" * 300], "cannot be written (File name too long)"),
        (["--title", "  "], "title"),
        (["--bogus"], "--bogus"),
    ],
)
def test_bad_use_is_one_line_and_exit_code_2(
    desk: Desk, options: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """What is wrong with an option is said in one line naming it or the choices."""
    assert desk(*options) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.err.count("\n") == 1
    assert not captured.out
    assert not desk.calls
    assert not desk.out.exists()


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["fit", "nowhere.svg", "photo.jpg"], "nowhere.svg"),
        (["fit", "little.svg", "nowhere.jpg"], "nowhere.jpg"),
        (["fit", "little.svg", "little.svg"], "little.svg"),
        (["fit", "little.svg"], "PHOTO"),
        (["check", "nowhere.json"], "nowhere.json"),
        (["check", "photo.jpg"], "photo.jpg"),
        (["proof", "nowhere.json"], "nowhere.json"),
        (["templates", "show", "nowhere"], "nowhere"),
        (["frobnicate"], "frobnicate"),
    ],
)
def test_bad_input_is_one_line_and_exit_code_2(
    desk: Desk, arguments: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    """Files that are missing or of the wrong kind are named."""
    assert run(arguments) == 2
    captured = capsys.readouterr()
    assert said in captured.err
    assert captured.err.count("\n") == 1
    assert not captured.out


def test_an_unexpected_error_is_one_line_and_a_code_of_its_own(
    desk: Desk, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 1 would say that a rule is broken; where it happened is shown to who asks."""

    def fail(*_: Any, **__: Any) -> CannedResult:
        raise IndexError("list index\nout of range")

    desk.fit = fail
    assert desk() == 70
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "unexpected error (IndexError: list index out of range)" in said and "FITTER_TRACE" in said
    monkeypatch.setenv("FITTER_TRACE", "1")
    assert desk() == 70
    assert "Traceback" in capsys.readouterr().err


def test_an_interrupt_while_modules_are_loaded_is_one_line(tmp_path: Path) -> None:
    """Ctrl-C in the first moment of a run ends it as later."""
    (tmp_path / "sitecustomize.py").write_text(
        "import sys\n"
        "class Impatient:\n"
        "    def find_spec(self, name, path=None, target=None):\n"
        "        if name == 'fitter.cli':\n"
        "            raise KeyboardInterrupt\n"
        "sys.meta_path.insert(0, Impatient())\n"
    )
    root = Path(__file__).parent.parent
    done = subprocess.run(
        [sys.executable, "-m", "fitter", "--version"],
        env={**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{root}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (130, "", 1)
    assert "interrupted" in done.stderr


def test_options_reach_the_library(desk: Desk, tmp_path: Path) -> None:
    """What the user writes arrives in micrometres, factors and names."""
    (tmp_path / "story.txt").write_text("We followed the creek.", encoding="utf-8")
    code = desk(
        "--text", "photo-1=story.txt", "--title", "Marrow  Lake", "--page", "8.5x11in", "--bleed", "3mm",
        "--margin", "0", "--gutter", "left=1/2in", "--top", "2", "--target-ppi", "240", "--min-ppi", "120",
        "--only", "crop", "--only", "assign", "--favourite", "photo.jpg", "--weight", "crop-loss=2.5",
        "--leave-out", "1", "--seed", "7", "--effort", "3", "--time-limit", "9",
    )  # fmt: skip
    assert code == 0
    (call,) = desk.calls
    options = call["options"]
    assert options.page == Page("8.5x11in", (215_900, 279_400), 3000, 0, {"left": 12_700})
    assert (options.top, options.target_ppi, options.min_ppi) == (2, 240, 120)
    assert options.without == frozenset(FREEDOMS) - {"crop", "assign"}
    assert options.weights == {"crop-loss": 2.5}
    assert (options.leave_out, options.seed, options.effort, options.time_limit) == (1, 7, 3.0, 9.0)
    assert call["title"] == "Marrow Lake"
    assert [(text.slot, text.words, text.filler) for text in call["texts"]] == [("photo-1", 4, False)]
    (photo,) = call["photos"]
    assert photo.path == tmp_path / "photo.jpg"
    assert photo.weight == 2


def test_words_become_filler(desk: Desk) -> None:
    """A count stands for text that is not written yet."""
    assert desk("--words", "60", "--top", "1") == 0
    (text,) = desk.calls[0]["texts"]
    assert (text.words, text.filler) == (60, True)
    assert desk.calls[0]["options"].page is None


def test_proof_is_drawn_from_the_layout_alone(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
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


def test_the_program_runs_as_a_module() -> None:
    """``python -m fitter`` is the same command."""
    done = subprocess.run([sys.executable, "-m", "fitter", "--version"], capture_output=True, text=True, cwd=ROOT)
    assert (done.returncode, done.stdout.split()[0]) == (0, "fitter,")


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


def test_templates_are_listed_and_shown(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Every starter has its line; showing one draws it."""
    from fitter.starters import starter_names

    assert run(["templates", "list"]) == 0
    out = capsys.readouterr().out
    assert all(any(line.startswith(name) for line in out.splitlines()) for name in starter_names())
    name = starter_names()[0]
    assert run(["templates", "show", name]) == 0
    with Image.open(desk.folder / f"{name}.png") as picture:
        assert min(picture.size) > 200
    assert run(["templates", "show", name]) == 4
    assert run(["templates", "show", "little.svg"]) == 0
    assert "4x4in" in capsys.readouterr().out


def test_showing_a_template_says_what_its_slots_are_called(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """Options that speak of slots need these names; mats, strips and what lies on others are told as that."""
    assert run(["templates", "show", "ribbon-pair"]) == 0
    lines = [" ".join(line.split()) for line in capsys.readouterr().out.splitlines()]
    for line in (
        "ribbon-1 ribbon over paper-panel 12 1/4 × 1/2 in",
        "paper-mat-1 mat of photo-1 4 3/4 × 6 1/4 in",
        "photo-1 photo over paper-panel 4 1/2 × 6 in",
        "title title 3 × 1 1/2 in",
        "embellishment-2 embellishment on photo-2 1 × 1 in",
    ):
        assert line in lines
    assert not any(line.startswith("background") for line in lines)


@pytest.mark.parametrize("arguments", [[], ["templates"]])
def test_a_group_alone_shows_its_help(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Without a subcommand the choices are shown."""
    assert run(arguments) == 2
    assert "Commands:" in capsys.readouterr().err


def test_check_passes_a_sound_layout(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Every rule and every cost is listed; template and photos are not at hand and that is said."""
    write_layout(tiny(), tmp_path / "page.json")
    assert run(["check", str(tmp_path / "page.json")]) == 0
    out = capsys.readouterr().out
    assert all(f"R{number} " in out for number in range(1, 9))
    assert all(name in out for name in COSTS)
    assert "template tiny: not at hand" in out
    assert "photo a.jpg: not at hand" in out
    assert "The layout is sound." in out
    assert run(["check", str(tmp_path / "page.json"), "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["not_compared"]) == 3
    Image.new("RGB", (5, 4)).save(tmp_path / "a.jpg")
    assert run(["check", str(tmp_path / "page.json")]) == 1
    assert "photo a.jpg: is not the file the page was fitted for" in capsys.readouterr().out
    assert run(["check", str(tmp_path / "page.json"), "--photos", str(tmp_path)]) == 1


def test_check_names_what_is_broken(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Exit code 1 with the element; the JSON document says the same."""
    write_layout(move(tiny(), "card", dx=200_000), tmp_path / "page.json")
    assert run(["check", str(tmp_path / "page.json")]) == 1
    out = capsys.readouterr().out
    assert "broken" in out
    assert "card" in out
    assert "NOT sound" in out
    assert run(["check", str(tmp_path / "page.json"), "--json"]) == 1
    document = json.loads(capsys.readouterr().out)
    assert document["ok"] is False
    broken = [rule for rule in document["rules"] if rule["status"] == "broken"]
    assert broken
    assert all(rule["violations"] for rule in broken)


def test_the_template_is_compared_where_it_is_at_hand(tmp_path: Path) -> None:
    """A drawing is found beside the layout, a starter by its name while it is the same drawing."""
    from fitter.starters import starter_names, starter_path
    from fitter.template_reader import read_template

    layout = page_of(Photo(tmp_path / "a.jpg", "0" * 64, (800, 400)))
    (tmp_path / "own.svg").write_text(TEMPLATE, encoding="utf-8")
    own = replace(layout, template=replace(layout.template, name="own", file="own.svg"))
    found = at_hand(own, tmp_path)
    assert found is not None
    assert found.name == "own"
    assert at_hand(replace(own, template=replace(own.template, file="gone.svg")), tmp_path) is None
    name = starter_names()[0]
    sha256 = read_template(starter_path(name)).sha256
    starter = replace(layout, template=TemplateRef(name, sha256, PAGE.trim))
    assert at_hand(starter, tmp_path) is not None
    assert at_hand(replace(starter, template=replace(starter.template, sha256="0" * 64)), tmp_path) is None
    assert at_hand(layout, tmp_path) is None
