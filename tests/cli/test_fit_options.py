"""How the options of ``fitter fit`` reach the library."""

from __future__ import annotations

from pathlib import Path

from fitter.freedoms import FREEDOMS
from fitter.pages import Page
from tests.cli.desk import Desk


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
