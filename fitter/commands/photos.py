"""``fitter photos``: what the program believes about photos, and correcting it."""

from __future__ import annotations

from pathlib import Path

import click

from fitter.commands.options import json_option
from fitter.errors import UseError

EPILOG = """
\b
Examples:
  fitter photos photos/
  fitter photos photos/ --keep lake.jpg=0.4,0.2,0.2,0.3 --rating pier.jpg=5 --overwrite
  fitter photos photos/ --rating blurred.jpg=-1
  fitter photos --forget

\b
Boxes are x,y,w,h in 0 to 1 of the picture as seen, from its top left corner; the ticks around the photos of
the contact sheet count tenths.  Corrections are written to NAME.EXT.keep.json beside the photo, which may as
well be edited by hand.

\b
Exit codes: 0 done (photos that cannot be used are listed), 2 bad input or use, 4 outputs or other corrections
exist already.
"""


@click.command(epilog=EPILOG, short_help="Show and correct what is known of photos.")
@click.argument("photos", metavar="PHOTO...", nargs=-1)
@click.option("--keep", multiple=True, metavar="PHOTO=x,y,w,h", help="Keep this box; repeatable, or PHOTO=none.")
@click.option(
    "--rating", "ratings", multiple=True, metavar="PHOTO=N", help="0 to 5 stars, -1 to leave it out; repeatable."
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("contact-sheet"),
    show_default=True,
    metavar="DIR",
    help="Folder to write the contact sheet to.",
)
@click.option("--no-sheet", is_flag=True, help="The table alone.")
@click.option("--overwrite", is_flag=True, help="Replace contact sheets and corrections that exist.")
@json_option
@click.option("--forget", is_flag=True, help="Forget what is kept of photos from earlier runs, and do nothing else.")
def photos(
    photos: tuple[str, ...],
    keep: tuple[str, ...],
    ratings: tuple[str, ...],
    out: Path,
    no_sheet: bool,
    overwrite: bool,
    as_json: bool,
    forget: bool,
) -> int:
    """List PHOTOs (files or folders) with what is known of them, and draw a contact sheet.

    Shows size, time, weight, what must stay in view, the largest good print, what looks alike and what is
    wrong.  Photos are only read.
    """
    from fitter.commands.surveying import Request, forget_all, run_survey

    if forget:
        if photos or keep or ratings:
            raise UseError("--forget stands alone: name no photos and no corrections with it")
        return forget_all()
    if not photos:
        raise UseError("name at least one photo or folder, or --forget")
    return run_survey(
        Request(
            photos=photos,
            keep=keep,
            ratings=ratings,
            out=None if no_sheet else out,
            overwrite=overwrite,
            as_json=as_json,
        )
    )
