"""``fitter templates``: starters listed, a template shown with what its slots are called."""

from __future__ import annotations

import pytest
from PIL import Image

from fitter.cli import run
from tests.cli.desk import Desk


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
