"""What ``fitter fit`` tells people and programs, while it runs and at its end."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from fitter.progress_line import describe
from tests.cli.desk import CannedResult, Desk, page_of


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
