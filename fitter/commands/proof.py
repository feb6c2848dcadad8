"""``fitter proof``: step 6 alone, from a layout file."""

from __future__ import annotations

from pathlib import Path

import click

from fitter.commands.outputs import refuse_existing, writable

EPILOG = """
\b
Examples:
  fitter proof page-1/layout-1.json --out proof.png
  fitter proof page-1/layout-1.json --plain --ppi 300
"""


@click.command(epilog=EPILOG, short_help="Draw the proof of a layout.")
@click.argument("layout", metavar="LAYOUT", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    metavar="FILE",
    help="PNG to write; LAYOUT's name with .png if not given.",
)
@click.option(
    "--ppi",
    type=click.IntRange(20, 600),
    default=150,
    show_default=True,
    metavar="N",
    help="Resolution of the proof.",
)
@click.option("--plain", is_flag=True, help="The page alone: no guides, legend or heading.")
@click.option("--overwrite", is_flag=True, help="Replace the PNG if it exists.")
def proof(layout: Path, out: Path | None, ppi: int, plain: bool, overwrite: bool) -> None:
    """Draw the proof of LAYOUT from the file alone (and the photos it names)."""
    from fitter.layout_file import read_layout

    target = (layout.with_suffix(".png") if out is None else out).absolute()
    page = read_layout(layout)
    refuse_existing((target,), overwrite=overwrite)

    from fitter.proof import draw_proof, save_png

    with writable(target.parent):
        image = draw_proof(page, base=layout.absolute().parent, ppi=ppi, plain=plain)
        save_png(image, target, overwrite=overwrite, ppi=ppi)
    click.echo(f"Written: {target}")
