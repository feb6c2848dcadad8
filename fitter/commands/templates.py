"""``fitter templates``: the shelf of starter templates."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitter.commands.outputs import refuse_existing, refuse_other_than_png, writable
from fitter.pages import size_name
from fitter.shown import shown
from fitter.units import format_size

if TYPE_CHECKING:
    from fitter.template import Role, Template

_TIES = {"mat": "of", "lapped": "over"}


@click.group(short_help="List and show the starter templates.")
def templates() -> None:
    """List and show the starter templates that come with the program."""


@templates.command("list")
def list_templates() -> None:
    """List the starter templates with their page size and slots."""
    from fitter.starters import describe as own_words
    from fitter.starters import starter_names
    from fitter.template_reader import read_template

    names = starter_names()
    width = max(map(len, names), default=0)
    for name in names:
        click.echo(f"{name:{width}}  {describe(read_template(name))}")
        click.echo(f"{'':{width}}  {own_words(name)}")


@templates.command("show")
@click.argument("name", metavar="NAME")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="PNG to write; NAME.png in the current folder if not given.",
)
@click.option("--overwrite", is_flag=True, help="Replace the PNG if it exists.")
def show_template(name: str, out: Path | None, overwrite: bool) -> None:
    """List the slots of the template NAME (a starter, or any drawing's path) and draw it.

    The first column is what --text, --pin and --avoid of 'fitter fit' call a slot.
    """
    from fitter.template_reader import read_template

    template = read_template(name)
    named = Path(f"{template.name}.png") if out is None else out
    target = named.absolute()
    refuse_other_than_png(named)
    refuse_existing((target,), overwrite=overwrite)

    from fitter.proof import draw_template, save_png

    with writable(target.parent):
        save_png(draw_template(template), target, overwrite=overwrite, ppi=96)
    click.echo(f"{template.name}: {describe(template)}")
    click.echo("\n".join(map(shown, slot_lines(template))))
    for note in template.notes:
        click.echo(f"  note: {shown(note)}")
    click.echo(f"Written: {shown(str(named))}")


def slot_lines(template: Template) -> list[str]:
    """Return a line for all but the background, bottom to top: what it is called, what it is, how large."""
    rows = [
        (e.id, e.kind if e.on is None else f"{e.kind} {_TIES.get(e.tie or '', 'on')} {e.on}", format_size(e.size))
        for e in template.elements
        if e.role != "background"
    ]
    names, kinds = (max((len(row[column]) for row in rows), default=0) for column in (0, 1))
    return [f"  {name:{names}}  {kind:{kinds}}  {size}" for name, kind, size in rows]


def describe(template: Template) -> str:
    """Say in one line how large a template is and what it holds."""

    def count(role: Role, one: str, many: str) -> str:
        n = sum(element.role == role for element in template.elements)
        return f"{n} {one if n == 1 else many}" if n else ""

    holds = (
        count("photo", "photo", "photos"),
        count("journaling", "text", "texts"),
        count("title", "title", "titles"),
        count("paper", "paper", "papers"),
        count("ribbon", "ribbon", "ribbons"),
        count("embellishment", "embellishment", "embellishments"),
    )
    return f"{size_name(template.size):10}  {', '.join(filter(None, holds))}"
