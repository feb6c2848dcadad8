"""What no layout may be: the bounds of an untrusted file's data, and what makes a layout contradict itself.

Enters: plain JSON values, or a layout.  Leaves: nothing, or the first problem in one line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Any

from fitter.errors import InputError
from fitter.layout import Grid, Layout, Placed, Split
from fitter.template import Element, Point

DEEPEST = 12
"""Levels of nesting a layout file may have; the format itself needs eight."""
MOST_ELEMENTS = 1000
MOST_VALUES, MOST_LISTS = 400_000, 50_000
"""Values a layout file may hold in all, and lists and objects among them: 200 photos with everything known of each
have about 320,000 and 45,000."""
LONGEST_LIST = 1000
MOST_BOXES = 200
"""Boxes a photo may have marked, and as many found."""
MOST_POINTS = 500
"""Points of an outline."""
MOST_LINES, LONGEST_LINE = 5_000, 1_000
"""Lines of words on a page, and characters of each."""
LARGEST_TEXT = 1_000_000
"""Characters of a given text."""
LARGEST_NUMBER = 10**15
LARGEST_GRID, LARGEST_CELL = 64, 1_000_000
"""Cells a side of a photo's importance, and what one may hold."""
LARGEST_COORDINATE = 10_000_000
"""Coordinates and sizes are within 10 m: anything else is no page."""


def refuse_unbounded(data: Any) -> None:
    """Refuse what no layout needs before anything expensive is done with it."""
    stack: list[tuple[Any, int]] = [(data, 1)]
    values = lists = 1
    while stack:
        value, depth = stack.pop()
        if depth > DEEPEST:
            raise InputError(f"is nested more than {DEEPEST} levels deep; this is no page layout")
        if isinstance(value, dict | list | tuple):
            if len(value) > LONGEST_LIST:
                raise InputError(f"a list of {len(value):,} is too long; a page layout has at most {LONGEST_LIST:,}")
            values, lists = values + len(value), lists + 1
            if values > MOST_VALUES or lists > MOST_LISTS:
                most = f"{MOST_VALUES:,} values or {MOST_LISTS:,} lists"
                raise InputError(f"holds more than {most}; this is no page layout")
            stack.extend((item, depth + 1) for item in (value.values() if isinstance(value, dict) else value))
        elif isinstance(value, float) and not math.isfinite(value):
            raise InputError("a number is not finite; layouts hold plain numbers only")
        elif isinstance(value, int | float) and abs(value) > LARGEST_NUMBER:
            raise InputError(f"the number {str(value)[:24]} is too large for a page layout")


def contradictions(layout: Layout) -> Iterator[str]:
    """Yield what makes a layout meaningless: ids used twice, references to nothing, sizes of zero."""
    known = {e.id for e in layout.reference}
    if len(known) != len(layout.reference):
        yield "reference: an id is used twice"
    placed = {p.id for p in layout.elements}
    if len(placed) != len(layout.elements):
        yield "elements: an id is used twice"
    if max(len(layout.reference), len(layout.elements)) > MOST_ELEMENTS:
        yield f"elements: more than {MOST_ELEMENTS}, the most a page may have"
    if min(layout.template.size) <= 0 or max(layout.template.size) > LARGEST_COORDINATE:
        yield "template: its width and height must be larger than zero, and at most 10 m"
    yield from _bad_words(layout)
    for n, element in enumerate(layout.reference):
        where = f"reference.{n} ({element.id[:40]!r})"
        yield from _bad_geometry(where, element)
        if (element.on is None) != (element.tie is None):
            yield f"{where}: a tie needs a partner and a partner a tie"
        if element.on is not None and (element.on not in known or element.on == element.id):
            yield f"{where}: rides on {element.on[:40]!r}, which is not another reference element"
    for n, item in enumerate(layout.elements):
        where = f"elements.{n} ({item.id[:40]!r})"
        yield from _bad_geometry(where, item)
        if item.source is not None and item.source not in known:
            yield f"{where}: comes from {item.source[:40]!r}, which is not in the reference"
        if item.on is not None and item.on not in known | placed:
            yield f"{where}: rides on {item.on[:40]!r}, which is not there"
        if item.split is not None:
            yield from _bad_split(where, item.split)
        if item.photo is not None and min(item.photo.pixels) <= 0:
            yield f"{where}: its photo has no pixels"
        if item.text is not None and not 1 <= item.text.size_pt <= 1000:
            yield f"{where}: a type size of {item.text.size_pt} pt; expected 1 to 1000"
        if item.text is not None and not (min(item.text.ink.size) > 0 and abs(item.text.tilt) <= 360):
            yield f"{where}: its ink has no size, or a tilt beyond 360 degrees"
        for color in _colors(item):
            if not (len(color) == 7 and color[0] == "#" and all(c in "0123456789abcdefABCDEF" for c in color[1:])):
                yield f"{where}: color {color[:20]!r} is not of the form #rrggbb"
    for photo in layout.given.photos:
        if min(photo.pixels) <= 0 or not 0 <= photo.weight <= 1000:
            yield f"given photo {photo.file[:60]!r}: needs pixels and a weight between 0 and 1000"
        if max(len(photo.keep), len(photo.detected)) > MOST_BOXES:
            yield f"given photo {photo.file[:60]!r}: more than {MOST_BOXES} boxes; keep the few that matter"
        if photo.importance and not _is_grid(photo.importance):
            yield (
                f"given photo {photo.file[:60]!r}: its importance needs rows of equal length of whole numbers from 0 "
                f"to {LARGEST_CELL:,}, not all 0, at most {LARGEST_GRID} a side"
            )
    if len({photo.file for photo in layout.given.photos}) != len(layout.given.photos):
        yield "given: a photo is listed twice"
    rescale = layout.transform.rescale
    if rescale is not None and not 0.01 <= rescale.factor <= 100:
        yield f"transform: a rescale by {rescale.factor:g}; expected 0.01 to 100"
    if layout.transform.repeat is not None and not _stands(layout, layout.transform.repeat.cluster):
        yield f"transform: repeats the cluster {layout.transform.repeat.cluster[:40]!r}, which is not in the reference"
    if layout.given.leave_out < 0:
        yield f"given: leave_out is {layout.given.leave_out}; expected 0 or how many photos may be left out"
    if not 1 <= layout.given.target_ppi <= 10_000:
        yield "given: target_ppi must be between 1 and 10,000"
    if not all(0 <= weight <= 1e6 for weight in layout.costs.weights.values()):
        yield "costs: a weight is outside 0 to 1,000,000"


def _bad_words(layout: Layout) -> Iterator[str]:
    """Find words that cannot be set: none, or more than any page takes."""
    if any(len(text.text) > LARGEST_TEXT for text in layout.given.texts):
        yield f"given: a text has more than {LARGEST_TEXT:,} characters"
    if sum(len(item.text.lines) for item in layout.elements if item.text is not None) > MOST_LINES:
        yield f"elements: more than {MOST_LINES:,} lines of words, the most a page may have"
    for n, item in enumerate(layout.elements):
        for number, line in enumerate(item.text.lines if item.text is not None else (), 1):
            if not (line.strip() and len(line) <= LONGEST_LINE):
                yield (
                    f"elements.{n} ({item.id[:40]!r}): its line {number} has {len(line):,} characters; "
                    f"expected 1 to {LONGEST_LINE:,}, not all of them blank"
                )


def _stands(layout: Layout, cluster: str) -> bool:
    """Whether a cluster has an element that stands by itself and is no copy of another."""
    names = {e.id for e in layout.reference if e.cluster == cluster}
    return any(
        e.cluster == cluster and e.tie not in ("mat", "carried") and e.id.rpartition("~")[0] not in names
        for e in layout.reference
    )


def _is_grid(rows: Grid) -> bool:
    """Whether an importance is a grid that anything can be computed from."""
    columns = len(rows[0])
    cells = [cell for row in rows for cell in row]
    even = all(len(row) == columns for row in rows)
    small = len(rows) <= LARGEST_GRID and 1 <= columns <= LARGEST_GRID
    return even and small and all(0 <= cell <= LARGEST_CELL for cell in cells) and any(cells)


def _bad_geometry(where: str, item: Element | Placed) -> Iterator[str]:
    numbers = [*item.center, *item.size, *(c for point in item.outline for c in point)]
    if min(item.size) <= 0:
        yield f"{where}: its width and height must be larger than zero"
    if max(map(abs, numbers)) > LARGEST_COORDINATE:
        yield f"{where}: lies outside the 10 m this program accepts"
    if len(item.outline) > MOST_POINTS:
        yield f"{where}: an outline of more than {MOST_POINTS} points; draw it with fewer"
    if (item.shape == "path") != (len(item.outline) >= 3):
        yield f"{where}: a path needs an outline of three points or more, other shapes have none"
    if item.shape == "path" and not _encloses(item.outline):
        yield f"{where}: its outline encloses nothing"
    if not -360 <= item.tilt <= 360:
        yield f"{where}: a tilt of {item.tilt} degrees; expected -360 to 360"


def _encloses(outline: tuple[Point, ...]) -> bool:
    """Whether an outline has an area (shoelace formula)."""
    ends = (*outline[1:], *outline[:1])
    return sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(outline, ends, strict=True)) != 0


def _bad_split(where: str, split: Split) -> Iterator[str]:
    if not 0 <= split.index < split.count:
        yield f"{where}: piece {split.index} of {split.count} does not exist"


def _colors(item: Placed) -> Iterator[str]:
    if item.fill is not None:
        yield item.fill.color
        if item.fill.accent is not None:
            yield item.fill.accent
    if item.text is not None:
        yield item.text.color
