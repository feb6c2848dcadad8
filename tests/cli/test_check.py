"""``fitter check``: what it lists, what it names, and what it compares where that is at hand."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest
from PIL import Image

from fitter.cli import run
from fitter.commands.check import at_hand
from fitter.cost_names import COSTS
from fitter.layout import TemplateRef
from fitter.layout_file import write_layout
from fitter.photos import Photo
from tests.builders import move, tiny
from tests.cli.desk import PAGE, TEMPLATE, page_of


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
