"""``fitter explain``: what each change of a page is good for."""

from __future__ import annotations

import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

import click

from fitter.commands.options import json_option, limits
from fitter.errors import EXIT_DONE, EXIT_INTERRUPTED
from fitter.shown import encodable, shown

if TYPE_CHECKING:
    from fitter.explain import Explained
    from fitter.layout import Layout

MOST_TERMS = 4
"""So many costs of a difference are named; the rest are summed."""

EPILOG = """
\b
Examples:
  fitter explain page-1/layout-1.json
  fitter explain page-1/layout-1.json --effort 20 --json >why.json

\b
Every change is forbidden in its turn and the page solved anew; nothing is guessed.  Where the best page without
a change is not proved within the effort, both ends of what it may cost are given.

\b
Exit codes: 0 done, 2 the file cannot be used, 130 interrupted (what was explained by then is told).
"""


@click.command(epilog=EPILOG, short_help="Say what each change of a page is good for.")
@click.argument("layout", metavar="LAYOUT", type=click.Path(path_type=Path))
@click.option("--template", metavar="TEMPLATE", help="The drawing, where it is not at hand.")
@limits(
    effort=5.0,
    seconds=30.0,
    how_long="How long to search for each change, in deterministic seconds.",
    then="Go on to the next change after this long by the clock.",
)
@json_option
def explain(layout: Path, template: str | None, effort: float, time_limit: float, as_json: bool) -> int:
    """Say for each change in LAYOUT what it gained: what the best page without it would cost.

    Photos are not needed, only the layout and its template.
    """
    from fitter.commands.interrupts import Interrupts, in_background
    from fitter.commands.starting import begin
    from fitter.explain import explain_layout
    from fitter.progress_line import ProgressLine
    from fitter.template_reader import read_template

    beginning = begin(layout)
    drawing = beginning.template() if template is None else read_template(template)
    page, progress = beginning.layout, ProgressLine()
    with Interrupts() as stop:
        try:
            found = in_background(
                lambda: explain_layout(
                    page, drawing, effort=effort, time_limit=time_limit, progress=progress, stop=stop
                )
            )
        finally:
            progress.clear()
        interrupted = stop()
    if as_json:
        document = {
            "format": "page-explanation/1",
            "layout": str(layout),
            "cost": page.costs.total,
            "status": page.search.status,
            "changes": [asdict(one) for one in found],
        }
        click.echo(encodable(json.dumps(document, indent=2, ensure_ascii=False)))
    else:
        click.echo("\n".join(map(shown, _lines(page, found))))
    return EXIT_INTERRUPTED if interrupted else EXIT_DONE


def _lines(page: Layout, found: tuple[Explained, ...]) -> Iterator[str]:
    known = "proved best" if page.search.status == "proved" else f"not proved best, gap {100 * page.search.gap:.1f} %"
    yield f"This page costs {_money(page.costs.total)} ({known})."
    if not found:
        yield "It changes nothing in its template."
    for one in found:
        yield one.sentence
        yield f"  {_verdict(one)}"


def _verdict(one: Explained) -> str:
    if one.verdict == "asked":
        return "asked for"
    if one.verdict == "follows":
        return "goes with what it belongs to"
    if one.verdict == "skipped":
        return "not looked at: interrupted"
    if one.verdict == "impossible":
        return "needed: there is no page without it (proved)"
    if one.verdict == "unknown":
        return "not known: no page without it was found; allow more with --effort and --time-limit"
    assert one.cost is not None
    assert one.bound is not None
    assert one.gained is not None
    assert one.least_gained is not None
    terms = _terms(one)
    if one.verdict == "proved":
        if one.gained > 0:
            return f"gained {_money(one.gained)}: the best page without it costs {_money(one.cost)} (proved){terms}"
        if one.gained == 0:
            return "gained nothing: a page without it costs the same (proved)"
        return f"gained nothing: a page without it costs {_money(one.cost)}, {_money(-one.gained)} less (proved){terms}"
    bracket = f"the best page without it costs {_money(one.bound)} to {_money(one.cost)} (not proved)"
    if one.gained < 0:
        return f"gained nothing: {bracket}{terms}"
    return f"gained {_money(max(0, one.least_gained))} to {_money(one.gained)}: {bracket}{terms}"


def _terms(one: Explained) -> str:
    shown = [f"{name} {_signed(amount)}" for name, amount in one.terms[:MOST_TERMS]]
    rest = sum(amount for _, amount in one.terms[MOST_TERMS:])
    if rest:
        shown.append(f"other costs {_signed(rest)}")
    return f": {', '.join(shown)}" if shown else ""


def _money(amount: int) -> str:
    return f"{amount / 1e6:.3f}"


def _signed(amount: int) -> str:
    return f"{amount / 1e6:+.3f}"
