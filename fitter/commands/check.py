"""``fitter check``: step 5 alone, on a layout file."""

from __future__ import annotations

import json
import os
from dataclasses import asdict, replace
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitter.commands.options import json_option
from fitter.commands.originals import photos_option
from fitter.errors import EXIT_DONE, EXIT_RULE_BROKEN
from fitter.shown import encodable, shown

if TYPE_CHECKING:
    from fitter.layout import Layout
    from fitter.template import Template

EPILOG = """
\b
Examples:
  fitter check page-1/layout-1.json
  fitter check page-1/layout-1.json --photos moved/here

\b
Exit codes: 0 every rule holds or is waived for a stated reason, 1 a rule is broken (or costs, search,
photos or template are not what the file states), 2 the file cannot be used.
"""


@click.command(epilog=EPILOG, short_help="Check a layout against every rule.")
@click.argument("layout", metavar="LAYOUT", type=click.Path(path_type=Path))
@photos_option
@json_option
def check(layout: Path, folder: Path | None, as_json: bool) -> int:
    """Judge LAYOUT anew, from the file alone and without the solver.

    Prints each rule with pass or the exact violation, and every cost as recomputed.  The photos and the
    template are compared with the file's record where they are at hand; what is not is named.
    """
    from fitter.check import check_layout
    from fitter.layout_file import read_layout

    page, base = read_layout(layout), layout.absolute().parent
    template = at_hand(page, base)
    report = check_layout(page, base=base, photos=folder, template=template)
    if template is None:
        told = f"template {page.template.name}: not at hand, so the reference was not compared with it"
        report = replace(report, not_compared=(*report.not_compared, told))
    if as_json:
        document = {"format": "page-report/1", "ok": report.ok, **asdict(report)}
        click.echo(encodable(json.dumps(document, indent=2, ensure_ascii=False)))
    else:
        click.echo("\n".join(map(shown, report.lines())))
        click.echo("The layout is sound." if report.ok else "The layout is NOT sound.")
    return EXIT_DONE if report.ok else EXIT_RULE_BROKEN


def at_hand(layout: Layout, base: Path) -> Template | None:
    """Return the template a layout was made from, if it is there.

    Parameters
    ----------
    layout
        The page as written.
    base
        Folder of the layout file.

    Returns
    -------
    Template or None
        A drawing that the layout names; else the starter of that name, unless another version of the
        program made the layout from another drawing.

    Raises
    ------
    InputError
        When the drawing named is there and no template.
    """
    from fitter.layout_file import resolve_photo
    from fitter.starters import starter_names
    from fitter.template_reader import read_template

    record = layout.template
    if record.file is not None:
        path = resolve_photo(base / "layout", record.file)
        return read_template(path) if os.path.isfile(path) else None
    if record.name not in starter_names():
        return None
    starter = read_template(record.name)
    return starter if starter.sha256 == record.sha256 else None
