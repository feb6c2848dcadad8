"""What users write on the command line, turned into the values the library takes.

Enters: single words such as ``left=1/2in`` or ``crop-loss=2``.  Leaves: validated values.  Refuses unknown
names (listing the known ones) and absurd numbers.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, TypeVar

import click

from fitter.cost_names import COSTS
from fitter.errors import UseError
from fitter.freedoms import FREEDOMS
from fitter.names import photo_named, unknown
from fitter.pages import DEFAULT_BLEED, DEFAULT_MARGIN, SIDES, Page, Side, parse_page_size, size_name
from fitter.units import parse_length

if TYPE_CHECKING:
    from fitter.photos import Photo

FAVOURITE_WEIGHT = 2.0
MOST_WORDS = 5000
LARGEST_FACTOR = 100
Command = TypeVar("Command", bound=Callable[..., Any])


class Seconds(click.FloatRange):
    """A number of seconds in a range; click's own range lets NaN pass."""

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> Any:
        """Return the number, or fail as click does."""
        seconds = super().convert(value, param, ctx)
        if math.isnan(seconds):
            self.fail(f"{value!r} is not a number of seconds", param, ctx)
        return seconds


json_option = click.option("--json", "as_json", is_flag=True, help="Write one JSON document to standard output.")
"""The option of every command whose result a program may want to read."""


def limits(*, effort: float, seconds: float, how_long: str, then: str) -> Callable[[Command], Command]:
    """Return what adds ``--effort`` and ``--time-limit`` to a command.

    Parameters
    ----------
    effort, seconds
        Their defaults.
    how_long, then
        What is told of them.
    """
    limited = click.option(
        "--time-limit", type=Seconds(1, 86_400), default=seconds, show_default=True, metavar="SECONDS", help=then
    )
    exerted = click.option(
        "--effort", type=Seconds(0.1, 36_000), default=effort, show_default=True, metavar="SECONDS", help=how_long
    )
    return lambda command: exerted(limited(command))


def parse_freedoms(only: Sequence[str], without: Sequence[str]) -> frozenset[str]:
    """Return the freedoms that are switched off.

    Parameters
    ----------
    only
        The freedoms to keep; empty keeps all.
    without
        The freedoms to switch off.

    Raises
    ------
    UseError
        When a name is unknown or both lists are used.
    """
    if only and without:
        raise UseError("--only and --without exclude each other; use one of them")
    for name in (*only, *without):
        if name not in FREEDOMS:
            raise unknown("freedom", name, FREEDOMS)
    return frozenset(FREEDOMS) - frozenset(only) if only else frozenset(without)


def parse_weights(pairs: Iterable[str]) -> dict[str, float]:
    """Read ``COST=FACTOR`` pairs; a factor is 0 to 100 with at most two decimals."""
    weights: dict[str, float] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        if not equals:
            raise UseError(f"--weight {pair[:40]!r}: write COST=FACTOR, for example crop-loss=2")
        if name not in COSTS:
            raise unknown("cost", name, COSTS)
        if name in weights:
            raise UseError(f"--weight {name} is given twice")
        whole, _, decimals = text.partition(".")
        plain = (whole + decimals).isascii() and (whole + decimals).isdigit() and len(whole) <= 3
        if not plain or len(decimals) > 2 or float(text) > LARGEST_FACTOR:
            raise UseError(
                f"--weight {name}: {text[:20]!r} is not a factor from 0 to {LARGEST_FACTOR} "
                "with at most two decimals"
            )
        weights[name] = float(text)
    return weights


def parse_gutter(pairs: Iterable[str]) -> dict[Side, int]:
    """Read ``SIDE=LENGTH`` pairs into micrometres by side."""
    gutter: dict[Side, int] = {}
    for pair in pairs:
        name, equals, text = pair.partition("=")
        side = next((known for known in SIDES if known == name.strip().lower()), None)
        if not equals or side is None:
            raise UseError(
                f"--gutter {pair[:40]!r}: write SIDE=LENGTH with a side of {', '.join(SIDES)}, "
                "for example left=1/2in"
            )
        if side in gutter:
            raise UseError(f"--gutter {side} is given twice")
        gutter[side] = parse_length(text, what=f"gutter {side}")
    return gutter


def parse_page(
    size: str | None, bleed: str | None, margin: str | None, gutter: Iterable[str], own: tuple[int, int]
) -> Page | None:
    """Return the page asked for, or ``None`` when nothing was said about it.

    Parameters
    ----------
    size
        As the user wrote it; ``None`` takes the template's own.
    bleed, margin, gutter
        As the user wrote them.
    own
        The template's width and height in micrometres.
    """
    sides = parse_gutter(gutter)
    if size is None and bleed is None and margin is None and not sides:
        return None
    name, trim = (size_name(own), own) if size is None else parse_page_size(size)
    return Page(
        name=name,
        trim=trim,
        bleed=DEFAULT_BLEED if bleed is None else parse_length(bleed, what="bleed", allow_zero=True),
        margin=DEFAULT_MARGIN if margin is None else parse_length(margin, what="margin", allow_zero=True),
        gutter=sides,
    )


def favour(photos: Sequence[Photo], names: Iterable[str]) -> list[Photo]:
    """Return the photos with those named given twice their weight.

    Parameters
    ----------
    photos
        The photos of the page.
    names
        Paths as given, or plain file names where they are unique.
    """
    weighted = list(photos)
    for name in names:
        found = photo_named("--favourite", name, [photo.file for photo in photos])
        photo = weighted[found]
        weighted[found] = replace(photo, weight=photo.weight * FAVOURITE_WEIGHT)
    return weighted
