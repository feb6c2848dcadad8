"""Rules on edges and photos: R1 edge, R3 photos, R5 keep.

Each rule is one function from a :class:`View` to its violations; the words are those of DEVELOPERS.md.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

import shapely
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from fitter.check.report import Violation, by, millimetres, percent
from fitter.check.shapes import TOLERANCE, area_of, depth, shape_of, stick_out, turned
from fitter.check.view import View, is_text
from fitter.layout import GivenPhoto, Placed, PlacedPhoto
from fitter.pages import SIDES, Side
from fitter.template import Element
from fitter.units import INCH

EXTRA_COVER = 0.02
"""Share of a photo that may be covered beyond what the reference covers."""
TURNED_PHOTO_COVER = 0.5
"""Share of a photo that may be covered in a slot that was drawn for something else."""
STAY_APART = INCH / 16
_COVERING = frozenset({"photo", "paper", "journaling", "title"})


def rule_edge(view: View) -> tuple[Violation, ...]:
    """R1: elements end at the bleed line or inside the safe box, never between; text never bleeds."""
    found: list[Violation] = []
    for item in view.elements:
        origin = view.origin(item)
        expected = () if origin is None or is_text(item) else origin.bleeds
        found.extend(_bleeding_sides(view, item, expected))
        for side in SIDES:
            bleeds = side in (item.bleeds if item.split else expected)
            found.extend(_bleeds_fully(view, item, side) if bleeds else _is_safe(view, item, side))
    return tuple(found)


def rule_photos(view: View) -> tuple[Violation, ...]:
    """R3: photos are covered no more than in the reference + 2 %; photos and text apart stay apart."""
    return (*_covered(view), *_stay_apart(view))


def rule_keep(view: View) -> tuple[Violation, ...]:
    """R5: every keep box is inside crop, slot shape and safe box, and under nothing."""
    found: list[Violation] = []
    safe = box(*view.page.safe)
    for item in view.photos:
        photo = item.photo
        given = view.given_photos.get(photo.file) if photo else None
        if photo is None or given is None:
            continue
        over = [(b, shape_of(b)) for b in view.above(item)]
        for number, kept in enumerate(_keep_shapes(item, photo, given)):
            waivable = number >= len(given.keep)
            kind, count = ("detected", number - len(given.keep)) if waivable else ("marked", number)
            name = f"{kind} keep box {count + 1} of {photo.file}"
            for message, other, amount in _keep_faults(item, kept, over, safe):
                found.append(
                    Violation(
                        "R5", item.id, f"{name} {message}", other=other, amount_um=amount, waivable=waivable
                    )
                )
    return tuple(found)


def _bleeding_sides(view: View, item: Placed, expected: tuple[Side, ...]) -> Iterator[Violation]:
    """Compare the sides it bleeds on with its reference element's; pieces of a slot share them."""
    actual = set(item.bleeds)
    if item.split and item.source is not None:
        together = {side for piece in view.pieces[item.source] for side in piece.bleeds}
        wrong = (actual - set(expected)) | (set(expected) - together)
    else:
        wrong = actual ^ set(expected)
    for side in sorted(wrong):
        verb = "bleeds" if side in actual else "does not bleed"
        yield Violation(
            "R1",
            item.id,
            f"{item.id} {verb} on the {side}, unlike its slot in the template"
            if not (is_text(item) and side in actual)
            else f"{item.id} holds words and bleeds on the {side}; text never bleeds",
            side=side,
        )


def _inward(view: View, shape: Polygon, side: Side) -> list[float]:
    """Return how far each vertex lies inside the trim, measured from one side."""
    width, height = view.page.trim
    points = shapely.get_coordinates(shape)
    return {
        "left": lambda: [float(x) for x, _ in points],
        "top": lambda: [float(y) for _, y in points],
        "right": lambda: [float(width - x) for x, _ in points],
        "bottom": lambda: [float(height - y) for _, y in points],
    }[side]()


def _is_safe(view: View, item: Placed, side: Side) -> Iterator[Violation]:
    short = view.page.margins[side] - min(_inward(view, shape_of(item), side))
    if short > TOLERANCE:
        yield Violation(
            "R1",
            item.id,
            f"{item.id} reaches {millimetres(short)} past the safe line on the {side}",
            side=side,
            amount_um=by(short),
        )


def _bleeds_fully(view: View, item: Placed, side: Side) -> Iterator[Violation]:
    inward = _inward(view, shape_of(item), side)
    bleed, margin = view.page.bleed, view.page.margins[side]
    short = min(inward) + bleed
    if short > TOLERANCE:
        yield Violation(
            "R1",
            item.id,
            f"{item.id} should bleed on the {side} but ends {millimetres(short)} before the bleed line",
            side=side,
            amount_um=by(short),
        )
        return
    between = [v for v in inward if -bleed + TOLERANCE < v < margin - TOLERANCE]
    # A round or curved outline necessarily passes between the lines; only its end counts.
    if item.shape == "rect" and between:
        amount = max(min(v + bleed, margin - v) for v in between)
        yield Violation(
            "R1",
            item.id,
            f"{item.id} has a corner {millimetres(amount)} between bleed line and safe line on the {side}",
            side=side,
            amount_um=by(amount),
        )


def _cover_share(item: Placed | Element, over: list[Placed | Element]) -> Fraction:
    shape = shape_of(item)
    parts = [shape.intersection(shape_of(b)) for b in over if shape_of(b).intersects(shape)]
    if not parts:
        return Fraction(0)
    return Fraction(float(unary_union(parts).area)) / area_of(item)


def _covered(view: View) -> Iterator[Violation]:
    for item in view.photos:
        over = [b for b in view.above(item) if b.role in _COVERING and not _is_panel(b, item)]
        now = float(_cover_share(item, list(over)))
        limit = allowed_cover(view, item)
        # Rounding may move each edge by the tolerance.
        slack = TOLERANCE * 2 * (item.size[0] + item.size[1]) / float(area_of(item)) if over else 0.0
        if now > limit + slack:
            names = ", ".join(b.id for b in over if shape_of(b).intersects(shape_of(item)))
            yield Violation(
                "R3",
                item.id,
                f"{item.id} is covered {percent(now)} by {names}; at most {percent(limit)} is allowed",
                other=names,
                share=now - limit,
            )


def allowed_cover(view: View, item: Placed) -> float:
    """Return the share of a placed photo that photos, papers and text cards may cover."""
    origin = view.origin(item)
    if origin is None:
        return EXTRA_COVER
    if origin.role != "photo":
        return TURNED_PHOTO_COVER
    place = view.stacking[origin.id]
    over: list[Placed | Element] = [e for e in view.layout.reference[place + 1 :] if e.role in _COVERING]
    return float(_cover_share(origin, over)) + EXTRA_COVER


def _is_panel(item: Placed, photo: Placed) -> bool:
    """Whether this is an added panel for words lying wholly on the photo; it pays in full instead."""
    return item.source is None and is_text(item) and stick_out(shape_of(photo), shape_of(item)) <= TOLERANCE


def _stay_apart(view: View) -> Iterator[Violation]:
    shown = [i for i in view.elements if i.source is not None and (i.role == "photo" or is_text(i))]
    for n, a in enumerate(shown):
        for b in shown[n + 1 :]:
            if a.source == b.source or a.source is None or b.source is None:
                continue
            before = shape_of(view.reference[a.source]).distance(shape_of(view.reference[b.source]))
            wanted = min(before, STAY_APART)
            if wanted <= TOLERANCE:
                continue
            one, other = shape_of(a), shape_of(b)
            now = one.distance(other) or -depth(one, other)
            if now < wanted - TOLERANCE:
                where = f"{millimetres(now)} apart" if now >= 0 else f"{millimetres(-now)} into each other"
                yield Violation(
                    "R3",
                    a.id,
                    f"{a.id} and {b.id} are {where}; {millimetres(wanted)} must stay between them",
                    other=b.id,
                    amount_um=by(wanted - now),
                )


def _keep_shapes(item: Placed, photo: PlacedPhoto, given: GivenPhoto) -> Iterator[Polygon]:
    """Return the keep boxes, user-marked ones first, as they lie on the page."""
    width, height = photo.pixels
    left, top, right, bottom = photo.crop
    if right <= left or bottom <= top:
        return
    x0, y0, x1, y1 = item.box
    across, down = (x1 - x0) / (right - left), (y1 - y0) / (bottom - top)
    for x, y, w, h in (*given.keep, *given.detected):
        placed = box(
            x0 + (x * width - left) * across,
            y0 + (y * height - top) * down,
            x0 + ((x + w) * width - left) * across,
            y0 + ((y + h) * height - top) * down,
        )
        yield turned(placed, item.tilt, item.center)


def _keep_faults(
    item: Placed, kept: Polygon, over: list[tuple[Placed, Polygon]], safe: Polygon
) -> Iterator[tuple[str, str | None, int]]:
    out = stick_out(shape_of(item), kept)
    if out > TOLERANCE:
        yield f"is cut by {millimetres(out)} in {item.id}", None, by(out)
        kept = kept.intersection(shape_of(item))
    out = stick_out(safe, kept) if not kept.is_empty else 0.0
    if out > TOLERANCE:
        yield f"reaches {millimetres(out)} past the safe line in {item.id}", None, by(out)
    for other, shape in over:
        deep = depth(kept, shape)
        if deep > TOLERANCE:
            yield f"in {item.id} lies {millimetres(deep)} under {other.id}", other.id, by(deep)
