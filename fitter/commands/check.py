"""``fitter check``: step 5 alone, on a layout file."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path

import click

from fitter.errors import EXIT_DONE, EXIT_RULE_BROKEN

EPILOG = """
\b
Example:
  fitter check page-1/layout-1.json

\b
Exit codes: 0 every rule holds or is waived for a stated reason, 1 a rule is broken (or the costs,
photos or template are not those the file states), 2 the file cannot be used.
"""


@click.command(epilog=EPILOG, short_help="Check a layout against every rule.")
@click.argument("layout", metavar="LAYOUT", type=click.Path(path_type=Path))
@click.option("--json", "as_json", is_flag=True, help="Write one JSON document to standard output.")
def check(layout: Path, as_json: bool) -> int:
    """Judge LAYOUT anew, from the file alone and without the solver.

    Prints each rule with pass or the exact violation, and every cost as recomputed.  The photos and the
    template are compared with the file's record where they are at hand.
    """
    from fitter.check import check_layout
    from fitter.layout_file import read_layout

    report = check_layout(read_layout(layout), base=layout.absolute().parent)
    if as_json:
        document = {"format": "page-report/1", "ok": report.ok, **asdict(report)}
        click.echo(json.dumps(document, indent=2, ensure_ascii=False))
    else:
        click.echo("\n".join(report.lines()))
        click.echo("The layout is sound." if report.ok else "The layout is NOT sound.")
    return EXIT_DONE if report.ok else EXIT_RULE_BROKEN
