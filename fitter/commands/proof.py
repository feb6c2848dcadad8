"""``fitter proof``: step 6 alone, from a layout file."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitter.commands.originals import originals, photos_option
from fitter.commands.outputs import refuse_existing, refuse_originals, refuse_other_than_png, writable
from fitter.shown import shown

if TYPE_CHECKING:
    from PIL.Image import Image

EPILOG = """
\b
Examples:
  fitter proof page-1/layout-1.json --out proof.png
  fitter proof page-1/layout-1.json --plain --ppi 300
  fitter proof page-1/layout-1.json --photos moved/here
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
@photos_option
@click.option("--plain", is_flag=True, help="The page alone: no guides, legend or heading.")
@click.option("--overwrite", is_flag=True, help="Replace the PNG if it exists.")
def proof(layout: Path, out: Path | None, ppi: int, folder: Path | None, plain: bool, overwrite: bool) -> None:
    """Draw the proof of LAYOUT from the file alone (and the photos it names, which must be the same files still)."""
    from fitter.layout_file import read_layout

    named = layout.with_suffix(".png") if out is None else out
    target = named.absolute()
    refuse_other_than_png(named)
    page = read_layout(layout)
    refuse_existing((target,), overwrite=overwrite)

    base = layout.absolute().parent
    places = originals(page, base, folder)
    refuse_originals((target,), places.values())

    from fitter.proof import draw_proof, save_png
    from fitter.proof.photo import open_photo

    def opener(stated: Path, at_least: tuple[int, int]) -> Image:
        return open_photo(places[stated], at_least)

    with writable(target.parent):
        image = draw_proof(page, base=base, ppi=ppi, plain=plain, opener=opener)
        save_png(image, target, overwrite=overwrite, ppi=ppi)
    click.echo(f"Written: {shown(str(named))}")
