"""Layout files: a :class:`fitter.layout.Layout` written to and read from ``page-layout/1`` JSON.

Enters: a layout or a path.  Leaves: the same layout, or a file that is byte-identical for equal
layouts.  Files are untrusted: size, nesting, numbers and names are bounded, and everything that is
wrong with one is told in a single line.  Nothing here opens photos.
"""

from __future__ import annotations

import json
import math
import os
import tempfile
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from pathlib import Path, PureWindowsPath
from typing import TYPE_CHECKING, Any

from fitter.errors import InputError, OutputExistsError
from fitter.layout import FORMAT, GivenPhoto, GivenText, Layout, Placed, PlacedPhoto, Split
from fitter.template import Element, Limits, Point

if TYPE_CHECKING:
    from pydantic import TypeAdapter

Json = Any
LARGEST_FILE = 20 * 1024 * 1024
"""Bytes a layout file may have."""
DEEPEST = 12
"""Levels of nesting a layout file may have; the format itself needs eight."""
MOST_ELEMENTS = 1000
LARGEST_NUMBER = 10**15
LARGEST_COORDINATE = 10_000_000
"""Coordinates and sizes are within 10 m: anything else is no page."""
SCHEMA = "schemas/page-layout-1.schema.json"
SCHEMA_ID = "urn:page-fitter:schema:page-layout-1"

_KEY_ORDER = ("format", "unit")
_TERSE = (Element, GivenPhoto, GivenText, Limits, Placed, PlacedPhoto)
_LINE = 100


def write_layout(layout: Layout, path: Path | str, overwrite: bool = False) -> None:
    """Write a layout file in one step: it is there whole, or not at all.

    Parameters
    ----------
    layout
        What to write.
    path
        Where; the folder must exist.
    overwrite
        Whether a file of that name may be replaced.

    Raises
    ------
    OutputExistsError
        When the file exists and may not be replaced.
    InputError
        When the folder cannot be written to.
    """
    target = Path(path)
    text = layout_text(layout)
    if target.exists() and not overwrite:
        raise _exists(target)
    temporary: str | None = None
    try:
        handle, temporary = tempfile.mkstemp(dir=target.parent, prefix=f".{target.name}.", suffix=".part")
        with os.fdopen(handle, "w", encoding="utf-8", newline="\n") as file:
            file.write(text)
        os.chmod(temporary, 0o644)
        if overwrite:
            os.replace(temporary, target)
        else:
            os.link(temporary, target)
    except FileExistsError:
        raise _exists(target) from None
    except OSError as error:
        raise InputError(f"{target}: cannot be written ({error.strerror}); choose another folder") from None
    finally:
        if temporary is not None:
            with suppress(FileNotFoundError):
                os.unlink(temporary)


def read_layout(path: Path | str) -> Layout:
    """Read a layout file.

    Raises
    ------
    InputError
        When it is missing, too large, not JSON, not ``page-layout/1`` or contradicts itself; one line
        naming the first problem and how many more there are.
    """
    source = Path(path)
    try:
        with source.open("rb") as file:
            raw = file.read(LARGEST_FILE + 1)
    except OSError as error:
        raise InputError(f"layout {source}: cannot be read ({error.strerror})") from None
    if len(raw) > LARGEST_FILE:
        raise InputError(f"layout {source}: larger than {LARGEST_FILE // 2**20} MB; this is no page layout")
    try:
        data = json.loads(raw.decode("utf-8"), parse_constant=_no_constant, object_pairs_hook=_no_twins)
    except UnicodeDecodeError:
        raise InputError(f"layout {source}: is not UTF-8 text; expected a page-layout/1 JSON file") from None
    except RecursionError:
        raise InputError(f"layout {source}: is nested too deeply to be a page layout") from None
    except ValueError as error:
        raise InputError(f"layout {source}: is not valid JSON: {str(error)[:120]}") from None
    try:
        return layout_from_json(data)
    except InputError as error:
        raise InputError(f"layout {source}: {error.message}") from None


def resolve_photo(layout_path: Path | str, name: str) -> Path:
    """Return where a photo named in a layout file is, by its name relative to that file.

    ``..`` may lead out of the layout's folder; absolute paths, addresses, drives and control
    characters are refused, so that a stranger's layout cannot point at arbitrary files by name.

    Raises
    ------
    InputError
        When the name is none that this program writes.
    """
    bad = (
        not name
        or len(name) > 1000
        or any(ord(c) < 32 for c in name)
        or "://" in name
        or name.startswith(("/", "\\", "~"))
        or bool(PureWindowsPath(name).drive)
    )
    if bad:
        raise InputError(
            f"photo name {name[:60]!r} is not a path relative to the layout; move the photo beside "
            "the layout and write its name alone"
        )
    return Path(os.path.normpath(Path(layout_path).parent / name))


def layout_text(layout: Layout) -> str:
    """Return the text of a layout file: fixed key order, short lists on one line."""
    return _format(layout_to_json(layout), 0) + "\n"


def layout_to_json(layout: Layout) -> dict[str, Json]:
    """Return a layout as plain JSON values; what is empty and optional is left out of elements."""
    plain: dict[str, Json] = _plain(layout)
    return {key: plain[key] for key in (*_KEY_ORDER, *(k for k in plain if k not in _KEY_ORDER))}


def layout_from_json(data: Json) -> Layout:
    """Build a layout from plain JSON values.

    Raises
    ------
    InputError
        Naming the first problem by its place in the file, and how many more there are.
    """
    from pydantic import ValidationError

    _bounded(data)
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        got = data.get("format") if isinstance(data, dict) else type(data).__name__
        raise InputError(f"is not a {FORMAT} file (its format is {str(got)[:40]!r})")
    if data.get("unit") != "um":
        raise InputError(f"unit: is {str(data.get('unit'))[:40]!r}; expected 'um'")
    try:
        layout = _adapter().validate_json(json.dumps(_renamed(data)), strict=True, extra="forbid")
    except ValidationError as error:
        problems = error.errors(include_url=False, include_input=False)
        first = problems[0]
        where = ".".join("from" if part == "source" else str(part) for part in first["loc"]) or "layout"
        more = f" (and {len(problems) - 1} more problems)" if len(problems) > 1 else ""
        raise InputError(f"{where}: {first['msg']}{more}") from None
    problem = next(contradictions(layout), None)
    if problem is not None:
        raise InputError(problem)
    return layout


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
            if not (
                len(color) == 7 and color[0] == "#" and all(c in "0123456789abcdefABCDEF" for c in color[1:])
            ):
                yield f"{where}: color {color[:20]!r} is not of the form #rrggbb"
    for photo in layout.given.photos:
        if min(photo.pixels) <= 0 or not 0 <= photo.weight <= 1000:
            yield f"given photo {photo.file[:60]!r}: needs pixels and a weight between 0 and 1000"
    if len({photo.file for photo in layout.given.photos}) != len(layout.given.photos):
        yield "given: a photo is listed twice"
    rescale = layout.transform.rescale
    if rescale is not None and not 0.01 <= rescale.factor <= 100:
        yield f"transform: a rescale by {rescale.factor:g}; expected 0.01 to 100"
    if not 1 <= layout.given.target_ppi <= 10_000:
        yield "given: target_ppi must be between 1 and 10,000"
    if not all(0 <= weight <= 1e6 for weight in layout.costs.weights.values()):
        yield "costs: a weight is outside 0 to 1,000,000"


def json_schema() -> dict[str, Json]:
    """Return the JSON Schema (draft 2020-12) of layout files, made from :mod:`fitter.layout`."""
    schema: dict[str, Json] = _adapter().json_schema()
    schema["properties"]["format"] = {"const": FORMAT}
    schema["properties"]["unit"] = {"const": "um"}
    schema["required"] = ["format", "unit", *schema["required"]]
    placed = schema["$defs"]["Placed"]
    placed["properties"] = {"from" if k == "source" else k: v for k, v in placed["properties"].items()}
    placed["required"] = ["from" if k == "source" else k for k in placed["required"]]
    for part in (schema, *schema["$defs"].values()):
        part["additionalProperties"] = False
    head = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "$id": SCHEMA_ID,
        "title": "page-layout/1",
        "description": "One finished album page; micrometres, x right, y down, tilts in degrees clockwise.",
    }
    return {**head, **{k: _tidy_schema(v) for k, v in schema.items() if k not in head}}


def schema_text() -> str:
    """Return the text of the published schema file."""
    return json.dumps(json_schema(), indent=1, ensure_ascii=False) + "\n"


def _exists(target: Path) -> OutputExistsError:
    return OutputExistsError(f"{target} exists already; pass --overwrite to replace it")


@cache
def _adapter() -> TypeAdapter[Layout]:
    from pydantic import TypeAdapter

    return TypeAdapter(Layout)


def _no_constant(name: str) -> float:
    raise ValueError(f"the number {name} has no place in a layout")


def _no_twins(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    made = dict(pairs)
    if len(made) != len(pairs):
        keys = [key for key, _ in pairs]
        twin = next(key for key in keys if keys.count(key) > 1)
        raise ValueError(f"the key {twin[:40]!r} stands twice in one object")
    return made


def _bounded(data: Json) -> None:
    """Refuse what no layout needs before anything expensive is done with it."""
    stack: list[tuple[Json, int]] = [(data, 1)]
    while stack:
        value, depth = stack.pop()
        if depth > DEEPEST:
            raise InputError(f"is nested more than {DEEPEST} levels deep; this is no page layout")
        if isinstance(value, dict):
            stack.extend((item, depth + 1) for item in value.values())
        elif isinstance(value, list | tuple):
            stack.extend((item, depth + 1) for item in value)
        elif isinstance(value, float) and not math.isfinite(value):
            raise InputError("a number is not finite; layouts hold plain numbers only")
        elif isinstance(value, int | float) and abs(value) > LARGEST_NUMBER:
            raise InputError(f"the number {str(value)[:24]} is too large for a page layout")


def _bad_geometry(where: str, item: Element | Placed) -> Iterator[str]:
    numbers = [*item.center, *item.size, *(c for point in item.outline for c in point)]
    if min(item.size) <= 0:
        yield f"{where}: its width and height must be larger than zero"
    if max(map(abs, numbers)) > LARGEST_COORDINATE:
        yield f"{where}: lies outside the 10 m this program accepts"
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


def _renamed(data: dict[str, Json]) -> dict[str, Json]:
    """Write ``from`` as the field name ``source``; a stray ``source`` is left to be refused as ``from``."""
    items = data.get("elements")
    if not isinstance(items, list):
        return data
    renamed = []
    for item in items:
        if isinstance(item, dict):
            if "source" in item:
                raise InputError(
                    "elements: the key 'source' is unknown; an element's origin is written 'from'"
                )
            item = {"source" if key == "from" else key: value for key, value in item.items()}
        renamed.append(item)
    return {**data, "elements": renamed}


def _plain(value: Json) -> Json:
    if is_dataclass(value) and not isinstance(value, type):
        made = {}
        for f in fields(value):
            item = getattr(value, f.name)
            optional = f.default is not MISSING or f.default_factory is not MISSING
            if (
                isinstance(value, _TERSE)
                and optional
                and (item is None or item is False or item == () or item == Limits())
            ):
                continue
            made["from" if isinstance(value, Placed) and f.name == "source" else f.name] = _plain(item)
        return made
    if isinstance(value, dict):
        return {key: _plain(value[key]) for key in sorted(value)}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    if isinstance(value, float):
        return value + 0.0  # a tilt of -0.0 is written 0.0
    return value


def _format(value: Json, indent: int) -> str:
    flat = json.dumps(value, ensure_ascii=False, allow_nan=False)
    if not isinstance(value, dict | list) or len(flat) + indent <= _LINE or not value:
        return flat
    pad = " " * (indent + 1)
    if isinstance(value, dict):
        rows = [
            f"{pad}{json.dumps(k, ensure_ascii=False)}: {_format(v, indent + 1)}" for k, v in value.items()
        ]
        return "{\n" + ",\n".join(rows) + "\n" + " " * indent + "}"
    rows = [pad + _format(v, indent + 1) for v in value]
    return "[\n" + ",\n".join(rows) + "\n" + " " * indent + "]"


def _tidy_schema(value: Json) -> Json:
    """Drop generated titles, and of each description all but its first paragraph on one line."""
    if isinstance(value, list):
        return [_tidy_schema(item) for item in value]
    if not isinstance(value, dict):
        return value
    made = {}
    for key, item in value.items():
        if key == "title" and isinstance(item, str):
            continue
        if key == "description" and isinstance(item, str):
            made[key] = " ".join(item.split("\n\n")[0].replace("``", "").split())
            continue
        made[key] = _tidy_schema(item)
    return made
