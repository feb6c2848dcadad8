"""``fitter fit`` for real: separate processes, real templates and photos, the real solver."""

from __future__ import annotations

import json
import os
import pty
import select
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from PIL import Image

from fitter.check import check_layout
from fitter.layout_file import read_layout

ROOT = Path(__file__).parent.parent.parent
COMMAND = [sys.executable, "-m", "fitter"]
ENVIRONMENT = {**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"}

pytestmark = pytest.mark.slow


def fitter(*arguments: str | Path, cwd: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        cwd=cwd,
        env=ENVIRONMENT,
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def photos(demo_photos: Path) -> list[Path]:
    """Three photos of different aspect."""
    return [demo_photos / name for name in ("hill-meadow.jpg", "creek.jpg", "dandelions.jpg")]


def test_a_page_is_fitted_checked_and_drawn(photos: list[Path], tmp_path: Path) -> None:
    """The layouts pass the checker from the file alone, the JSON agrees with them, all files are there."""
    done = fitter(
        "fit", "three-across-strip", *photos, "--words", "40", "--title", "Up the creek", "--top", "2",
        "--effort", "1.5", "--out", "page", "--json", "--proof-ppi", "40", cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    document = json.loads(done.stdout)
    assert document["status"] in {"proved", "feasible"}
    assert "Written to" in done.stderr
    assert "\r" not in done.stderr
    for page in document["layouts"]:
        layout = read_layout(page["layout"])
        assert layout.costs.total == page["cost"]
        assert check_layout(layout, base=tmp_path / "page").ok
        assert fitter("check", page["layout"], cwd=tmp_path).returncode == 0
        assert "second" not in Path(page["layout"]).read_text(encoding="utf-8")
        with Image.open(page["proof"]) as picture:
            assert min(picture.size) >= 480
    assert {path.name for path in (tmp_path / "page").iterdir()} == {Path(f).name for f in document["files"]}


def test_outputs_that_exist_are_safe(photos: list[Path], tmp_path: Path) -> None:
    """Exit code 4 and the older file is as it was."""
    old = tmp_path / "page" / "layout-1.json"
    old.parent.mkdir()
    old.write_text("mine", encoding="utf-8")
    done = fitter("fit", "three-across-strip", *photos, "--out", "page", cwd=tmp_path)
    assert done.returncode == 4
    assert done.stderr.count("\n") == 1
    assert old.read_text(encoding="utf-8") == "mine"
    assert [path.name for path in old.parent.iterdir()] == ["layout-1.json"]


def test_an_impossible_page_says_why(photos: list[Path], tmp_path: Path) -> None:
    """Five thousand words on a small card: exit code 3, reasons in words, nothing written."""
    done = fitter(
        "fit", "three-across-strip", *photos, "--words", "5000", "--page", "4x6in", "--out", "page", "--json",
        cwd=tmp_path,
    )  # fmt: skip
    assert done.returncode == 3, done.stderr
    document = json.loads(done.stdout)
    assert document["status"] == "impossible"
    assert any("words" in reason for reason in document["reasons"])
    assert not (tmp_path / "page").exists()


def test_a_picture_bomb_is_refused(tmp_path: Path) -> None:
    """A header of 50,000 x 50,000 pixels is one line and exit code 2."""
    from zlib import crc32

    def chunk(kind: bytes, data: bytes) -> bytes:
        return len(data).to_bytes(4, "big") + kind + data + crc32(kind + data).to_bytes(4, "big")

    size = (50_000).to_bytes(4, "big")
    bomb = tmp_path / "bomb.png"
    bomb.write_bytes(
        b"\x89PNG\r\n\x1a\n"
        + chunk(b"IHDR", size + size + b"\x08\x02\0\0\0")
        + chunk(b"IDAT", b"")
        + chunk(b"IEND", b"")
    )
    done = fitter("fit", "three-across-strip", bomb, "--out", "page", cwd=tmp_path)
    assert done.returncode == 2
    assert "bomb.png" in done.stderr
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "page").exists()


@contextmanager
def on_terminal(*arguments: str | Path, cwd: Path) -> Iterator[tuple[subprocess.Popen[bytes], int]]:
    """Run ``fitter`` with a terminal as standard error; yields the process and the terminal's other end."""
    ours, theirs = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, *map(str, arguments)],
        cwd=cwd,
        env={**ENVIRONMENT, "TERM": "dumb"},
        stdout=subprocess.PIPE,
        stderr=theirs,
    )
    os.close(theirs)
    try:
        yield process, ours
    finally:
        process.kill()
        process.wait()
        os.close(ours)
        assert process.stdout is not None
        process.stdout.close()


def read_until(terminal: int, wanted: bytes, seconds: float) -> bytes:
    """Collect what appears on a terminal until ``wanted`` does, it closes, or patience ends."""
    seen, end = b"", time.monotonic() + seconds
    while wanted not in seen and time.monotonic() < end:
        if select.select([terminal], [], [], 0.2)[0]:
            try:
                more = os.read(terminal, 4096)
            except OSError:  # how Linux says that the other end is closed
                break
            if not more:
                break
            seen += more
    return seen


def test_ctrl_c_keeps_the_best_page(demo_photos: Path, tmp_path: Path) -> None:
    """Once a first page is found, Ctrl-C writes the best so far and leaves with exit code 130."""
    everything = sorted(demo_photos.glob("*.jpg"))
    arguments = (
        "fit", "uneven-four", *everything, "--words", "150", "--top", "3", "--effort", "2000",
        "--time-limit", "500", "--proof-ppi", "40", "--out", "page", "--json",
    )  # fmt: skip
    with on_terminal(*arguments, cwd=tmp_path) as (process, terminal):
        shown = read_until(terminal, b"best ", 120)
        assert b"best " in shown
        process.send_signal(signal.SIGINT)
        shown = read_until(terminal, b"stopping", 60)
        assert b"stopping" in shown
        out, _ = process.communicate(timeout=60)
        assert process.returncode == 130
    document = json.loads(out)
    assert document["status"] == "interrupted"
    layout = read_layout(document["layouts"][0]["layout"])
    assert check_layout(layout, base=tmp_path / "page").ok
