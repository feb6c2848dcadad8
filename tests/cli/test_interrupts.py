"""Ctrl-C at every moment of a run: what was found is kept, and exit code 130 tells."""

from __future__ import annotations

import importlib
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import pytest

from fitter.photos import Photo
from tests.cli.desk import CannedResult, Desk, page_of


def test_interrupted_keeps_the_best_page(desk: Desk, capsys: pytest.CaptureFixture[str]) -> None:
    """The first Ctrl-C asks the search to stop; what was found is written and exit code 130 tells."""

    def patient(template: Any, photos: Sequence[Photo], *, stop: Callable[[], bool], **_: Any) -> CannedResult:
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
    root = Path(__file__).parents[2]
    done = subprocess.run(
        [sys.executable, "-m", "fitter", "--version"],
        env={**os.environ, "PYTHONPATH": f"{tmp_path}{os.pathsep}{root}"},
        capture_output=True,
        text=True,
        check=False,
    )
    assert (done.returncode, done.stdout, done.stderr.count("\n")) == (130, "", 1)
    assert "interrupted" in done.stderr
