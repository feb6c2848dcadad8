"""Step 1: read a page template, an untrusted SVG drawing, as plain validated data.

Enters: a path, or the name of a starter template.  Leaves: :class:`fitter.template.Template` with edges
snapped, ties inferred and notes on what was ignored.  Refuses, in one sentence that names file and element,
whatever is unsafe, unbounded or not understood.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections import Counter
from dataclasses import dataclass, field, replace
from pathlib import Path

from fitter import svg_file, svg_shapes
from fitter.errors import InputError
from fitter.pages import Side
from fitter.svg_file import Node
from fitter.svg_page import color, page_frame, style_property
from fitter.svg_shapes import Figure, Matrix
from fitter.template import ROLES, Element, Limits, Role, Template
from fitter.template_edges import settle
from fitter.ties import infer_ties
from fitter.units import nearest, parse_length

SHAPE_TAGS = frozenset({"rect", "circle", "ellipse", "polygon", "path"})
GROUP_TAGS = frozenset({"g", "a", "svg"})
SILENT_TAGS = frozenset({"title", "desc", "metadata", "defs"})
SLOT_ROLES: frozenset[Role] = frozenset({"photo", "paper", "journaling", "title"})
MOST_SLOTS = 200
LONGEST_NAME = 100
SMALLEST_SIDE = 200
"""µm; anything thinner cannot be printed."""

_ROLE_WORD = re.compile(r"\s*(strip|mat|" + "|".join(ROLES) + r")s?(?![a-z])", re.IGNORECASE)
_SYNONYMS: dict[str, Role] = {"strip": "paper", "mat": "paper"}
_INHERITED = ("data-role", "data-may-be", "data-fixed", "data-min", "data-vertical")


@dataclass
class _Inherited:
    """What groups hand down to the shapes in them."""

    matrix: Matrix
    data: dict[str, str] = field(default_factory=dict)
    role: Role | None = None
    cluster: str | None = None
    fill: str | None = None


@dataclass
class _Reading:
    """What is collected while walking one file."""

    page: tuple[int, int]
    viewport: tuple[float, float]
    elements: list[Element] = field(default_factory=list)
    rides: dict[str, str] = field(default_factory=dict)
    notes: list[str] = field(default_factory=list)
    ignored: Counter[str] = field(default_factory=Counter)
    without_role: list[str] = field(default_factory=list)
    off_page: list[str] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)
    taken: set[str] = field(default_factory=set)
    seen: set[str] = field(default_factory=set)


def read_template(path_or_name: str | os.PathLike[str]) -> Template:
    """Read an SVG file, or a starter template by its name.

    Parameters
    ----------
    path_or_name
        Path of an SVG file; else the name of a starter template.

    Returns
    -------
    Template
        Elements bottom to top, in whole micrometres, ties included.

    Raises
    ------
    InputError
        When there is no such template, or the drawing cannot be used.  Names the file and element.
    """
    from fitter.starters import starter_names, starter_path

    path = Path(path_or_name)
    found = os.path.exists(path)
    if not found and str(path_or_name) in starter_names():
        path = starter_path(str(path_or_name))
    elif not found:
        raise InputError(
            f"template {str(path_or_name)[:200]!r}: there is no such file or starter template; "
            f"give the path of an SVG file or one of {', '.join(starter_names())}"
        )
    try:
        root, content = svg_file.load(path)
        template = parse_template(root, path.stem)
    except InputError as error:
        raise InputError(f"template {str(path)!r}: {error.message}") from None
    return replace(template, sha256=hashlib.sha256(content).hexdigest(), file=str(path))


def parse_template(root: Node, name: str) -> Template:
    """Turn a parsed drawing into a template; messages do not name the file (:func:`read_template` does)."""
    page, viewport, matrix = page_frame(root)
    reading = _Reading(page, viewport, taken=_all_ids(root))
    inherited = _inherit(root, _Inherited(matrix), name="the drawing")
    for child in root.children:
        _walk(child, inherited, reading)
    if not any(element.role in SLOT_ROLES for element in reading.elements):
        raise InputError(
            "it has no slots; name shapes photo-1, paper-1, journaling or title, or give them data-role"
        )
    known = {element.id for element in reading.elements}
    for rider, carrier in reading.rides.items():
        if carrier not in known | {"none"} or carrier == rider:
            raise InputError(
                f"{rider!r}: data-on names {carrier[:40]!r}, which is not another element of the template"
            )
    reading.notes += _left_out(reading)
    elements = infer_ties(tuple(reading.elements), reading.rides)
    return Template(name, page, elements, tuple(reading.notes))


def _left_out(reading: _Reading) -> list[str]:
    """Return one sentence for each kind of thing that is no element of the template."""
    notes = [f"Ignored {count} {what}." for what, count in sorted(reading.ignored.items())]
    if reading.without_role:
        notes.append(
            f"Left out as they have no role: {_some(reading.without_role)}; "
            "to make one a slot name it photo-1, paper-1 … or give it data-role."
        )
    if reading.off_page:
        notes.append(f"Left out as they lie outside the page: {_some(reading.off_page)}.")
    return notes


def _some(names: list[str]) -> str:
    more = f" and {len(names) - 5:,} more" if len(names) > 5 else ""
    return ", ".join(names[:5]) + more


def _all_ids(root: Node) -> set[str]:
    ids, todo = set(), [root]
    while todo:
        node = todo.pop()
        ids.add(node.attributes.get("id", ""))
        todo.extend(node.children)
    return ids


def _role_word(node: Node) -> Role | None:
    attributes = node.attributes
    for text in (attributes.get("id", ""), *attributes.get("class", "").split(), attributes.get("label", "")):
        match = _ROLE_WORD.match(text)
        if match:
            word = match[1].lower()
            return _SYNONYMS.get(word) or _named_role(word, "role")
    return None


def _inherit(node: Node, outer: _Inherited, name: str) -> _Inherited:
    """Return what this group (or shape) sees: its own attributes over those of its groups."""
    attributes = node.attributes
    matrix = outer.matrix
    if "transform" in attributes:
        matrix = matrix @ svg_shapes.parse_transform(attributes["transform"])
    data = outer.data | {key: attributes[key] for key in _INHERITED if key in attributes}
    cluster = attributes.get("data-cluster")
    if cluster is None and attributes.get("id", "").startswith("cluster-"):
        cluster = attributes["id"].removeprefix("cluster-")
    if cluster is not None:
        _check_name(cluster, "cluster")
        if not cluster.strip():
            raise InputError(f"{name}: its cluster has no name")
    stated = attributes.get("data-role")
    role = _role_word(node) or outer.role if stated is None else _named_role(stated, "data-role")
    return _Inherited(
        matrix, data, role, cluster or outer.cluster, style_property(node, "fill") or outer.fill
    )


def _named_role(text: str, what: str) -> Role:
    word = text.strip().lower()
    if word not in ROLES:
        raise InputError(f"{what} {text[:40]!r} is no role; expected one of {', '.join(ROLES)}")
    return word


def _walk(node: Node, outer: _Inherited, reading: _Reading) -> None:
    if node.foreign or node.tag in SILENT_TAGS:
        return
    reading.counts[node.tag] += 1
    given = node.attributes.get("id")
    name = f"<{node.tag}> {given[:60]!r}" if given else f"<{node.tag}> number {reading.counts[node.tag]}"
    if style_property(node, "display") == "none" or style_property(node, "visibility") in (
        "hidden",
        "collapse",
    ):
        reading.ignored["hidden <" + node.tag + ">"] += 1
        return
    if node.tag not in SHAPE_TAGS | GROUP_TAGS or node.tag == "svg":
        reading.ignored["nested <svg>" if node.tag == "svg" else f"<{node.tag[:40]}>"] += 1
        return
    try:
        inherited = _inherit(node, outer, name)
        if node.tag in SHAPE_TAGS:
            _add_shape(node, inherited, name, reading)
    except InputError as error:
        message = error.message if error.message.startswith(name) else f"{name}: {error.message}"
        raise InputError(message) from None
    if node.tag in GROUP_TAGS:
        for child in node.children:
            _walk(child, inherited, reading)


def _add_shape(node: Node, inherited: _Inherited, name: str, reading: _Reading) -> None:
    role = inherited.role
    if role is None:
        reading.without_role.append(name)
        return
    remarks: list[str] = []
    figure = _figure(node, inherited.matrix, reading.viewport, remarks)
    settled = settle(figure, role, reading.page, remarks)
    if settled is None:
        reading.off_page.append(name)
        return
    element_id = _element_id(node, role, reading)
    limits = _limits(inherited.data)
    if "url(" in (inherited.fill or ""):
        reading.ignored["fill that is no flat colour"] += 1
    element = _element(element_id, role, *settled)
    reading.elements.append(
        replace(element, limits=limits, cluster=inherited.cluster, color=color(inherited.fill))
    )
    if len(reading.elements) > MOST_SLOTS:
        raise InputError(f"the template has more than {MOST_SLOTS} slots; a page needs far fewer")
    if "data-on" in node.attributes:
        reading.rides[element_id] = node.attributes["data-on"].strip()
    reading.notes.extend(f"{element_id}: {remark}." for remark in remarks)


def _element_id(node: Node, role: Role, reading: _Reading) -> str:
    """Return the drawn id, or the first free ``role-number``."""
    given = node.attributes.get("id", "").strip()
    if given:
        _check_name(given, "id")
        if given in reading.seen:
            raise InputError(f"the id {given[:60]!r} is used twice; ids must differ")
        reading.seen.add(given)
        return given
    number = 1
    while f"{role}-{number}" in reading.taken:
        number += 1
    reading.taken.add(f"{role}-{number}")
    return f"{role}-{number}"


def _check_name(name: str, what: str) -> None:
    """Refuse names that would spoil a report: unprintable or endless ones."""
    if len(name) > LONGEST_NAME or not name.isprintable():
        raise InputError(f"its {what} must be at most {LONGEST_NAME} printable characters")


def _figure(node: Node, matrix: Matrix, viewport: tuple[float, float], remarks: list[str]) -> Figure:
    wide, high = viewport
    diagonal = ((wide * wide + high * high) / 2) ** 0.5

    def get(key: str, whole: float, default: str | None = "0") -> float:
        text = node.attributes.get(key, default)
        if text is None or not text.strip():
            raise InputError(f"its {key} is missing; write a length, for example {key}=\"4in\"")
        return svg_shapes.length(text, key, whole)

    match node.tag:
        case "rect":
            if any(node.attributes.get(key, "0").strip() not in ("0", "") for key in ("rx", "ry")):
                remarks.append("its rounded corners are drawn square")
            corner = get("x", wide), get("y", high)
            size = get("width", wide, None), get("height", high, None)
            return svg_shapes.box_figure("rect", corner, size, matrix)
        case "circle" | "ellipse":
            if node.tag == "circle":
                rx = ry = get("r", diagonal, None)
            else:
                rx, ry = get("rx", wide, None), get("ry", high, None)
            for value, key in ((rx, "rx"), (ry, "ry")):
                if value <= 0:
                    which = "r" if node.tag == "circle" else key
                    raise InputError(f"its {which} is {value:g}; it must be larger than zero")
            corner = get("cx", wide) - rx, get("cy", high) - ry
            return svg_shapes.box_figure("ellipse", corner, (2 * rx, 2 * ry), matrix)
        case "polygon":
            points = svg_shapes.polygon_points(node.attributes.get("points", ""))
        case _:
            from fitter.svg_paths import path_points

            points = path_points(node.attributes.get("d", ""), matrix, remarks)
    return svg_shapes.outline_figure(points, matrix, remarks)


def _limits(data: dict[str, str]) -> Limits:
    words = re.split(r"[\s,]+", data.get("data-may-be", "").strip())
    may_be = tuple(dict.fromkeys(_named_role(word, "data-may-be") for word in words if word))
    if "data-may-be" in data and not may_be:
        raise InputError("data-may-be is empty; name the roles the slot may take")
    return Limits(
        may_be=may_be or None,
        fixed=_yes(data, "data-fixed"),
        smallest_side=parse_length(data["data-min"][:100], what="data-min") if "data-min" in data else 0,
        vertical=_yes(data, "data-vertical"),
    )


def _yes(data: dict[str, str], key: str) -> bool:
    word = data.get(key, "no").strip().lower()
    if word in ("", "ok", "yes", "true", "1", key.removeprefix("data-")):
        return True
    if word in ("no", "false", "0"):
        return False
    raise InputError(f"{key} {word[:40]!r} is neither ok nor no")


def _element(element_id: str, role: Role, figure: Figure, bleeds: tuple[Side, ...]) -> Element:
    """Round a settled figure: even sizes, whole centres, bleeding edges never short of the bleed line."""
    (x, y), (w, h) = figure.center, figure.size
    if figure.shape == "rect" and not figure.tilt:
        x, w = _rounded_span(x - w / 2, x + w / 2, "left" in bleeds, "right" in bleeds)
        y, h = _rounded_span(y - h / 2, y + h / 2, "top" in bleeds, "bottom" in bleeds)
    size = (2 * nearest(w / 2), 2 * nearest(h / 2))
    if min(size) < SMALLEST_SIDE:
        raise InputError(f"it is only {min(w, h) / 1000:.3g} mm wide or high; expected at least 0.2 mm")
    outline = tuple(dict.fromkeys((nearest(px), nearest(py)) for px, py in figure.outline))
    return Element(
        element_id, role, figure.shape, (nearest(x), nearest(y)), size, figure.tilt, outline, bleeds=bleeds
    )


def _rounded_span(low: float, high: float, low_bleeds: bool, high_bleeds: bool) -> tuple[float, float]:
    """Return centre and even length of an untilted edge pair; an odd µm goes past the bleeding edge."""
    first, last = nearest(low), nearest(high)
    if (last - first) % 2:
        if low_bleeds:
            first -= 1
        elif high_bleeds or last < high:
            last += 1
        else:
            last -= 1
    return (first + last) / 2, last - first
