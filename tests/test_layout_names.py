"""What layout files call photos and templates: names relative to themselves, wherever the photos were named from."""

from __future__ import annotations

import os
import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from fitter import (
    Options,
    check_layout,
    draw_proof,
    fit_page,
    make_wishes,
    read_layout,
    read_photos,
    read_template,
    write_layout,
)
from fitter.cli import run
from fitter.layout import Layout, TemplateRef, Wishes
from fitter.layout_names import relative_to
from tests import builders as b

TEMPLATE = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="6in" height="6in" viewBox="0 0 6 6">'
    '<rect id="photo-1" x="1" y="1" width="4" height="4"/></svg>'
)


@dataclass(frozen=True)
class Named:
    """A path of another class than pathlib's."""

    name: str

    def __fspath__(self) -> str:
        return self.name


def absolute(layout: Layout, folder: Path) -> Layout:
    """Return a layout as it is before it is written, its photos in a folder."""

    def long(file: str) -> str:
        return str(folder / file)

    return replace(
        layout,
        given=replace(
            layout.given,
            photos=tuple(replace(photo, file=long(photo.file)) for photo in layout.given.photos),
            wishes=Wishes(pins=((long("a.jpg"), "photo-1"),), bigger=(long("a.jpg"),), smaller=(long("b.jpg"),)),
        ),
        elements=tuple(
            e if e.photo is None else replace(e, photo=replace(e.photo, file=long(e.photo.file)))
            for e in layout.elements
        ),
        left_out=(long("c.jpg"),),
    )


def test_every_name_is_relative_to_the_file(tmp_path: Path) -> None:
    """Photos given, shown, left out and wished for; the template too."""
    layout = absolute(b.tiny(), tmp_path / "photos")
    layout = replace(layout, template=replace(layout.template, file=str(tmp_path / "own.svg")))
    made = relative_to(layout, tmp_path / "out")
    assert {photo.file for photo in made.given.photos} == {f"../photos/{photo.file}" for photo in b.tiny().given.photos}
    assert {e.photo.file for e in made.elements if e.photo} == {photo.file for photo in made.given.photos}
    assert made.given.wishes.pins == (("../photos/a.jpg", "photo-1"),)
    assert (made.given.wishes.bigger, made.given.wishes.smaller) == (("../photos/a.jpg",), ("../photos/b.jpg",))
    assert (made.left_out, made.template.file) == (("../photos/c.jpg",), "../own.svg")
    assert relative_to(made, tmp_path / "else") == made


def test_a_starter_is_named_but_not_located(tmp_path: Path) -> None:
    """Where the program is installed does not reach the layout file."""
    from fitter.starters import starter_names, starter_path

    name, layout = starter_names()[0], b.tiny()
    starter = replace(layout, template=TemplateRef(name, "0" * 64, layout.page.trim, str(starter_path(name))))
    assert relative_to(starter, tmp_path / "out").template.file is None


def test_a_layout_is_written_to_another_folder(tmp_path: Path) -> None:
    """Names in a layout that was read count from where it was."""
    (tmp_path / "one").mkdir()
    (tmp_path / "two").mkdir()
    write_layout(absolute(b.tiny(), tmp_path / "one"), tmp_path / "one" / "page.json")
    page = read_layout(tmp_path / "one" / "page.json")
    assert page.given.photos == b.tiny().given.photos
    write_layout(page, tmp_path / "two" / "page.json", base=Named(str(tmp_path / "one")))
    moved = read_layout(Named(str(tmp_path / "two" / "page.json")))
    assert [p.file for p in moved.given.photos] == [f"../one/{p.file}" for p in page.given.photos]


@pytest.mark.parametrize("way", ["absolute", "relative"])
def test_what_a_program_writes_can_be_checked_and_drawn(
    demo_photos: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, way: str
) -> None:
    """From reading to the command line, with photos named one way or the other, in folders of any path class."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / "photos").mkdir()
    (tmp_path / "apiout").mkdir()
    for name in ("creek.jpg", "figs.jpg"):
        shutil.copy(demo_photos / name, tmp_path / "photos" / name)
    Path("own.svg").write_text(TEMPLATE, encoding="utf-8")
    root = f"{tmp_path}{os.sep}" if way == "absolute" else ""
    template = read_template(Named(f"{root}own.svg"))
    photos = read_photos([Named(f"{root}photos/creek.jpg"), Named(f"{root}photos/figs.jpg")])
    wishes = make_wishes(template, photos, pins=[("photos/figs.jpg", "photo-1")])
    options = Options(top=1, effort=0.5, leave_out=1, wishes=wishes)
    (layout,) = fit_page(template, photos, options=options).layouts
    write_layout(layout, Named("apiout/layout-1.json"))
    monkeypatch.chdir("apiout")
    written = read_layout("layout-1.json")
    assert {photo.file for photo in written.given.photos} == {"../photos/creek.jpg", "../photos/figs.jpg"}
    assert written.given.wishes.pins == (("../photos/figs.jpg", "photo-1"),)
    assert written.left_out == ("../photos/creek.jpg",)
    assert written.template.file == "../own.svg"
    assert check_layout(written, base=Named("."), template=template).ok
    assert run(["check", "layout-1.json"]) == 0
    assert draw_proof(written, base=Named("."), ppi=30).width > 180
