"""``fitter fit``: the options, and from them a :class:`~fitter.commands.running.Request`."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable
from pathlib import Path

import click
from click.core import ParameterSource

from fitter.commands.options import MOST_WORDS, json_option, limits
from fitter.cost_names import COSTS
from fitter.errors import UseError
from fitter.freedoms import FREEDOMS, MOST_ALTERNATIVES, VARIED
from fitter.presets import PRESETS


def _listed(names: Iterable[str]) -> str:
    """Write names over several lines, each kept whole."""
    return textwrap.fill(", ".join(names), 76, break_on_hyphens=False)


EPILOG = f"""
\b
Examples:
  fitter fit cabin.svg photos/ --words 120
  fitter fit cabin.svg a.jpg b.jpg --text story.txt --title "Marrow Lake" --out page-1
  fitter fit cabin.svg photos/ --page 8.5x11in --gutter left=1/2in
  fitter fit cabin.svg photos/ --without rotate-page --weight crop-loss=2 --favourite a.jpg
  fitter fit cabin.svg photos/ --pin a.jpg=photo-1 --avoid paper-2 --preset calm
  fitter fit --from page-1/layout-2.json --bigger a.jpg --pin photo-3 --out page-2
  fitter fit cabin.svg photos/ --json >result.json

\b
Sizes: 12x12in, 8.5x11in, 210x297mm, a4.  Lengths: 1/8in, 3mm, 36pt.

\b
Freedoms (--only, --without):
{_listed(FREEDOMS)}

\b
Costs (--weight):
{_listed(COSTS)}

\b
With --from, template, photos, words, page and options are those of LAYOUT where nothing else is said
(wishes apart), and the page stays as close to it as the wishes allow.

Written to --out: layout-1.json, proof-1.png and so on for each alternative, compare.png when there are
several, and run.json with the timings.  Photos may have marked regions in a file beside them; see the README.

\b
Exit codes: 0 done, 2 bad input or use, 3 no page exists, 4 outputs exist already,
130 interrupted (the best page found by then is kept).
"""


@click.command(epilog=EPILOG, short_help="Fit photos and words to a template.")
@click.argument("template", metavar="TEMPLATE", required=False)
@click.argument("photos", metavar="PHOTO...", nargs=-1)
@click.option(
    "--from",
    "start",
    type=click.Path(path_type=Path),
    metavar="LAYOUT",
    help="Start from a layout file and stay close to it; TEMPLATE and PHOTOs may be left away then.",
)
@click.option(
    "--pin",
    multiple=True,
    metavar="[PHOTO=]SLOT",
    help="Put this photo into this slot; SLOT alone stays as it is in LAYOUT; repeatable.",
)
@click.option("--avoid", multiple=True, metavar="SLOT", help="No photo and no words in this slot; repeatable.")
@click.option(
    "--bigger", multiple=True, metavar="PHOTO", help="At least 10 % more area than in LAYOUT; repeatable."
)
@click.option(
    "--smaller", multiple=True, metavar="PHOTO", help="At least 10 % less area than in LAYOUT; repeatable."
)
@click.option(
    "--preset", type=click.Choice(list(PRESETS)), help="A balance of the costs; --weight overrules it."
)
@click.option(
    "--words", type=click.IntRange(0, MOST_WORDS), help="Leave room for N words (set as filler).", metavar="N"
)
@click.option("--text", "texts", multiple=True, metavar="[SLOT=]FILE", help="Set this text; repeatable.")
@click.option("--title", metavar="TEXT", help="Title of the page.")
@click.option("--page", metavar="SIZE", help="Page size; the template's own if not given.")
@click.option("--bleed", metavar="LENGTH", help="How far pictures run past the trim (1/8in).")
@click.option("--margin", metavar="LENGTH", help="Distance kept from the trim (1/4in).")
@click.option("--gutter", multiple=True, metavar="SIDE=LENGTH", help="Margin of a bound edge; repeatable.")
@click.option(
    "--top",
    type=click.IntRange(1, MOST_ALTERNATIVES),
    default=3,
    show_default=True,
    metavar="N",
    help="How many alternatives.",
)
@click.option(
    "--vary",
    multiple=True,
    type=click.Choice(VARIED),
    help="Alternatives differ in this from all better ones; repeatable.",
)
@click.option(
    "--out",
    type=click.Path(path_type=Path),
    default=Path("."),
    metavar="DIR",
    help="Folder to write to (the current one).",
)
@click.option("--overwrite", is_flag=True, help="Replace all outputs of an earlier run.")
@click.option(
    "--target-ppi",
    type=click.IntRange(72, 1200),
    default=300,
    show_default=True,
    metavar="N",
    help="Print resolution wished for.",
)
@click.option(
    "--min-ppi",
    type=click.IntRange(30, 1200),
    default=150,
    show_default=True,
    metavar="N",
    help="Lowest print resolution allowed.",
)
@click.option(
    "--proof-ppi",
    type=click.IntRange(20, 600),
    default=150,
    show_default=True,
    metavar="N",
    help="Resolution of the proofs.",
)
@click.option("--only", multiple=True, metavar="FREEDOM", help="Change nothing but this; repeatable.")
@click.option("--without", multiple=True, metavar="FREEDOM", help="Do not change this; repeatable.")
@click.option(
    "--favourite", multiple=True, metavar="PHOTO", help="Give this photo twice the weight; repeatable."
)
@click.option(
    "--weight",
    "weights",
    multiple=True,
    metavar="COST=FACTOR",
    help="Multiply a cost by 0 to 100; repeatable.",
)
@click.option(
    "--leave-out",
    type=click.IntRange(0, 1000),
    default=0,
    show_default=True,
    metavar="N",
    help="How many photos may be left out.",
)
@click.option(
    "--seed",
    type=click.IntRange(0, 2**31 - 1),
    default=0,
    show_default=True,
    metavar="N",
    help="Seed of the search.",
)
@limits(
    effort=20.0,
    seconds=60.0,
    how_long="How long to search, in deterministic seconds: the same result on every machine.",
    then="Stop after this long by the clock, whatever was reached.",
)
@json_option
@click.pass_context
def fit(
    context: click.Context,
    template: str | None,
    photos: tuple[str, ...],
    start: Path | None,
    pin: tuple[str, ...],
    avoid: tuple[str, ...],
    bigger: tuple[str, ...],
    smaller: tuple[str, ...],
    preset: str | None,
    words: int | None,
    texts: tuple[str, ...],
    title: str | None,
    page: str | None,
    bleed: str | None,
    margin: str | None,
    gutter: tuple[str, ...],
    top: int,
    vary: tuple[str, ...],
    out: Path,
    overwrite: bool,
    target_ppi: int,
    min_ppi: int,
    proof_ppi: int,
    only: tuple[str, ...],
    without: tuple[str, ...],
    favourite: tuple[str, ...],
    weights: tuple[str, ...],
    leave_out: int,
    seed: int,
    effort: float,
    time_limit: float,
    as_json: bool,
) -> int:
    """Fit PHOTOs (files or folders) and words to TEMPLATE (a drawing, or the name of a starter).

    Photos keep the order given; those of a folder are read by the time they were taken, then by name.
    """
    from fitter.commands.running import Request, run_fit

    if start is None and not (template and photos):
        raise click.UsageError(f"Missing argument '{'PHOTO...' if template else 'TEMPLATE'}'.", context)
    if words is not None and texts:
        raise UseError("--words and --text exclude each other; use one of them")
    if min_ppi > target_ppi:
        raise UseError(
            f"--min-ppi {min_ppi} is above --target-ppi {target_ppi}; lower one or raise the other"
        )
    return run_fit(
        Request(
            template=template,
            photos=photos,
            words=words or 0,
            texts=texts,
            title=title,
            page=page,
            bleed=bleed,
            margin=margin,
            gutter=gutter,
            top=top,
            out=out,
            overwrite=overwrite,
            target_ppi=target_ppi,
            min_ppi=min_ppi,
            proof_ppi=proof_ppi,
            only=only,
            without=without,
            favourite=favourite,
            weights=weights,
            leave_out=leave_out,
            seed=seed,
            effort=effort,
            time_limit=time_limit,
            as_json=as_json,
            start=start,
            pin=pin,
            avoid=avoid,
            bigger=bigger,
            smaller=smaller,
            preset=preset,
            vary=vary,
            said=frozenset(
                name
                for name in context.params
                if context.get_parameter_source(name) is not ParameterSource.DEFAULT
            ),
        )
    )
