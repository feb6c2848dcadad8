"""Use of the program, good and bad: what is wrong is said in one line, with an exit code."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from fitter.cli import run
from tests.cli.desk import CannedResult, Desk

ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["--words", "100000"], "0<=x<=5000"),
        (["--words", "-3"], "-3"),
        (["--words", "10", "--text", "story.txt"], "exclude each other"),
        (["--text", "missing.txt"], "missing.txt"),
        (["--page", "0x0in"], "page width: '0in' must be longer than zero"),
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

    monkeypatch.delenv("FITTER_TRACE", raising=False)
    desk.fit = fail
    assert desk() == 70
    said = capsys.readouterr().err
    assert said.count("\n") == 1
    assert "unexpected error (IndexError: list index out of range)" in said and "FITTER_TRACE" in said
    monkeypatch.setenv("FITTER_TRACE", "1")
    assert desk() == 70
    assert "Traceback" in capsys.readouterr().err


def test_the_program_runs_as_a_module() -> None:
    """``python -m fitter`` is the same command."""
    done = subprocess.run([sys.executable, "-m", "fitter", "--version"], capture_output=True, text=True, cwd=ROOT)
    assert (done.returncode, done.stdout.split()[0]) == (0, "fitter,")


@pytest.mark.parametrize("arguments", [[], ["templates"]])
def test_a_group_alone_shows_its_help(arguments: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    """Without a subcommand the choices are shown."""
    assert run(arguments) == 2
    assert "Commands:" in capsys.readouterr().err
