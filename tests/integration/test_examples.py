"""The scripts of ``examples/`` run as they are."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest
from PIL import Image

from fitter.layout_file import read_layout

ROOT = Path(__file__).parent.parent.parent
EXAMPLES = ROOT / "examples"

pytestmark = pytest.mark.slow


def environment(tmp_path: Path) -> dict[str, str]:
    """Environment in which ``fitter`` is this checkout's, whatever is installed."""
    command = tmp_path / "fitter"
    command.write_text(f'#!/bin/sh\nexec "{sys.executable}" -c "from fitter.cli import main; main()" "$@"\n')
    command.chmod(0o755)
    return {**os.environ, "PYTHONPATH": str(ROOT), "FITTER": str(command)}


def test_one_page_by_command_line(tmp_path: Path) -> None:
    """Fit, check and draw again with three commands."""
    subprocess.run(
        ["bash", EXAMPLES / "one_page.sh", "out"], cwd=tmp_path, env=environment(tmp_path), check=True
    )
    layout = read_layout(tmp_path / "out" / "layout-1.json")
    assert sum(element.photo is not None for element in layout.elements) == 3
    for name in ("proof-1.png", "plain.png"):
        with Image.open(tmp_path / "out" / name) as picture:
            assert min(picture.size) >= 1200


@pytest.mark.parametrize("script", ["one_page.py", "compare_three.py"])
def test_examples_in_python(script: str, tmp_path: Path) -> None:
    """Each script draws the picture it is asked for and says what it did."""
    done = subprocess.run(
        [sys.executable, EXAMPLES / script, "picture.png"],
        cwd=tmp_path,
        env=environment(tmp_path),
        check=True,
        capture_output=True,
        text=True,
    )
    assert "drawn: picture.png" in done.stdout
    assert script != "one_page.py" or "sound: True" in done.stdout
    with Image.open(tmp_path / "picture.png") as picture:
        assert min(picture.size) >= 600


def test_every_demo_photo_is_credited(demo_photos: Path) -> None:
    """Each picture has its line in CREDITS.md, and no line is left over."""
    credits = (demo_photos / "CREDITS.md").read_text(encoding="utf-8")
    named = {line.split("`")[1] for line in credits.splitlines() if line.startswith("| `")}
    assert named == {path.name for path in demo_photos.glob("*.jpg")}


def test_demo_photos_carry_no_metadata_but_the_invented_time(demo_photos: Path) -> None:
    """Nothing of the cameras or places of the originals is passed on."""
    for path in demo_photos.glob("*.jpg"):
        with Image.open(path) as picture:
            exif = picture.getexif()
            assert set(exif) <= {0x8769}
            assert set(exif.get_ifd(0x8769)) == {0x9003}
            assert set(picture.info) <= {"jfif", "jfif_version", "jfif_unit", "jfif_density", "dpi", "exif"}
