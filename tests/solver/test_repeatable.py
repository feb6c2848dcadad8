"""The same inputs give the same bytes, again and in another process."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SCRIPT = """
import sys
from pathlib import Path
from fitter import fit_page, read_photos, read_template
from fitter.api import Options
from fitter.layout_file import layout_text
from fitter.words import given_count
import solver.mate, solver.search
cores, name, words, photos = int(sys.argv[1]), sys.argv[2], int(sys.argv[3]), [Path(p) for p in sys.argv[4:]]
if cores:
    solver.mate.cores = lambda: cores
    solver.search.ALONE = solver.search.WORTH = solver.search.MEETINGS = 0.05
texts = [given_count(words)] if words else []
options = Options(top=2, effort=0.6 if cores else 0.2, time_limit=None, seed=3)
result = fit_page(read_template(name), read_photos(photos), texts=texts, options=options)
for layout in result.layouts:
    sys.stdout.buffer.write(layout_text(layout).encode())
"""
PAGES = [
    ("pair-and-story", 60, ("creek.jpg", "figs.jpg")),
    ("tilted-trio", 40, ("figs.jpg", "dandelions.jpg", "creek.jpg")),
]


def run(name: str, words: int, photos: list[Path], hash_seed: str, cores: int = 0) -> bytes:
    """Return the layouts that a process of its own writes; with ``cores``, two workers share its search early."""
    return subprocess.run(
        [sys.executable, "-c", SCRIPT, str(cores), name, str(words), *map(str, photos)],
        cwd=ROOT,
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        check=True,
        capture_output=True,
        timeout=300,
    ).stdout


@pytest.mark.parametrize(("name", "words", "files"), PAGES)
def test_same_inputs_give_the_same_bytes(name: str, words: int, files: tuple[str, ...], demo_photos: Path) -> None:
    """Twice in this process and in two others, whose sets and dictionaries are hashed otherwise."""
    from fitter import fit_page, read_photos, read_template
    from fitter.api import Options
    from fitter.layout_file import layout_text
    from fitter.words import given_count

    photos = [demo_photos / f for f in files]
    options = Options(top=2, effort=0.2, time_limit=None, seed=3)

    def here() -> bytes:
        result = fit_page(read_template(name), read_photos(photos), texts=[given_count(words)], options=options)
        return "".join(layout_text(layout) for layout in result.layouts).encode()

    first = here()
    assert first
    assert here() == first
    assert run(name, words, photos, "1") == first
    assert run(name, words, photos, "2") == first


@pytest.mark.parametrize(("name", "words", "files"), PAGES)
def test_one_core_or_two_give_the_same_bytes(name: str, words: int, files: tuple[str, ...], demo_photos: Path) -> None:
    """The second worker by turns, in a process of its own, and there again: the same layouts."""
    photos = [demo_photos / f for f in files]
    first = run(name, words, photos, "1", cores=1)
    assert first
    assert run(name, words, photos, "2", cores=2) == first
    assert run(name, words, photos, "3", cores=2) == first
