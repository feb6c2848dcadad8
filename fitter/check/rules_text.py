"""R2 text: words are level or gently tilted, inside their card, clear of everything, legible, complete."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from shapely.geometry import Polygon

from fitter import fonts
from fitter.check.report import Violation, by, millimetres
from fitter.check.shapes import TOLERANCE, box_around, depth, shape_of, stick_out, tilted_box
from fitter.check.view import View
from fitter.layout import Placed, SetText
from fitter.units import INCH, points

CLEAR = INCH // 8
"""Room kept free around ink."""
STEEPEST = 15
"""Degrees a line of words may be tilted."""
LEAST_CONTRAST = 4.5
PAGE_GROUND = "#ffffff"
"""Where no background is painted the page is white paper."""


def rule_text(view: View) -> tuple[Violation, ...]:
    """R2: tilt, ink inside the card and under nothing, contrast, a quiet ground, the words in order, in one size."""
    found: list[Violation] = []
    for item in view.texts:
        text = item.text
        assert text is not None
        found.extend(_tilt(view, item, text))
        found.extend(_ink(view, item, text))
        found.extend(_measured_ink(item, text))
        found.extend(_ground(view, item, text))
    found.extend(_words(view))
    found.extend(_one_size(view))
    return tuple(found)


def luminance(color: str) -> float:
    """Return the relative luminance of ``#rrggbb`` (WCAG 2.2, definition of relative luminance)."""
    channels = [int(color[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    r, g, b = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels)
    return 0.2126 * r + 0.7152 * g + 0.0722 * b


def contrast(one: str, other: str) -> float:
    """Return the contrast ratio of two colours, 1 to 21 (WCAG 2.2, definition of contrast ratio).

    Examples
    --------
    >>> contrast("#000000", "#ffffff")
    21.0
    """
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def ink_shape(text: SetText, clear: int = 0) -> Polygon:
    """Return the ink box on the page, grown on every side."""
    w, h = text.ink.size
    return tilted_box(text.ink.center, (w + 2 * clear, h + 2 * clear), text.tilt)


def full_lines(lines: tuple[str, ...]) -> list[str]:
    """Return the lines that are full: all but the last of each paragraph, or all if there are none.

    A line that starts with white space starts a paragraph.
    """
    ends = [n + 1 == len(lines) or lines[n + 1][:1].isspace() for n in range(len(lines))]
    full = [line.strip() for line, end in zip(lines, ends, strict=True) if not end]
    return full or [line.strip() for line in lines]


def mean_line(lines: tuple[str, ...]) -> Fraction:
    """Return the mean number of characters of the full lines."""
    full = full_lines(lines)
    return Fraction(sum(len(line) for line in full), max(1, len(full)))


def _tilt(view: View, item: Placed, text: SetText) -> Iterator[Violation]:
    wanted = item.tilt if abs(item.tilt) <= STEEPEST else 0.0
    origin = view.origin(item)
    if origin is not None and origin.limits.vertical and item.role == "title" and wanted == item.tilt:
        upright = wanted + (-90 if 2 * text.ink.center[0] <= view.page.trim[0] else 90)
        if abs(text.tilt - upright) <= 1e-6:
            return
    if abs(text.tilt - wanted) > 1e-6:
        yield Violation(
            "R2",
            item.id,
            f"the words on {item.id} run at {text.tilt:g}°; its tilt of {item.tilt:g}° wants {wanted:g}°",
        )


def _ink(view: View, item: Placed, text: SetText) -> Iterator[Violation]:
    grown = ink_shape(text, CLEAR)
    out = stick_out(shape_of(item), grown)
    if out > TOLERANCE:
        yield Violation(
            "R2",
            item.id,
            f"the words on {item.id} come {millimetres(out)} too near its edge (1/8 in is wanted)",
            amount_um=by(out),
        )
    for other in view.above(item):
        deep = depth(grown, shape_of(other))
        if deep > TOLERANCE:
            yield Violation(
                "R2",
                item.id,
                f"the words on {item.id}, with 1/8 in around, lie {millimetres(deep)} under {other.id}",
                other=other.id,
                amount_um=by(deep),
            )


def _measured_ink(item: Placed, text: SetText) -> Iterator[Violation]:
    """Set the lines anew with the named font: the ink box is at least as wide and high."""
    if text.font not in fonts.FAMILIES:
        yield Violation(
            "R2", item.id, f"the words on {item.id} use the font {text.font!r}, which is not bundled"
        )
        return
    width, height = measure_lines(text)
    for name, has, wants in (("wide", text.ink.size[0], width), ("high", text.ink.size[1], height)):
        short = float(wants - has)
        if short > TOLERANCE:
            yield Violation(
                "R2",
                item.id,
                f"the words on {item.id} are {millimetres(short)} more {name} than the ink box states",
                amount_um=by(short),
            )


def measure_lines(text: SetText) -> tuple[Fraction, Fraction]:
    """Return width and height of set lines in micrometres, each line shaped whole with HarfBuzz.

    Width is the widest line's advance; height runs from the top of the tallest glyph over the first
    base line to the bottom of the deepest one under the last, as :class:`fitter.layout.Ink` has it.
    """
    import uharfbuzz as hb

    font = fonts.shaping_font(text.font)
    widest = above = below = 0
    for line in filter(None, text.lines):
        buffer = hb.Buffer()
        buffer.add_str(line)
        buffer.guess_segment_properties()
        hb.shape(font, buffer, {})
        widest = max(widest, sum(position.x_advance for position in buffer.glyph_positions))
        for info in buffer.glyph_infos:
            extents = font.get_glyph_extents(info.codepoint)
            if extents is not None and extents.width:
                above = max(above, extents.y_bearing)
                below = max(below, -(extents.y_bearing + extents.height))
    unit = points(text.size_pt) / fonts.units_per_em(text.font)
    leading = points(text.leading_pt) * max(0, len(text.lines) - 1)
    return widest * unit, (above + below) * unit + leading


def _ground(view: View, item: Placed, text: SetText) -> Iterator[Violation]:
    for ground, color, flaw in _grounds(view, item, text):
        if flaw:
            yield Violation("R2", item.id, f"the words on {item.id} {flaw}", other=ground)
            continue
        ratio = contrast(text.color, color)
        if ratio < LEAST_CONTRAST:
            yield Violation(
                "R2",
                item.id,
                f"the words on {item.id} have a contrast of {ratio:.2f}:1 to {ground or 'the page'}; "
                f"{LEAST_CONTRAST}:1 is wanted",
                other=ground,
            )


def _grounds(view: View, item: Placed, text: SetText) -> Iterator[tuple[str | None, str, str]]:
    """Yield what the ink lies on: id, colour and, where no words may stand on it, what is wrong."""
    ink = ink_shape(text)
    place = view.elements.index(item)
    for ground in reversed(view.elements[: place + 1]):
        shape = shape_of(ground)
        if ground is not item and depth(shape, ink) <= TOLERANCE:
            continue
        if ground.photo is not None:
            yield ground.id, "", f"stand directly on the photo {ground.id}; a plain panel is wanted between"
        elif ground.fill is None:
            continue
        elif ground.fill.kind == "motif":
            yield ground.id, "", f"stand on the ornament of {ground.id}; a flat or pattern fill is wanted"
        else:
            yield ground.id, ground.fill.color, ""
        if stick_out(shape, ink) <= TOLERANCE:
            return
    yield None, PAGE_GROUND, ""


def _words(view: View) -> Iterator[Violation]:
    wanted = {f"text-{n + 1}": text.text for n, text in enumerate(view.given.texts)}
    if view.given.title is not None:
        wanted["title"] = view.given.title
    parts: dict[str, list[Placed]] = {}
    for item in view.texts:
        assert item.text is not None
        parts.setdefault(item.text.which, []).append(item)
    for which, items in parts.items():
        if which not in wanted:
            yield Violation("R2", items[0].id, f"{items[0].id} holds {which!r}, which was not given")
            continue
        expected = wanted[which].split()
        orders = (items, sorted(items, key=lambda i: reading_key(view, i)))
        if any(_set_words(order) == expected for order in orders):
            continue
        got = _set_words(items)
        at = next(
            (n for n, (a, b) in enumerate(zip(got, expected, strict=False)) if a != b),
            min(len(got), len(expected)),
        )
        yield Violation(
            "R2",
            items[0].id,
            f"{which} on {items[0].id} is set with {len(got)} words instead of {len(expected)}, "
            f"differing from word {at + 1} on",
        )


def _one_size(view: View) -> Iterator[Violation]:
    """Find texts that flow over several places in several type sizes."""
    first: dict[str, tuple[str, float]] = {}
    for item in view.texts:
        assert item.text is not None
        name, size = first.setdefault(item.text.which, (item.id, item.text.size_pt))
        if item.text.size_pt != size:
            yield Violation(
                "R2",
                item.id,
                f"{item.text.which} goes on in {item.text.size_pt:g} pt on {item.id}; it has {size:g} pt on {name}, "
                "and all parts of a text have one type size",
                other=name,
            )


def reading_key(view: View, item: Placed) -> tuple[int, Fraction, str]:
    """Return where an element's slot comes when reading: sixth of the page's height, x, id.

    Slots count where the reference has them, the blocks that do not bleed taken together to the middle of the page
    (a refitted drawing may have slid); added elements where their room is.
    """
    origin = view.origin(item)
    if origin is None:
        box, name = item.room or item.box, item.id
    else:
        box, name = origin.box, origin.id
    x, y = Fraction(box[0] + box[2], 2), Fraction(box[1] + box[3], 2)
    loose = [b.box for b in view.blocks if not b.bleeds]
    if origin is not None and not origin.bleeds and loose:
        around = box_around(loose)
        x += Fraction(view.page.trim[0] - around[0] - around[2], 2)
        y += Fraction(view.page.trim[1] - around[1] - around[3], 2)
    return 6 * y // view.page.trim[1], x, name


def _set_words(items: list[Placed]) -> list[str]:
    return [word for item in items if item.text for line in item.text.lines for word in line.split()]
