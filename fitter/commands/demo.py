"""``fitter demo``: a page from the photos and words that come with the program."""

from __future__ import annotations

from pathlib import Path

import click

from fitter import resources
from fitter.commands.options import json_option

TEMPLATE = "uneven-four"
TITLE = "A summer at Marrow Lake"
PHOTOS = ("creek.jpg", "biscuit-and-pup.jpg", "north-ridge.jpg", "dandelions.jpg")


def demo_folder() -> Path:
    """Return the folder of the demo's photos: inside the installed package, or ``examples/photos``."""
    installed = resources.root() / "demo"
    return installed if installed.is_dir() else resources.root().parent / "examples" / "photos"


@click.command(short_help="Fit a page with the photos that come with the program.")
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("fitter-demo"),
    show_default=True,
    metavar="DIR",
    help="Folder to write to.",
)
@click.option("--overwrite", is_flag=True, help="Replace all outputs of an earlier run.")
@json_option
def demo(out: Path, overwrite: bool, as_json: bool) -> int:
    """Fit "A summer at Marrow Lake": four photos, a title and a short story, three alternatives."""
    from fitter.commands.running import Request, run_fit

    folder = demo_folder()
    return run_fit(
        Request(
            template=TEMPLATE,
            photos=tuple(str(folder / name) for name in PHOTOS),
            texts=(str(folder / "story.txt"),),
            title=TITLE,
            out=out,
            overwrite=overwrite,
            as_json=as_json,
        )
    )
