"""Layout files: a :class:`fitter.layout.Layout` written to and read from ``page-layout/1`` JSON.

Enters: a layout or a path.  Leaves: the same layout, or a file that is byte-identical for equal
layouts and names photos and template relative to itself.  Files are untrusted: size, nesting, numbers
and names are bounded, and everything that is wrong with one is told in a single line.  Nothing here
opens photos.
"""

from __future__ import annotations

import json
import os
import tempfile
from contextlib import suppress
from dataclasses import MISSING, fields, is_dataclass
from functools import cache
from pathlib import Path, PureWindowsPath
from typing import TYPE_CHECKING, Any

from fitter.errors import InputError, OutputExistsError
from fitter.layout import FORMAT, Before, GivenPhoto, GivenText, Layout, Placed, PlacedPhoto, Wishes
from fitter.layout_bounds import contradictions, refuse_unbounded
from fitter.layout_names import relative_to
from fitter.template import Element, Limits

if TYPE_CHECKING:
    from pydantic import TypeAdapter

Json = Any
LARGEST_FILE = 4 * 1024 * 1024
"""Bytes a layout file may have; a page with twelve photos and all that is known of them has about 100 kB."""
SCHEMA = "schemas/page-layout-1.schema.json"
SCHEMA_ID = "urn:page-fitter:schema:page-layout-1"

_KEYS = tuple(f.name for f in fields(Layout))
_KEY_ORDER = ("format", "unit")
_TERSE = (Before, Element, GivenPhoto, GivenText, Limits, Placed, PlacedPhoto, Wishes)
_LINE = 100
_MOST_DIGITS = 40


def write_layout(
    layout: Layout,
    path: str | os.PathLike[str],
    overwrite: bool = False,
    *,
    base: str | os.PathLike[str] | None = None,
) -> None:
    """Write a layout file in one step: it is there whole, or not at all.

    Parameters
    ----------
    layout
        What to write; the file names photos and template relative to itself.
    path
        Where; the folder must exist.
    overwrite
        Whether a file of that name may be replaced.
    base
        Folder that relative names in ``layout`` count from, if it was read from a file in another folder.

    Raises
    ------
    OutputExistsError
        When the file exists and may not be replaced.
    InputError
        When the folder cannot be written to, or a photo is on another drive.
    """
    target = Path(path)
    text = layout_text(relative_to(layout, target.parent, base=base))
    if os.path.exists(target) and not overwrite:
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


def read_layout(path: str | os.PathLike[str]) -> Layout:
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
        data = json.loads(
            raw.decode("utf-8-sig"), parse_constant=_no_constant, parse_int=_number, object_pairs_hook=_no_twins
        )
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


def resolve_photo(layout_path: str | os.PathLike[str], name: str) -> Path:
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

    refuse_unbounded(data)
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        got = data.get("format") if isinstance(data, dict) else type(data).__name__
        raise InputError(f"is not a {FORMAT} file (its format is {str(got)[:40]!r})")
    if data.get("unit") != "um":
        raise InputError(f"unit: is {str(data.get('unit'))[:40]!r}; expected 'um'")
    stray = next((key for key in data if key not in _KEYS), None)
    if stray is not None:
        raise InputError(f"the key {stray[:40]!r} is unknown; a layout has {', '.join(_KEYS)}")
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


def _number(digits: str) -> int:
    if len(digits) > _MOST_DIGITS:
        raise ValueError(f"a number of {len(digits):,} digits has no place in a layout; {_MOST_DIGITS} are enough")
    return int(digits)


def _no_twins(pairs: list[tuple[str, Json]]) -> dict[str, Json]:
    made: dict[str, Json] = {}
    for key, value in pairs:
        if key in made:
            raise ValueError(f"the key {key[:40]!r} stands twice in one object")
        made[key] = value
    return made


def _renamed(data: dict[str, Json]) -> dict[str, Json]:
    """Write ``from`` as the field name ``source``; a stray ``source`` is left to be refused as ``from``."""
    items = data.get("elements")
    if not isinstance(items, list):
        return data
    renamed = []
    for item in items:
        if isinstance(item, dict):
            if "source" in item:
                raise InputError("elements: the key 'source' is unknown; an element's origin is written 'from'")
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
    if isinstance(value, list) and all(isinstance(item, int) for item in value):
        return flat  # a row of a photo's importance reads best as a row
    pad = " " * (indent + 1)
    if isinstance(value, dict):
        rows = [f"{pad}{json.dumps(k, ensure_ascii=False)}: {_format(v, indent + 1)}" for k, v in value.items()]
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
